"""Layouts that a designer draws without a computer, built part by part and measured exactly.

Nothing here knows how placement searches: closets, flats and lengths are read off the building's own rows.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import pairwise, product
from typing import Any

import numpy as np

from service.engine.analysis import analyse
from service.engine.building.places import Building
from service.engine.plant.network import Device, Network, Port, Run, Served, Settings
from service.engine.plant.permits import jackets_for
from service.engine.plant.tariff import WayKind, network_cents
from service.engine.signal.limits import design_window

SPLITTERS = {2: "split-2", 3: "split-3", 4: "split-4", 6: "split-6", 8: "split-8", 16: "split-16"}
VALUES = {2: (8, 11, 14, 17, 20, 23, 26), 4: (11, 14, 17, 20, 23, 26), 8: (14, 17, 20, 23, 26)}
ENDS = {2: "tap-2-4-end", 4: "tap-4-8-end", 8: "tap-8-11-end"}
LAUNCHES = (None, "floor-amp", "launch-small", "launch-medium", "launch-large")
SLOPES_DB = (0.0, 2.0, 4.0, 6.0, 8.0)


def smallest(sizes: Any, ports: int) -> int:
    """The smallest size with so many ports."""
    return min(size for size in sizes if size >= ports)


@dataclass(slots=True)
class Bench:
    """Puts devices and cables down by hand."""

    building: Building
    desk: Any
    devices: list[Device] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    served: list[Served] = field(default_factory=list)
    open: list[Port] = field(default_factory=list)
    counts: dict[str, int] = field(default_factory=dict)

    def ways_down(self, place: str) -> tuple[str, ...]:
        """Ways from the head-end to a place; ways of these buildings are drawn from above."""
        found: list[str] = []
        above = {way.end: way for way in self.building.ways}
        while place != self.building.headend:
            found.append(above[place].id)
            place = above[place].start
        return tuple(reversed(found))

    def put(self, place: str, part: str, start: Port, series: str = "6") -> list[Port]:
        """Stand a part at a place behind a port, with the cable between when they are apart; its open ports."""
        self.counts[place] = self.counts.get(place, 0) + 1
        name = f"{place}.{self.counts[place]}"
        here = next((row.place for row in self.devices if row.id == start.device), self.building.headend)
        self.devices.append(Device(id=name, part=part, place=place))
        if start in self.open:
            self.open.remove(start)
        if here == place:
            self.runs.append(Run(id=name, start=start, end=name, cable=None, length_m=0.0, joints=1))
        else:
            self.runs.append(self.cable(start, name, here, place, series))
        ports = [
            Port(device=name, group=group.name, number=number + 1)
            for group in self.desk.library.catalogue.part(part).groups
            for number in range(group.count)
        ]
        self.open += ports
        return ports

    def cable(self, start: Port, name: str, here: str, place: str, series: str) -> Run:
        """The cheapest permitted cable of a series along the ways between two places."""
        building, tariff = self.building, self.desk.library.tariffs[self.building.tariff]
        down = self.ways_down(place)[len(self.ways_down(here)) :]
        rows = [way for way in building.ways if way.id in down]
        places = {row.id: row for row in building.places}
        length = sum(way.pulled_m for way in rows)
        length += building.ends.at(places[here].kind) + building.ends.at(places[place].kind)
        jackets = jackets_for("us", tuple(sorted({space for way in rows for space in way.spaces})))
        cables = [
            row
            for row in self.desk.library.catalogue.cables
            if row.series == series and row.jacket in jackets and tariff.prices_cable(row.id)
        ]
        chosen = min(cables, key=lambda row: (tariff.leg_cents(row.id, "slack", 1e3, first=False), row.id))
        return Run(id=name, start=start, end=name, cable=chosen.id, length_m=length, ways=down)

    def flat(self, start: Port, place: str) -> None:
        """A flat's panel with its splitter and outlets, or one outlet."""
        below = [way.end for way in self.building.ways if way.start == place]
        if not below:
            plate = self.put(place, "outlet-end", start)[0]
            self.open.remove(plate)
            outlet = next(row for row in self.building.outlets if row.id == place)
            self.served.append(Served(outlet=place, port=plate, user=outlet.user, unit=outlet.unit))
            return
        ports = self.put(place, SPLITTERS[smallest(SPLITTERS, len(below))], start)
        for port, outlet in zip(ports, below, strict=False):
            self.flat(port, outlet)

    def network(self) -> Network:
        """What stands on the bench, every open port closed."""
        return Network(
            id=self.building.id,
            feeds=(self.building.feed,),
            devices=tuple(sorted(self.devices, key=lambda row: row.id)),
            runs=tuple(sorted(self.runs, key=lambda row: row.id)),
            served=tuple(sorted(self.served, key=lambda row: row.outlet)),
            terminated=tuple(sorted(self.open)),
        )


