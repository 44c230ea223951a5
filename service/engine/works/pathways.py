"""Pathways: what every way of a building and every pull asks of its raceway.

Where a document states the raceway of a way, its fill is judged; each way is listed with the smallest raceway that
holds its new cables. Where it states bends and pull points, a pull is reckoned by them; elsewhere as if every turn
lay in a tube, and the sheet says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from service.engine.building.places import Building, Way
from service.engine.findings import Finding
from service.engine.plant.catalogue import Catalogue
from service.engine.works.pulls import Pull
from service.engine.works.raceways import (
    STANDARD_GRAVITY,
    Fill,
    Stretch,
    Tension,
    bundle_limit_n,
    cable_area_mm2,
    fill_finding,
    least_emt,
    least_trunking,
    pull_findings,
    raceway_fill,
    tension_along,
)
from service.engine.works.runs import CableRun, region_of

#: Ways that climb; all others count as level.
_CLIMBS = frozenset({"riser"})
PATHWAYS_STAND_ON = (
    "Bends as stated; where nobody said, every place that a cable passes counts as one of 90°, riser to riser none. "
    "All of them at the cable's radius of pulling, at the end of their way; stated pull points part a way evenly, and "
    "a pull begins anew at each. Risers are pulled upwards; dry friction 0.5."
)
_FILL_SOURCE = {
    "emt": "NEC Chapter 9 Table 1, a design rule for coax: verify with the authority",
    "trunking": "common practice, from memory",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class WayFill:
    """One way and the cables in it: the smallest raceway for them, "" when none is great enough.

    `existing` counts cables that lie there and stay. `fill` is that of the stated raceway, None where none is stated.
    """

    way: str
    start: str
    end: str
    kind: str
    cables: int
    cable_mm2: float
    least_size: str
    existing: int = 0
    fill: Fill | None = None
    pull_points: int = 0
    bends_deg: float | None = None

    @property
    def stated(self) -> bool:
        """True where the document says something of the raceway."""
        return self.fill is not None or self.bends_deg is not None or self.pull_points > 0


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
            new = inside[way.id]
            lying = _lying(way, catalogue, max(new))
            area, count = cable_area_mm2([*new, *lying]), len(new) + len(lying)
            size = least_emt(count, area) if american else least_trunking(area)
            rows.append(
                WayFill(
                    way=way.id,
                    start=way.start,
                    end=way.end,
                    kind=way.kind,
                    cables=len(new),
                    cable_mm2=area,
                    least_size=size,
                    existing=len(lying),
                    fill=raceway_fill(way.raceway, count, area) if way.raceway else None,
                    pull_points=way.pull_points,
                    bends_deg=way.bends_deg,
                )
            )
    return tuple(rows)


def _lying(way: Way, catalogue: Catalogue, like_mm: float) -> list[float]:
    """Diameters of cable that stays in a way; of unknown type as thick as the thickest new one."""
    if way.existing is None or way.existing.fate == "replace":
        return []
    known = way.existing.cable
    return [catalogue.cable(known).outer_diameter_mm if known is not None else like_mm]


def fill_findings(fills: tuple[WayFill, ...]) -> tuple[Finding, ...]:
    """Warnings about stated raceways that get too full, one a way, the fullest first."""
    ordered = sorted(fills, key=lambda row: (-(row.fill.share if row.fill else 0.0), row.way))
    found = [
        fill_finding(row.fill, row.way, _FILL_SOURCE["trunking" if "×" in row.fill.size else "emt"])
        for row in ordered
        if row.fill is not None
    ]
    return tuple(row for row in found if row is not None)


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
    tension = hardest([tension_along(rows, weight) for rows in _sections(furthest, radius_m)])
    limit = bundle_limit_n([cable.pull_limit_n for cable in cables])
    return PullLoad(
        pull=pull.name,
        cables=len(cables),
        way_m=furthest.way_m,
        tension=tension,
        limit_n=limit,
        findings=pull_findings(pull.name, tension, limit, furthest.way_m),
    )


def hardest(sections: Sequence[Tension]) -> Tension:
    """The sections of a pull as one: the greatest tension, sidewall load and sum of bends of any of them."""
    return Tension(
        after_n=tuple(force for section in sections for force in section.after_n),
        greatest_n=max(section.greatest_n for section in sections),
        sidewall_n_per_m=max(section.sidewall_n_per_m for section in sections),
        bends_deg=max(section.bends_deg for section in sections),
    )


def _sections(run: CableRun, radius_m: float) -> list[list[Stretch]]:
    """The ways as stretches, a new section at each pull point. A riser from its foot to its head is straight.

    Bends nobody stated: one of 90° at every place passed.
    """
    sections: list[list[Stretch]] = [[]]
    for way in run.ways:
        rows, climbs = sections[-1], way.kind in _CLIMBS
        straight_on = climbs and bool(rows) and rows[-1].kind == "slope"
        if way.bends_deg is None and rows and not straight_on:
            rows.append(Stretch(kind="bend", turn_deg=90.0, radius_m=radius_m))
        parts = way.pull_points + 1
        for part in range(parts):
            if part:
                sections.append([])
            sections[-1].append(
                Stretch(
                    kind="slope" if climbs else "straight",
                    length_m=way.pulled_m / parts,
                    rise_deg=90.0 if climbs else 0.0,
                )
            )
            if way.bends_deg:
                sections[-1].append(Stretch(kind="bend", turn_deg=way.bends_deg / parts, radius_m=radius_m))
    return sections
