"""The test sheet: what is measured where, what the design expects there, and what must be reached.

A source drifts from day to day. So the launch is read first on the day of the test, and every other reading is
held against design + launch measured − launch designed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from service.engine.building.places import Building
from service.engine.plant.network import Network, Served
from service.engine.propagation.report import SignalReport
from service.engine.signal.limits import Limits

#: How far a reading may lie from what is expected. Source: ITED manual, from second hand.
TOLERANCE_DB = 3.0

ReadingKind = Literal["launch", "pilot", "worst", "best", "end of leg"]
_Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One reading to take. `launch` names the launch that feeds the point, `leg` the first place that the cable
    from the head-end comes to.

    Levels in dBmV, at a launch as its test point shows them. `low_dbmv`, `high_dbmv` and `least_ratio_db` are None
    where nothing is asked: at launches, at ends of legs, and where the profile is silent. `ratio_db` is carrier
    to noise and intermodulation, which meters show as MER or C/N.
    """

    kind: ReadingKind
    launch: str
    leg: str
    point: str
    unit: str = ""
    floor: str = ""
    room: str = ""
    carrier: str
    frequency_mhz: float
    designed_dbmv: float
    low_dbmv: float | None = None
    high_dbmv: float | None = None
    ratio_db: float | None = None
    least_ratio_db: float | None = None


def readings_of(
    building: Building, network: Network, report: SignalReport, limits: Limits
) -> tuple[Reading, ...]:
    """Every reading to take: launches first, then leg by leg.

    At every outlet the lowest and the highest carrier it gets; at the worst and the best outlet of a leg all
    carriers; at a terminated port of each leg's furthest closet all carriers.
    """
    sheet = _Sheet(building, network, report, limits)
    return (*sheet.launches(), *sheet.legs())