def closets_of(building: Building) -> list[str]:
    """Closets from the head-end down; they stand in one row."""
    found, here = [], building.headend
    kinds = {place.id: place.kind for place in building.places}
    while nexts := [way.end for way in building.ways if way.start == here and kinds[way.end] == "closet"]:
        here = nexts[0]
        found.append(here)
    return found


def fed_from(building: Building, closet: str) -> list[str]:
    """Panels and single outlets of a closet. A panel's place stays where it serves one outlet only."""
    kinds = {place.id: place.kind for place in building.places}
    return [way.end for way in building.ways if way.start == closet and kinds[way.end] in ("panel", "outlet")]


def tapped_riser(building: Building, desk: Any, launch: str | None, series: str) -> Iterator[Network]:
    """A tap of one size in every closet, values falling, the through port on to the next closet."""
    closets = closets_of(building)
    sizes = [smallest(VALUES, max(2, len(fed_from(building, closet)))) for closet in closets]
    choices = [[f"tap-{size}-{value}" for value in VALUES[size]] for size in sizes]
    choices[-1].append(ENDS[sizes[-1]])
    for parts in product(*choices):
        numbers = [int(part.split("-")[2]) for part in parts]
        if any(low > high for high, low in pairwise(numbers)):
            continue
        bench = Bench(building, desk)
        start = Port(device=building.feed.id, group="out")
        if launch:
            start = bench.put(building.headend, launch, start)[0]
        for closet, part in zip(closets, parts, strict=True):
            ports = bench.put(closet, part, start, series)
            taps = [port for port in ports if port.group == "tap"]
            for port, place in zip(taps, fed_from(building, closet), strict=False):
                bench.flat(port, place)
            start = next((port for port in ports if port.group == "through"), start)
        yield bench.network()


def express_feeds(
    building: Building, desk: Any, launch: str | None, series: str, zone: str | None = None
) -> Iterator[Network]:
    """A splitter at the head-end, one riser cable to each closet, an amplifier there or not, one splitter."""
    closets = closets_of(building)
    bench = Bench(building, desk)
    start = Port(device=building.feed.id, group="out")
    if launch:
        start = bench.put(building.headend, launch, start)[0]
    starts = [start]
    if len(closets) > 1:
        starts = bench.put(building.headend, SPLITTERS[smallest(SPLITTERS, len(closets))], start)
    for port, closet in zip(starts, closets, strict=False):
        here = bench.put(closet, zone, port, series)[0] if zone else port
        flats = fed_from(building, closet)
        outs = [here]
        if len(flats) > 1:
            outs = bench.put(closet, SPLITTERS[smallest(SPLITTERS, len(flats))], here, series)
        for out, place in zip(outs, flats, strict=False):
            bench.flat(out, place)
    yield bench.network()


def set_to(network: Network, part: str | None, gain_db: float, slope_db: float) -> Network:
    """The network with its launch amplifier set."""
    settings = Settings(gain_db=gain_db, slope_db=slope_db)
    return replace(
        network,
        devices=tuple(
            replace(row, settings=settings) if row.part == part else row for row in network.devices
        ),
    )


def fitting(network: Network, building: Building, desk: Any, amplifier: str | None) -> Network | None:
    """The network at the launch setting nearest to the middle of the design window, if that fits exactly."""
    limits = desk.limits[building.rules.limits]
    low, high = design_window(limits.services[0], margins=building.policy.margins)

    def told(one: Network) -> Any:
        return analyse(
            one,
            desk.library.catalogue,
            limits,
            desk.services,
            margins=building.policy.margins,
            spread=False,
        )

    def good(one: Network) -> bool:
        found = told(one)
        level = found.report.outlet_level_dbmv
        calm = [row for row in found.findings if row.severity == "breaks" or "amplifier" in row.rule]
        return bool(level.min() >= low and level.max() <= high and not calm)

    if amplifier is None:
        return network if good(network) else None
    active = desk.library.catalogue.part(amplifier).active
    most = active.gain_db.high - 3.0
    step = active.gain_db.step or 0.5
    for slope in SLOPES_DB:
        if slope > active.slope_db.high - 2.0:
            continue
        level = told(set_to(network, amplifier, most, slope)).report.outlet_level_dbmv
        least, largest = float(np.max(level - high)), float(np.min(level - low))
        for count in range(int((most - active.gain_db.low) / step) + 1):
            if least <= count * step <= largest:
                one = set_to(network, amplifier, most - count * step, slope)
                if good(one):
                    return one
    return None


def cents(network: Network, building: Building, desk: Any) -> int:
    """Direct cost of a network by the tariff."""
    ways = {way.id: WayKind(way=way.id, kind=way.kind, length_m=way.pulled_m) for way in building.ways}
    return network_cents(network, desk.library.tariffs[building.tariff], ways)
