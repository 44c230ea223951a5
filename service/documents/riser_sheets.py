"""Where the things of a riser drawing stand: strips broken into sheets, each thing with its height.

Positions are millimetres from the top of a sheet.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from service.documents.lettering import wrapped
from service.documents.riser_columns import Column, Strip
from service.documents.riser_model import Node, RiserModel, Station

TEXT_MM = 2.1
LINE_MM = 2.7
ROW_MM = 6.6
SYMBOL_MM = 6.0
#: From the top of a block to the line on which its first text stands.
FIRST_MM = 2.2
#: A text above a drawn line stands so far over it, one below so far under it.
OVER_MM, UNDER_MM = 0.9, 2.35
FLAT_GAP_MM = 1.6
#: From the top of a panel's device to the middle of its symbol.
PANEL_DOWN_MM = 3.1
FLAT_PAD_MM = 1.1
STATION_HEAD_MM = 4.6
STATION_GAP_MM = 2.0
STRIP_PAD_MM = 1.8
STUB_MM = 1.3
FOLD_MM = 14.5
EMPTY_STRIP_MM = 8.5
COLUMN_HEAD_MM = 7.0
#: A floor is broken over two sheets where at least this share of a sheet would stay empty without.
_WORTH_FILLING = 0.4
STATION_WIDE_MM = 58.0
STATION_TEXT_MM = STATION_WIDE_MM - SYMBOL_MM - 6.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """A sheet: its size, and the part between heading and legend that holds the drawing."""

    width_mm: float
    height_mm: float
    top_mm: float
    foot_mm: float

    @property
    def bottom_mm(self) -> float:
        """Where the drawing ends."""
        return self.height_mm - self.foot_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A device of a station with flats beside it; without a device, flats fed from elsewhere."""

    node: Node | None
    station: Station | None
    flats: tuple[Node, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """Where something stands: sheet from 0, top, height, and how far below the top its symbol's middle is."""

    sheet: int
    top_mm: float
    height_mm: float
    down_mm: float = 0.0

    @property
    def symbol_mm(self) -> float:
        """The middle of a device's symbol."""
        return self.top_mm + self.down_mm


@dataclass(slots=True, kw_only=True)
class Placed:
    """Everything with its place. `devices` are those of stations, `flats` those of entries, by device id."""

    sheets: int = 1
    devices: dict[str, Spot] = field(default_factory=dict)
    flats: dict[str, Spot] = field(default_factory=dict)
    strips: list[tuple[Strip, Spot]] = field(default_factory=list)
    stations: list[tuple[Station, Spot]] = field(default_factory=list)
    folds: list[tuple[Strip, Spot]] = field(default_factory=list)
    heads: list[tuple[Column, Spot]] = field(default_factory=list)
    column_of: dict[str, str] = field(default_factory=dict)
    ends_mm: list[float] = field(default_factory=list)


def trunk_children(node: Node) -> tuple[Node, ...]:
    """Devices at other stations that a device feeds."""
    return tuple(child for child in node.away if not child.place.unit)


def told(node: Node, column_of: dict[str, str]) -> tuple[str, ...]:
    """Lines that name what a device feeds in other columns."""
    own = column_of.get(node.id)
    far = [child.id for child in trunk_children(node) if column_of.get(child.id) != own]
    return wrapped("feeds " + ", ".join(far), STATION_TEXT_MM, TEXT_MM) if far else ()


def lead_lines(node: Node) -> int:
    """Lines above a device's name: where its signal comes from, and the cable."""
    return 0 if node.cord is None else (2 if node.cord.cabled else 1)


def symbol_down(node: Node) -> float:
    """From the top of a station's device to the middle of its symbol: just below its name."""
    return FIRST_MM + LINE_MM * lead_lines(node) + OVER_MM


def device_height(node: Node, column_of: dict[str, str]) -> float:
    """Room of a station's device: its lines, or the stubs of the cables that leave it downwards."""
    lines = len(node.lines) + len(told(node, column_of))
    own = column_of.get(node.id)
    stubs = sum(column_of.get(child.id) == own for child in trunk_children(node))
    down = symbol_down(node)
    return max(down + UNDER_MM + LINE_MM * lines, down + SYMBOL_MM / 2 + 2.0 + STUB_MM * stubs)


def panel_nodes(entry: Node) -> tuple[Node, ...]:
    """The devices of a flat's panel: those where its cable ends, where they feed other places."""
    return entry.here if any(node.away for node in entry.here) else ()


def row_nodes(entry: Node) -> tuple[Node, ...]:
    """The devices of a flat that are drawn one a row, in the order of the signal."""
    inside = {node.id for node in panel_nodes(entry)}
    return tuple(node for node in entry.all() if node.id not in inside)


def panel_node_height(node: Node) -> float:
    """Room of a device in a panel."""
    return max(OVER_MM + UNDER_MM + LINE_MM * len(node.lines), SYMBOL_MM) + 1.4


def row_height(node: Node) -> float:
    """Room of a device in a row."""
    return max(ROW_MM, (1 + len(node.lines)) * LINE_MM + 1.2)


def flat_height(entry: Node) -> float:
    """Room of a flat: its name and panel, or its rows."""
    panel = LINE_MM + sum(panel_node_height(node) for node in panel_nodes(entry))
    return max(panel, sum(row_height(node) for node in row_nodes(entry))) + 2 * FLAT_PAD_MM


def flat_entry_mm(entry: Node, top_mm: float) -> float:
    """Where the cable enters a flat that begins at `top_mm`."""
    if panel_nodes(entry):
        return top_mm + FLAT_PAD_MM + LINE_MM + PANEL_DOWN_MM
    return top_mm + FLAT_PAD_MM + row_height(entry) / 2


class Packer:
    """Puts strips on sheets from the top down."""

    def __init__(self, paper: Paper, model: RiserModel) -> None:
        self.paper, self.model, self.placed = paper, model, Placed()
        self.sheet, self.y = 0, paper.top_mm

    def pack(self, columns: Sequence[Column]) -> Placed:
        """Place every column. A column that doesn't fit into what is left of a sheet begins on the next."""
        for column in columns:
            for strip in column.strips:
                for station in strip.stations:
                    self.placed.column_of |= dict.fromkeys((node.id for node in station.nodes), column.name)
        for column in columns:
            whole = COLUMN_HEAD_MM + sum(self._height(strip, self._items(strip)) for strip in column.strips)
            tight = self.paper.bottom_mm - self.y < _WORTH_FILLING * (
                self.paper.bottom_mm - self.paper.top_mm
            )
            if self.y > self.paper.top_mm and self.y + whole > self.paper.bottom_mm and tight:
                self._turn()
            self.placed.heads.append((column, self._spot(COLUMN_HEAD_MM)))
            self.y += COLUMN_HEAD_MM
            for strip in column.strips:
                self._strip(strip)
        self._turn()
        self.placed.sheets = self.sheet
        return self.placed

    def _turn(self) -> None:
        """Begin a new sheet."""
        self.placed.ends_mm.append(self.y)
        self.sheet, self.y = self.sheet + 1, self.paper.top_mm

    def _spot(self, height: float, at: float | None = None, down: float = 0.0) -> Spot:
        top = self.y if at is None else at
        return Spot(sheet=self.sheet, top_mm=top, height_mm=height, down_mm=down)

    def _items(self, strip: Strip) -> list[Item]:
        folded = strip.as_strip is not None
        items: list[Item] = []
        here: set[str] = set()
        for station in strip.stations:
            for node in station.nodes:
                here.add(node.id)
                flats = () if folded else tuple(strip.flats.get(node.id, ()))
                items.append(Item(node=node, station=station, flats=flats))
        far = (
            ()
            if folded
            else [entry for name, rows in strip.flats.items() if name not in here for entry in rows]
        )
        return items + ([Item(node=None, station=None, flats=tuple(far))] if far else [])

    def _height(self, strip: Strip, items: Sequence[Item]) -> float:
        if not items and strip.as_strip is None:
            return EMPTY_STRIP_MM
        total, before = 2 * STRIP_PAD_MM, None
        for item in items:
            total += self._item_height(item) + self._lead(item, before)
            before = item.station
        least = FOLD_MM + 2 * STRIP_PAD_MM if strip.as_strip is not None else EMPTY_STRIP_MM
        return max(total, least)

    def _lead(self, item: Item, before: Station | None) -> float:
        """Room above an item: the head of its station, where it is the station's first."""
        if item.station is None or item.station is before:
            return 0.0
        return STATION_HEAD_MM + (STATION_GAP_MM if before is not None else 0.0)

    def _item_height(self, item: Item) -> float:
        device = device_height(item.node, self.placed.column_of) if item.node is not None else 0.0
        flats = sum(flat_height(entry) + FLAT_GAP_MM for entry in item.flats)
        return max(device, flats)

    def _strip(self, strip: Strip) -> None:
        items, paper = self._items(strip), self.paper
        whole, room = self._height(strip, items), paper.bottom_mm - paper.top_mm
        fits_here = self.y + whole <= paper.bottom_mm
        whole_only = strip.as_strip is not None or not strip.flats
        if not fits_here and (whole_only or paper.bottom_mm - self.y < _WORTH_FILLING * room):
            self._turn()
        while True:
            taken, items = self._taken(strip, items)
            self._put(strip, taken)
            if not items:
                return
            self._turn()

    def _taken(self, strip: Strip, items: list[Item]) -> tuple[list[Item], list[Item]]:
        """As many items as fit on the sheet, at least one, and the rest."""
        taken: list[Item] = []
        rest = list(items)
        while rest:
            if self.y + self._height(strip, [*taken, rest[0]]) <= self.paper.bottom_mm:
                taken.append(rest.pop(0))
                continue
            part = self._split(strip, taken, rest[0])
            if part is not None:
                taken.append(part[0])
                rest[0] = part[1]
            elif not taken:
                taken.append(rest.pop(0))
            break
        return taken, rest

    def _split(self, strip: Strip, taken: list[Item], item: Item) -> tuple[Item, Item] | None:
        """The item with as many of its flats as fit, and an item of the flats that are left."""
        for count in range(len(item.flats) - 1, 0, -1):
            first = Item(node=item.node, station=item.station, flats=item.flats[:count])
            if self.y + self._height(strip, [*taken, first]) <= self.paper.bottom_mm:
                return first, Item(node=None, station=None, flats=item.flats[count:])
        return None

    def _put(self, strip: Strip, items: Sequence[Item]) -> None:
        height = self._height(strip, items)
        self.placed.strips.append((strip, self._spot(height)))
        at, before = self.y + STRIP_PAD_MM, None
        for item in items:
            at += self._lead(item, before)
            before = item.station
            if item.node is not None:
                own = device_height(item.node, self.placed.column_of)
                self.placed.devices[item.node.id] = self._spot(own, at, symbol_down(item.node))
            below = at
            for entry in item.flats:
                self.placed.flats[entry.id] = self._spot(flat_height(entry), below)
                below += flat_height(entry) + FLAT_GAP_MM
            at += self._item_height(item)
        for station, rows in _by_station(items):
            self._frame(station, rows)
        if strip.as_strip is not None and all(other is not strip for other, _ in self.placed.folds):
            self.placed.folds.append((strip, self._spot(FOLD_MM, self.y + STRIP_PAD_MM)))
        self.y += height

    def _frame(self, station: Station, nodes: Sequence[Node]) -> None:
        """The box around a station's devices on this sheet."""
        spots = [self.placed.devices[node.id] for node in nodes]
        top = spots[0].top_mm - STATION_HEAD_MM + 0.4
        bottom = spots[-1].top_mm + spots[-1].height_mm
        self.placed.stations.append((station, self._spot(bottom - top, top)))


def _by_station(items: Sequence[Item]) -> Iterator[tuple[Station, list[Node]]]:
    rows: dict[str, tuple[Station, list[Node]]] = {}
    for item in items:
        if item.station is not None and item.node is not None:
            rows.setdefault(item.station.place.id, (item.station, []))[1].append(item.node)
    yield from rows.values()
