"""Ways: how a cable is pulled, what it crosses and how long it gets, where the document is silent.

Defaults are common practice: closet to closet a riser, to a panel above the ceiling, to an outlet through
open studs in new work and fished in a lived-in flat. An unknown ceiling counts as plenum and an unknown
vertical as riser: missing data never downgrades a jacket.
"""

from __future__ import annotations

from dataclasses import dataclass

from service.engine.building.complaints import fault
from service.engine.building.ledger import Ledger
from service.engine.building.places import Floor, Place, Unit, Way
from service.engine.building.rates import Survey
from service.engine.building.sketch import WayRow
from service.engine.findings import Fault

#: How a cable may be pulled: the kinds that price sheets have rates for.
PULL_KINDS = ("riser", "corridor", "ceiling", "open", "drop", "fished", "buried", "messenger")
ROUTE_FACTOR = 1.10
_HEIGHT_SLACK_M = 0.05

_SPACES: dict[str, tuple[str, ...]] = {
    "riser": ("unknown-vertical",),
    "corridor": ("unknown-ceiling",),
    "ceiling": ("unknown-ceiling",),
    "buried": ("buried",),
    "messenger": ("outdoor",),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Manner:
    """What holds for every way of the building unless its row says otherwise."""

    survey: Survey | None
    route_factor: float | None
    new_build: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """What a way is laid over: places, floors by block and label, flats."""

    places: dict[str, Place]
    floors: dict[tuple[str, str], Floor]
    units: dict[str, Unit]

    def elevation_m(self, place: Place) -> float | None:
        """Height of the floor that a place stands on, where it is known."""
        floor = self.floors.get((place.block, place.floor))
        return None if floor is None else floor.elevation_m

    def slabs(self, start: Place, end: Place) -> int:
        """Slabs between the floors of two places of one block."""
        lower, upper = self.floors.get((start.block, start.floor)), self.floors.get((end.block, end.floor))
        return abs(upper.order - lower.order) if lower and upper and start.block == end.block else 0


def lay_way(row: WayRow, ground: Ground, manner: Manner, ledger: Ledger) -> Way | Fault:
    """The way of a row, every silence filled; a complaint where its length can't be told."""
    start, end = ground.places[row.start], ground.places[row.end]
    span = row.span
    kind = span.kind or _kind(start, end, ground, manner, ledger)
    length_m = span.length_m if span.length_m is not None else _storey(start, end, ground)
    if length_m is None:
        wrong = "nothing says how long the way is"
        right = "its whole length, height included; only inside one riser it may be left out"
        return fault("missing", row.path, span.length_field, f"way to {end.id}", "", wrong, right)
    if span.length_m is None:
        ledger.use("ways.run_m", "floors × floor height", "length left out between closets above each other")
    elif (short := _short(length_m, start, end, ground)) is not None:
        wrong = (
            f"the floors of {start.id} and {end.id} lie {short:.2f} m apart, and a run includes the height"
        )
        right = f"at least {short:.2f} m"
        name = span.length_field
        return fault(
            "shorter-than-height", row.path, name, f"way to {end.id}", f"{length_m:.2f} m", wrong, right
        )
    survey = span.survey or manner.survey
    if survey is None:
        ledger.use("survey", "drawings", "not said who measured; taken as read from drawings")
        survey = "drawings"
    factor = 1.0 if survey == "walked" else (manner.route_factor or ROUTE_FACTOR)
    if survey != "walked" and manner.route_factor is None:
        ledger.use(
            "route_factor",
            f"{ROUTE_FACTOR:.2f}",
            "ways that nobody walked get longer when pulled; common practice",
        )
    return Way(
        id=row.id,
        start=row.start,
        end=row.end,
        length_m=length_m,
        pulled_m=length_m * factor,
        kind=kind,
        spaces=span.spaces if span.spaces is not None else _spaces(kind, start, end, ledger),
        survey=survey,
        firestops=span.firestops if span.firestops is not None else _firestops(start, end, ground, ledger),
        existing=span.existing,
        raceway=span.raceway,
        bends_deg=span.bends_deg,
        pull_points=span.pull_points,
    )


def _storey(start: Place, end: Place, ground: Ground) -> float | None:
    """Height between two closets above each other: floors × floor height; None anywhere else."""
    if start.kind != "closet" or end.kind != "closet" or start.block != end.block:
        return None
    lower, upper = ground.elevation_m(start), ground.elevation_m(end)
    if lower is None or upper is None or lower == upper:
        return None
    return abs(upper - lower)


def _short(length_m: float, start: Place, end: Place, ground: Ground) -> float | None:
    """The height between the ends where the way is shorter than that."""
    lower, upper = ground.elevation_m(start), ground.elevation_m(end)
    if lower is None or upper is None or start.block != end.block:
        return None
    height_m = abs(upper - lower)
    return height_m if length_m < height_m - _HEIGHT_SLACK_M else None


def _kind(start: Place, end: Place, ground: Ground, manner: Manner, ledger: Ledger) -> str:
    """How the way is pulled, by what stands at its ends."""
    kinds = {start.kind, end.kind}
    if start.block != end.block:
        kind, why = "buried", "between blocks; common practice"
    elif kinds & {"outlet"}:
        unit = ground.units.get(end.unit or start.unit)
        if (unit is not None and unit.occupied) or not manner.new_build:
            kind, why = "fished", "to an outlet in a lived-in flat; common practice"
        elif "panel" in kinds:
            kind, why = "open", "panel to outlet in new work; common practice"
        else:
            kind, why = "drop", "closet to outlet in new work; common practice"
    elif kinds & {"panel"}:
        kind, why = "ceiling", "closet to a flat's panel; common practice"
    elif start.floor == end.floor:
        kind, why = "corridor", "between places on one floor; common practice"
    else:
        kind, why = "riser", "between closets on different floors; common practice"
    ledger.use("ways.kind", kind, why)
    return kind


def _spaces(kind: str, start: Place, end: Place, ledger: Ledger) -> tuple[str, ...]:
    """What the way crosses, the strictest reading of silence."""
    if kind in _SPACES:
        spaces = _SPACES[kind]
    elif "panel" in (start.kind, end.kind):
        spaces = ("unit",)
    else:
        spaces = ("unknown-ceiling", "unit")
    ledger.use(
        "ways.spaces", ", ".join(spaces), f"not said for a way of kind {kind}; unknown counts as strictest"
    )
    return spaces


def _firestops(start: Place, end: Place, ground: Ground, ledger: Ledger) -> int:
    """Rated slabs and walls passed: every slab between, and the wall of a flat."""
    slabs = ground.slabs(start, end)
    enters = start.kind != "panel" and end.kind in ("panel", "outlet")
    ledger.use(
        "ways.firestops", "1 a slab, 1 a flat's wall", "rated walls and slabs not counted; common practice"
    )
    return slabs + (1 if enters else 0)
