"""One riser cable, one target: the cheapest design, then rule after rule of the policy, then the wishes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from service.engine.placement.planning import make_plan, springs_of
from service.engine.placement.rounds import (
    MOST_ROUNDS,
    Solution,
    evaluate,
    settle,
    solve_tables,
    widened,
)
from service.engine.placement.site import Site
from service.engine.placement.springs import Spring
from service.engine.placement.stages import StageRules
from service.engine.placement.used import (
    building_spread_db,
    patterns_used,
    rising_values,
    spare_share,
    values_used,
)
from service.engine.placement.windows import Target
from service.engine.plant.tariff import network_cents, variety_cents

#: Rounds for one pattern or one set of tap values on trial.
TRIAL_ROUNDS = 4
#: Tables solved for one riser cable and one target, by effort.
SOLVES = {"quick": 10, "normal": 24, "thorough": 90}
#: How much dearer than the cheapest a simpler, and a more balanced, design may be.
SIMPLER_SHARE = 0.03
KNEE_SHARE = 0.01
#: Spare ports that each closet is asked for, at most, to reach the building's share.
MOST_SPARE = 3


def level_free(site: Site, riser_series: str) -> int | None:
    """Cost in the tables when levels don't matter: below every design inside the same policy and riser cable."""
    wide = Target(
        low_dbmv=np.full_like(site.feed_dbmv, -1e6),
        high_dbmv=np.full_like(site.feed_dbmv, 1e6),
    )
    plan = make_plan(site, riser_series, wide)
    plan.risers = {}
    free = Spring(
        closet=0,
        lift=None,
        slope_db=0.0,
        top_dbmv=np.zeros_like(site.feed_dbmv),
        deepest=0,
        reference=site.reference,
    )
    found = solve_tables(plan, [free], 0)
    return found[0] if found else None


class Search:
    """Solves one site with one riser cable and one target, tightening rule after rule.

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
        return self.free is not None

    def finish(self) -> tuple[Solution, tuple[tuple[str, tuple[str, ...]], ...]]:
        """Cheapest design under every rule that can be kept, with the rules that had to be released."""
        free = self.free
        assert free is not None
        released: list[tuple[str, tuple[str, ...]]] = []
        policy = self.site.building.policy
        solution = free
        if policy.one_pattern:
            solution, self.patterns, loose = self.one_pattern(solution)
            released += [("one-pattern", (group,)) for group in loose]
        if policy.parts_variety:
            solution = self.fewer_values(solution, policy.most_tap_values, None)
        if policy.falling_values and rising_values(solution.root):
            solution = self.falling(solution)
        if policy.spare:
            solution = self.more_spare(solution, policy.spare_share)
        if not solution.fits:
            return solution, tuple(released)
        return self.aimed(solution), tuple(released)

    def aimed(self, solution: Solution) -> Solution:
        """The design that the wishes ask for, near the cheapest in money."""
        aim = self.site.building.wishes.aim
        if aim == "simplest" and self.site.building.policy.parts_variety:
            within = solution.cents + round(SIMPLER_SHARE * self.direct_cents(solution))
            for most in (3, 2, 1):
                solution = self.fewer_values(solution, most, within)
        if aim == "balanced":
            return self.balanced(solution)
        return widened(self.plan, self.springs, self.lifts, self.site.judge, solution)

    def direct_cents(self, solution: Solution) -> int:
        """True direct cost of a solution."""
        return network_cents(solution.network, self.site.tariff, self.site.ways)

    def balanced(self, solution: Solution) -> Solution:
        """The smallest spread over the building for at most a hundredth more money."""
        within = solution.cents + round(KNEE_SHARE * self.direct_cents(solution))
        best, asked = solution, self.plan.target
        room = float(np.min(asked.high_dbmv - asked.low_dbmv - asked.reserve_db))
        for shrink_db in np.arange(0.5, room / 2.0, 0.5):
            if self.left <= 0:
                break
            self.left -= 1
            self.plan.target = replace(asked, shrink_db=asked.shrink_db + float(shrink_db))
            found = solve_tables(self.plan, self.springs, self.lifts)
            if found is None or found[0] > within:
                break
            tried, _ = evaluate(self.plan, found[1], found[0], self.site.judge)
            if tried.fits and building_spread_db(tried.report) < building_spread_db(best.report):
                best = tried
        self.plan.target = asked
        return best

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

    def falling(self, solution: Solution) -> Solution:
        """Without one-port taps, whose values mix badly with those of larger taps."""
        ones = frozenset(offer.part for offer in self.site.menu.through if offer.ports == 2)
        self.bind(self.barred | ones)
        found = self.trial(solution)
        if found is not None and not rising_values(found.root):
            self.barred |= ones
            return found
        self.bind(self.barred)
        return solution

    def more_spare(self, solution: Solution, share: float) -> Solution:
        """One spare port more in each closet, until the building has its share of them or none fits."""
        for least in range(1, MOST_SPARE + 1):
            if spare_share(solution.network, self.site.catalogue) >= share:
                break
            self.bind(self.barred, least)
            found = self.trial(solution)
            if found is None:
                self.bind(self.barred, self.spare)
                break
            solution, self.spare = found, least
        return solution

    def one_pattern(self, free: Solution) -> tuple[Solution, dict[str, str], list[str]]:
        """Give each group of alike closets one pattern, the cheapest that still fits; else release the group.

        First the most used pattern of every group at once, then group by group.
        """
        used = patterns_used(self.plan, free.root)
        self.patterns = {
            group: min(counts, key=lambda name: (-counts[name], name)) for group, counts in used.items()
        }
        if all(len(counts) <= 1 for counts in used.values()):
            return free, self.patterns, []
        self.bind()
        found = self.trial(free)
        if found is not None:
            return found, self.patterns, []
        solution, kept, loose = free, dict[str, str](), list[str]()
        for group in sorted(used):
            best: tuple[int, float, str, Solution] | None = None
            counts = patterns_used(self.plan, solution.root).get(group, {})
            for pattern in sorted(counts, key=lambda name: (-counts[name], name)):
                self.patterns = kept | {group: pattern}
                self.bind()
                found = solution if len(counts) == 1 else self.trial(free)
                if found is not None and (best is None or (found.cents, found.miss_db) < best[:2]):
                    best = (found.cents, found.miss_db, pattern, found)
            if best is None:
                loose.append(group)
            else:
                kept[group], solution = best[2], best[3]
        self.patterns = kept
        self.bind()
        return solution, kept, loose

    def fewer_values(self, solution: Solution, most: int, within_cents: int | None) -> Solution:
        """Keep the most used tap values of each port count; where that doesn't fit, bar them one by one."""
        for together in (True, False):
            refused: set[str] = set()
            while choices := rare_values(solution, most, refused):
                parts = frozenset(choices if together else choices[:1])
                self.bind(self.barred | parts, self.spare)
                found = self.trial(solution, within_cents)
                if found is not None:
                    solution = found
                    self.barred |= parts
                elif together:
                    break
                else:
                    refused |= parts
            else:
                break
        self.bind(self.barred, self.spare)
        return solution


def rare_values(solution: Solution, most: int, refused: set[str]) -> list[str]:
    """Tap values beyond the most used of each port count, the least used first."""
    rare: list[tuple[int, str]] = []
    for counts in values_used(solution.root).values():
        ranked = sorted(counts, key=lambda part: (-counts[part], part))
        rare += [(counts[part], part) for part in ranked[most:] if part not in refused]
    return [part for _, part in sorted(rare)]
