"""Starts: what may set levels anew, read at one carrier alone: the feed, a pad behind it, amplifiers.

An amplifier may take any input and give any output that leaves its reserves.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from service.engine.placement.lifts import HEADROOM_DB, Lift
from service.engine.placement.planning import powered, takes_line_power
from service.engine.placement.site import JOINT_LOSS_DB_AT_1GHZ, Site
from service.engine.placement.springs import Floats
from service.engine.plant.parts import Rating
from service.engine.propagation.cascades import carriers_tomorrow, derating_db
from service.engine.propagation.report import SignalReport

#: How amplifiers are set up, common practice: an output sloped by no more than the largest slope that is tried, and
#: the reserves of gain and rating kept but for half a step of the settings.
MOST_SLOPE_DB = 8.0 + 1.0
SET_UP_DB = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Freedom:
    """How far amplifiers may go beyond a set-up with reserves, in dB: their output, and their gain."""

    output_db: float = 0.0
    gain_db: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """A way to start levels: its price, its highest output and its full gain at the carrier, how many outputs it has.

    `fixed` says that it gives exactly that output, as the feed and a pad do.
    """

    lift: Lift | None
    cents: int
    most_dbmv: float
    gain_db: float
    fixed: bool = False
    outputs: int = 1

    def beats(self, other: Start) -> bool:
        """True when it gives all that the other gives for no more money."""
        return (
            not self.fixed
            and self.outputs == other.outputs
            and self.cents <= other.cents
            and self.most_dbmv >= other.most_dbmv
            and self.gain_db >= other.gain_db
        )


def _growth_db(count: int) -> float:
    """What the carriers of tomorrow add to the power of so many of today."""
    return 10.0 * math.log10(carriers_tomorrow(count) / count)


def _rated(site: Site, rating: Rating, carrier: int, relative_db: Floats, by_power: bool) -> float:
    """Highest level of a carrier under one rating; the others stand over it by `relative_db` at least."""
    digital = ~site.analogue
    most = rating.output_dbmv - HEADROOM_DB + SET_UP_DB
    if rating.basis == "total power" and digital[carrier]:
        power = float(np.sum(10.0 ** (relative_db[digital] / 10.0)))
        return most - 10.0 * math.log10(power) - _growth_db(int(digital.sum()))
    if rating.basis == "per carrier" and (site.analogue.any() or not by_power):
        return most - max(
            0.0, derating_db(carriers_tomorrow(site.analogue.size)) - derating_db(rating.carriers)
        )
    return math.inf


def highest_output(site: Site, lift: Lift, carrier: int) -> float:
    """Highest level at the carrier under every derated rating less the reserve.

    The carriers below it in frequency stand over it as they do at the feed, less the largest slope; those above may
    have lost anything.
    """
    active = lift.part.active
    assert active is not None
    shape = site.feed_dbmv - site.feed_dbmv[carrier]
    taken = MOST_SLOPE_DB * np.maximum(lift.share - lift.share[carrier], 0.0)
    below = site.frequency_mhz <= site.frequency_mhz[carrier]
    relative = np.where(below, shape - taken - SET_UP_DB, -np.inf)
    relative[carrier] = 0.0
    by_power = any(rating.basis == "total power" for rating in active.ratings)
    return min(
        (_rated(site, rating, carrier, relative, by_power) for rating in active.ratings), default=math.inf
    )


def _undominated(starts: list[Start]) -> tuple[Start, ...]:
    """Starts by price, less those that a cheaper one beats."""
    kept: list[Start] = []
    for one in sorted(starts, key=lambda row: (row.cents, -row.most_dbmv, -row.gain_db)):
        if not any(other.beats(one) for other in kept):
            kept.append(one)
    return tuple(kept)


def launches(site: Site, carrier: int, freedom: Freedom) -> tuple[Start, ...]:
    """Every way to launch: the feed, one output behind pad or equaliser, each amplifier. Unused outputs are closed.

    Behind an equaliser any pad stands for nothing.
    """
    closet = site.layout.closets[0]
    feed = float(site.feed_dbmv[carrier])
    joint = joint_db(site, carrier)
    outputs = site.building.feed.outputs
    closing = (outputs - 1) * site.menu.terminator_cents
    starts: list[Start] = []
    if closet.place.id not in site.pins.lifts:
        bare = Start(lift=None, cents=0, most_dbmv=feed, gain_db=0.0, fixed=True, outputs=outputs)
        starts += [bare, replace(bare, cents=closing, outputs=1)]
        for pad in site.menu.pads:
            level = feed - float(pad.arms[0].loss_db[carrier]) - joint
            starts.append(replace(bare, cents=pad.cents + closing, most_dbmv=level, outputs=1))
        for shaped in site.menu.equalisers:
            level = feed - float(shaped.arms[0].loss_db[carrier])
            cents = shaped.cents + closing
            starts.append(replace(bare, cents=cents, most_dbmv=level, fixed=False, outputs=1))
    most = site.building.feed.max_level_dbmv
    ceiling = math.inf if most is None else most + SET_UP_DB
    for lift in lifts_at(site, 0):
        gain = most_gain_db(lift, carrier, freedom)
        top = min(highest_output(site, lift, carrier) + freedom.output_db, feed + gain, ceiling)
        cents = lift.cents + closing
        starts.append(Start(lift=lift, cents=cents, most_dbmv=top, gain_db=gain, outputs=lift.outputs))
    return _undominated(starts)


def lifts_at(site: Site, index: int) -> tuple[Lift, ...]:
    """Amplifiers that may stand at a closet, the pinned one or all, whatever the effort; a supply left out."""
    closet = site.layout.closets[index]
    part = site.pins.lifts.get(closet.place.id)
    if part is not None:
        return tuple(lift for lift in site.all_lifts if lift.part.id == part)
    if takes_line_power(site.building, closet) and index > 0:
        return site.menu.line_lifts
    return site.menu.lifts if powered(site.building, closet) else ()


def most_gain_db(lift: Lift, carrier: int, freedom: Freedom) -> float:
    """Full gain less the reserve."""
    return float(lift.gain_db[carrier]) - lift.reserve_db + SET_UP_DB + freedom.gain_db


def risers(site: Site, index: int, carrier: int, freedom: Freedom) -> tuple[Start, ...]:
    """The amplifiers that may stand at a closet further down; one without a rating is not offered there."""
    starts = [
        Start(
            lift=lift,
            cents=lift.cents,
            most_dbmv=highest_output(site, lift, carrier) + freedom.output_db,
            gain_db=most_gain_db(lift, carrier, freedom),
            outputs=lift.outputs,
        )
        for lift in lifts_at(site, index)
    ]
    return _undominated([one for one in starts if math.isfinite(one.most_dbmv)])


def joint_db(site: Site, carrier: int) -> float:
    """Loss of one joint at a carrier."""
    return JOINT_LOSS_DB_AT_1GHZ * math.sqrt(float(site.frequency_mhz[carrier]) / 1000.0)


def freedom_taken(site: Site, report: SignalReport, lifts: Mapping[str, Lift], carrier: int) -> Freedom:
    """How far the amplifiers of a network go beyond a set-up with reserves: nothing, as a rule.

    `lifts` are its amplifiers by device.
    """
    output, gain = 0.0, 0.0
    for row in report.amplifiers:
        lift = lifts[row.device]
        out = float(row.output_dbmv[carrier])
        output = max(output, out - highest_output(site, lift, carrier))
        gain = max(gain, out - float(row.input_dbmv[carrier]) - most_gain_db(lift, carrier, Freedom()))
    return Freedom(output_db=output, gain_db=gain)
