"""One riser cable, one target: the cheapest design, and trials under further rules."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from service.engine.placement.planning import make_plan, springs_of
from service.engine.placement.rounds import (
    MOST_ROUNDS,
    Solution,
    settle,
)
from service.engine.placement.site import Site
from service.engine.placement.stages import StageRules
from service.engine.placement.windows import Bias, Target, Tilt
from service.engine.plant.tariff import network_cents, variety_cents

#: Rounds for one pattern or one set of tap values on trial.
TRIAL_ROUNDS = 4
#: Tables solved for one riser cable and one target, by effort.
SOLVES = {"quick": 10, "normal": 24, "thorough": 90}


def allowance(table: Mapping[str, tuple[tuple[int, int], ...]], site: Site) -> int:
    """Tables that may be solved for something besides the design, by effort and number of outlets.

    For each effort the table pairs a number of outlets with what is allowed up to it; beyond them nothing is.
    """
    count = len(site.building.outlets)
    rows = table[site.building.wishes.effort]
    return next((solves for most, solves in rows if count <= most), 0)


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
        self.patterns: dict[str, str] = {}
        self.barred: frozenset[str] = frozenset()
        self.spare = 0
        self.left = SOLVES[site.building.wishes.effort]
        self.free: Solution | None = None
        #: The cheapest design inside the policy and the parts barred for it, before any wish.
        self.cheapest: Solution | None = None
        self.open_barred: frozenset[str] = frozenset()
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
        return self.free is not None

    def direct_cents(self, solution: Solution) -> int:
        """True direct cost of a solution."""
        return network_cents(solution.network, self.site.tariff, self.site.ways)

    def bind(self, barred: frozenset[str] = frozenset(), least_spare: int = 0) -> None:
        """Bind alike closets to their patterns, bar parts, ask for spare ports; other rules stay."""
        rules: list[StageRules] = []
        for closet, rule in zip(self.plan.layout.closets, self.plan.rules, strict=True):
            pattern = self.patterns.get(closet.pattern_group)
            rules.append(
                replace(
                    rule,
                    patterns=frozenset({pattern}) if pattern is not None else None,
                    barred=barred | frozenset(closet.place.never),
                    least_spare=least_spare,
                )
            )
        self.plan.rules = tuple(rules)

    def trial(self, solution: Solution, within_cents: int | None = None) -> Solution | None:
        """A few rounds under new rules: the design found, if it fits as well and isn't too dear."""
        found = self.settle(TRIAL_ROUNDS)
        if found is None or (solution.fits and not found.fits):
            return None
        if within_cents is None:
            return found
        dearer = found.cents - solution.cents
        saved = variety_cents(solution.network, self.site.tariff) - variety_cents(
            found.network, self.site.tariff
        )
        return found if found.cents <= within_cents and (saved > 0 or dearer <= 0) else None
