"""Balance: cost against spread, and the design that a wish for less spread picks.

Spread is a bound, cost the objective: the finished search is solved again with every carrier held in a narrower
band around where the outlets lie, step after step, until nothing fits or the effort is spent. Work is counted in
solved tables.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from service.engine.checks.margins import outlet_margins
from service.engine.placement.centre import centred
from service.engine.placement.place import Candidate
from service.engine.placement.proposal import CurvePoint
from service.engine.placement.rounds import Solution, missed_by, settle
from service.engine.placement.search import Search, allowance
from service.engine.placement.site import Site
from service.engine.placement.tightening import broken, finish
from service.engine.placement.units import over_spread, within_units
from service.engine.placement.used import SLACK_DB, building_spread_db, kinds_of
from service.engine.placement.variants import CHOICE_SOLVES, launch_dbmv, lowest_launch
from service.engine.placement.windows import Target
from service.engine.propagation.report import SignalReport

#: A design of the knee costs at most so much more than the cheapest.
KNEE_SHARE = 0.01
#: Tables solved for the curve by effort, with the number of outlets up to which that holds.
CURVE_SOLVES = {
    "quick": (),
    "normal": ((200, 6), (500, 3), (20000, 2)),
    "thorough": ((200, 24), (20000, 16)),
}
#: Tables solved where less spread is wished for, at least.
WISH_SOLVES = 8
#: Tables solved to set the launch lower for the same money.
CALM_SOLVES = 3
#: Each step asks for so much of the spread that the last one had, in whole halves of a decibel.
STEP_SHARE = 0.85
STEP_DB = 0.5
#: Rounds of one step: the second puts right what the first missed by.
STEP_ROUNDS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A design found for a spread that was asked for, its true direct cost and its smallest margin to a limit."""

    asked_db: float | None
    spread_db: float
    cost_cents: int
    margin_db: float
    solution: Solution


def narrowed(asked: Target, report: SignalReport, spread_db: float) -> Target:
    """A target that holds each carrier in a band of `spread_db` around the middle of where its outlets lie.

    The band stays inside the target that was asked for.
    """
    level = report.outlet_level_dbmv
    low = asked.low_dbmv + asked.reserve_db + asked.shrink_db
    high = asked.high_dbmv - asked.shrink_db
    half = np.minimum(spread_db, high - low) / 2.0
    middle = np.clip((level.max(axis=0) + level.min(axis=0)) / 2.0, low + half, high - half)
    return replace(
        asked,
        low_dbmv=middle - half - asked.reserve_db - asked.shrink_db,
        high_dbmv=middle + half + asked.shrink_db,
    )


def step_of(search: Search, asked_db: float | None, solution: Solution) -> Step:
    """A solution with its spread, its cost and its smallest margin."""
    site = search.site
    left = outlet_margins(solution.report, site.limits, margins=site.building.policy.margins)
    return Step(
        asked_db=asked_db,
        spread_db=building_spread_db(solution.report),
        cost_cents=search.direct_cents(solution),
        margin_db=0.0 if left.worst is None else left.worst.margin_db,
        solution=solution,
    )


def best_set(search: Search, asked_db: float | None, solution: Solution) -> Step:
    """The step of a solution whose launch is set for the largest smallest margin."""
    return step_of(search, asked_db, centred(search.site, search.plan.target, solution))


def next_spread(spread_db: float, failed_db: float) -> float | None:
    """The spread to ask for next, below the last reached and above the one that failed; None when done."""
    aim = np.floor(min(spread_db * STEP_SHARE, spread_db - STEP_DB / 2.0) / STEP_DB) * STEP_DB
    if aim <= failed_db:
        aim = np.floor((spread_db + failed_db) / 2.0 / STEP_DB) * STEP_DB
    return float(aim) if failed_db < aim < spread_db and aim >= STEP_DB else None


