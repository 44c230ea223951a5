"""Coaxial cable: loss against frequency, resistance, size, jacket, and what it bears while it is pulled."""

from __future__ import annotations

from dataclasses import dataclass

from service.engine.signal.curves import Curve


@dataclass(frozen=True, slots=True, kw_only=True)
class Cable:
    """A cable type of the library: one construction (`series`) in one jacket.

    `loss_db_per_100m` is the standard maximum at 20 °C. `loop_resistance_ohm_per_km` is centre conductor and
    shield together. `connector` is the part that ends it. `jacket` is a key of `permits`.
    """

    id: str
    series: str
    name: str
    jacket: str
    loss_db_per_100m: Curve
    loop_resistance_ohm_per_km: float
    outer_diameter_mm: float
    mass_kg_per_km: float
    pull_limit_n: float
    bend_installed_mm: float
    bend_pulling_mm: float
    screening_class: str
    connector: str
    put_ups_m: tuple[float, ...]
    sources: tuple[tuple[str, str], ...] = ()
