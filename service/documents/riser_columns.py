"""Which stations stand above each other in the drawing, and which flats are drawn in full.

Stations that risers join are a shaft; shafts of one block that share no floor stand in one column. Within a
column every floor is a strip, from the top down.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from service.documents.riser_model import Node, RiserModel, Station, outlets_of
from service.engine.building.places import Building, Floor


@dataclass(slots=True, kw_only=True)
class Strip:
    """One floor of a column: its stations, and the flats on it that are fed from another floor.

    `flats` gives the flats on this floor behind each device. `as_strip` is the strip drawn in full to which
    this one's flats are alike, where they are folded.
    """

    name: str
    floor: Floor
    stations: list[Station] = field(default_factory=list)
    flats: dict[str, list[Node]] = field(default_factory=dict)
    as_strip: Strip | None = None

    @property
    def entries(self) -> tuple[Node, ...]:
        """The first device of every flat, by feeding device in drawing order."""
        return tuple(entry for rows in self.flats.values() for entry in rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """Strips from the top down."""

    name: str
    strips: tuple[Strip, ...]


def columns_of(building: Building, model: RiserModel, *, fold: bool) -> tuple[Column, ...]:
    """The columns of a building, the highest first; with `fold`, alike floors are drawn in full once."""
    shafts = _shafts(building, model)
    merged: list[list[Station]] = []
    for shaft in shafts:
        top = max(model.floor(station.place).order for station in shaft)
        home = next((rows for rows in merged if _stands_above(rows, shaft, top, model)), None)
        if home is None:
            merged.append(list(shaft))
        else:
            home.extend(shaft)
    columns = tuple(_column(rows, model) for rows in merged)
    if fold:
        _fold(columns)
    return columns


def _stands_above(rows: Sequence[Station], shaft: Sequence[Station], top: int, model: RiserModel) -> bool:
    """True when all the stations are of the shaft's block and stand on floors above it."""
    same = {station.place.block for station in rows} == {station.place.block for station in shaft}
    return same and min(model.floor(station.place).order for station in rows) > top


def _shafts(building: Building, model: RiserModel) -> list[list[Station]]:
    """Stations joined by risers; the head-end stands with the first shaft of its block that it can join."""
    parent = {name: name for name in model.stations}

    def root(name: str) -> str:
        while parent[name] != name:
            name = parent[name]
        return name

    hubs = {building.headend}
    for way in building.ways:
        ends = (way.start, way.end)
        if way.kind == "riser" and all(end in parent for end in ends) and not hubs & set(ends):
            first, second = sorted(root(end) for end in ends)
            parent[second] = first
    groups: dict[str, list[Station]] = {}
    for name, station in model.stations.items():
        groups.setdefault(root(name), []).append(station)
    shafts = [
        sorted(rows, key=lambda station: (-model.floor(station.place).order, station.place.id))
        for rows in groups.values()
    ]
    shafts.sort(key=lambda rows: (-model.floor(rows[0].place).order, rows[0].place.id))
    return _with_singles_joined(building.headend, shafts, model)


def _with_singles_joined(headend: str, shafts: list[list[Station]], model: RiserModel) -> list[list[Station]]:
    """The head-end, and stations that no riser joins, stand with a neighbour of their block."""
    first = [rows for rows in shafts if any(station.place.id == headend for station in rows)]
    order = first + [rows for rows in shafts if rows not in first]
    joined: list[list[Station]] = []
    for rows in order:
        block = rows[0].place.block
        home = next((other for other in joined if other[0].place.block == block), None)
        alone = len(rows) == 1 or (home is not None and len(home) == 1 and home[0].place.id == headend)
        if home is not None and alone:
            home.extend(rows)
        else:
            joined.append(list(rows))
    for rows in joined:
        rows.sort(key=lambda station: (-model.floor(station.place).order, station.place.id))
    return joined


def _column(stations: Sequence[Station], model: RiserModel) -> Column:
    """The strips of a column: every floor between its highest and its lowest thing."""
    block = stations[0].place.block
    strips: dict[int, Strip] = {}

    def strip(floor: Floor) -> Strip:
        if floor.order not in strips:
            strips[floor.order] = Strip(name=f"{stations[0].place.id}/{floor.label}", floor=floor)
        return strips[floor.order]

    for station in stations:
        strip(model.floor(station.place)).stations.append(station)
        for node in station.nodes:
            for entry in node.away:
                if entry.place.unit:
                    # A place without a floor of its own is drawn beside what feeds it.
                    home = entry.place if entry.place.floor else station.place
                    strip(model.floor(home)).flats.setdefault(node.id, []).append(entry)
    low, high = min(strips), max(strips)
    for (of_block, _), floor in model.floors.items():
        if of_block in (block, "") and low < floor.order < high:
            strip(floor)
    ordered = tuple(strips[order] for order in sorted(strips, reverse=True))
    return Column(name=_name(stations), strips=ordered)


def _name(stations: Sequence[Station]) -> str:
    """What the column is called: its block, and its first and last station."""
    block = stations[0].place.block
    first, last = stations[0].place.id, stations[-1].place.id
    span = first if first == last else f"{first} to {last}"
    return f"Block {block}, riser {span}" if block else f"Riser {span}"


def _fold(columns: Sequence[Column]) -> None:
    """Let every strip whose flats are alike to an earlier one's say so."""
    seen: dict[tuple[str, ...], Strip] = {}
    for column in columns:
        for strip in column.strips:
            if len(outlets_of(strip.entries)) < _FEWEST_TO_FOLD:
                continue
            alike = tuple(sorted(entry.alike for entry in strip.entries))
            if alike in seen:
                strip.as_strip = seen[alike]
            else:
                seen[alike] = strip


_FEWEST_TO_FOLD = 3
