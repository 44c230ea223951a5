"""Amplifier set-up: what to plug in, what to set, what to read, what is left, and what it draws."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from service.engine.building.places import Building
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Network
from service.engine.plant.parts import Active, Part
from service.engine.propagation.report import AmplifierReport, LinePower, SignalReport
from service.engine.works.runs import region_of

#: Nominal voltage of house power by region, for the current an amplifier draws.
MAINS_V = {"us": 120.0, "europe": 230.0}
HOURS_A_YEAR = 8760.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Pilot:
    """One carrier at an amplifier: what comes in, what goes out, what the meter shows at the test point."""

    carrier: str
    frequency_mhz: float
    input_dbmv: float
    output_dbmv: float
    test_point_dbmv: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AmplifierSetup:
    """One amplifier's sheet.

    `low` and `high` are the lowest and the highest carrier that it carries, `pilots` all of them by
    frequency. `gain_used_db` counts the gain setting alone, of `gain_full_db`. Loading is the number of
    carriers today and tomorrow; the derated output is what the binding rating allows for that number, the
    headroom what is left of it. `current_a` is drawn from house power, or from the line where `supply` says
    so.
    """

    device: str
    part: str
    name: str
    place: str
    floor: str
    pilots: tuple[Pilot, ...]
    input_pad_db: float
    input_equaliser_db: float
    slope_db: float
    slope_low_mhz: float
    slope_high_mhz: float
    gain_used_db: float
    gain_full_db: float
    gain_reserve_db: float
    slope_reserve_db: float
    test_point_loss_db: float
    total_dbmv: float
    basis: str
    rated_dbmv: float
    carriers_today: int
    carriers_tomorrow: int
    derated_today_dbmv: float
    derated_tomorrow_dbmv: float
    headroom_today_db: float
    headroom_tomorrow_db: float
    supply: str
    draws_w: float
    current_a: float
    voltage_v: float

    @property
    def energy_kwh(self) -> float:
        """Energy of a year, always on, losses of a supply on the line left out."""
        return self.draws_w * HOURS_A_YEAR / 1000.0

    @property
    def low(self) -> Pilot | None:
        """The lowest carrier."""
        return self.pilots[0] if self.pilots else None

    @property
    def high(self) -> Pilot | None:
        """The highest carrier."""
        return self.pilots[-1] if self.pilots else None


def setups_of(
    building: Building, network: Network, report: SignalReport, catalogue: Catalogue
) -> tuple[AmplifierSetup, ...]:
    """The set-up of every amplifier, in the order of the signal report, which is the network's own."""
    return tuple(_setup(building, network, report, row, catalogue) for row in report.amplifiers)


def _setup(
    building: Building, network: Network, signals: SignalReport, report: AmplifierReport, catalogue: Catalogue
) -> AmplifierSetup:
    device = next(row for row in network.devices if row.id == report.device)
    part = catalogue.part(device.part)
    active: Active | None = part.active
    assert active is not None, "only amplifiers are reported as amplifiers"
    place = next((row for row in building.places if row.id == device.place), None)
    settings = device.settings
    full = active.gain_db.high
    line = next((row for row in signals.power.devices if row.device == device.id), None)
    current, voltage = _power(part, line, MAINS_V[region_of(building)])
    return AmplifierSetup(
        device=device.id,
        part=part.id,
        name=part.name,
        place=device.place,
        floor=place.floor if place else "",
        pilots=_pilots(signals, report),
        input_pad_db=settings.input_pad_db,
        input_equaliser_db=settings.input_equaliser_db,
        slope_db=settings.slope_db,
        slope_low_mhz=active.slope_low_mhz,
        slope_high_mhz=active.slope_high_mhz,
        gain_used_db=full if settings.gain_db is None else settings.gain_db,
        gain_full_db=full,
        gain_reserve_db=report.gain_reserve_db,
        slope_reserve_db=report.slope_reserve_db,
        test_point_loss_db=active.test_point_db,
        total_dbmv=report.total_dbmv,
        basis=report.basis,
        rated_dbmv=report.rated_dbmv,
        carriers_today=report.carriers_today,
        carriers_tomorrow=report.carriers_tomorrow,
        derated_today_dbmv=report.derated_today_dbmv,
        derated_tomorrow_dbmv=report.derated_tomorrow_dbmv,
        headroom_today_db=report.headroom_today_db,
        headroom_tomorrow_db=report.headroom_tomorrow_db,
        supply=part.power.supply,
        draws_w=part.power.draws_w,
        current_a=current,
        voltage_v=voltage,
    )


def _pilots(signals: SignalReport, report: AmplifierReport) -> tuple[Pilot, ...]:
    rows = zip(
        signals.carriers,
        report.input_dbmv.tolist(),
        report.output_dbmv.tolist(),
        report.test_point_dbmv.tolist(),
        strict=True,
    )
    return tuple(
        Pilot(
            carrier=carrier.id,
            frequency_mhz=carrier.frequency_mhz,
            input_dbmv=level_in,
            output_dbmv=level_out,
            test_point_dbmv=reading,
        )
        for carrier, level_in, level_out, reading in rows
        if np.isfinite(level_out)
    )


def _power(part: Part, line: LinePower | None, mains_v: float) -> tuple[float, float]:
    """Current and voltage of an amplifier: on the line as computed, on house power at the nominal voltage."""
    if line is not None:
        return line.current_a, line.voltage_v
    if part.power.supply == "mains":
        return part.power.draws_w / mains_v, mains_v
    return 0.0, 0.0