class _Sheet:
    """A network looked up once: who feeds whom, which launch and which leg a device hangs on."""

    def __init__(self, building: Building, network: Network, report: SignalReport, limits: Limits) -> None:
        self.building, self.network, self.report = building, network, report
        self.places = {place.id: place for place in building.places}
        self.heights = {(row.block, row.label): row.order for row in building.floors}
        self.rooms = {outlet.id: outlet.room for outlet in building.outlets}
        self.stands = {device.id: device.place for device in network.devices}
        self.run_into = {run.end: run for run in network.runs}
        self.feeds = {feed.id for feed in network.feeds}
        self.amplifiers = {row.device: row for row in report.amplifiers}
        self.rows = {port: at for at, port in enumerate(report.ports)}
        self.order = sorted(
            range(len(report.carriers)), key=lambda at: (report.carriers[at].frequency_mhz, at)
        )
        self.asked = tuple(limits.service(carrier.service) for carrier in report.carriers)

    def path(self, device: str) -> list[str]:
        """Feed and devices from the feed down to the device."""
        names = [device]
        while names[-1] in self.run_into:
            names.append(self.run_into[names[-1]].start.device)
        return names[::-1]

    def at_headend(self, device: str) -> bool:
        """True for feeds and for devices in the head-end."""
        return device in self.feeds or self.stands.get(device) == self.building.headend

    def launch(self, device: str) -> str:
        """The first amplifier in the head-end on the way to the device; the feed where there is none."""
        path = self.path(device)
        first = (name for name in path if name in self.amplifiers and self.at_headend(name))
        return next(first, path[0])

    def leg(self, device: str) -> str:
        """The first place that the way from the head-end comes to; the head-end for what stands in it."""
        outside = (name for name in self.path(device) if not self.at_headend(name))
        return self.stands.get(next(outside, ""), self.building.headend)

    def launches(self) -> Iterator[Reading]:
        """Every launch in use, carrier by carrier, at the amplifier's test point or the feed's output."""
        for name in sorted({self.launch(served.port.device) for served in self.report.outlets}):
            if name in self.amplifiers:
                level = self.amplifiers[name].test_point_dbmv
            else:
                level = self.report.level_dbmv[
                    next(at for port, at in self.rows.items() if port.device == name)
                ]
            yield from self.readings("launch", name, self.building.headend, name, level, self.order)

    def legs(self) -> Iterator[Reading]:
        """Outlets leg by leg, then the end of the leg."""
        legs: dict[str, list[int]] = {}
        for at, served in enumerate(self.report.outlets):
            legs.setdefault(self.leg(served.port.device), []).append(at)
        for leg in sorted(legs):
            worst, best = self.ends(legs[leg])
            for at in sorted(legs[leg], key=self.floor_down):
                yield from self.outlet(leg, at, "worst" if at == worst else "best" if at == best else "pilot")
            yield from self.end_of_leg(leg)

    def floor_down(self, at: int) -> tuple[str, int]:
        """Where an outlet stands on a walk from the top floor down, block by block."""
        served = self.report.outlets[at]
        place = self.places.get(self.stands.get(served.port.device, ""))
        block = place.block if place else ""
        return block, -self.heights.get((block, served.floor), 0)

    def left_db(self, at: int) -> float:
        """Least that an outlet has left to a limit on any carrier; its level where there are no limits."""
        level = self.report.outlet_level_dbmv[at]
        left = [
            min(level[n] - asked.low_dbmv, asked.high_dbmv - level[n])
            for n, asked in enumerate(self.asked)
            if asked is not None and np.isfinite(level[n])
        ]
        return float(min(left)) if left else float(np.nan_to_num(level, nan=-99.0).min(initial=0.0))

    def ends(self, outlets: list[int]) -> tuple[int, int]:
        """The outlets of a leg with the least and with the most left."""
        ordered = sorted(outlets, key=lambda at: (self.left_db(at), self.report.outlets[at].outlet))
        return ordered[0], ordered[-1]

    def outlet(self, leg: str, at: int, kind: ReadingKind) -> Iterator[Reading]:
        """Readings of one outlet."""
        served: Served = self.report.outlets[at]
        row = int(self.report.outlet_rows[at])
        level = self.report.level_dbmv[row]
        heard = [n for n in self.order if np.isfinite(level[n])]
        asked = heard if kind != "pilot" else sorted({*heard[:1], *heard[-1:]}, key=heard.index)
        launch = self.launch(served.port.device)
        for reading in self.readings(kind, launch, leg, served.outlet, level, asked, self.report.cni_db[row]):
            yield self.judged(reading, served)

    def judged(self, reading: Reading, served: Served) -> Reading:
        """A reading with the outlet's flat and room and the limits of its carrier's service."""
        at = next(n for n in self.order if self.report.carriers[n].id == reading.carrier)
        asked = self.asked[at]
        ratio = None if asked is None else asked.cni_db if asked.cni_db is not None else asked.cn_db
        return replace(
            reading,
            unit=served.unit,
            floor=served.floor,
            room=self.rooms.get(served.outlet, ""),
            low_dbmv=asked.low_dbmv if asked else None,
            high_dbmv=asked.high_dbmv if asked else None,
            least_ratio_db=ratio,
        )

    def end_of_leg(self, leg: str) -> Iterator[Reading]:
        """A terminated port in the leg's furthest closet, the one with most devices ahead of it."""
        ports = [
            port
            for port in self.network.terminated
            if port in self.rows and self.leg(port.device) == leg and self.in_closet(port.device)
        ]
        if not ports:
            return
        port = max(ports, key=lambda row: (len(self.path(row.device)), row))
        level = self.report.level_dbmv[self.rows[port]]
        launch = self.launch(port.device)
        yield from self.readings("end of leg", launch, leg, str(port), level, self.order)

    def in_closet(self, device: str) -> bool:
        """True for a device in a closet or in the head-end."""
        place = self.places.get(self.stands.get(device, ""))
        return place is not None and place.kind in ("closet", "headend")

    def readings(
        self,
        kind: ReadingKind,
        launch: str,
        leg: str,
        point: str,
        level: _Floats,
        asked: list[int],
        ratio: _Floats | None = None,
    ) -> Iterator[Reading]:
        """One reading for each of the carriers that arrive."""
        for at in asked:
            if np.isfinite(level[at]):
                carrier = self.report.carriers[at]
                known = None if ratio is None or not np.isfinite(ratio[at]) else float(ratio[at])
                yield Reading(
                    kind=kind,
                    launch=launch,
                    leg=leg,
                    point=point,
                    carrier=carrier.id,
                    frequency_mhz=carrier.frequency_mhz,
                    designed_dbmv=float(level[at]),
                    ratio_db=known,
                )
