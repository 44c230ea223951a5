"""Rule after rule of the policy on a solved search, then the wish for few kinds of part."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from itertools import pairwise

from service.engine.placement.alike import (
    alike_closets,
    mostly_one,
    odd_closets,
    patterns_for,
    settled_patterns,
)
from service.engine.placement.binding import Binding
from service.engine.placement.falling import falling
from service.engine.placement.rounds import Solution, widened
from service.engine.placement.search import Search, Trial
from service.engine.placement.stages import NO_PRICE, SparePrice
from service.engine.placement.used import building_spread_db, rising_values, spare_share, values_used
from service.engine.placement.variety import most_used, rows
from service.engine.plant.tariff import variety_cents

#: Rules that are taken after the cheapest design is known, in this order.
LATE_RULES = ("one_pattern", "falling_values", "parts_variety", "spare")
#: How much dearer than the cheapest a simpler design may be.
SIMPLER_SHARE = 0.03
#: How much more a simpler design's outlets may lie apart where they lie too far apart already.
MORE_SPREAD_DB = 0.5
#: How much dearer all rules that compare closets may make a design together; a rule that asks more is released.
RULES_SHARE = 0.05
#: Patterns of one group that are solved for, and of those that are worked out.
MOST_PATTERNS = 6
MOST_TRIED = 3
#: What a spare port is counted worth, in turn, until the building has its share of them.
SPARE_CENTS = (100, 300, 900, 2700)

#: A rule by its id, and how much a design that breaks it is put back behind others.
WEIGHTS = {"falling-values": 3, "one-pattern": 2, "spare-ports": 1, "tap-variety": 1}


def broken(search: Search, solution: Solution) -> frozenset[str]:
    """The rules that compare closets and that a design doesn't keep."""
    site = search.site
    policy = site.building.policy
    found: set[str] = set()
    if policy.one_pattern and odd_closets(site.layout, solution.root):
        found.add("one-pattern")
    if policy.parts_variety and any(
        len(counts) > policy.most_tap_values for counts in values_used(solution.root).values()
    ):
        found.add("tap-variety")
    if policy.falling_values and rising_values(solution.root):
        found.add("falling-values")
    if policy.spare and spare_share(solution.network, site.catalogue) < policy.spare_share:
        found.add("spare-ports")
    return frozenset(found)


def given_up(rules: Iterable[str]) -> int:
    """How much broken rules weigh together; those of single designs, as a reserve, don't count."""
    return sum(WEIGHTS.get(rule, 0) for rule in rules)


def finish(search: Search) -> tuple[Solution, tuple[tuple[str, tuple[str, ...]], ...]]:
    """Cheapest design under every rule that can be kept, with the rules that had to be released."""
    free = search.free
    assert free is not None
    solution = tightened(search, free)
    if solution.fits:
        solution = aimed(search, solution)
    return solution, released(search, solution)


