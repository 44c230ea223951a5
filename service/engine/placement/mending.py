"""Mending: rounds that teach the windows of those outlets alone that missed their target.

Full lessons tell every outlet what its place in the last network lost besides D. In a network of another pattern they
mislead, and may shut out every design. Where a network misses little, putting right what missed keeps the rest as it
is: the next network is much the same, a little dearer, and after a few rounds nothing misses.
"""

from __future__ import annotations

import numpy as np

from service.engine.placement.assemble import Assembled
from service.engine.placement.legs import Plan
from service.engine.placement.rounds import Judge, Solution, evaluate, solve_tables
from service.engine.placement.springs import Spring
from service.engine.placement.windows import Bias

#: Outlets so near to an edge of their target are taught with those beyond it.
NEAR_DB = 0.1


def mend(
    plan: Plan, springs: list[Spring], lifts: int, judge: Judge, *, rounds: int
) -> tuple[Solution | None, int]:
    """Rounds until nothing misses: the network that misses least, and the rounds used.

    None where the first round's tables hold nothing. The plan keeps what was taught.
    """
    best: Solution | None = None
    for used in range(1, rounds + 1):
        found = solve_tables(plan, springs, lifts)
        if found is None:
            return best, used
        solution, built = evaluate(plan, found[1], found[0], judge)
        if best is None or solution.miss_db < best.miss_db:
            best = solution
        if solution.miss_db <= 0.0:
            return solution, used
        teach(plan, solution, built)
    return best, rounds


def teach(plan: Plan, solution: Solution, built: Assembled) -> None:
    """What the tables missed, at the outlets and carriers that it puts outside the target; lessons before it stay."""
    target, names = plan.target, plan.field.outlets
    place = {served.outlet: row for row, served in enumerate(solution.report.outlets)}
    level = solution.report.outlet_level_dbmv[[place[name] for name in names]]
    missed = np.stack([built.predicted_dbmv[name] for name in names]) - level
    low = target.low_dbmv + target.reserve_db - level > -NEAR_DB
    high = level - target.high_dbmv > -NEAR_DB
    plan.bias = Bias(
        low=np.minimum(plan.bias.low, np.where(high, missed, np.inf)),
        high=np.maximum(plan.bias.high, np.where(low, missed, -np.inf)),
        known=True,
    )
