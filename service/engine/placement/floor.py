"""A floor under the cost of every design of one riser cable: the programme with levels left out."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import combinations_with_replacement

import numpy as np

from service.engine.placement.legs import FULL, SPRING_FEEDS, Plan, Programme
from service.engine.placement.lifts import Lift
from service.engine.placement.planning import every_launch, make_plan, powered, takes_line_power
from service.engine.placement.site import Site
from service.engine.placement.springs import Floats, Spring
from service.engine.placement.stages import INF


@dataclass(frozen=True, slots=True, kw_only=True)
class Floor:
    """`table_cents` is below what any design costs without its launch, `total_cents` below all of it.

    Both leave out what every design of the building has in common.
    """

    table_cents: int
    total_cents: int


def split_cents(site: Site, lift: Lift) -> int:
    """The share of an amplifier's price that a splitter of as many outputs would cost: what it may save elsewhere."""
    alike = [offer.cents for offer in site.menu.even if offer.ports >= max(2, lift.outputs)]
    return min(lift.cents, min(alike, default=0))


def asked_power_db(site: Site, plan: Plan) -> Floats:
    """Power that a lossless launch would need at each carrier for every outlet's least level behind its cables, dB."""
    need = np.zeros_like(site.feed_dbmv)
    for closet, planned in zip(site.layout.closets, plan.planned, strict=True):
        for item in planned:
            loss = plan.above_db[closet.index] + item.fixed_db
            need += np.sum(10.0 ** ((site.target.low_dbmv + loss) / 10.0), axis=0)
    return np.asarray(10.0 * np.log10(need), dtype=np.float64)


def least_lift_cents(site: Site, missing_db: Floats, lifts: tuple[Lift, ...]) -> int | None:
    """Least price of amplifiers along the riser that make up for missing power, above what splitters would cost.

    A passive network can't hand out more power than it gets. An amplifier multiplies what it gets by gain and number of
    outputs, so those on some way to an outlet make up together for what is missing. Source: energy. None where no
    amplifiers can.
    """
    worst = int(np.argmax(missing_db))
    if missing_db[worst] <= 0.0:
        return 0
    rows = [
        (
            float(lift.gain_db[worst]) - lift.reserve_db + 10.0 * math.log10(lift.outputs),
            lift.cents - split_cents(site, lift),
        )
        for lift in lifts
    ]
    sums = [
        sum(cents for _, cents in chosen)
        for count in range(1, site.building.policy.most_amplifiers_in_series + 1)
        for chosen in combinations_with_replacement(rows, count)
        if sum(gain for gain, _ in chosen) >= missing_db[worst]
    ]
    return min(sums, default=None)


def floor_of(site: Site, riser_series: str) -> Floor:
    """Cost in the tables when levels don't matter, at the least over every way to launch.

    An amplifier with several outputs takes the place of a splitter, and one on the riser lets feeds part where
    nothing else does, so in the tables both stand wherever they may, at a splitter's price. What those on the riser
    cost above it is charged as far as a launch lacks power, at its highest setting.
    """
    plan = make_plan(site, riser_series, site.target)
    asked_db = asked_power_db(site, plan)
    risers = {
        closet.index
        for closet in site.layout.closets[1:]
        if powered(site.building, closet) or takes_line_power(site.building, closet)
    }
    lifts = site.menu.lifts + (site.menu.line_lifts if site.building.policy.line_power else ())
    priced = {
        outputs: min(split_cents(site, lift) for lift in lifts if lift.outputs == outputs)
        for outputs in sorted({lift.outputs for lift in lifts})
    }
    plan.kitchen = site.kitchen.without_levels()
    plan.depth = 1
    plan.target = replace(
        site.target,
        low_dbmv=np.full_like(site.feed_dbmv, -1e6),
        high_dbmv=np.full_like(site.feed_dbmv, 1e6),
    )
    plan.risers, plan.line = {}, {}
    plan.pads = ()
    plan.forced = frozenset()
    plan.lifted = {
        index: tuple((outputs, cents, SPRING_FEEDS) for outputs, cents in priced.items()) for index in risers
    }
    launches: dict[int, int] = {}
    for spring in every_launch(site):
        missing_db = asked_db - spring.top_dbmv - 10.0 * math.log10(spring.outputs)
        further = least_lift_cents(site, missing_db, lifts if risers else ())
        if further is not None:
            cents = spring.cents + further
            launches[spring.outputs] = min(cents, launches.get(spring.outputs, cents))
    tables = {outputs: _least(site, plan, outputs) for outputs in launches or (1,)}
    return Floor(
        table_cents=min(tables.values()),
        total_cents=min((tables[outputs] + cents for outputs, cents in launches.items()), default=0),
    )


def _least(site: Site, plan: Plan, outputs: int) -> int:
    """Least cost of the tables behind a launch with so many outputs; 0 where no network can be built."""
    spring = Spring(
        closet=0,
        lift=None,
        slope_db=0.0,
        top_dbmv=np.zeros_like(site.feed_dbmv),
        deepest=0,
        reference=site.reference,
        outputs=outputs,
    )
    found = int(Programme(plan).top(spring, 0)[FULL, 0])
    return found if found < INF else 0