def narrower(search: Search, start: Solution, solves: int, wish_db: float | None = None) -> list[Step]:
    """Designs of ever less spread inside the policy that `search` has bound, from a design on.

    With `wish_db` that spread is asked for first.
    """
    plan, asked = search.plan, search.plan.target
    taught = plan.bias, plan.tilt
    search.bind(search.open_binding)
    best, reached_by, failed_db = start, list[tuple[float, Solution]](), 0.0
    kept = broken(search, start)
    aim = wish_db if wish_db is not None else next_spread(building_spread_db(start.report), failed_db)
    while aim is not None and solves > 0:
        plan.bias, plan.tilt = taught
        plan.target = narrowed(asked, best.report, aim)
        rounds = min(STEP_ROUNDS, solves)
        found, used = settle(plan, search.springs, search.lifts, search.site.judge, rounds=rounds)
        solves -= used
        reached = building_spread_db(found.report) if found is not None else np.inf
        if found is not None and reached < building_spread_db(best.report) - 1e-9:
            best = replace(found, miss_db=missed_by(asked, found.report))
            if best.fits and broken(search, best) <= kept:
                reached_by.append((aim, best))
        if reached > aim + STEP_DB:
            failed_db = max(failed_db, aim)
        aim = next_spread(building_spread_db(best.report), failed_db)
    plan.target = asked
    plan.bias, plan.tilt = taught
    search.bind(search.binding)
    return [best_set(search, aim, solution) for aim, solution in reached_by]


def undominated(steps: Iterable[Step]) -> list[Step]:
    """The steps that no other beats in cost and spread, the cheapest first."""
    kept: list[Step] = []
    for step in sorted(steps, key=lambda row: (row.cost_cents, row.spread_db, -row.margin_db)):
        if not kept or step.spread_db < kept[-1].spread_db - 1e-9:
            kept.append(step)
    return kept


def knee_of(steps: list[Step]) -> Step:
    """The smallest spread within a hundredth of the cheapest, of steps that stand by cost."""
    within = steps[0].cost_cents * (1.0 + KNEE_SHARE)
    return min((step for step in steps if step.cost_cents <= within), key=lambda step: step.spread_db)


@dataclass(frozen=True, slots=True, kw_only=True)
class Balanced:
    """A candidate as the wishes for spread want it, and the steps it was chosen from, the cheapest first."""

    candidate: Candidate
    steps: tuple[Step, ...]


def balanced(site: Site, found: Candidate) -> Balanced:
    """The curve around a found design, and the design on it that the building's wishes pick."""
    wishes = site.building.wishes
    if not found.fits or found.search.cheapest is None:
        return Balanced(candidate=found, steps=())
    found = within_units(site, found)
    search = found.search
    taken = best_set(search, None, found.solution)
    wish_db = spread_wished(site)
    missed = wish_db is not None and taken.spread_db > wish_db + SLACK_DB
    solves = allowance(CURVE_SOLVES, site)
    if missed or wishes.aim == "balanced":
        solves = max(solves, WISH_SOLVES)
    steps = [taken]
    if wishes.unit_spread_db is None and search.cheapest is not None:
        steps.append(best_set(search, None, search.cheapest))
    steps += narrower(search, found.solution, solves, wish_db if missed else None)
    if allowance(CHOICE_SOLVES, site) and search.cheapest is not None:
        # The same money with a lower launch may leave more room above.
        calmer, _ = lowest_launch(search, search.cheapest, CALM_SOLVES, share=0.0)
        steps += [] if calmer is None else [best_set(search, None, calmer)]
    if wish_db is not None and missed and all(step.spread_db > wish_db + SLACK_DB for step in steps):
        steps += afresh(site, found, wish_db)
    curve = undominated(steps)
    found = taking(found, taken)
    if missed and wish_db is not None:
        kept = [step for step in curve if step.spread_db <= wish_db + SLACK_DB]
        found = taking(found, kept[0] if kept else curve[-1])
    elif wishes.aim == "balanced":
        knee = knee_of(curve)
        if knee.spread_db < taken.spread_db - 1e-9:
            found = taking(found, knee)
    else:
        found = taking(found, within_aim(site, no_worse(taken, steps), steps))
    found = with_aim_priced(with_missed(site, found), curve)
    return Balanced(candidate=found, steps=tuple(curve))


def spread_wished(site: Site) -> float | None:
    """The spread over the building that is asked for: by the wishes, or by limits that make it a rule."""
    asked = [site.building.wishes.spread_db]
    if site.limits.spread_source:
        asked.append(site.limits.building_spread_db)
    return min((value for value in asked if value is not None), default=None)


