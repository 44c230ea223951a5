"""Rules of the policy that compare closets: which a design breaks, and the cheapest design that breaks none."""

from __future__ import annotations

from collections.abc import Iterable

from service.engine.placement.alike import odd_closets
from service.engine.placement.ranking import Ranking
from service.engine.placement.rounds import Solution
from service.engine.placement.search import Search
from service.engine.placement.trace import Visit
from service.engine.placement.used import planned_spare_share, rising_values, spare_share, values_used

#: A rule by its id, and how much a design that breaks it is put back behind others.
WEIGHTS = {"falling-values": 3, "one-pattern": 2, "spare-ports": 1, "tap-variety": 1}
#: Cells followed down in a small building, by effort.
RANKED = {"quick": 500, "normal": 4000, "thorough": 40000}
#: How much dearer a design may be that keeps a rule which the one found breaks.
LAWFUL_SHARE = 0.25


def broken(search: Search, solution: Solution) -> frozenset[str]:
    """The rules that compare closets and that a design doesn't keep."""
    return broken_at(search, solution.root, spare_share(solution.network, search.site.catalogue))


def broken_at(search: Search, root: Visit, spare: float) -> frozenset[str]:
    """The same of a design that has such a share of spare ports, before it is built."""
    site = search.site
    policy = site.building.policy
    found: set[str] = set()
    if policy.one_pattern and odd_closets(site.layout, root):
        found.add("one-pattern")
    if policy.parts_variety and any(
        len(counts) > policy.most_tap_values for counts in values_used(root).values()
    ):
        found.add("tap-variety")
    if policy.falling_values and rising_values(root):
        found.add("falling-values")
    if policy.spare and spare < policy.spare_share:
        found.add("spare-ports")
    return frozenset(found)


def given_up(rules: Iterable[str]) -> int:
    """How much broken rules weigh together; those of single designs, as a reserve, don't count."""
    return sum(WEIGHTS.get(rule, 0) for rule in rules)


def ranked(search: Search, solution: Solution) -> Solution:
    """A cheaper design that fits and keeps every rule, followed down cell by cell; else the one there is.

    Where the one there is breaks a rule, a design that keeps them all may cost more.
    """
    plan, outputs = search.plan, search.site.building.feed.outputs
    whole = solution.fits and not broken(search, solution)
    bound = plan.rules
    plan.rules = search.unbound
    ranking = Ranking(
        plan=plan,
        judge=search.site.judge,
        keeps=lambda root: not broken_at(search, root, planned_spare_share(root, outputs)),
        cap_cents=solution.cents if whole else round(solution.cents * (1.0 + LAWFUL_SHARE)),
        work=RANKED[search.site.building.wishes.effort],
    )
    found = ranking.run(search.springs)
    plan.rules = bound
    return solution if found is None else found
