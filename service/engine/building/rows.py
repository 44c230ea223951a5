"""Every place, way, flat and outlet of a building as rows, whatever form the document has.

The short form and the types end here: a place that names its source becomes a place and a way, named by its
lower end. What a panel, flat or outlet doesn't say of its floor and block is that of the place it is fed
from.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from service.engine.building.floors import floors_of
from service.engine.building.ledger import Ledger
from service.engine.building.places import Floor
from service.engine.building.sketch import OutletRow, Path, PlaceRow, Sketch, UnitRow, WayRow
from service.engine.building.types import expand_types
from service.engine.findings import Fault

HEADEND = "HE"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """The building as rows of the graph; the head-end is the first place."""

    floors: tuple[Floor, ...]
    places: tuple[PlaceRow, ...]
    ways: tuple[WayRow, ...]
    units: tuple[UnitRow, ...]
    outlets: tuple[OutletRow, ...]

    @property
    def headend(self) -> PlaceRow:
        """Where the network begins."""
        return self.places[0]


def rows_of(sketch: Sketch, ledger: Ledger) -> tuple[Rows, list[Fault]]:
    """Expand a sketch, with the complaints that expanding brings to light."""
    floors, faults = floors_of(sketch, _mentioned(sketch), ledger)
    made = expand_types(sketch, floors)
    faults += made.faults
    headend = sketch.headend or _default_headend(floors, ledger)
    outlets = (*sketch.outlets, *made.outlets)
    settled = _Settling((headend, *sketch.places, *made.places), (*sketch.units, *made.units), outlets)
    places = tuple(settled.place(row) for row in settled.places)
    ways = [
        WayRow(
            path=row.path,
            id=row.id,
            start=row.source,
            end=row.id,
            start_field=row.source_field,
            span=row.span,
        )
        for row in places
        if row.source is not None
    ]
    ways += [
        WayRow(path=row.path, id=row.id, start=row.at, end=row.id, start_field=row.at_field, span=row.span)
        for row in outlets
    ]
    rows = Rows(
        floors=tuple(floors),
        places=places,
        ways=(*ways, *sketch.ways),
        units=settled.flats(),
        outlets=outlets,
    )
    return rows, faults


def _mentioned(sketch: Sketch) -> list[tuple[str, str]]:
    """Block and label of every row that names a floor."""
    rows: list[tuple[str | None, str | None]] = [(row.block, row.floor) for row in sketch.places]
    rows += [(row.block, row.floor) for row in sketch.units]
    if sketch.headend is not None:
        rows.append((sketch.headend.block, sketch.headend.floor))
    return [(block or "", label) for block, label in rows if label is not None]


def _default_headend(floors: list[Floor], ledger: Ledger) -> PlaceRow:
    """A head-end on the highest floor of the first block."""
    block = floors[0].block if floors else ""
    own = [floor for floor in floors if floor.block == block]
    label = own[-1].label if own else ""
    ledger.use("headend", f"{HEADEND} on floor {label}", "not said; antennas stand on the roof")
    return PlaceRow(path=("headend",), id=HEADEND, kind="headend", floor=label, block=block)


class _Settling:
    """Finds floor and block of what doesn't say them, from where it is fed."""

    def __init__(
        self, places: tuple[PlaceRow, ...], units: tuple[UnitRow, ...], outlets: tuple[OutletRow, ...]
    ) -> None:
        self.places = places
        self.by_id = {row.id: row for row in reversed(places)}
        self.units = {row.id: row for row in reversed(units)}
        self.unit_rows = units
        self.outlets = outlets

    def where(self, place: str | None) -> tuple[str | None, str | None]:
        """Floor and block of a place: its own, its flat's, or those of what feeds it."""
        floor: str | None = None
        block: str | None = None
        seen: set[str] = set()
        while place is not None and place in self.by_id and place not in seen:
            seen.add(place)
            row = self.by_id[place]
            unit = self.units.get(row.unit)
            floor = floor or row.floor or (unit.floor if unit else None)
            block = next(
                (said for said in (block, row.block, unit.block if unit else None) if said is not None), None
            )
            if floor is not None:
                return floor, block
            place = row.source
        return floor, block

    def place(self, row: PlaceRow) -> PlaceRow:
        """The row with its floor and block."""
        floor, block = self.where(row.id)
        return replace(row, floor=floor, block=block or "")

    def flats(self) -> tuple[UnitRow, ...]:
        """Flats of the document and flats that only panels and outlets name."""
        fed_from: dict[str, str] = {}
        paths: dict[str, Path] = {}
        for panel in self.places:
            if panel.unit:
                fed_from.setdefault(panel.unit, panel.id)
                paths.setdefault(panel.unit, panel.path)
        panelled = {row.unit for row in self.places if row.kind == "panel"}
        for outlet in self.outlets:
            fed_from.setdefault(outlet.unit, outlet.at)
            paths.setdefault(outlet.unit, outlet.path)
        rows = list(self.unit_rows)
        rows += [UnitRow(path=paths[name], id=name) for name in fed_from if name not in self.units]
        settled = []
        for row in rows:
            floor, block = self.where(fed_from.get(row.id, row.at))
            settled.append(
                replace(
                    row,
                    floor=row.floor or floor,
                    block=row.block if row.block is not None else block or "",
                    feed=row.feed or ("panel" if row.id in panelled else "home-run"),
                )
            )
        return tuple(settled)