def released(search: Search, solution: Solution) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Every rule that a design doesn't keep, with the closets where it doesn't."""
    odd = tuple(odd_closets(search.site.layout, solution.root))
    return tuple((rule, odd if rule == "one-pattern" else ()) for rule in sorted(broken(search, solution)))


def tightened(search: Search, free: Solution) -> Solution:
    """The design that keeps most rules, begun from one choice of patterns after the other until all are kept."""
    within = free.cents + round(RULES_SHARE * search.direct_cents(free))
    best: tuple[int, int, Trial] | None = None
    for opening in openings(search, free, within):
        solution = search.take(opening)
        costs = [search.direct_cents(free), search.direct_cents(solution)]
        for step in (falls, few_values, spares):
            solution = step(search, solution, within)
            costs.append(search.direct_cents(solution))
        bad = given_up(broken(search, solution))
        if best is None or (bad, solution.cents) < best[:2]:
            best = bad, solution.cents, search.now(solution)
            dearer = (after - before for before, after in pairwise(costs))
            search.dearer = tuple(zip(LATE_RULES, dearer, strict=True))
        if best[0] == 0 or search.left <= 0:
            break
    assert best is not None
    return search.take(best[2])


def openings(search: Search, free: Solution, within_cents: int) -> Iterator[Trial]:
    """Designs with alike closets bound to one pattern each, by one choice of patterns after the other.

    Last come a design in which they are bound as far as they can be, and the cheapest as it is.
    """
    start, layout = search.now(free), search.site.layout
    if "one-pattern" not in broken(search, free):
        yield replace(start, binding=Binding(patterns=settled_patterns(layout, free.root)))
        return
    odd = len(odd_closets(layout, free.root))
    if search.choices is None:
        pattern_choices(search, free)
    for binding in (*(search.choices or ()), mostly_one(layout, free.root)):
        search.take(start)
        trial = search.tried(binding)
        if trial is None or trial.solution.cents > within_cents:
            continue
        found = trial.solution
        if found.miss_db <= max(0.0, free.miss_db) and len(odd_closets(layout, found.root)) < odd:
            yield trial
    yield start


def prospect(search: Search) -> tuple[bool, float, float]:
    """What a started search is taken up by: designs that fit first, then the cheapest, else those that miss least.

    Where alike closets want one pattern yet, the cheapest promise for that counts.
    """
    free = search.free
    assert free is not None
    if not free.fits:
        return True, free.miss_db, free.miss_db
    promised = pattern_choices(search, free) if "one-pattern" in broken(search, free) else None
    return False, float(free.cents if promised is None else promised), free.miss_db


def pattern_choices(search: Search, free: Solution) -> int | None:
    """Give a search its choices of patterns for all alike closets, the most promising first; the cost of that one.

    With few tap values where the tables hold a design with them, and with spare ports counted worth something.
    """
    policy, menu = search.site.building.policy, search.site.menu
    price = SparePrice(cents=SPARE_CENTS[1], share=policy.spare_share) if policy.spare else NO_PRICE
    patterns = settled_patterns(search.site.layout, free.root)
    bases = [Binding(patterns=patterns, price=price)]
    if "tap-variety" in broken(search, free):
        bases = [*rows(bases[0], menu, values_used(free.root), policy.most_tap_values), *bases]
    search.choices = []
    for base in bases:
        ranked = ranked_patterns(search, free, base)
        if all(ranked.values()):
            search.choices = [
                replace(
                    base,
                    price=NO_PRICE,
                    patterns={group: names[min(place, len(names) - 1)][1] for group, names in ranked.items()},
                )
                for place in range(max(len(names) for names in ranked.values()))
            ]
            return max(names[0][0] for names in ranked.values())
    return None


def ranked_patterns(search: Search, free: Solution, base: Binding) -> dict[str, list[tuple[int, str]]]:
    """For every group of alike closets, the patterns under which the tables hold a design, the cheapest first, with
    what they cost."""
    layout, cook = search.site.layout, search.site.kitchen.closet_cook
    ranked: dict[str, list[tuple[int, str]]] = {}
    for group in alike_closets(layout):
        found: list[tuple[int, int, str]] = []
        for at, name in enumerate(patterns_for(layout, cook, free.root, group, MOST_PATTERNS)):
            cents = search.promise(replace(base, patterns={**base.patterns, group: name}))
            if cents is not None:
                found.append((cents, at, name))
        ranked[group] = [(cents, name) for cents, _, name in sorted(found)[:MOST_TRIED]]
    return ranked


def suits(search: Search, found: Solution, than: Solution, within_cents: int, rule: str) -> bool:
    """True when a design keeps a rule, gives up none that another one keeps, misses no more and isn't too dear."""
    bad = broken(search, found)
    return (
        found.miss_db <= max(0.0, than.miss_db)
        and found.cents <= within_cents
        and rule not in bad
        and bad <= broken(search, than)
    )


