"""Springs: where levels start anew. The launch at the head-end, and every amplifier that could sit further down.

Below a spring the only state is D, the device loss since the spring, so each spring has tables of its own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from service.engine.placement.lifts import HEADROOM_DB, MOST_INPUT_PAD_DB, Lift
from service.engine.placement.menu import GRID_DB, Offer
from service.engine.plant.parts import Rating
from service.engine.propagation.cascades import carriers_tomorrow

Floats = NDArray[np.float64]

#: How far the low end of the band may be set below the high end.
LAUNCH_SLOPES_DB = (0.0, 2.0, 4.0, 6.0, 8.0)
RISER_SLOPES_DB = (2.0, 5.0, 8.0)
#: The same for an amplifier that can't be set: its output leans as its input does, within half of these steps.
FIXED_SLOPES_DB = (-3.0, 0.0, 3.0, 6.0)
FIXED_NEAR_DB = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Spring:
    """One start of levels at a closet. `top_dbmv` (a frequency each) is the level at D = 0.

    `lift` None is the feed itself, behind an `equaliser` where one is named; one of its `pads` may set D then.
    `slope_db` is how far the low end lies below the high end of the band, over the line-up's own shape. `deepest`
    bounds D at the start: how far the level may be set below the top. `outputs` are the ports at which levels
    start; `closing_cents` closes those of the feed that stay unused.
    """

    closet: int
    lift: Lift | None
    slope_db: float
    top_dbmv: Floats
    deepest: int
    reference: int
    outputs: int = 1
    equaliser: Offer | None = None
    pads: tuple[Offer, ...] = ()
    closing_cents: int = 0

    @property
    def name(self) -> str:
        """What tells springs of one closet and slope apart."""
        if self.lift is not None:
            return self.lift.part.id
        return self.equaliser.part if self.equaliser is not None else f"out {self.outputs}"

    @property
    def stride(self) -> int:
        """Steps of D from one gain setting to the next."""
        return max(1, round(self.lift.step_db / GRID_DB)) if self.lift else 1

    @property
    def top_reference_dbmv(self) -> float:
        """Level at D = 0 at the reference."""
        return float(self.top_dbmv[self.reference])

    @property
    def top_low_dbmv(self) -> float:
        """Level at D = 0 at the lowest frequency."""
        return float(self.top_dbmv[0])

    @property
    def cents(self) -> int:
        """Price of what makes the spring, a pad left out."""
        parts = (self.lift.cents if self.lift else 0) + (self.equaliser.cents if self.equaliser else 0)
        return parts + self.closing_cents

    def starts(self, depth: int) -> tuple[list[int], list[Offer | None]]:
        """Every D below `depth` that the level may be set to, with the pad that sets it."""
        if self.lift is None:
            pads = sorted(self.pads, key=lambda pad: (pad.arms[0].steps, pad.cents, pad.part))
            rows = [(0, None), *((pad.arms[0].steps, pad) for pad in pads)]
            return [at for at, _ in rows if at < depth], [pad for at, pad in rows if at < depth]
        places = list(range(0, min(self.deepest + 1, depth), self.stride))
        return places, [None] * len(places)


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
            derating = max(
                0.0, 7.5 * math.log10(max(count - 1, 1)) - 7.5 * math.log10(max(rating.carriers - 1, 1))
            )
            best = min(best, rating.output_dbmv - HEADROOM_DB - derating - float(shape_db.max()))
    return best


def quietest(lift: Lift, top_dbmv: Floats, least_output_dbmv: Floats) -> int:
    """How deep D may be set before the amplifier's own noise takes more than its share.

    All gain reduction acts at the input, so carrier to noise is output less full gain, noise figure and floor:
    `least_output_dbmv` is what the output would have to be with no gain and no noise of its own.
    """
    room = top_dbmv - lift.gain_db - lift.noise_db - least_output_dbmv
    return math.floor(min(float(np.min(room)), 1e3) / GRID_DB)


def feed_springs(
    feed_dbmv: Floats,
    reference: int,
    outputs: int,
    pads: tuple[Offer, ...],
    equalisers: tuple[Offer, ...],
    terminator_cents: int,
) -> list[Spring]:
    """The feed as it is at every output, and one output behind a pad, an equaliser or both."""
    bare = Spring(
        closet=0,
        lift=None,
        slope_db=0.0,
        top_dbmv=feed_dbmv,
        deepest=0,
        reference=reference,
        outputs=outputs,
        pads=pads if outputs == 1 else (),
    )
    closing = (outputs - 1) * terminator_cents
    single = replace(bare, outputs=1, pads=pads, closing_cents=closing)
    shaped = [replace(single, equaliser=one, top_dbmv=feed_dbmv - one.arms[0].loss_db) for one in equalisers]
    return [bare, *([single] if outputs > 1 else []), *shaped]


def launch_springs(
    lifts: tuple[Lift, ...],
    feed_dbmv: Floats,
    analogue: NDArray[np.bool_],
    reference: int,
    feed_max_dbmv: float | None,
    least_output_dbmv: Floats,
    closing_cents: int,
) -> list[Spring]:
    """Every amplifier that can follow the feed, at each launch slope. `closing_cents` closes its other outputs."""
    springs: list[Spring] = []
    for lift in lifts:
        active = lift.part.active
        assert active is not None
        if lift.input_low_dbmv is not None and float(feed_dbmv.min()) < lift.input_low_dbmv:
            continue
        pad_db = 0.0
        if lift.input_high_dbmv is not None:
            pad_db = max(0.0, float(feed_dbmv.max()) - lift.input_high_dbmv)
        if pad_db > min(active.input_pad_db.high, MOST_INPUT_PAD_DB):
            continue
        for slope_db in LAUNCH_SLOPES_DB:
            if slope_db > lift.most_slope_db:
                continue
            full = feed_dbmv + lift.gain_db - slope_db * lift.share
            shape = full - full[reference]
            most = float(full[reference]) - lift.reserve_db - pad_db
            least = float(full[reference]) - lift.reduction_db
            top = min(most, highest_top(shape, analogue, active.ratings))
            if feed_max_dbmv is not None:
                top = min(top, feed_max_dbmv - float(shape.max()))
            if lift.step_db > 0:
                # The top must be one that a setting gives: so many whole steps under full gain.
                top = (
                    float(full[reference])
                    - math.ceil((float(full[reference]) - top) / lift.step_db - 1e-6) * lift.step_db
                )
            if top < least:
                continue
            deepest = math.floor((top - least) / GRID_DB)
            deepest = min(deepest, quietest(lift, shape + top, least_output_dbmv))
            if deepest < 0:
                continue
            springs.append(
                Spring(
                    closet=0,
                    lift=lift,
                    slope_db=slope_db,
                    top_dbmv=shape + top,
                    deepest=deepest,
                    reference=reference,
                    outputs=lift.outputs,
                    closing_cents=closing_cents,
                )
            )
    return springs


def riser_springs(
    lifts: tuple[Lift, ...],
    closet: int,
    feed_shape_db: Floats,
    analogue: NDArray[np.bool_],
    reference: int,
    least_output_dbmv: Floats,
) -> list[Spring]:
    """Every amplifier that may sit at a powered closet, at each output slope worth trying there."""
    springs = []
    for lift in lifts:
        active = lift.part.active
        assert active is not None
        for slope_db in FIXED_SLOPES_DB if lift.fixed else RISER_SLOPES_DB:
            shape = feed_shape_db - slope_db * lift.share
            shape = shape - shape[reference]
            top = highest_top(shape, analogue, active.ratings)
            deepest = -1 if math.isinf(top) else quietest(lift, shape + top, least_output_dbmv)
            if deepest < 0:
                continue
            springs.append(
                Spring(
                    closet=closet,
                    lift=lift,
                    slope_db=slope_db,
                    top_dbmv=shape + top,
                    deepest=deepest,
                    reference=reference,
                    outputs=lift.outputs,
                )
            )
    return springs
