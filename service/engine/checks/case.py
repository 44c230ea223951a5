"""What the rules look at: a network with its figures and limits, set beside each other once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Device, Network, Port, Run
from service.engine.plant.parts import Part
from service.engine.propagation.report import SignalReport
from service.engine.signal.limits import Limits, ServiceLimit, design_window
from service.engine.signal.spectrum import Service

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Windows:
    """Levels asked of each carrier in dBmV, NaN where the profile has no limit for its service."""

    low_dbmv: Floats
    high_dbmv: Floats
    design_low_dbmv: Floats
    design_high_dbmv: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A network to be judged.

    `asked` holds the service limit of each carrier. `outlets` are the outlet ids and `level_dbmv` their
    levels, outlets × carriers. `run_into` gives the run into each device, `parts` its part, `feed_of` the
    feed above it (a feed is its own), `amplifier_of` the last amplifier at or above it ("" for none).
    `cable_ports` are the ports made for a cable, feeds' included, `open_ports` those that nothing closes,
    `spare_ports` those from which one more run could start. With `margins` off the design window is the
    limits and reserves are not asked for.
    """

    network: Network
    limits: Limits
    services: Mapping[str, Service]
    report: SignalReport
    margins: bool
    asked: tuple[ServiceLimit | None, ...]
    windows: Windows
    outlets: tuple[str, ...]
    level_dbmv: Floats
    devices: Mapping[str, Device]
    parts: Mapping[str, Part]
    run_into: Mapping[str, Run]
    feed_of: Mapping[str, str]
    amplifier_of: Mapping[str, str]
    cable_ports: tuple[Port, ...]
    open_ports: tuple[Port, ...]
    spare_ports: tuple[Port, ...]

    @property
    def level_unit(self) -> str:
        """Unit in which texts state levels: dBmV in the United States, dBµV elsewhere."""
        return "dBmV" if self.limits.region == "us" else "dBµV"

    def above(self, device: str) -> Iterator[str]:
        """The devices on the way from a device up to its feed, the device first, the feed left out."""
        while device in self.run_into:
            yield device
            device = self.run_into[device].start.device

    def amplifiers_above(self, device: str) -> list[str]:
        """The amplifiers on the way from a device up to its feed, the device first where it is one."""
        chain: list[str] = []
        name = self.amplifier_of[device]
        while name:
            chain.append(name)
            name = self.amplifier_of[self.run_into[name].start.device]
        return chain

    def first_amplifiers(self) -> list[str]:
        """Amplifiers without another one ahead, by id."""
        return [
            row.device
            for row in self.report.amplifiers
            if not self.amplifier_of[self.run_into[row.device].start.device]
        ]


def windows_of(asked: tuple[ServiceLimit | None, ...], *, margins: bool) -> Windows:
    """Limits and design windows of carriers as arrays."""
    design = [(np.nan, np.nan) if row is None else design_window(row, margins=margins) for row in asked]
    return Windows(
        low_dbmv=np.array([np.nan if row is None else row.low_dbmv for row in asked], dtype=np.float64),
        high_dbmv=np.array([np.nan if row is None else row.high_dbmv for row in asked], dtype=np.float64),
        design_low_dbmv=np.array([low for low, _ in design], dtype=np.float64),
        design_high_dbmv=np.array([high for _, high in design], dtype=np.float64),
    )


def open_case(
    network: Network,
    catalogue: Catalogue,
    limits: Limits,
    services: Mapping[str, Service],
    report: SignalReport,
    *,
    margins: bool,
) -> Case:
    """Set a network, its figures and its limits beside each other.

    The report must be of this network. Raises UnknownIdError for a part the catalogue does not hold.
    """
    asked = tuple(limits.service(carrier.service) for carrier in report.carriers)
    parts = {device.id: catalogue.part(device.part) for device in network.devices}
    run_into = {run.end: run for run in network.runs}
    feed_of = {feed.id: feed.id for feed in network.feeds}
    amplifier_of = dict.fromkeys(feed_of, "")
    cable_ports = tuple(port for port in report.ports if _ends_in_cable(parts, port))
    closed = {run.start for run in network.runs} | {served.port for served in network.served}
    terminated = set(network.terminated)
    free = sorted(port for port in cable_ports if port not in closed)
    # The report orders devices by depth: each one's feed is known before those below it are asked.
    for name in report.devices:
        ahead = run_into[name].start.device
        feed_of[name] = feed_of[ahead]
        amplifier_of[name] = name if parts[name].active is not None else amplifier_of[ahead]
    return Case(
        network=network,
        limits=limits,
        services=services,
        report=report,
        margins=margins,
        asked=asked,
        windows=windows_of(asked, margins=margins),
        outlets=tuple(served.outlet for served in report.outlets),
        level_dbmv=report.outlet_level_dbmv,
        devices={device.id: device for device in network.devices},
        parts=parts,
        run_into=run_into,
        feed_of=feed_of,
        amplifier_of=amplifier_of,
        cable_ports=cable_ports,
        open_ports=tuple(port for port in free if port not in terminated),
        spare_ports=tuple(free),
    )


def _ends_in_cable(parts: Mapping[str, Part], port: Port) -> bool:
    """True for a port made for a cable; a feed's ports all are."""
    part = parts.get(port.device)
    group = None if part is None else part.group(port.group)
    return group is None or group.ends_in == "cable"