def first(
    search: Search, solution: Solution, bindings: Iterable[Binding], within_cents: int, rule: str
) -> Solution | None:
    """The first binding that gives a design which suits, and that design."""
    for binding in bindings:
        trial = search.tried(binding)
        if trial is not None and suits(search, trial.solution, solution, within_cents, rule):
            return search.take(trial)
    return None


def promising(search: Search, bindings: Iterable[Binding]) -> list[Binding]:
    """The bindings under which the tables hold a design, the cheapest first."""
    asked = [(search.promise(binding), at, binding) for at, binding in enumerate(bindings)]
    return [binding for cents, _, binding in sorted((c, at, b) for c, at, b in asked if c is not None)][
        :MOST_TRIED
    ]


def few_values(search: Search, solution: Solution, within_cents: int) -> Solution:
    """At most so many tap values of each port count."""
    if "tap-variety" not in broken(search, solution):
        return solution
    choices = choices_of_values(
        search, values_used(solution.root), search.site.building.policy.most_tap_values
    )
    return first(search, solution, promising(search, choices), within_cents, "tap-variety") or solution


def choices_of_values(search: Search, used: Mapping[int, Mapping[str, int]], most: int) -> list[Binding]:
    """Bindings that leave so many tap values of each port count, each once."""
    menu = search.site.menu
    choices = [most_used(search.binding, menu, used, most), *rows(search.binding, menu, used, most)]
    return list({binding.barred: binding for binding in choices}.values())


def falls(search: Search, solution: Solution, within_cents: int) -> Solution:
    """Values that fall along every leg."""
    if "falling-values" not in broken(search, solution):
        return solution
    found = first(search, solution, falling(search.binding, solution.root), within_cents, "falling-values")
    return found or solution


def spares(search: Search, solution: Solution, within_cents: int) -> Solution:
    """Spare ports wherever they are cheapest, until the building has its share of them."""
    share = search.site.building.policy.spare_share
    if "spare-ports" not in broken(search, solution):
        return solution
    prices = (replace(search.binding, price=SparePrice(cents=cents, share=share)) for cents in SPARE_CENTS)
    return first(search, solution, prices, within_cents, "spare-ports") or solution


def aimed(search: Search, solution: Solution) -> Solution:
    """The cheapest design, or the simplest near it in money, with the largest smallest margin for its cost."""
    aim = search.site.building.wishes.aim
    search.cheapest, search.open_binding = solution, search.binding
    if aim == "simplest" and search.site.building.policy.parts_variety:
        within = solution.cents + round(SIMPLER_SHARE * search.direct_cents(solution))
        for most in (3, 2, 1):
            found = simpler(search, solution, most, within)
            if found is None:
                break
            solution = found
    search.learn(solution)
    return widened(search.plan, search.springs, search.lifts, search.site.judge, solution)


def simpler(search: Search, solution: Solution, most: int, within_cents: int) -> Solution | None:
    """At most so many tap values of each port count, where that saves kinds of part for little money."""
    used = values_used(solution.root)
    if all(len(counts) <= most for counts in used.values()):
        return solution
    for binding in promising(search, choices_of_values(search, used, most)):
        trial = search.tried(binding)
        if trial is not None and saves(search, trial.solution, solution, within_cents):
            return search.take(trial)
    return None


def saves(search: Search, found: Solution, than: Solution, within_cents: int) -> bool:
    """True when a design has fewer kinds of part for little money, or costs no more, and is nowhere worse.

    Few values make levels coarse: beyond the aim for the building its spread may hardly grow.
    """
    tariff = search.site.tariff
    fewer_kinds = variety_cents(found.network, tariff) < variety_cents(than.network, tariff)
    apart = max(search.site.limits.building_spread_db, building_spread_db(than.report) + MORE_SPREAD_DB)
    return (
        (fewer_kinds or found.cents <= than.cents)
        and building_spread_db(found.report) <= apart
        and suits(search, found, than, within_cents, "")
    )
