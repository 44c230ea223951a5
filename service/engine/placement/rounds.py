"""Rounds: solve on the tables, build, evaluate exactly, teach the windows what the tables missed, solve again.

Device loss tilts with frequency and settings come in steps, so the tables are only nearly right. The exact
evaluation at every carrier decides; its difference to the prediction moves each outlet's windows for the next
round. Where the rounds don't settle, the windows are held for every difference seen so far.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from service.engine.placement.assemble import Assembled, assemble
from service.engine.placement.legs import FULL, Plan, Programme
from service.engine.placement.menu import Offer
from service.engine.placement.setup import settings_for, with_settings
from service.engine.placement.springs import Spring
from service.engine.placement.trace import Tracer, Visit
from service.engine.placement.windows import Bias, Target, Tilt
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Network, Settings
from service.engine.propagation.report import SignalReport
from service.engine.propagation.signals import propagate
from service.engine.propagation.spread import Conditions
from service.engine.signal.spectrum import Service

Floats = NDArray[np.float64]

#: Rounds after which every difference seen is held at once.
SETTLING_ROUNDS = 4
MOST_ROUNDS = 9
SLACK_DB = 0.02
#: Settings come in steps, so a design can miss by a little what its tables promised: the target is narrowed by what
#: was missed, within these bounds.
LEAST_GUARD_DB = 0.2
MOST_GUARD_DB = 1.2
#: How far the target is narrowed on both sides, in turn, while the cost stands.
SHRINKS_DB = (0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judge:
    """What exact evaluation needs besides the network."""

    catalogue: Catalogue
    services: Mapping[str, Service]
    passband_mhz: tuple[float, float]

    def report(self, network: Network) -> SignalReport:
        """The signals of a network, tolerances left out."""
        return propagate(
            network,
            self.catalogue,
            self.services,
            passband_mhz=self.passband_mhz,
            conditions=Conditions(spread=False),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """One solved and evaluated network. `cents` is its cost in the tables, `weighed_cents` that with what the rules
    held it dearer; `miss_db` is how far the worst carrier at the worst outlet lies outside its target (negative:
    margin left)."""

    cents: int
    weighed_cents: int
    root: Visit
    network: Network
    report: SignalReport
    miss_db: float

    @property
    def fits(self) -> bool:
        """True when every carrier at every outlet is inside the target."""
        return self.miss_db <= SLACK_DB


def enough_power(plan: Plan, spring: Spring) -> bool:
    """False when even a lossless split of a launch would leave somebody under the target, learnt losses left out.

    A passive network can't hand out more power than it gets: Σ 10^((least level + loss − launch)/10) ≤ 1 for each
    output.
    """
    low = plan.target.low_dbmv + plan.target.shrink_db + plan.target.reserve_db
    need = low + plan.above_db[plan.field.closet_of] + plan.field.fixed_db - spring.top_dbmv
    return bool(np.all(np.sum(10.0 ** (need / 10.0), axis=0) <= spring.outputs))


def solve_tables(plan: Plan, springs: list[Spring], lifts: int) -> tuple[int, Visit] | None:
    """Least cost over the launch springs and the design behind it; None when the tables hold none.

    Springs are tried by rising price, until none left could be cheaper than the best: `plan.floor_cents` is below
    every design. Amplifiers further down are looked for only where no launch serves everything without.
    """
    programme = Programme(plan)
    tracer = Tracer(programme)
    for lifts_left in sorted({0, lifts if plan.risers or plan.line else 0}):
        best: tuple[int, Spring, int, Offer | None] | None = None
        for spring in sorted(springs, key=lambda row: row.cents):
            if lifts_left == 0 and not enough_power(plan, spring):
                continue
            if lifts_left > 0 and spring.equaliser is not None:
                # An amplifier behind it brings a slope of its own.
                continue
            if best is not None and best[0] <= plan.floor_cents + spring.cents:
                break
            found = tracer.launch(spring, lifts_left)
            if found is not None and (best is None or found[0] < best[0]):
                best = (found[0], spring, *found[1:])
        if best is not None:
            cents, spring, depth, pad = best
            root = tracer.visit(0, FULL, depth, spring, lifts_left, starts=True)
            trims = (spring.equaliser, pad)
            return cents, replace(root, trims=tuple(offer for offer in trims if offer is not None))
    return None


def missed_by(target: Target, report: SignalReport) -> float:
    """How far the worst carrier at the worst outlet lies outside a target, its narrowing left out."""
    level = report.outlet_level_dbmv
    low = target.low_dbmv + target.reserve_db - level
    high = level - target.high_dbmv
    return float(np.max(np.maximum(low, high))) if level.size else 0.0


def evaluate(plan: Plan, root: Visit, cents: int, judge: Judge) -> tuple[Solution, Assembled]:
    """Build a design, set its amplifiers by exact levels from the head-end down, and measure it."""
    built = assemble(plan, root)
    network = built.network
    settings: dict[str, Settings] = {}
    report = judge.report(network)
    carriers = len(report.carriers)
    for _ in range(len(built.aims) + 1):
        rows = {device: row for row, device in enumerate(report.devices)}
        fresh = {
            aim.device: settings_for(
                aim,
                report.input_dbmv[rows[aim.device], :carriers],
                plan.reference,
            )
            for aim in built.aims
        }
        if fresh == settings:
            break
        settings = fresh
        network = with_settings(built.network, settings)
        report = judge.report(network)
    miss = missed_by(plan.target, report)
    solution = Solution(
        cents=cents - built.charged,
        weighed_cents=cents,
        root=root,
        network=network,
        report=report,
        miss_db=miss,
    )
    return solution, built


def learn(plan: Plan, solution: Solution, built: Assembled, *, hold: bool) -> None:
    """Teach the plan: how losses lean from closet to closet, and for each outlet what is left unexplained.

    With `hold` the outlets' lessons of all rounds so far are kept together. What an amplifier's settings missed of
    their aim is left out: the next round sets it anew. An amplifier that can't be set is learnt like a passive part.
    """
    report = solution.report
    carriers = len(report.carriers)
    rows = {device: row for row, device in enumerate(report.devices)}
    outputs = {
        port.device: report.level_dbmv[row, :carriers]
        for row, port in reversed(list(enumerate(report.ports)))
    }
    aims = {aim.device: aim.reference_dbmv + aim.shape_db for aim in built.aims}
    unset = {aim.device for aim in built.aims if aim.lift.fixed}
    feed = plan.layout.building.feed.id
    old, plan.tilt = plan.tilt, leaning(plan, built, outputs, report.input_dbmv[:, :carriers], rows)
    place = {served.outlet: row for row, served in enumerate(report.outlets)}
    level = report.outlet_level_dbmv
    missed = np.empty_like(plan.field.fixed_db)
    for number, name in enumerate(plan.field.outlets):
        spring, device = built.springs[name]
        closet = plan.field.closet_of[number]
        aimed = device and device not in unset
        offset = outputs[device] - aims[device] if aimed else np.zeros(carriers)
        moved = plan.tilt.below(spring.closet)[closet] - old.below(spring.closet)[closet]
        missed[number] = built.predicted_dbmv[name] - level[place[name]] + offset - moved
    assert feed in outputs
    if hold and plan.bias.known:
        plan.bias = Bias(
            low=np.minimum(plan.bias.low, missed), high=np.maximum(plan.bias.high, missed), known=True
        )
    else:
        plan.bias = Bias(low=missed, high=missed, known=True)


def leaning(
    plan: Plan,
    built: Assembled,
    outputs: Mapping[str, Floats],
    inputs: Floats,
    rows: Mapping[str, int],
) -> Tilt:
    """The lean from closet to closet as a network has it, where a feed went from one to the next."""
    closets = plan.layout.closets
    feed = plan.layout.building.feed.id
    reference = plan.reference
    steps: dict[int, Floats] = {}
    gathered: dict[tuple[str, int], Floats] = {}
    for landing in built.landings:
        source = landing.source or feed
        ways = plan.above_db[landing.closet] - plan.above_db[landing.spring.closet]
        lost = outputs[source] - inputs[rows[landing.device]] - ways
        lean = lost - lost[reference]
        gathered[source, landing.closet] = lean
        if closets[landing.closet].parent == landing.parent:
            before = gathered.get((source, landing.parent), np.zeros_like(lean))
            steps[landing.closet] = lean - before
    passed = plan.tilt.passed_db.copy()
    for closet in closets[1:]:
        step = steps.get(closet.index)
        if step is None:
            step = plan.tilt.passed_db[closet.index] - plan.tilt.passed_db[closet.parent]
        passed[closet.index] = passed[closet.parent] + step
    return Tilt(passed_db=passed, split_db=plan.tilt.split_db)


def halfway(before: Bias, after: Bias) -> Bias:
    """The mean of two lessons."""
    return Bias(low=(before.low + after.low) / 2.0, high=(before.high + after.high) / 2.0, known=after.known)


def between(before: Tilt, after: Tilt) -> Tilt:
    """The mean of two leans."""
    return Tilt(passed_db=(before.passed_db + after.passed_db) / 2.0, split_db=after.split_db)


def _worth(solution: Solution) -> tuple[bool, float]:
    """What rounds are compared by: designs that fit by cost, the others by what they miss."""
    return solution.fits, -float(solution.weighed_cents) if solution.fits else -solution.miss_db


def settle(
    plan: Plan, springs: list[Spring], lifts: int, judge: Judge, *, rounds: int = MOST_ROUNDS
) -> tuple[Solution | None, int]:
    """Rounds until a design fits exactly and its cost stands; else the one that misses least. And rounds used.

    None when no round's tables held a design. The plan's bias is left at what was learnt last.
    """
    best: Solution | None = None
    before, leaned = plan.bias, plan.tilt
    asked = plan.target
    guard_db = 0.0
    used = 0
    for number in range(rounds):
        used += 1
        taught = plan.bias.known
        plan.target = replace(asked, shrink_db=asked.shrink_db + guard_db)
        found = solve_tables(plan, springs, lifts)
        if found is None:
            if best is None:
                break
            # A lesson can shut out every design, and so can the guard: believe half of either.
            plan.bias, plan.tilt = halfway(before, plan.bias), between(leaned, plan.tilt)
            guard_db /= 2.0
            continue
        before, leaned = plan.bias, plan.tilt
        solution, built = evaluate(plan, found[1], found[0], judge)
        better = best is None or _worth(solution) > _worth(best)
        settled = solution.fits and (
            taught or (best is not None and best.fits and solution.weighed_cents >= best.weighed_cents)
        )
        if better:
            best = solution
        learn(plan, solution, built, hold=number >= SETTLING_ROUNDS)
        if settled:
            break
        if taught and not solution.fits:
            guard_db = min(guard_db + max(solution.miss_db, LEAST_GUARD_DB), MOST_GUARD_DB)
    plan.target = asked
    return best, used


def widened(plan: Plan, springs: list[Spring], lifts: int, judge: Judge, best: Solution) -> Solution:
    """The design of the same cost with the largest smallest margin: the target narrowed while the cost stands."""
    asked = plan.target
    for shrink_db in SHRINKS_DB:
        plan.target = replace(asked, shrink_db=asked.shrink_db + shrink_db)
        found = solve_tables(plan, springs, lifts)
        if found is None or found[0] > best.weighed_cents:
            break
        solution, _ = evaluate(plan, found[1], found[0], judge)
        if solution.miss_db < best.miss_db - 1e-9:
            best = solution
    plan.target = asked
    return best
