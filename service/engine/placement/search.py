"""One riser cable, one target: the cheapest design, and trials under further rules."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from service.engine.placement.binding import Binding, bound
from service.engine.placement.mending import mend
from service.engine.placement.planning import make_plan, springs_of
from service.engine.placement.rounds import (
    MOST_ROUNDS,
    Solution,
    evaluate,
    learn,
    settle,
    solve_tables,
)
from service.engine.placement.site import Site
from service.engine.placement.springs import Spring
from service.engine.placement.used import visits
from service.engine.placement.windows import Bias, Target, Tilt
from service.engine.plant.tariff import network_cents

#: Rounds for one binding on trial.
TRIAL_ROUNDS = 6
#: Rounds of a second settling.
AGAIN_ROUNDS = 2
#: Tables solved for one riser cable and one target, by effort.
SOLVES = {"quick": 10, "normal": 48, "thorough": 90}


def allowance(table: Mapping[str, tuple[tuple[int, int], ...]], site: Site) -> int:
    """Tables that may be solved for something besides the design, by effort and number of outlets.

    For each effort the table pairs a number of outlets with what is allowed up to it; beyond them nothing is.
    """
    count = len(site.building.outlets)
    rows = table[site.building.wishes.effort]
    return next((solves for most, solves in rows if count <= most), 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """A design found under a binding, and what the rounds taught on the way."""

    solution: Solution
    binding: Binding
    lessons: tuple[Bias, Tilt]


class Search:
    """Solves one site with one riser cable and one target, as it is bound; `tightening.py` binds it rule after rule.

    Work is counted in solved tables, never in time: `left` is what the effort still allows.
    """

    def __init__(self, site: Site, riser_series: str, target: Target, floor_cents: int) -> None:
        self.site = site
        self.riser_series = riser_series
        self.plan = make_plan(site, riser_series, target)
        self.plan.floor_cents = floor_cents
        self.springs = springs_of(site)
        self.lifts = site.building.policy.most_amplifiers_in_series
        self.unbound = self.plan.rules
        self.untaught = self.plan.bias, self.plan.tilt
        self.binding = Binding()
        self.left = SOLVES[site.building.wishes.effort]
        self.free: Solution | None = None
        #: Bindings of alike closets to try, the most promising first; None before they are looked for.
        self.choices: list[Binding] | None = None
        #: The cheapest design inside the policy and what it is bound to, before any wish.
        self.cheapest: Solution | None = None
        self.open_binding = Binding()
        #: By rule taken after the first design, what it added to the direct cost.
        self.dearer: tuple[tuple[str, int], ...] = ()
        #: What the rounds of the first design taught.
        self.taught: tuple[Bias, Tilt] = (self.plan.bias, self.plan.tilt)

    def settle(self, rounds: int = MOST_ROUNDS) -> Solution | None:
        """The rounds on the plan as it is bound now, as many as the effort still allows."""
        allowed = min(rounds, self.left)
        self.left -= allowed
        if allowed <= 0:
            return None
        found, used = settle(self.plan, self.springs, self.lifts, self.site.judge, rounds=allowed)
        self.left += allowed - used
        return found

    def start(self) -> bool:
        """The cheapest design before rules that compare closets; False where the tables hold none."""
        self.free = self.settle()
        self.taught = (self.plan.bias, self.plan.tilt)
        if self.free is not None and self.free.fits:
            self.again(self.free)
        return self.free is not None

    def again(self, first: Solution) -> None:
        """Settle once more from what was learnt: the rounds stop at the first fit, and a cheaper one may follow."""
        found = self.settle(AGAIN_ROUNDS)
        if found is not None and found.fits and found.cents < first.cents:
            self.free, self.taught = found, (self.plan.bias, self.plan.tilt)
        else:
            self.plan.bias, self.plan.tilt = self.taught

    def direct_cents(self, solution: Solution) -> int:
        """True direct cost of a solution."""
        return network_cents(solution.network, self.site.tariff, self.site.ways)

    def bind(self, binding: Binding) -> None:
        """Bind the plan; the rules that the building itself has for its closets stay."""
        self.plan.rules = bound(self.site.layout, self.unbound, binding)

    def tried(self, binding: Binding) -> Trial | None:
        """A few rounds under another binding; the search itself stays as it is. None where the tables hold nothing.

        What was taught under the binding so far helps where it was mended too; where that shuts out everything the
        rounds begin untaught.
        """
        plan, lessons = self.plan, (self.plan.bias, self.plan.tilt)
        self.bind(binding)
        found = self.mend() if self.mended else None
        if found is None:
            plan.bias, plan.tilt = self.untaught
            found = self.mend()
        trial = (
            None if found is None else Trial(solution=found, binding=binding, lessons=(plan.bias, plan.tilt))
        )
        plan.bias, plan.tilt = lessons
        self.bind(self.binding)
        return trial

    @property
    def mended(self) -> bool:
        """True where the search stands on a trial: its lessons are those of outlets that missed."""
        return self.plan.tilt is self.untaught[1]

    def learn(self, solution: Solution) -> None:
        """Learn from the design that the search stands on all that its tables missed: what follows is like it."""
        if self.mended and self.plan.bias.known:
            _, built = evaluate(self.plan, solution.root, solution.weighed_cents, self.site.judge)
            learn(self.plan, solution, built, hold=False)

    def mend(self) -> Solution | None:
        """A few mending rounds on the plan as it is bound now, as many as the effort still allows."""
        allowed = min(TRIAL_ROUNDS, self.left)
        if allowed <= 0:
            return None
        found, used = mend(self.plan, self.springs, self.lifts, self.site.judge, rounds=allowed)
        self.left -= used
        return found

    def promise(self, binding: Binding) -> int | None:
        """What one solving of the tables, untaught, says that a binding costs; None where it holds nothing.

        Amplifiers are those that the cheapest design has, at its slopes: a comparison of bindings needs no more.
        """
        if self.left <= 0:
            return None
        self.left -= 1
        plan, lessons, risers = self.plan, (self.plan.bias, self.plan.tilt), self.plan.risers
        self.bind(binding)
        plan.bias, plan.tilt = self.untaught
        plan.risers = {closet: self.familiar(springs) for closet, springs in risers.items()}
        found = solve_tables(plan, self.familiar(self.springs), self.lifts)
        plan.bias, plan.tilt = lessons
        plan.risers = risers
        self.bind(self.binding)
        return None if found is None else found[0]

    def familiar(self, springs: list[Spring]) -> list[Spring]:
        """The springs that are like one of the cheapest design."""
        assert self.free is not None
        used = {_kind(visit.spring) for visit in visits(self.free.root) if visit.starts}
        return [spring for spring in springs if _kind(spring) in used]

    def now(self, solution: Solution) -> Trial:
        """A solution as the outcome of what the search is bound to and was taught."""
        return Trial(solution=solution, binding=self.binding, lessons=(self.plan.bias, self.plan.tilt))

    def take(self, trial: Trial) -> Solution:
        """Go on from a trial."""
        self.binding = trial.binding
        self.plan.bias, self.plan.tilt = trial.lessons
        self.bind(self.binding)
        return trial.solution


def _kind(spring: Spring) -> tuple[str, float]:
    """What springs are told apart by, wherever they stand: the part and the slope."""
    part = spring.lift.part.id if spring.lift else spring.equaliser.part if spring.equaliser else ""
    return part, spring.slope_db
