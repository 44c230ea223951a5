"""What may be placed in one building: menu and recipe lists, amplifiers, the outlet plate, and what is barred."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from service.engine.building.places import Building
from service.engine.placement.lifts import Lift, make_lift
from service.engine.placement.menu import Menu, Offer, build_menu
from service.engine.placement.patterns import Cook
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.tariff import Tariff
from service.engine.signal.limits import Limits

Floats = NDArray[np.float64]

#: Loss that may lie behind a closet's port at the low end of the band: a drop, a panel's splitter, an outlet.
BEHIND_A_PORT_DB = 8.0


def every_lift(
    catalogue: Catalogue, tariff: Tariff, frequency_mhz: Floats, reference: int
) -> tuple[Lift, ...]:
    """All priced amplifiers that reach every frequency, cheaper equals kept too: a pin may name any of them."""
    low, high = float(frequency_mhz.min()), float(frequency_mhz.max())
    made = [
        make_lift(part, tariff.device_cents(part.id), frequency_mhz, reference)
        for part in sorted(catalogue.parts, key=lambda row: row.id)
        if part.active is not None
        and tariff.prices_part(part.id)
        and all(group.gain_db.covers(low) and group.gain_db.covers(high) for group in part.groups)
    ]
    return tuple(lift for lift in made if lift is not None)


def choose_plate(building: Building, menu: Menu) -> Offer:
    """The outlet plate: the one wished for, else the cheapest with one user port and the least loss."""
    wished = [plate for plate in menu.plates if plate.part == building.wishes.outlet_part]
    if wished:
        return wished[0]
    single = [plate for plate in menu.plates if plate.ports == 1] or list(menu.plates)
    return min(single, key=lambda plate: (plate.cents, plate.arms[0].steps, plate.part))


@lru_cache(maxsize=32)
def cooks_for(
    catalogue: Catalogue,
    tariff: Tariff,
    frequency_mhz: tuple[float, ...],
    barred: frozenset[str],
    *,
    trim_free: bool,
) -> tuple[Menu, Cook, Cook]:
    """Menu and recipe lists of a line-up, made once for every building that shares it.

    `trim_free` keeps a flat's panel to parts that split.
    """
    menu = build_menu(
        catalogue,
        tariff,
        np.asarray(frequency_mhz),
        len(frequency_mhz) - 1,
        isolates=lambda part: part.id not in barred,
    )
    return menu, Cook(menu, panel=False), Cook(menu, panel=trim_free)


def leaky_parts(
    building: Building, catalogue: Catalogue, limits: Limits, frequency_mhz: Floats
) -> frozenset[str]:
    """Parts that can't keep two users apart even with the most that can lie behind their ports.

    Two ways of loss L1 and L2 behind a group with isolation I give I + L1 + L2. What lies behind is not known yet, so
    a part is barred only when it fails with a panel's splitter and outlet on both sides; the exact check decides.
    """
    if not building.policy.isolation:
        return frozenset()
    asked = [limits.isolation_db(float(f)) for f in frequency_mhz]
    barred = set()
    for part in catalogue.parts:
        for group in part.groups:
            curve = part.isolation_between(group.name, group.name)
            if group.count < 2 or curve is None or group.ends_in != "cable":
                continue
            for frequency, limit in zip(frequency_mhz, asked, strict=True):
                if limit is not None and curve.covers(float(frequency)):
                    most = curve.at_one(float(frequency)) + 2.0 * BEHIND_A_PORT_DB
                    if most < limit.isolation_db:
                        barred.add(part.id)
    return frozenset(barred)
