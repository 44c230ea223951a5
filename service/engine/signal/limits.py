"""What a service must find: limits bound to a service, with measuring point and source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from service.engine.signal.spectrum import Band

MeasuringPoint = Literal["wall outlet", "receiver input", "demarcation", "drop end"]

#: A design stays this far inside the limits: common practice.
LOW_MARGIN_DB = 3.0
HIGH_MARGIN_DB = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ServiceLimit:
    """The limits of one service in one profile, at one measuring point; None where the profile is silent.

    Levels in dBmV: channel power for digital, peak power for analogue services. `design_low_dbmv` and
    `design_high_dbmv` are the profile's own stated design window, inside the limits. `cn_db` is the limit of
    carrier to noise and `cn_design_db` what a design aims at; `cni_db` and `cni_design_db` are the same for
    carrier to noise and intermodulation together, all in the service's noise bandwidth. `ci_db` is the limit
    of carrier to third-order intermodulation. `adjacent_db` and `any_pair_db` bound the difference of two
    carriers of the service at one outlet, the latter growing with the highest carrier in use above 300 MHz.
    `head_end_max_dbmv` goes before the profile's own.
    """

    service: str
    low_dbmv: float
    high_dbmv: float
    design_low_dbmv: float | None = None
    design_high_dbmv: float | None = None
    cn_db: float | None = None
    cn_design_db: float | None = None
    cni_db: float | None = None
    cni_design_db: float | None = None
    ci_db: float | None = None
    adjacent_db: float | None = None
    any_pair_db: float | None = None
    any_pair_db_per_100mhz_above_300: float = 0.0
    head_end_max_dbmv: float | None = None
    point: MeasuringPoint = "wall outlet"
    source: str
    level_source: str = ""
    design_source: str = ""
    cn_source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class IsolationLimit:
    """Least isolation between outlets of different users from `low_mhz` to `high_mhz`."""

    low_mhz: float
    high_mhz: float
    isolation_db: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ResponseLimit:
    """Largest difference of loss head-end to outlet over a band."""

    low_mhz: float
    high_mhz: float
    response_db: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """A profile: the limits that a design is judged by.

    `passband_low_mhz` and `passband_high_mhz` bound what the plant must carry whatever today's carriers
    are; with a satellite service on the cable the upper end is `satellite_high_mhz`. Levels at its edges
    are reported, limits hold at carriers in use only. `head_end_max_dbmv` is the highest level allowed at the
    head-end's output, `head_end_spread_db` the largest difference there of two carriers of one service.
    `bands` are those the profile was written for. `unit_spread_db` and `building_spread_db` are aimed at;
    with a `spread_source` the latter is a limit of that source.
    """

    id: str
    name: str
    region: str
    services: tuple[ServiceLimit, ...]
    isolation: tuple[IsolationLimit, ...] = ()
    response: tuple[ResponseLimit, ...] = ()
    head_end_max_dbmv: float | None = None
    head_end_spread_db: float | None = None
    head_end_source: str = ""
    passband_low_mhz: float
    passband_high_mhz: float
    satellite_high_mhz: float | None = None
    unit_spread_db: float = 4.0
    building_spread_db: float = 8.0
    spread_source: str = ""
    bands: tuple[Band, ...] = ()
    statement: str = ""
    source: str

    def service(self, service_id: str) -> ServiceLimit | None:
        """The limit bound to a service, or None when the profile was not written for it."""
        return next((limit for limit in self.services if limit.service == service_id), None)

    def passband_mhz(self, *, satellite: bool) -> tuple[float, float]:
        """Both edges of the passband, with or without satellite services on the cable."""
        high = self.satellite_high_mhz if satellite and self.satellite_high_mhz else self.passband_high_mhz
        return self.passband_low_mhz, high

    def isolation_db(self, frequency_mhz: float) -> IsolationLimit | None:
        """The strictest isolation limit that holds at a frequency, or None where the profile is silent."""
        rows = [row for row in self.isolation if row.low_mhz <= frequency_mhz <= row.high_mhz]
        return max(rows, key=lambda row: row.isolation_db, default=None)


def design_window(limit: ServiceLimit, *, margins: bool = True) -> tuple[float, float]:
    """Lowest and highest level in dBmV that a design may put at an outlet.

    With `margins` it is the limits less 3 dB below and 2 dB above, or the profile's own stated edge where
    that is narrower, never both added; without, the limits themselves. A window too narrow for the margins
    shrinks to the one level that divides it three to two. Source of the margins: common practice.
    """
    if not margins:
        return limit.low_dbmv, limit.high_dbmv
    low, high = limit.low_dbmv + LOW_MARGIN_DB, limit.high_dbmv - HIGH_MARGIN_DB
    if limit.design_low_dbmv is not None:
        low = max(low, limit.design_low_dbmv)
    if limit.design_high_dbmv is not None:
        high = min(high, limit.design_high_dbmv)
    if low > high:
        share = LOW_MARGIN_DB / (LOW_MARGIN_DB + HIGH_MARGIN_DB)
        low = high = limit.low_dbmv + share * (limit.high_dbmv - limit.low_dbmv)
    return low, high
