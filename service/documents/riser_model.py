"""What a riser drawing shows, before anything has a place on paper: stations with their devices, and flats.

A station is a place outside the flats where devices stand: the head-end, a closet, a box. A flat here is the
devices behind one cable that enters a unit. Every device and every run of the network stands in it once.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from service.documents.measures import Measures
from service.documents.window_place import Standing, standings_of
from service.engine.building.places import Floor, Place
from service.engine.placement.proposal import Design
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Device, Port, Run
from service.engine.plant.parts import Part
from service.engine.works.runs import cable_runs


@dataclass(frozen=True, slots=True, kw_only=True)
class Cord:
    """The run into a device: `label` and `kind` are what is written on it, both empty for a direct coupling."""

    id: str
    start: Port
    label: str
    kind: str
    cabled: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Node:
    """A device, or a feed: what is written beside it, the run into it, what hangs on it.

    `names` say what it is, in full and shorter: the first that fits is written. `alike` says all that makes it
    alike to another one, with what hangs on it.
    """

    id: str
    names: tuple[str, ...]
    symbol: str
    place: Place
    lines: tuple[str, ...]
    cord: Cord | None
    standing: Standing | None
    room: str
    children: tuple[Node, ...]
    alike: str

    def all(self) -> Iterator[Node]:
        """The node and everything below it, itself first."""
        yield self
        for child in self.children:
            yield from child.all()

    @property
    def here(self) -> tuple[Node, ...]:
        """The node and those coupled or cabled to it inside its own place, itself first."""
        inside = [node for child in self.children if child.place.id == self.place.id for node in child.here]
        return (self, *inside)

    @property
    def away(self) -> tuple[Node, ...]:
        """The devices fed from it at other places."""
        return tuple(child for child in self.children if child.place.id != self.place.id)


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """A place outside the flats, with its devices in the order of the signal."""

    place: Place
    nodes: tuple[Node, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RiserModel:
    """Stations by place, every node by id, the floors by block and label, and what levels are stated at."""

    stations: Mapping[str, Station]
    nodes: Mapping[str, Node]
    floors: Mapping[tuple[str, str], Floor]
    level_note: str

    def floor(self, place: Place) -> Floor:
        """The floor of a place; a label that no floor bears counts as lowest."""
        known = self.floors.get((place.block, place.floor)) or self.floors.get(("", place.floor))
        return known or Floor(label=place.floor, order=-1, elevation_m=0.0, block=place.block)


def riser_model(
    design: Design, catalogue: Catalogue, symbols: Mapping[str, str], measures: Measures
) -> RiserModel:
    """The stations and flats of a design's chosen network. `symbols` gives the symbol of a part's family."""
    maker = _Maker(design, catalogue, symbols, measures)
    roots = [maker.feed_node(feed.id) for feed in design.chosen.network.feeds]
    nodes = {node.id: node for root in roots for node in root.all()}
    grouped: dict[str, list[Node]] = {}
    for node in nodes.values():
        if not node.place.unit:
            grouped.setdefault(node.place.id, []).append(node)
    stations = {name: Station(place=rows[0].place, nodes=tuple(rows)) for name, rows in grouped.items()}
    floors = {(floor.block, floor.label): floor for floor in design.building.floors}
    return RiserModel(stations=stations, nodes=nodes, floors=floors, level_note=maker.level_note)


class _Maker:
    """Looks up once what every node's text needs."""

    def __init__(
        self, design: Design, catalogue: Catalogue, symbols: Mapping[str, str], measures: Measures
    ) -> None:
        building, network, self.report = design.building, design.chosen.network, design.chosen.report
        self.catalogue, self.symbols, self.measures = catalogue, symbols, measures
        self.places = {place.id: place for place in building.places}
        self.headend = self.places[building.headend]
        self.rooms = {outlet.id: outlet.room for outlet in building.outlets}
        self.devices = {device.id: device for device in network.devices}
        self.feeds = {feed.id: feed for feed in network.feeds}
        self.below: dict[str, list[Run]] = {}
        for run in sorted(network.runs, key=lambda run: (run.start.device, run.start, run.id)):
            self.below.setdefault(run.start.device, []).append(run)
        labels = {run.id: run.label for run in cable_runs(building, network, catalogue)}
        self.labels = labels
        self.port_rows = {port: row for row, port in enumerate(self.report.ports)}
        self.device_rows = {name: row for row, name in enumerate(self.report.devices)}
        self.served = {served.port.device: served.outlet for served in self.report.outlets}
        self.standings = standings_of(design.chosen.margins)
        count = len(self.report.carriers)
        self.ends = (0, count - 1)

    @property
    def level_note(self) -> str:
        """Which carriers the two figures of every level are of."""
        if not self.report.carriers:
            return "no carriers"
        low, high = (self.report.carriers[at] for at in self.ends)
        unit = self.measures.level_unit
        return (
            f"Levels in {unit}: lowest carrier {low.id} at {low.frequency_mhz:g} MHz / "
            f"highest carrier {high.id} at {high.frequency_mhz:g} MHz. Lengths in {self.measures.length_unit}."
        )

    def feed_node(self, feed_id: str) -> Node:
        """A feed with everything below it."""
        feed = self.feeds[feed_id]
        lines = [f"{len(feed.carriers)} carriers, {feed.kind}"]
        lines += [f"out {self._levels(self._out(Port(device=feed_id, group='out', number=1)))}"]
        return Node(
            id=feed_id,
            names=("Feed",),
            symbol="feed",
            place=self.headend,
            lines=tuple(lines),
            cord=None,
            standing=None,
            room="",
            children=tuple(self._node(run) for run in self.below.get(feed_id, ())),
            alike="feed",
        )

    def _node(self, run: Run) -> Node:
        device = self.devices[run.end]
        part = self.catalogue.part(device.part)
        children = tuple(self._node(below) for below in self.below.get(device.id, ()))
        outlet = self.served.get(device.id, "")
        cord = self._cord(run)
        return Node(
            id=device.id,
            names=(part.name, part.id),
            symbol=self.symbols.get(part.family, ""),
            place=self.places[device.place],
            lines=tuple(self._lines(device, part, compact=bool(outlet))),
            cord=cord,
            standing=self.standings.get(outlet),
            room=self.rooms.get(outlet, ""),
            children=children,
            alike=f"{part.id} {device.settings} {run.start.group} {cord.kind} "
            f"({' '.join(sorted(child.alike for child in children))})",
        )

    def _cord(self, run: Run) -> Cord:
        if run.cable is None:
            return Cord(id=run.id, start=run.start, label="", kind="", cabled=False)
        stays = ", stays" if run.existing else ""
        kind = f"{run.cable} {self.measures.length(run.length_m):.1f} {self.measures.length_unit}{stays}"
        return Cord(id=run.id, start=run.start, label=self.labels[run.id], kind=kind, cabled=True)

    def _lines(self, device: Device, part: Part, *, compact: bool) -> Iterator[str]:
        """Settings of an amplifier, level at the input, level at each group of outputs."""
        if part.active is not None:
            settings = device.settings
            gain = part.active.gain_db.high if settings.gain_db is None else settings.gain_db
            yield f"gain {gain:g} dB, slope {settings.slope_db:g} dB"
            if settings.input_pad_db or settings.input_equaliser_db:
                yield f"input pad {settings.input_pad_db:g} dB, equaliser {settings.input_equaliser_db:g} dB"
        row = self.report.input_dbmv[self.device_rows[device.id]]
        came = self._figures(row[list(self.ends)].tolist())
        groups = [
            (group.name, group.count, self._figures(self._out(Port(device=device.id, group=group.name))))
            for group in part.groups
        ]
        if compact and len(groups) == 1:
            yield f"in {came}, out {groups[0][2]} {self.measures.level_unit}"
            return
        yield f"in {came} {self.measures.level_unit}"
        for name, count, levels in groups:
            words = ["out", *([name] if name != "out" else []), *([f"×{count}"] if count > 1 else [])]
            yield f"{' '.join(words)} {levels} {self.measures.level_unit}"

    def _out(self, port: Port) -> list[float]:
        row = self.port_rows.get(port)
        if row is None:
            return [float("nan"), float("nan")]
        return [float(self.report.level_dbmv[row, at]) for at in self.ends]

    def _levels(self, levels: list[float]) -> str:
        return f"{self._figures(levels)} {self.measures.level_unit}"

    def _figures(self, levels: list[float]) -> str:
        """Two levels; NaN means that the carrier isn't carried."""
        shown = (round(self.measures.level(level), 1) + 0.0 for level in levels)
        return " / ".join("–" if level != level else f"{level:.1f}" for level in shown)


def outlets_of(nodes: tuple[Node, ...]) -> tuple[Node, ...]:
    """The nodes below, themselves included, at which a user plugs in."""
    return tuple(node for root in nodes for node in root.all() if node.standing is not None)
