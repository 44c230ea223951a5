"""What propagation found: arrays of ports × frequencies, and what each amplifier and outlet makes of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.plant.network import Port, Served
from service.engine.signal.spectrum import Carrier

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class AmplifierReport:
    """One amplifier at its busiest output port.

    Arrays have one entry a carrier. `total_dbmv` is the output's total power, analogue carriers counted with
    their peak power. `rated_dbmv` and `basis` are the rating that binds, `derated_today_dbmv` and
    `derated_tomorrow_dbmv` what it allows per carrier (or in total) for the counts `carriers_today` and
    `carriers_tomorrow`, and the headrooms what is left of that. `gain_reserve_db` is full gain less the gain
    used, pads and equaliser counted as used up. Without a rating or a carrier `basis` is empty, the ratings
    are NaN and the headrooms infinite.
    """

    device: str
    input_dbmv: Floats
    output_dbmv: Floats
    total_dbmv: float
    basis: str
    rated_dbmv: float
    carriers_today: int
    carriers_tomorrow: int
    derated_today_dbmv: float
    derated_tomorrow_dbmv: float
    headroom_today_db: float
    headroom_tomorrow_db: float
    gain_reserve_db: float
    slope_reserve_db: float
    test_point_dbmv: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class IsolationReport:
    """The least isolation between two users at one carrier, and the pair of outlets that has it."""

    carrier: str
    frequency_mhz: float
    isolation_db: float
    outlet_a: str
    outlet_b: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LinePower:
    """A line-powered device: the voltage it gets, the current it draws, its supply ("" for none)."""

    device: str
    supply: str
    voltage_v: float
    current_a: float
    least_v: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerReport:
    """DC on the plant: line-powered devices, load of each supply in amperes, outlets that carry voltage."""

    devices: tuple[LinePower, ...]
    supply_load_a: tuple[tuple[str, float], ...]
    live_outlets: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadReport:
    """Levels under tolerances and temperature.

    `yield_share` is the share of `draws` in which every outlet stays inside its limits on every carrier.
    `low_dbmv` and `high_dbmv` (outlets × carriers) hold the 5th and 95th percentile of the level over the
    draws, hot and cold included; `hot_dbmv` and `cold_dbmv` the undisturbed level at the temperature ends.
    `statement` says how the draws were made.
    """

    draws: int
    yield_share: float
    low_dbmv: Floats
    high_dbmv: Floats
    hot_dbmv: Floats
    cold_dbmv: Floats
    statement: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SignalReport:
    """All figures of one network.

    `frequency_mhz` holds the carriers' frequencies in order and then the two passband edges, `carriers` the
    carriers alone. `ports` names the rows of `level_dbmv` (ports × frequencies): every output port of every
    feed and device. `input_dbmv` (devices × frequencies) is the level at each device's input, rows as in
    `devices`. `cn_db`, `ci_db` and `cni_db` (ports × carriers) are carrier to noise, to intermodulation, to
    both; infinite where nothing adds. `slope_db` (ports) is the level at the highest carrier less that at the
    lowest. `outlets` are the served ports in order and `outlet_rows` their rows. Levels are NaN where a feed
    doesn't carry the carrier.
    """

    carriers: tuple[Carrier, ...]
    frequency_mhz: Floats
    ports: tuple[Port, ...]
    level_dbmv: Floats
    devices: tuple[str, ...]
    input_dbmv: Floats
    cn_db: Floats
    ci_db: Floats
    cni_db: Floats
    slope_db: Floats
    outlets: tuple[Served, ...]
    outlet_rows: NDArray[np.int64]
    amplifiers: tuple[AmplifierReport, ...]
    isolation: tuple[IsolationReport, ...]
    power: PowerReport
    spread: SpreadReport | None

    @property
    def outlet_level_dbmv(self) -> Floats:
        """Levels at the outlets, outlets × carriers."""
        return np.asarray(self.level_dbmv[self.outlet_rows, : len(self.carriers)], dtype=np.float64)
