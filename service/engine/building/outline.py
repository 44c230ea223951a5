"""An outline: a building known by its storeys, flats, plate and risers only, drawn by a stated corridor model.

The plate is a rectangle with one straight corridor along its middle. Flats lie on both sides of it, doors evenly
spaced. Riser closets lie on the corridor, each in the middle of an equal share of it, and each flat is fed from the
nearest one. The model's figures are common practice, from memory.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

from service.engine.building.complaints import fault
from service.engine.building.floors import FLOOR_HEIGHT_M
from service.engine.building.ledger import Ledger
from service.engine.building.rows import HEADEND
from service.engine.building.sketch import (
    FloorRow,
    FloorType,
    OutlineRow,
    PlaceRow,
    RiserRow,
    Sketch,
    Span,
    TypeOutlet,
    TypeUnit,
    UnitType,
)
from service.engine.building.types import MOST_OUTLETS
from service.engine.findings import Fault

ROOF = "R"
CORRIDOR_M = 1.8
#: From so many storeys on closets have house power, on every fifth storey; below, the head-end alone.
TALL_FLOORS = 7
POWERED_EVERY = 5
#: Cable from a closet up to the ceiling, and from the ceiling down to a panel inside the door.
TO_PANEL_M = 4.0
#: Cable from a panel up to the ceiling, and down to an outlet at skirting height.
TO_OUTLET_M = 3.0
#: Cable from the head-end on the roof over to a shaft and down into it, beside the storey passed.
TO_SHAFT_M = 5.0
_PATH = ("outline",)


def draw(sketch: Sketch, ledger: Ledger) -> tuple[Sketch, list[Fault]]:
    """The sketch with floors, risers and types drawn from its outline; any other sketch as it is.

    Every length is then an outline's, for a plate wider than its corridor. What the model assumes is written into
    the ledger.
    """
    row = sketch.outline
    if row is None:
        return sketch, []
    faults = list(_faults(row))
    if faults:
        return sketch, faults
    _assume(row, ledger)
    headend = sketch.headend or PlaceRow(path=("headend",), id=HEADEND, kind="headend")
    if headend.floor is None:
        headend = replace(headend, floor=ROOF)
        ledger.use("headend.floor", ROOF, "not said; in an outline antennas stand on the roof")
    types = {count: _unit_type(row, count) for count in sorted(set(outlet_counts(row)))}
    labels = tuple(str(number) for number in range(1, row.floors + 1))
    drawn = replace(
        sketch,
        headend=headend,
        floors=(
            *(FloorRow(path=_PATH, label=label, floor_type="flats") for label in labels),
            FloorRow(path=_PATH, label=ROOF, floor_type="roof"),
        ),
        risers=tuple(_riser(sketch, row, number, headend.floor or ROOF) for number in range(row.risers)),
        unit_types=tuple(types.values()),
        floor_types=(
            FloorType(path=_PATH, id="flats", units=_flats(row, types)),
            FloorType(path=_PATH, id="roof"),
        ),
        survey="outline",
    )
    return drawn, []


def outlet_counts(row: OutlineRow) -> tuple[int, ...]:
    """Outlets of each flat of a floor: whole numbers that come nearest to the mean, at least one each.

    >>> outlet_counts(OutlineRow(path=(), floors=1, units_per_floor=4, outlets_per_unit=2.5,
    ...     plate_length_m=30.0, plate_width_m=15.0))
    (3, 2, 3, 2)
    """
    sums = [math.floor(row.outlets_per_unit * count + 0.5) for count in range(row.units_per_floor + 1)]
    return tuple(max(1, upper - lower) for lower, upper in pairwise(sums))


def door_m(row: OutlineRow, position: int) -> float:
    """Where the door of a floor's flat lies along the corridor: flats alternate between its sides."""
    return _flat_width_m(row) * (position // 2 + 0.5)


def riser_m(row: OutlineRow, number: int) -> float:
    """Where a riser lies along the corridor."""
    return row.plate_length_m / row.risers * (number + 0.5)


def powered(row: OutlineRow) -> tuple[str, ...]:
    """Storeys whose closets have house power: every fifth one of a building taller than six."""
    if row.floors < TALL_FLOORS:
        return ()
    return tuple(str(number) for number in range(POWERED_EVERY, row.floors + 1, POWERED_EVERY))


def drop_m(row: OutlineRow, outlet: int, outlets: int) -> float:
    """Cable from the panel at the door to an outlet: outlets spread evenly on the way to the farthest corner.

    Walls are followed, so that corner lies the flat's depth and half its width away.
    """
    depth_m = (row.plate_width_m - CORRIDOR_M) / 2
    return round(TO_OUTLET_M + (depth_m + _flat_width_m(row) / 2) * outlet / (outlets + 1), 2)


def _flat_width_m(row: OutlineRow) -> float:
    return row.plate_length_m / math.ceil(row.units_per_floor / 2)


def _unit_type(row: OutlineRow, outlets: int) -> UnitType:
    drops = [drop_m(row, number, outlets) for number in range(1, outlets + 1)]
    return UnitType(
        path=_PATH,
        id=f"{outlets}-outlet",
        feed=row.feed,
        outlets=tuple(
            TypeOutlet(path=_PATH, id=str(number), span=Span(length_m=drop, length_field="drop_m"))
            for number, drop in enumerate(drops, start=1)
        ),
    )


def _flats(row: OutlineRow, types: dict[int, UnitType]) -> tuple[TypeUnit, ...]:
    """Flats of a floor, each at its nearest riser, the lower one of two as near."""
    flats = []
    for position, outlets in enumerate(outlet_counts(row)):
        door = door_m(row, position)
        along, riser = min((abs(riser_m(row, number) - door), number) for number in range(row.risers))
        flats.append(
            TypeUnit(
                path=_PATH,
                id=f"{position + 1:02d}",
                unit_type=types[outlets].id,
                at=_riser_id(riser),
                span=Span(length_m=round(along + TO_PANEL_M, 2)),
            )
        )
    return tuple(flats)


def _riser(sketch: Sketch, row: OutlineRow, number: int, headend_floor: str) -> RiserRow:
    """A riser on every storey, entered at the head-end's storey, else at the top."""
    floors = [str(label) for label in range(1, row.floors + 1)]
    inside = headend_floor in floors
    across_m = abs(riser_m(row, number) - row.plate_length_m / 2)
    storey_m = 0.0 if inside else (sketch.floor_height_m or FLOOR_HEIGHT_M)
    return RiserRow(
        path=_PATH,
        id=_riser_id(number),
        source=sketch.headend.id if sketch.headend else HEADEND,
        floors=f"1-{row.floors}" if row.floors > 1 else "1",
        enters=headend_floor if inside else floors[-1],
        span=Span(length_m=round(across_m + storey_m + TO_SHAFT_M, 2)),
        mains_floors=powered(row),
    )


def _riser_id(number: int) -> str:
    return f"S{number + 1}"


def _faults(row: OutlineRow) -> list[Fault]:
    """An outline of more outlets than a building may have."""
    outlets = row.floors * sum(outlet_counts(row))
    if outlets <= MOST_OUTLETS:
        return []
    wrong = f"the outline comes to more than {MOST_OUTLETS} outlets"
    right = "a building of its own for each part of the estate"
    return [fault("too-many", _PATH, "", "outline", outlets, wrong, right)]


def _assume(row: OutlineRow, ledger: Ledger) -> None:
    rows = (
        (
            "outline",
            f"{row.floors} storeys alike, {row.units_per_floor} flats each",
            "the building is an outline: counts are as given, every length is made by a model",
        ),
        (
            "outline.corridor",
            f"one of {CORRIDOR_M:g} m along the middle of a plate of {row.plate_length_m:g} × {row.plate_width_m:g} m",
            "flats on both sides, doors evenly spaced; the model's figures are common practice",
        ),
        (
            "outline.closets",
            f"{row.risers} on each storey, each in the middle of its share of the corridor",
            "each flat is fed from the nearest one",
        ),
        (
            "outline.mains_floors",
            ", ".join(powered(row)) or "none",
            "house power in closets, by others, where amplifiers of a tall building would stand",
        ),
        (
            "outline.run",
            f"along the corridor, and {TO_PANEL_M:g} m",
            "up to the ceiling and down to the panel",
        ),
        (
            "outline.drop",
            f"a share of the flat's depth and half its width, and {TO_OUTLET_M:g} m",
            "outlets spread evenly between the panel and the farthest corner, along walls",
        ),
        (
            "outline.headend",
            f"above the middle of the plate, {TO_SHAFT_M:g} m and a storey from a shaft beside it",
            "where the head-end stands on a storey with flats, without the storey",
        ),
    )
    for name, value, why in rows:
        ledger.use(name, value, why)
