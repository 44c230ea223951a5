"""The ladder: a network as index arrays, devices ordered by depth under their feeds.

Every later module works on these arrays and never walks the network again.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.errors import NotATreeError, UnknownIdError
from service.engine.plant.cables import Cable
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Device, Network, Port, Run, Served, Settings
from service.engine.plant.parts import Part, PortGroup
from service.engine.signal.spectrum import Feed

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class GainRow:
    """One output group of a part under given settings: everything that decides its gain."""

    part: Part
    settings: Settings
    group: PortGroup


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """A feed, or one output group of an amplifier: noise and distortion change here and nowhere else.

    `parent` is the stage ahead (-1 for a feed), `device` the amplifier's position (-1 for a feed), `row` the
    first port row of the group, `gain_row` its gain row (-1 for a feed), `feed` the feed's position.
    """

    parent: int
    device: int
    row: int
    gain_row: int
    feed: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Ladder:
    """A network in arrays.

    Rows are output ports: first those of the feeds, then those of the devices in order; a device's ports are
    contiguous, from `first_row[d]` to `first_row[d + 1]`. Devices are ordered by depth, then by id, and
    `depth_start` holds the first device of each depth and the count at the end. Each device has one run into
    it: `run_row` is the port it starts from, `run_cable` the position in `cables` (-1 for a direct joint),
    `run_length_m` and `run_joints` its length and joints, `run_loss_m` the length of new cable that loses as
    much. `row_gain` is the gain row of a port (-1 for a feed's), `row_stage` the last stage ahead of it.
    Outlets are ordered by id.
    """

    feeds: tuple[Feed, ...]
    devices: tuple[Device, ...]
    parts: tuple[Part, ...]
    runs: tuple[Run, ...]
    cables: tuple[Cable, ...]
    ports: tuple[Port, ...]
    gains: tuple[GainRow, ...]
    stages: tuple[Stage, ...]
    outlets: tuple[Served, ...]
    depth_start: Ints
    first_row: Ints
    run_row: Ints
    run_cable: Ints
    run_length_m: Floats
    run_loss_m: Floats
    run_joints: Floats
    row_device: Ints
    row_gain: Ints
    row_stage: Ints
    row_feed: Ints
    device_feed: Ints
    outlet_rows: Ints
    joint_loss_db_at_1ghz: float


def build_ladder(network: Network, catalogue: Catalogue) -> Ladder:
    """Index a network against a catalogue.

    Raises UnknownIdError for a part, cable, device or port that is not there, and NotATreeError naming
    devices that no feed reaches, that are fed twice, or whose port feeds two runs.
    """
    feeds = tuple(sorted(network.feeds, key=lambda feed: feed.id))
    layers = _layers(network, feeds)
    runs = tuple(run for layer in layers for run in layer)
    by_id = {device.id: device for device in network.devices}
    devices = tuple(by_id[run.end] for run in runs)
    rows = _Rows(feeds)
    cable_position = {name: i for i, name in enumerate(sorted({run.cable for run in runs if run.cable}))}
    parts = tuple(catalogue.part(device.part) for device in devices)
    for position, (device, part, run) in enumerate(zip(devices, parts, runs, strict=True)):
        rows.add(position, device, part, run)
    outlets = tuple(sorted(network.served, key=lambda served: served.outlet))
    rows.check_ports_used_once(devices)
    starts = np.cumsum([0, *(len(layer) for layer in layers)])
    return Ladder(
        feeds=feeds,
        devices=devices,
        parts=parts,
        runs=runs,
        cables=tuple(catalogue.cable(name) for name in cable_position),
        ports=tuple(rows.ports),
        gains=tuple(rows.gains),
        stages=tuple(rows.stages),
        outlets=outlets,
        depth_start=starts.astype(np.int64),
        first_row=_ints([*rows.first_row, len(rows.ports)]),
        run_row=_ints(rows.run_row),
        run_cable=_ints([cable_position[run.cable] if run.cable else -1 for run in runs]),
        run_length_m=np.array([run.length_m for run in runs], dtype=np.float64),
        run_loss_m=np.array([run.length_m * run.loss_factor for run in runs], dtype=np.float64),
        run_joints=np.array([run.joints for run in runs], dtype=np.float64),
        row_device=_ints(rows.row_device),
        row_gain=_ints(rows.row_gain),
        row_stage=_ints(rows.row_stage),
        row_feed=_ints([rows.stages[stage].feed for stage in rows.row_stage]),
        device_feed=_ints([rows.stages[rows.row_stage[row]].feed for row in rows.run_row]),
        outlet_rows=_ints([rows.row_of(served.port) for served in outlets]),
        joint_loss_db_at_1ghz=network.joint_loss_db_at_1ghz,
    )


def _ints(values: Iterable[int]) -> Ints:
    return np.fromiter(values, dtype=np.int64)


def _layers(network: Network, feeds: tuple[Feed, ...]) -> list[list[Run]]:
    """The runs into the devices of each depth, by id."""
    known = {device.id for device in network.devices}
    sources = known | {feed.id for feed in feeds}
    leaving: dict[str, list[Run]] = {}
    fed: set[str] = set()
    twice: set[str] = set()
    for run in network.runs:
        if run.end not in known:
            raise UnknownIdError(kind="device", name=run.end)
        if run.start.device not in sources:
            raise UnknownIdError(kind="device", name=run.start.device)
        (twice if run.end in fed else fed).add(run.end)
        leaving.setdefault(run.start.device, []).append(run)
    if twice:
        raise NotATreeError(devices=tuple(sorted(twice)))
    layers: list[list[Run]] = []
    layer = _leaving(leaving, [feed.id for feed in feeds])
    while layer:
        layers.append(layer)
        known.difference_update(run.end for run in layer)
        layer = _leaving(leaving, [run.end for run in layer])
    if known:
        raise NotATreeError(devices=tuple(sorted(known)))
    return layers


def _leaving(leaving: dict[str, list[Run]], starts: list[str]) -> list[Run]:
    return sorted((run for start in starts for run in leaving.get(start, ())), key=lambda run: run.end)


class _Rows:
    """Rows while they grow: feeds first, then one device at a time, parents before children."""

    def __init__(self, feeds: tuple[Feed, ...]) -> None:
        self.ports: list[Port] = []
        self.gains: list[GainRow] = []
        self.stages: list[Stage] = []
        self.first_row: list[int] = []
        self.run_row: list[int] = []
        self.row_device: list[int] = []
        self.row_gain: list[int] = []
        self.row_stage: list[int] = []
        self._groups: dict[tuple[str, str], tuple[int, int]] = {}
        self._kinds: dict[tuple[str, Settings], int] = {}
        for position, feed in enumerate(feeds):
            self.stages.append(Stage(parent=-1, device=-1, row=len(self.ports), gain_row=-1, feed=position))
            self._add_group(feed.id, "out", feed.outputs, device=-1, gain=-1, stage=position)

    def add(self, position: int, device: Device, part: Part, run: Run) -> None:
        """Append the ports of the device that `run` feeds."""
        start = self.row_of(run.start)
        self.run_row.append(start)
        self.first_row.append(len(self.ports))
        stage = self.row_stage[start]
        gain = self._kind(device, part)
        for group in part.groups:
            here = stage
            if part.active is not None and group.count:
                here = len(self.stages)
                row, feed = len(self.ports), self.stages[stage].feed
                self.stages.append(Stage(parent=stage, device=position, row=row, gain_row=gain, feed=feed))
            self._add_group(device.id, group.name, group.count, device=position, gain=gain, stage=here)
            gain += 1

    def row_of(self, port: Port) -> int:
        """The row of a port; raises UnknownIdError."""
        first, count = self._groups.get((port.device, port.group), (0, 0))
        if not 1 <= port.number <= count:
            raise UnknownIdError(kind="port", name=str(port))
        return first + port.number - 1

    def check_ports_used_once(self, devices: tuple[Device, ...]) -> None:
        """Raise NotATreeError when two runs start from one port."""
        owner: dict[int, int] = {}
        for position, row in enumerate(self.run_row):
            if owner.setdefault(row, position) != position:
                raise NotATreeError(devices=(devices[owner[row]].id, devices[position].id))

    def _kind(self, device: Device, part: Part) -> int:
        """Position of the first gain row of a part under its settings, made once."""
        key = (device.part, device.settings)
        if key not in self._kinds:
            self._kinds[key] = len(self.gains)
            self.gains.extend(
                GainRow(part=part, settings=device.settings, group=group) for group in part.groups
            )
        return self._kinds[key]

    def _add_group(self, owner: str, group: str, count: int, *, device: int, gain: int, stage: int) -> None:
        self._groups[owner, group] = (len(self.ports), count)
        self.ports.extend(Port(device=owner, group=group, number=n) for n in range(1, count + 1))
        self.row_device.extend([device] * count)
        self.row_gain.extend([gain] * count)
        self.row_stage.extend([stage] * count)
