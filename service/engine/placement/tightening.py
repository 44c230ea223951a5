"""Rule after rule of the policy on a solved search, then the wish for few kinds of part."""

from __future__ import annotations

from itertools import pairwise

from service.engine.placement.rounds import Solution, widened
from service.engine.placement.search import Search
from service.engine.placement.used import patterns_used, rising_values, spare_share, values_used

#: Rules that are taken after the cheapest design is known, in this order.
LATE_RULES = ("one_pattern", "parts_variety", "falling_values", "spare")
#: How much dearer than the cheapest a simpler design may be.
SIMPLER_SHARE = 0.03
#: Spare ports that each closet is asked for, at most, to reach the building's share.
MOST_SPARE = 3


def finish(search: Search) -> tuple[Solution, tuple[tuple[str, tuple[str, ...]], ...]]:
    """Cheapest design under every rule that can be kept, with the rules that had to be released."""
    free = search.free
    assert free is not None
    released: list[tuple[str, tuple[str, ...]]] = []
    policy = search.site.building.policy
    solution, costs = free, [search.direct_cents(free)]
    if policy.one_pattern:
        solution, search.patterns, loose = one_pattern(search, solution)
        released += [("one-pattern", (group,)) for group in loose]
    costs.append(search.direct_cents(solution))
    if policy.parts_variety:
        solution = fewer_values(search, solution, policy.most_tap_values, None)
    costs.append(search.direct_cents(solution))
    if policy.falling_values and rising_values(solution.root):
        solution = falling(search, solution)
    costs.append(search.direct_cents(solution))
    if policy.spare:
        solution = more_spare(search, solution, policy.spare_share)
    costs.append(search.direct_cents(solution))
    search.dearer = tuple(zip(LATE_RULES, (after - before for before, after in pairwise(costs)), strict=True))
    if not solution.fits:
        return solution, tuple(released)
    return aimed(search, solution), tuple(released)


def aimed(search: Search, solution: Solution) -> Solution:
    """The cheapest design, or the simplest near it in money, with the largest smallest margin for its cost."""
    aim = search.site.building.wishes.aim
    search.cheapest, search.open_barred = solution, search.barred
    if aim == "simplest" and search.site.building.policy.parts_variety:
        within = solution.cents + round(SIMPLER_SHARE * search.direct_cents(solution))
        for most in (3, 2, 1):
            solution = fewer_values(search, solution, most, within)
    return widened(search.plan, search.springs, search.lifts, search.site.judge, solution)


def falling(search: Search, solution: Solution) -> Solution:
    """Without one-port taps, whose values mix badly with those of larger taps."""
    ones = frozenset(offer.part for offer in search.site.menu.through if offer.ports == 2)
    search.bind(search.barred | ones)
    found = search.trial(solution)
    if found is not None and not rising_values(found.root):
        search.barred |= ones
        return found
    search.bind(search.barred)
    return solution


def more_spare(search: Search, solution: Solution, share: float) -> Solution:
    """One spare port more in each closet, until the building has its share of them or none fits."""
    for least in range(1, MOST_SPARE + 1):
        if spare_share(solution.network, search.site.catalogue) >= share:
            break
        search.bind(search.barred, least)
        found = search.trial(solution)
        if found is None:
            search.bind(search.barred, search.spare)
            break
        solution, search.spare = found, least
    return solution


def one_pattern(search: Search, free: Solution) -> tuple[Solution, dict[str, str], list[str]]:
    """Give each group of alike closets one pattern, the cheapest that still fits; else release the group.

    First the most used pattern of every group at once, then group by group.
    """
    used = patterns_used(search.plan, free.root)
    search.patterns = {
        group: min(counts, key=lambda name: (-counts[name], name)) for group, counts in used.items()
    }
    if all(len(counts) <= 1 for counts in used.values()):
        return free, search.patterns, []
    search.bind()
    found = search.trial(free)
    if found is not None:
        return found, search.patterns, []
    solution, kept, loose = free, dict[str, str](), list[str]()
    for group in sorted(used):
        best: tuple[int, float, str, Solution] | None = None
        counts = patterns_used(search.plan, solution.root).get(group, {})
        for pattern in sorted(counts, key=lambda name: (-counts[name], name)):
            search.patterns = kept | {group: pattern}
            search.bind()
            found = solution if len(counts) == 1 else search.trial(free)
            if found is not None and (best is None or (found.cents, found.miss_db) < best[:2]):
                best = (found.cents, found.miss_db, pattern, found)
        if best is None:
            loose.append(group)
        else:
            kept[group], solution = best[2], best[3]
    search.patterns = kept
    search.bind()
    return solution, kept, loose


def fewer_values(search: Search, solution: Solution, most: int, within_cents: int | None) -> Solution:
    """Keep the most used tap values of each port count; where that doesn't fit, bar them one by one."""
    for together in (True, False):
        refused: set[str] = set()
        while choices := rare_values(solution, most, refused):
            parts = frozenset(choices if together else choices[:1])
            search.bind(search.barred | parts, search.spare)
            found = search.trial(solution, within_cents)
            if found is not None:
                solution = found
                search.barred |= parts
            elif together:
                break
            else:
                refused |= parts
        else:
            break
    search.bind(search.barred, search.spare)
    return solution


def rare_values(solution: Solution, most: int, refused: set[str]) -> list[str]:
    """Tap values beyond the most used of each port count, the least used first."""
    rare: list[tuple[int, str]] = []
    for counts in values_used(solution.root).values():
        ranked = sorted(counts, key=lambda part: (-counts[part], part))
        rare += [(counts[part], part) for part in ranked[most:] if part not in refused]
    return [part for _, part in sorted(rare)]
