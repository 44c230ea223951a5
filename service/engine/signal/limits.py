"""What a service must find: limits bound to a service, with measuring point and source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

MeasuringPoint = Literal["wall outlet", "receiver input", "demarcation", "drop end"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ServiceLimit:
    """The limits of one service in one profile, at one measuring point; None where the profile is silent.

    Levels in dBmV: channel power for digital, peak power for analogue services. `design_low_dbmv` and
    `design_high_dbmv` are the profile's own stated design window, inside the limits. `cn_db` is the limit,
    `cn_design_db` what a design aims at, both in the service's noise bandwidth.
    """

    service: str
    low_dbmv: float
    high_dbmv: float
    design_low_dbmv: float | None = None
    design_high_dbmv: float | None = None
    cn_db: float | None = None
    cn_design_db: float | None = None
    adjacent_db: float | None = None
    any_pair_db: float | None = None
    any_pair_db_per_100mhz_above_300: float = 0.0
    point: MeasuringPoint = "wall outlet"
    source: str
    level_source: str = ""
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
    are; levels at its edges are reported, limits hold at carriers in use only. `head_end_max_dbmv` is the
    highest level allowed at the head-end's output.
    """

    id: str
    name: str
    region: str
    services: tuple[ServiceLimit, ...]
    isolation: tuple[IsolationLimit, ...] = ()
    response: tuple[ResponseLimit, ...] = ()
    head_end_max_dbmv: float | None = None
    passband_low_mhz: float
    passband_high_mhz: float
    unit_spread_db: float = 4.0
    building_spread_db: float = 8.0
    statement: str = ""
    source: str

    def service(self, service_id: str) -> ServiceLimit | None:
        """The limit bound to a service, or None when the profile was not written for it."""
        return next((limit for limit in self.services if limit.service == service_id), None)
