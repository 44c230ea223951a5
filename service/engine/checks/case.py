"""What the rules look at: a network with its figures and limits, set beside each other once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Device, Network, Port, Run
from service.engine.plant.parts import Part
from service.engine.propagation.report import AmplifierReport, SignalReport
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
    feed above it (a feed is its own). With `margins` off the design window is the limits and reserves are not
    asked for.
    """

    network: Network
    catalogue: Catalogue
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

    def above(self, device: str) -> list[str]:
        """The devices on the way from a device up to its feed, the device first, the feed left out."""
        chain: list[str] = []
        while device in self.run_into:
            chain.append(device)
            device = self.run_into[device].start.device
        return chain

    def amplifiers(self) -> dict[str, AmplifierReport]:
        """Reports of the amplifiers by device."""
        return {row.device: row for row in self.report.amplifiers}

    def first_amplifiers(self) -> list[str]:
        """Amplifiers without another one ahead, by id."""
        active = self.amplifiers()
        return sorted(name for name in active if not any(other in active for other in self.above(name)[1:]))

    def outlets_below(self) -> dict[str, list[int]]:
        """Positions of the outlets that each device and feed serves, itself or through others."""
        below: dict[str, list[int]] = {feed.id: [] for feed in self.network.feeds}
        below |= {name: [] for name in self.devices}
        for position, served in enumerate(self.report.outlets):
            for name in self.above(served.port.device):
                below[name].append(position)
            below[self.feed_of[served.port.device]].append(position)
        return below

    def port_rows(self) -> dict[Port, int]:
        """Row of every port in the report."""
        return {port: row for row, port in enumerate(self.report.ports)}


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
    run_into = {run.end: run for run in network.runs}
    feed_of = {feed.id: feed.id for feed in network.feeds}
    # The report orders devices by depth, so that each one's feed is known before those below it are asked.
    for name in report.devices:
        feed_of[name] = feed_of[run_into[name].start.device]
    return Case(
        network=network,
        catalogue=catalogue,
        limits=limits,
        services=services,
        report=report,
        margins=margins,
        asked=asked,
        windows=windows_of(asked, margins=margins),
        outlets=tuple(served.outlet for served in report.outlets),
        level_dbmv=report.outlet_level_dbmv,
        devices={device.id: device for device in network.devices},
        parts={device.id: catalogue.part(device.part) for device in network.devices},
        run_into=run_into,
        feed_of=feed_of,
    )
