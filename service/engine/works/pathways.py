"""Pathways: what every way of a building and every pull asks of its raceway.

Where a raceway is used at all, and how it bends, no building document says. So each way is listed with the
smallest raceway that holds its new cables, and each pull as if every turn lay in a tube; both say so.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from service.engine.building.places import Building
from service.engine.findings import Finding
from service.engine.plant.catalogue import Catalogue
from service.engine.works.pulls import Pull
from service.engine.works.raceways import (
    STANDARD_GRAVITY,
    Stretch,
    Tension,
    bundle_limit_n,
    cable_area_mm2,
    least_emt,
    least_trunking,
    pull_findings,
    tension_along,
)
from service.engine.works.runs import CableRun, region_of

#: Ways that climb; all others count as level.
_CLIMBS = frozenset({"riser"})
PATHWAYS_STAND_ON = (
    "Every place that a cable passes counts as one bend of 90° at the cable's radius of pulling, riser "
    "to riser none; risers are pulled upwards; dry friction 0.5."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class WayFill:
    """One way and the new cables in it: the smallest raceway for them, "" when none is great enough."""

    way: str
    start: str
    end: str
    kind: str
    cables: int
    cable_mm2: float
    least_size: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PullLoad:
    """One pull: how hard it gets, what its cables bear, and what the rules say about it."""

    pull: str
    cables: int
    way_m: float
    tension: Tension
    limit_n: float
    findings: tuple[Finding, ...]


def way_fills(building: Building, pulls: tuple[Pull, ...], catalogue: Catalogue) -> tuple[WayFill, ...]:
    """The ways that new cables take, by id."""
    inside: dict[str, list[float]] = {}
    for pull in pulls:
        for cable in pull.cables:
            for way in cable.run.ways:
                diameter = catalogue.cable(cable.run.cable).outer_diameter_mm
                inside.setdefault(way.id, []).append(diameter)
    american = region_of(building) == "us"
    rows: list[WayFill] = []
    for way in sorted(building.ways, key=lambda row: row.id):
        if way.id in inside:
            area, count = cable_area_mm2(inside[way.id]), len(inside[way.id])
            size = least_emt(count, area) if american else least_trunking(area)
            rows.append(
                WayFill(
                    way=way.id,
                    start=way.start,
                    end=way.end,
                    kind=way.kind,
                    cables=count,
                    cable_mm2=area,
                    least_size=size,
                )
            )
    return tuple(rows)


def pull_loads(pulls: tuple[Pull, ...], catalogue: Catalogue) -> tuple[PullLoad, ...]:
    """Tension of every pull along its furthest cable, as if all cables of the bundle went that far."""
    return tuple(_load(pull, catalogue) for pull in pulls)


def load_findings(loads: tuple[PullLoad, ...]) -> tuple[Finding, ...]:
    """What the rules say about all pulls, one finding a rule and severity with every pull, worst first."""
    groups: dict[tuple[str, str], list[Finding]] = {}
    for load in loads:
        for found in load.findings:
            groups.setdefault((found.rule, found.severity), []).append(found)
    rows: list[Finding] = []
    for key in sorted(groups):
        ordered = sorted(
            groups[key], key=lambda row: (-((row.measured or 0.0) - (row.limit or 0.0)), row.where)
        )
        where = tuple(name for row in ordered for name in row.where)
        rows.append(replace(ordered[0], where=where))
    return tuple(rows)


def _load(pull: Pull, catalogue: Catalogue) -> PullLoad:
    cables = [catalogue.cable(row.run.cable) for row in pull.cables]
    furthest = max(pull.cables, key=lambda row: (row.run.way_m, row.run.id)).run
    radius_m = max(cable.bend_pulling_mm for cable in cables) / 1000.0
    weight = sum(cable.mass_kg_per_km for cable in cables) / 1000.0 * STANDARD_GRAVITY
    tension = tension_along(_stretches(furthest, radius_m), weight)
    limit = bundle_limit_n([cable.pull_limit_n for cable in cables])
    return PullLoad(
        pull=pull.name,
        cables=len(cables),
        way_m=furthest.way_m,
        tension=tension,
        limit_n=limit,
        findings=pull_findings(pull.name, tension, limit, furthest.way_m),
    )


def _stretches(run: CableRun, radius_m: float) -> tuple[Stretch, ...]:
    """The ways as stretches, with a bend at every place passed. A riser from its foot to its head is straight."""
    rows: list[Stretch] = []
    for way in run.ways:
        climbs = way.kind in _CLIMBS
        straight_on = bool(rows) and climbs and rows[-1].kind == "slope"
        if rows and not straight_on:
            rows.append(Stretch(kind="bend", turn_deg=90.0, radius_m=radius_m))
        if climbs:
            rows.append(Stretch(kind="slope", length_m=way.pulled_m, rise_deg=90.0))
        else:
            rows.append(Stretch(kind="straight", length_m=way.pulled_m))
    return tuple(rows)
