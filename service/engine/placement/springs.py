"""Springs: where levels start anew. The launch at the head-end, and every amplifier that could sit further down.

Below a spring the only state is D, the device loss since the spring, so each spring has tables of its own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.placement.menu import GRID_DB, Lift
from service.engine.plant.parts import Active, Rating
from service.engine.propagation.cascades import carriers_tomorrow
from service.engine.propagation.levels import slope_share

Floats = NDArray[np.float64]

#: Amplifier set-up, common practice: gain and slope kept in reserve, output under the derated rating.
GAIN_RESERVE_DB = 3.0
SLOPE_RESERVE_DB = 2.0
HEADROOM_DB = 3.0
LAUNCH_SLOPES_DB = (0.0, 2.0, 4.0, 6.0, 8.0)
RISER_SLOPES_DB = (0.0, 4.0, 8.0)
MOST_INPUT_PAD_DB = 15.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Spring:
    """One start of levels at a closet. `top_dbmv` (a frequency each) is the level at D = 0.

    `lift` None is the feed itself. `slope_db` is how far the low end lies below the high end of the band, over the
    line-up's own shape. `deepest` bounds D at the start: how far the level may be set below the top.
    """

    closet: int
    lift: Lift | None
    slope_db: float
    top_dbmv: Floats
    deepest: int

    @property
    def cents(self) -> int:
        """Price of what makes the spring."""
        return self.lift.cents if self.lift else 0


def highest_top(shape_db: Floats, analogue: NDArray[np.bool_], ratings: tuple[Rating, ...]) -> float:
    """The level that may stand where the shape is 0 dB, three decibels under every derated rating."""
    best = math.inf
    by_power = any(rating.basis == "total power" for rating in ratings)
    for rating in ratings:
        if rating.basis == "total power" and not analogue.all():
            digital = shape_db[~analogue]
            total = 10.0 * math.log10(float(np.sum(10.0 ** (digital / 10.0))))
            growth = 10.0 * math.log10(carriers_tomorrow(digital.size) / digital.size)
            best = min(best, rating.output_dbmv - HEADROOM_DB - total - growth)
        if rating.basis == "per carrier" and (analogue.any() or not by_power):
            count = carriers_tomorrow(shape_db.size)
            derating = max(0.0, 7.5 * math.log10(max(count - 1, 1)) - 7.5 * math.log10(max(rating.carriers - 1, 1)))
            best = min(best, rating.output_dbmv - HEADROOM_DB - derating - float(shape_db.max()))
    return best


def full_gain(lift: Lift, frequency_mhz: Floats) -> Floats:
    """Full gain of the first group at each frequency."""
    return lift.part.groups[0].gain_db.at(frequency_mhz, f"part {lift.part.id}")


def reduction_span(active: Active) -> float:
    """How far gain can be taken back by its setting and the input pad together, in dB."""
    pad = min(active.input_pad_db.high, MOST_INPUT_PAD_DB)
    return active.gain_db.high - active.gain_db.low + pad


def slope_span(active: Active) -> float:
    """Largest slope that setting and plug-in equaliser give together, less the reserve."""
    return max(0.0, active.slope_db.high + active.input_equaliser_db.high - SLOPE_RESERVE_DB)


def launch_springs(
    lifts: tuple[Lift, ...],
    feed_dbmv: Floats,
    analogue: NDArray[np.bool_],
    frequency_mhz: Floats,
    reference: int,
    feed_max_dbmv: float | None,
) -> list[Spring]:
    """The feed as it is, and every amplifier that can follow it, at each launch slope."""
    springs = [Spring(closet=0, lift=None, slope_db=0.0, top_dbmv=feed_dbmv, deepest=0)]
    for lift in lifts:
        active = lift.part.active
        if active is None or lift.part.power.supply != "mains" or lift.part.port_count != 1:
            continue
        if active.input_low_dbmv is not None and float(feed_dbmv.min()) < active.input_low_dbmv:
            continue
        law = slope_share(active, frequency_mhz)
        gain = full_gain(lift, frequency_mhz)
        pad_db = 0.0
        if active.input_high_dbmv is not None:
            pad_db = max(0.0, float(feed_dbmv.max()) - active.input_high_dbmv)
        if pad_db > min(active.input_pad_db.high, MOST_INPUT_PAD_DB):
            continue
        for slope_db in LAUNCH_SLOPES_DB:
            if slope_db > slope_span(active):
                continue
            shape = feed_dbmv - slope_db * law + (gain - gain[reference])
            shape = shape - shape[reference]
            most = float(feed_dbmv[reference] + gain[reference] - slope_db * law[reference] - GAIN_RESERVE_DB - pad_db)
            least = float(feed_dbmv[reference] + gain[reference] - slope_db * law[reference]) - reduction_span(active)
            top = min(most, highest_top(shape, analogue, active.ratings))
            if feed_max_dbmv is not None:
                top = min(top, feed_max_dbmv - float(shape.max()))
            if top < least:
                continue
            deepest = math.floor((top - least) / GRID_DB)
            springs.append(
                Spring(closet=0, lift=lift, slope_db=slope_db, top_dbmv=shape + top, deepest=deepest)
            )
    return springs


def riser_springs(
    lifts: tuple[Lift, ...],
    closet: int,
    feed_shape_db: Floats,
    analogue: NDArray[np.bool_],
    frequency_mhz: Floats,
    reference: int,
) -> list[Spring]:
    """Every amplifier that may sit at a powered closet, at each output slope that it can be set to."""
    springs = []
    for lift in lifts:
        active = lift.part.active
        if active is None or lift.part.power.supply != "mains" or lift.part.port_count != 1:
            continue
        law = slope_share(active, frequency_mhz)
        for slope_db in RISER_SLOPES_DB:
            shape = feed_shape_db - slope_db * law
            shape = shape - shape[reference]
            top = highest_top(shape, analogue, active.ratings)
            if math.isinf(top):
                continue
            springs.append(
                Spring(closet=closet, lift=lift, slope_db=slope_db, top_dbmv=shape + top, deepest=0)
            )
    return springs