def no_worse(taken: Step, steps: list[Step]) -> Step:
    """The best of the steps that cost no more than the one taken and want no more kinds of part.

    The cheapest of them; at equal cost that with the largest smallest margin, then the smallest spread, then the
    lowest launch.
    """
    kinds = len(kinds_of(taken.solution.network))
    options = [
        step
        for step in steps
        if step.cost_cents <= taken.cost_cents and len(kinds_of(step.solution.network)) <= kinds
    ]
    return min(
        options,
        key=lambda step: (
            step.cost_cents,
            -round(step.margin_db, 2),
            round(step.spread_db, 2),
            launch_dbmv(step.solution),
        ),
    )


def within_aim(site: Site, taken: Step, steps: list[Step]) -> Step:
    """The step taken, or where it misses the aim for the building the cheapest one near it that keeps the aim."""
    aim_db = site.limits.building_spread_db
    near = [
        step
        for step in steps
        if step.spread_db <= aim_db and step.cost_cents <= taken.cost_cents * (1.0 + KNEE_SHARE)
    ]
    if taken.spread_db <= aim_db or not near:
        return taken
    return min(near, key=lambda step: (step.cost_cents, step.spread_db))


def taking(found: Candidate, step: Step) -> Candidate:
    """The candidate with the design of a step."""
    return replace(found, solution=step.solution, cost_cents=step.cost_cents)


def afresh(site: Site, found: Candidate, spread_db: float) -> list[Step]:
    """A search of its own in the narrow band: rules may pick other patterns and values there."""
    old = found.search
    search = Search(site, found.riser_series, old.plan.target, old.plan.floor_cents)
    search.plan.target = narrowed(old.plan.target, found.solution.report, spread_db)
    search.plan.bands = old.plan.bands
    if not search.start():
        return []
    solution, _ = finish(search)
    judged = replace(solution, miss_db=missed_by(old.plan.target, solution.report))
    return [step_of(search, spread_db, judged)] if judged.fits else []


def with_aim_priced(found: Candidate, curve: list[Step]) -> Candidate:
    """The candidate with what its aim costs over the cheapest design of the curve.

    Prices of rules were told of the search's first design: where a later one is cheaper, they save so much less. What
    a rule added may have been won back since: none costs more than the whole policy.
    """
    least = min(step.cost_cents for step in curve)
    free = found.search.free
    first = least if free is None else found.search.direct_cents(free)
    less = max(0, first - least)
    free_cents = None if found.free_cents is None else min(found.free_cents, least)
    most = found.cost_cents - min(first, least, *(() if free_cents is None else (free_cents,)))
    told = [(rule, min(cents - less, most)) for rule, cents in found.prices]
    prices = [(rule, cents) for rule, cents in told if cents > 0]
    if found.cost_cents > least:
        prices.append(("aim", found.cost_cents - least))
    return replace(
        found, prices=tuple(sorted(prices, key=lambda row: (-row[1], row[0]))), free_cents=free_cents
    )


def with_missed(site: Site, found: Candidate) -> Candidate:
    """The candidate with a note of each wished spread that it doesn't keep."""
    wishes, report = site.building.wishes, found.solution.report
    released = list(found.released)
    if wishes.spread_db is not None and building_spread_db(report) > wishes.spread_db + SLACK_DB:
        released.append(("spread", ()))
    if wishes.unit_spread_db is not None and (over := over_spread(report, wishes.unit_spread_db)):
        released.append(("unit-spread", over))
    return replace(found, released=tuple(released))


def curve_of(steps: tuple[Step, ...], chosen: Candidate) -> tuple[CurvePoint, ...]:
    """The steps with their margins, the knee and the chosen design marked; the chosen one stands there even where
    another step beats it."""
    if not steps:
        return ()
    taken = step_of(chosen.search, None, chosen.solution)
    at = next((row for row, step in enumerate(steps) if _alike(step, taken)), None)
    steps = (
        steps if at is None else (*steps[:at], replace(taken, asked_db=steps[at].asked_db), *steps[at + 1 :])
    )
    knee = knee_of(list(steps))
    if at is None:
        steps = (*steps, taken)
    return tuple(
        CurvePoint(
            asked_db=step.asked_db,
            spread_db=step.spread_db,
            cost_cents=step.cost_cents,
            margin_db=step.margin_db,
            knee=step is knee,
            chosen=step.solution is chosen.solution,
        )
        for step in sorted(steps, key=lambda row: (row.cost_cents, row.spread_db))
    )


def _alike(one: Step, other: Step) -> bool:
    """True for two steps that stand on one point of the curve."""
    return one.cost_cents == other.cost_cents and abs(one.spread_db - other.spread_db) < SLACK_DB
