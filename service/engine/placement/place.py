"""The verb: place every splitter, tap and amplifier of one building, inside its policy, at the least direct cost."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from service.engine.placement.cabling import RISER_SERIES
from service.engine.placement.legs import Plan
from service.engine.placement.pins import serves_every_outlet
from service.engine.placement.rounds import (
    MOST_ROUNDS,
    SLACK_DB,
    Solution,
    missed_by,
    settle,
    solve_tables,
    widened,
)
from service.engine.placement.site import Site, make_plan, springs_of
from service.engine.placement.springs import Spring
from service.engine.placement.stages import StageRules
from service.engine.placement.trace import Visit
from service.engine.placement.windows import Target
from service.engine.plant.network import Network
from service.engine.plant.tariff import network_cents

#: Rounds for one pattern or one set of tap values on trial.
TRIAL_ROUNDS = 4
#: Tables solved for one riser cable and one target, by effort.
SOLVES = {"quick": 10, "normal": 20, "thorough": 80}
#: How far the target is opened, in turn, to find the closest design when nothing fits.
OPENINGS_DB = (1.0, 2.0, 4.0, 7.0, 12.0, 20.0, 30.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A solved network with its true direct cost, the bound of its riser cable, and what was given up.

    `released` are ids of rules that could not be kept, each with where.
    """

    solution: Solution
    cost_cents: int
    bound_cents: int
    riser_series: str
    released: tuple[tuple[str, tuple[str, ...]], ...]

    @property
    def fits(self) -> bool:
        """True when every outlet is inside the target."""
        return self.solution.fits


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """The cheapest candidate and the others found on the way, cheapest first."""

    best: Candidate
    others: tuple[Candidate, ...]


def visits(root: Visit) -> Iterator[Visit]:
    """Every visit of a design, parents first."""
    stack = [root]
    while stack:
        visit = stack.pop()
        yield visit
        stack.extend(reversed(visit.onward))


def riser_options(site: Site) -> tuple[str, ...]:
    """Series the riser may take: the one wished for, else those of the default that are priced."""
    if site.building.wishes.riser_cable:
        return (site.building.wishes.riser_cable,)
    priced = {cable.series for cable in site.catalogue.cables if site.tariff.prices_cable(cable.id)}
    return tuple(series for series in RISER_SERIES if series in priced) or tuple(sorted(priced))[:1]


def lifts_allowed(site: Site) -> int:
    """How many amplifiers may stand in series after the launch amplifier."""
    return site.building.policy.most_amplifiers_in_series


def patterns_used(plan: Plan, root: Visit) -> dict[str, dict[str, int]]:
    """By group of alike closets, how often each pattern stands in a design."""
    used: dict[str, dict[str, int]] = {}
    for visit in visits(root):
        closet = plan.layout.closets[visit.closet]
        if not closet.items or not closet.floor_type:
            continue
        counts = used.setdefault(closet.pattern_group, {})
        counts[visit.recipe.pattern] = counts.get(visit.recipe.pattern, 0) + 1
    return used


def values_used(root: Visit) -> dict[int, dict[str, int]]:
    """By tap port count, how often each tap of several arms stands in a design's closets."""
    used: dict[int, dict[str, int]] = {}
    for visit in visits(root):
        for part, ports in visit.recipe.taps:
            counts = used.setdefault(ports, {})
            counts[part] = counts.get(part, 0) + 1
    return used


def with_rules(plan: Plan, patterns: Mapping[str, str], barred: frozenset[str]) -> None:
    """Bind groups of alike closets to one pattern each, and bar parts, keeping each closet's other rules."""
    rules: list[StageRules] = []
    for closet, rule in zip(plan.layout.closets, plan.rules, strict=True):
        pattern = patterns.get(closet.pattern_group)
        rules.append(
            replace(
                rule,
                patterns=frozenset({pattern}) if pattern is not None else None,
                barred=barred | frozenset(closet.place.never),
            )
        )
    plan.rules = tuple(rules)


