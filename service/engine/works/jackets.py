"""Jackets and screening: whether every cable suits every space it crosses, and how many kinds the crew carries.

United States types and European fire classes are two relations, never one list. A space that nobody knows
counts as the strictest of its kind. Sources as in `permits`, from memory: verify with the authority.
"""

from __future__ import annotations

from service.engine.building.places import Building
from service.engine.findings import Finding
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.permits import Region, allowed_jackets, jackets_for
from service.engine.works.runs import CableRun, jacket_findings, region_of

#: Types by strictness: each may stand in for those after it.
_ORDER: dict[Region, tuple[str, ...]] = {
    "us": ("CATVP", "CATVR", "CATV", "CATVX"),
    "europe": ("B2ca", "Cca", "Dca", "Eca"),
}
#: Least screening attenuation 30–1000 MHz by class, in dB. Source: EN 50117-2, from second hand.
SCREENING_DB = {"A++": 105.0, "A+": 95.0, "A": 85.0, "B": 75.0}
#: Class that cables of European plants are asked for, next to mobile services. Common practice.
LEAST_SCREENING: dict[Region, str] = {"us": "B", "europe": "A"}
#: Spaces under the sky and in the ground: their jackets are no choice and don't count among the kinds.
_OUTSIDE = frozenset({"outdoor", "buried"})


def may_replace(region: Region, stricter: str, wanted: str) -> bool:
    """True when the first jacket may stand in for the second within one region.

    Jackets of the other region, and those for outdoors, stand in for nothing but themselves.

    >>> may_replace("us", "CATVP", "CATVX"), may_replace("us", "CATV", "CATVR"), may_replace("us", "Cca", "CATV")
    (True, False, False)
    """
    order = _ORDER[region]
    if stricter not in order or wanted not in order:
        return stricter == wanted and (stricter in _OUTSIDE or stricter in order)
    return order.index(stricter) <= order.index(wanted)


def least_jacket(region: Region, spaces: tuple[str, ...]) -> str:
    """The laxest jacket that suits every space; "" where none does. No known space: as an unknown ceiling."""
    permitted = jackets_for(region, spaces)
    return permitted[-1] if permitted else ""


def building_jacket_findings(
    building: Building, runs: tuple[CableRun, ...], catalogue: Catalogue
) -> tuple[Finding, ...]:
    """Everything about jackets and screening of the new cables of a building."""
    region = region_of(building)
    new = tuple(run for run in runs if not run.existing)
    found = [*jacket_findings(runs, region), *_variety(building, new), *_unknown(new, region)]
    return (*found, *_screening(new, catalogue, region))


def _variety(building: Building, runs: tuple[CableRun, ...]) -> list[Finding]:
    """More kinds of indoor jacket than the policy has, unless it is switched off."""
    kinds = sorted({run.jacket for run in runs if run.jacket not in _OUTSIDE})
    most = building.policy.most_drop_jackets
    if not building.policy.parts_variety or len(kinds) <= most:
        return []
    return [
        Finding(
            rule="jacket-variety",
            severity="warns",
            where=tuple(kinds),
            measured=float(len(kinds)),
            limit=float(most),
            unit="jackets",
            text="More kinds of jacket than a truck should carry: take the stricter one for all.",
        )
    ]


def _unknown(runs: tuple[CableRun, ...], region: Region) -> list[Finding]:
    """Runs through spaces that nobody stated: dearer than need be until somebody looks."""
    where = tuple(
        run.id for run in runs if not run.spaces or any(space.startswith("unknown") for space in run.spaces)
    )
    if not where:
        return []
    ceiling = " or ".join(allowed_jackets(region, "unknown-ceiling"))
    text = (
        f"Spaces not stated: unknown ceilings counted as plenum ({ceiling}), unknown verticals as risers. State "
        "them to know better; nothing is taken laxer from missing data."
    )
    return [Finding(rule="jacket-unknown-space", severity="notes", where=where, text=text)]


def _screening(runs: tuple[CableRun, ...], catalogue: Catalogue, region: Region) -> list[Finding]:
    """Cables screened less than their region asks for."""
    least = LEAST_SCREENING[region]
    weak = {
        run.id: SCREENING_DB[catalogue.cable(run.cable).screening_class]
        for run in runs
        if SCREENING_DB.get(catalogue.cable(run.cable).screening_class, SCREENING_DB[least])
        < SCREENING_DB[least]
    }
    if not weak:
        return []
    return [
        Finding(
            rule="screening",
            severity="warns",
            where=tuple(sorted(weak)),
            measured=min(weak.values()),
            limit=SCREENING_DB[least],
            unit="dB",
            source="class A beside mobile services: common practice; classes of EN 50117-2, from second hand",
            text=f"Cables below screening class {least}.",
        )
    ]
