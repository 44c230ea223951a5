"""Other designs on the plan of a finished search: fewest amplifiers, lowest launch, fewest kinds of part.

Each takes the cheapest design and a number of tables that it may solve, and gives what it found with how many it used.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from service.engine.placement.legs import FULL, Programme
from service.engine.placement.menu import GRID_DB
from service.engine.placement.rounds import Solution, settle
from service.engine.placement.search import Search
from service.engine.placement.springs import Spring
from service.engine.placement.stages import INF
from service.engine.placement.tightening import SIMPLER_SHARE, simpler

#: Tables solved for other designs by effort, with the number of outlets up to which that holds. Beyond them the
#: curve's own designs are offered alone.
CHOICE_SOLVES = {"quick": (), "normal": ((60, 8), (400, 5)), "thorough": ((20000, 24),)}
#: Rounds of one other design.
CHOICE_ROUNDS = 2
#: Added to an amplifier's price where as few as possible are wanted.
DEAR_CENTS = 10_000_000


def _settled(search: Search, springs: list[Spring], solves: int) -> tuple[Solution | None, int]:
    """A design from these springs under the policy's rules, before any wish; and the tables solved."""
    plan, taught = search.plan, (search.plan.bias, search.plan.tilt)
    search.bind(search.open_binding)
    found, used = settle(plan, springs, search.lifts, search.site.judge, rounds=min(CHOICE_ROUNDS, solves))
    plan.bias, plan.tilt = taught
    search.bind(search.binding)
    return (found if found is not None and found.fits else None), used


def fewest_amplifiers(search: Search, least: Solution, solves: int) -> tuple[Solution | None, int]:
    """The cheapest design among those with as few amplifiers as the search can do with."""
    catalogue, plan = search.site.catalogue, search.plan
    count = sum(catalogue.part(row.part).active is not None for row in least.network.devices)
    if count == 0:
        return None, 0
    risers = plan.risers
    plan.risers = {closet: [_dear(spring) for spring in springs] for closet, springs in risers.items()}
    if count == 1:
        # One alone is at the launch: only a network without any has fewer.
        plan.risers = {}
        springs = [spring for spring in search.springs if spring.lift is None]
    else:
        springs = [_dear(spring) for spring in search.springs]
    found = _settled(search, springs, solves) if springs else (None, 0)
    plan.risers = risers
    return found


def _dear(spring: Spring) -> Spring:
    """The spring with an amplifier that costs a fortune."""
    if spring.lift is None:
        return spring
    return replace(spring, lift=replace(spring.lift, cents=spring.lift.cents + DEAR_CENTS))


def lowest_launch(
    search: Search, least: Solution, solves: int, share: float = SIMPLER_SHARE
) -> tuple[Solution | None, int]:
    """The design with the least level at the head-end's output, for that share more money at most.

    The table of a launch gives the cost at each level that it may be set to. A feed without an amplifier is what it is.
    """
    if solves < 2 or least.root.spring.lift is None:
        return None, 0
    plan = search.plan
    within = least.cents + round(share * search.direct_cents(least))
    first = least.root.spring
    same = [spring for spring in search.springs if spring.lift and spring.name == first.name]
    amplified = any(spring.lift is not None for spring in _springs_below(least))
    search.bind(search.open_binding)
    programme = Programme(plan)
    lowest: tuple[float, Spring] | None = None
    for spring in same:
        places = np.arange(0, min(spring.deepest + 1, plan.depth), spring.stride)
        costs = programme.top(spring, search.lifts if amplified else 0)[FULL][places] + spring.cents
        good = np.flatnonzero(costs <= min(within, INF - 1))
        if good.size == 0:
            continue
        top_dbmv = spring.top_dbmv - float(places[good[-1]]) * GRID_DB
        level = float(top_dbmv.max())
        if lowest is None or level < lowest[0] - 1e-9:
            lowest = (level, replace(spring, top_dbmv=top_dbmv, deepest=0))
    search.bind(search.binding)
    if lowest is None:
        return None, 1
    found, used = _settled(search, [lowest[1]], solves - 1)
    return found, used + 1


def launch_dbmv(solution: Solution) -> float:
    """The highest level that the launch of a design is set to."""
    return float(solution.root.spring.top_dbmv.max()) - solution.root.depth * GRID_DB


def _springs_below(solution: Solution) -> Iterator[Spring]:
    """The springs of a design after the launch."""
    stack = list(solution.root.onward)
    while stack:
        visit = stack.pop()
        if visit.starts:
            yield visit.spring
        stack.extend(visit.onward)


def fewest_kinds(search: Search, least: Solution, solves: int) -> tuple[Solution | None, int]:
    """The design with the fewest kinds of part within three per cent, from the cheapest on."""
    plan, left, binding = search.plan, search.left, search.binding
    lessons = plan.bias, plan.tilt
    search.left, search.binding = solves, search.open_binding
    within = least.cents + round(SIMPLER_SHARE * search.direct_cents(least))
    solution = least
    for most in (3, 2, 1):
        found = simpler(search, solution, most, within)
        if found is None:
            break
        solution = found
    used = solves - search.left
    search.left, search.binding = left, binding
    plan.bias, plan.tilt = lessons
    search.bind(search.binding)
    return solution, used