class Search:
    """Solves one site with one riser cable and one target, tightening rule after rule.

    Work is counted in solved tables, never in time: `left` is what the effort still allows.
    """

    def __init__(self, site: Site, riser_series: str, target: Target) -> None:
        self.site = site
        self.plan = make_plan(site, riser_series, target)
        self.plan.floor_cents = level_free(site, riser_series) or 0
        self.springs = springs_of(site)
        self.lifts = lifts_allowed(site)
        self.left = SOLVES[site.building.wishes.effort]

    def settle(self, rounds: int = MOST_ROUNDS) -> Solution | None:
        """The rounds on the plan as it is bound now, as many as the effort still allows."""
        allowed = min(rounds, self.left)
        self.left -= allowed
        if allowed <= 0:
            return None
        found, used = settle(self.plan, self.springs, self.lifts, self.site.judge, rounds=allowed)
        self.left += allowed - used
        return found

    def run(self) -> tuple[Solution, tuple[tuple[str, tuple[str, ...]], ...]] | None:
        """Cheapest design under every rule that can be kept, with the rules that had to be released."""
        free = self.settle()
        if free is None:
            return None
        released: list[tuple[str, tuple[str, ...]]] = []
        policy = self.site.building.policy
        patterns: dict[str, str] = {}
        solution = free
        if policy.one_pattern:
            solution, patterns, loose = self.one_pattern(solution)
            released += [("one-pattern", (group,)) for group in loose]
        if policy.parts_variety:
            solution = self.fewer_values(solution, patterns)
        with_best = widened(self.plan, self.springs, self.lifts, self.site.judge, solution)
        return with_best, tuple(released)

    def one_pattern(self, free: Solution) -> tuple[Solution, dict[str, str], list[str]]:
        """Give each group of alike closets one pattern, the cheapest that still fits; else release the group."""
        solution = free
        bound: dict[str, str] = {}
        loose: list[str] = []
        used = patterns_used(self.plan, free.root)
        common = {
            group: min(counts, key=lambda name: (-counts[name], name)) for group, counts in used.items()
        }
        if any(len(counts) > 1 for counts in used.values()):
            with_rules(self.plan, common, frozenset())
            found = self.settle(TRIAL_ROUNDS)
            if found is not None and (found.fits or not free.fits):
                return found, common, loose
        for group in sorted(used):
            counts = patterns_used(self.plan, solution.root).get(group, {})
            if len(counts) <= 1:
                bound.update({group: pattern for pattern in counts})
                continue
            best: tuple[int, float, str, Solution] | None = None
            for pattern in sorted(counts, key=lambda name: (-counts[name], name)):
                with_rules(self.plan, bound | {group: pattern}, frozenset())
                found = self.settle(TRIAL_ROUNDS)
                if found is None or (free.fits and not found.fits):
                    continue
                if best is None or (found.cents, found.miss_db) < best[:2]:
                    best = (found.cents, found.miss_db, pattern, found)
            if best is None:
                loose.append(group)
            else:
                bound[group] = best[2]
                solution = best[3]
        with_rules(self.plan, bound, frozenset())
        return solution, bound, loose

    def fewer_values(self, solution: Solution, patterns: Mapping[str, str]) -> Solution:
        """Keep the most used tap values of each port count; where that doesn't fit, bar them one by one."""
        most = self.site.building.policy.most_tap_values
        for together in (True, False):
            barred: frozenset[str] = frozenset()
            refused: set[str] = set()
            while choices := self.rare_values(solution, most, refused):
                parts = frozenset(choices if together else choices[:1])
                with_rules(self.plan, patterns, barred | parts)
                found = self.settle(TRIAL_ROUNDS)
                if found is not None and (found.fits or not solution.fits):
                    solution = found
                    barred = barred | parts
                elif together:
                    break
                else:
                    refused |= parts
            else:
                break
        with_rules(self.plan, patterns, barred)
        return solution

    def rare_values(self, solution: Solution, most: int, refused: set[str]) -> list[str]:
        """Tap values beyond the most used of each port count, the least used first."""
        rare: list[tuple[int, str]] = []
        for counts in values_used(solution.root).values():
            ranked = sorted(counts, key=lambda part: (-counts[part], part))
            rare += [(counts[part], part) for part in ranked[most:] if part not in refused]
        return [part for _, part in sorted(rare)]


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


