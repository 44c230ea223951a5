"""A floor under the tables of every design of one riser cable: the programme with levels left out."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from service.engine.placement.legs import FULL, SPRING_FEEDS, Plan, Programme
from service.engine.placement.lifts import Lift
from service.engine.placement.planning import every_launch, make_plan, powered, takes_line_power
from service.engine.placement.site import Site
from service.engine.placement.springs import Spring
from service.engine.placement.stages import INF


def amplifiers(site: Site) -> tuple[Lift, ...]:
    """All amplifiers that may stand along the riser of a building."""
    return site.menu.lifts + (site.menu.line_lifts if site.building.policy.line_power else ())


def level_free(site: Site, riser_series: str) -> int:
    """Cost in the tables when levels don't matter, the launch left out; 0 where no network can be built.

    An amplifier with several outputs takes the place of a splitter, and one on the riser lets feeds part where nothing
    else does, so both are priced in wherever they may stand.
    """
    plan = make_plan(site, riser_series, site.target)
    lifts = amplifiers(site)
    priced = {
        outputs: min(lift.cents for lift in lifts if lift.outputs == outputs)
        for outputs in sorted({lift.outputs for lift in lifts})
    }
    plan.kitchen = site.kitchen.without_levels()
    plan.depth = 1
    plan.target = replace(
        site.target,
        low_dbmv=np.full_like(site.feed_dbmv, -1e6),
        high_dbmv=np.full_like(site.feed_dbmv, 1e6),
    )
    plan.risers, plan.line, plan.pads, plan.forced = {}, {}, (), frozenset()
    plan.lifted = {
        closet.index: tuple((outputs, cents, SPRING_FEEDS) for outputs, cents in priced.items())
        for closet in site.layout.closets[1:]
        if powered(site.building, closet) or takes_line_power(site.building, closet)
    }
    return min(_least(site, plan, outputs) for outputs in {one.outputs for one in every_launch(site)})


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
