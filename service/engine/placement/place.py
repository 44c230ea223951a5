"""The verb: place every splitter, tap and amplifier of one building, inside its policy, at the least direct cost."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from service.engine.placement.cabling import RISER_SERIES
from service.engine.placement.legs import Plan
from service.engine.placement.pins import serves_every_outlet
from service.engine.placement.planning import relaxed
from service.engine.placement.rounds import SLACK_DB, Solution, missed_by
from service.engine.placement.search import Search
from service.engine.placement.site import Site
from service.engine.placement.windows import Target
from service.engine.plant.network import Network
from service.engine.plant.tariff import network_cents

#: So little outside the target that nothing else is tried.
SMALL_MISS_DB = 1.0
#: How far the target is opened, in turn, to find the closest design when nothing fits.
OPENINGS_DB = (1.5, 4.0, 8.0, 15.0, 30.0, 80.0)


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


def riser_options(site: Site) -> tuple[str, ...]:
    """Series the riser may take: the one wished for, else those of the default that are priced."""
    if site.building.wishes.riser_cable:
        return (site.building.wishes.riser_cable,)
    priced = {cable.series for cable in site.catalogue.cables if site.tariff.prices_cable(cable.id)}
    return tuple(series for series in RISER_SERIES if series in priced) or tuple(sorted(priced))[:1]


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


def attempts(site: Site) -> list[tuple[Site, Target, str]]:
    """What to aim at, in turn: the reserve at flats kept, then without it, then the target opened step by step.

    A spread that was wished for narrows the target; without a design it is given up first. Last, amplifiers may
    get less than they ask for, so that even a hopeless feed is answered with a network and its findings.
    """
    policy, wishes = site.building.policy, site.building.wishes
    room = float(np.min(site.target.high_dbmv - site.target.low_dbmv))
    tries: list[tuple[Site, Target, str]] = []
    if policy.spare and site.building.new_build and policy.unit_reserve_db > 0:
        if room - policy.unit_reserve_db >= policy.unit_reserve_db:
            tries.append((site, replace(site.target, reserve_db=policy.unit_reserve_db), ""))
        tries.append((site, site.target, "unit-reserve"))
    else:
        tries.append((site, site.target, ""))
    if wishes.spread_db is not None and room > wishes.spread_db:
        narrowed = replace(site.target, shrink_db=(room - wishes.spread_db) / 2.0)
        tries = [(site, narrowed, tries[-1][2]), *((one, target, "spread") for one, target, _ in tries)]
    tries += [(site, replace(site.target, shrink_db=-opening), "window") for opening in OPENINGS_DB]
    loose = relaxed(site)
    tries += [(loose, replace(site.target, shrink_db=-opening), "window") for opening in OPENINGS_DB[-2:]]
    return tries


def place(site: Site) -> Placement | None:
    """The cheapest design that fits, or the closest where none does; None when no network can be built at all.

    A design that leaves the target by less than `SMALL_MISS_DB` is taken before the target is opened: the limits lie
    further out, and a finding says by how much.
    """
    missed: list[Candidate] = []
    for tried, target, note in attempts(site):
        if note == "window" and missed and min(one.solution.miss_db for one in missed) <= SMALL_MISS_DB:
            break
        found: list[Candidate] = []
        for series in riser_options(tried):
            cheapest = min((one.cost_cents for one in found if one.fits), default=None)
            one = candidate(tried, series, target, note, cheapest)
            if one is not None:
                found.append(one)
        fitting = [one for one in found if one.fits]
        if fitting:
            return _cheapest(fitting)
        missed += found
        if note == "window" and found:
            break
    return _closest(missed) if missed else None


def _cheapest(found: list[Candidate]) -> Placement:
    """The cheapest first; the least bound of all riser cables holds for it."""
    ordered = sorted(found, key=lambda one: (one.cost_cents, one.solution.miss_db, one.riser_series))
    bound = min(one.bound_cents for one in ordered)
    best = replace(ordered[0], bound_cents=min(bound, ordered[0].cost_cents))
    return Placement(best=best, others=tuple(ordered[1:]))


def _closest(missed: list[Candidate]) -> Placement:
    """The one that misses least first; that it misses is said once."""
    ordered = sorted(missed, key=lambda one: (one.solution.miss_db, one.cost_cents, one.riser_series))
    first = ordered[0]
    if ("window", ()) not in first.released:
        first = replace(first, released=(*first.released, ("window", ())))
    return Placement(best=first, others=tuple(ordered[1:]))


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