def first_cables(site: Site) -> int:
    """What the first cables of the ways cost above further ones, at least: the part of the price no design avoids.

    Rounding of single legs is given away, half a cent a way.
    """
    total = 0.0
    rates = {row.kind: row for row in site.tariff.pulls}
    kept = ("keep", "keep-if-tests-well")
    used = {hop.way for hop in site.layout.route.hops}
    for way in site.building.ways:
        if way.id in used and (way.existing is None or way.existing.fate not in kept):
            rate = rates[way.kind]
            hours = (rate.first_h_per_m - rate.further_h_per_m) * way.pulled_m
            total += hours * site.tariff.labour_cents_per_h - 1.0
    return int(total)


def least_lift_cents(site: Site, plan: Plan) -> int:
    """Least price of amplifiers that any design needs: nothing where the feed's own energy could suffice.

    A passive network can't hand out more power than it gets: Σ 10^((least level + loss − launch)/10) ≤ 1 at every
    carrier. Source: energy.
    """
    need = np.zeros_like(site.feed_dbmv)
    for closet, planned in zip(site.layout.closets, plan.planned, strict=True):
        for item in planned:
            loss = plan.above_db[closet.index] + item.fixed_db
            need += np.sum(10.0 ** ((plan.target.low_dbmv + loss - site.feed_dbmv) / 10.0), axis=0)
    if bool(np.all(need <= 1.0)):
        return 0
    return min((lift.cents for lift in site.menu.lifts), default=0)


def candidate(
    site: Site, riser_series: str, target: Target, note: str, cheapest: int | None
) -> Candidate | None:
    """Solve one riser cable against one target and certify it; None where it can't beat the `cheapest` so far."""
    search = Search(site, riser_series, target)
    if cheapest is not None and first_cables(site) + search.plan.floor_cents >= cheapest:
        return None
    found = search.run()
    if found is None:
        return None
    solution, released = found
    cost = network_cents(solution.network, site.tariff, site.ways)
    constant = cost - solution.cents
    bound = constant + search.plan.floor_cents + least_lift_cents(site, search.plan)
    if note:
        released = (*released, (note, ()))
    return Candidate(
        solution=solution,
        cost_cents=cost,
        bound_cents=min(bound, cost),
        riser_series=riser_series,
        released=released,
    )


def place(site: Site) -> Placement | None:
    """The cheapest design that fits, or the closest where none does; None when no network can be built at all.

    First with the reserve at flats, then without it (a note), then with the target opened step by step.
    """
    policy = site.building.policy
    tries: list[tuple[Target, str]] = [(site.target, "")]
    room = float(np.min(site.target.high_dbmv - site.target.low_dbmv))
    if policy.spare and site.building.new_build and policy.unit_reserve_db > 0:
        reserved = replace(site.target, reserve_db=policy.unit_reserve_db)
        if room - policy.unit_reserve_db >= policy.unit_reserve_db:
            tries = [(reserved, ""), (site.target, "unit-reserve")]
        else:
            tries = [(site.target, "unit-reserve")]
    tries += [(replace(site.target, shrink_db=-opening), "window") for opening in OPENINGS_DB]
    for target, note in tries:
        found: list[Candidate] = []
        for series in riser_options(site):
            cheapest = min((one.cost_cents for one in found if one.fits), default=None)
            one = candidate(site, series, target, note, cheapest)
            if one is not None:
                found.append(one)
        fitting = [one for one in found if one.fits]
        ready = fitting or (found if note == "window" else [])
        if ready:
            ordered = sorted(ready, key=lambda one: (one.cost_cents, one.solution.miss_db, one.riser_series))
            bound = min(one.bound_cents for one in ordered)
            best = replace(ordered[0], bound_cents=min(bound, ordered[0].cost_cents))
            return Placement(best=best, others=tuple(ordered[1:]))
    return None


def unchanged(site: Site, found: Candidate, keep: Network) -> Candidate:
    """The kept network itself, where it is whole and the search found nothing cheaper that fits."""
    if not serves_every_outlet(site.building, keep):
        return found
    cost = network_cents(keep, site.tariff, site.ways)
    report = site.judge.report(keep)
    miss_db = missed_by(site.target, report)
    if cost > found.cost_cents or (found.fits and miss_db > SLACK_DB):
        return found
    solution = replace(found.solution, network=keep, report=report, miss_db=miss_db)
    return replace(found, solution=solution, cost_cents=cost, bound_cents=min(found.bound_cents, cost))
