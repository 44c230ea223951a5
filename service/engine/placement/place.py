"""The verb: place every splitter, tap and amplifier of one building, inside its policy, at the least direct cost."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from service.engine.placement.cabling import RISER_SERIES
from service.engine.placement.floor import level_free
from service.engine.placement.least_bill import freedoms, least_bill
from service.engine.placement.pins import serves_every_outlet
from service.engine.placement.planning import relaxed
from service.engine.placement.rounds import SLACK_DB, Solution, missed_by
from service.engine.placement.search import Search
from service.engine.placement.site import Site
from service.engine.placement.tightening import RULES_SHARE, finish, given_up, prospect
from service.engine.placement.used import keeps_spread
from service.engine.placement.windows import Target
from service.engine.plant.network import Network
from service.engine.plant.tariff import network_cents, variety_cents

#: Outlets up to which every riser cable is worked out to the end.
FEW_OUTLETS = 200
#: So little outside the target that nothing else is tried.
SMALL_MISS_DB = 1.0
#: How far the target is opened, in turn, to find the closest design when nothing fits.
OPENINGS_DB = (1.5, 4.0, 8.0, 15.0, 30.0, 80.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A solved network with its true direct cost, its lower bound, and what was given up.

    `released` are ids of rules that could not be kept, each with where. `search` is what found it, its plan still
    bound to the rules of the end. `listed` is False for a kept network that is cheaper than the bound: it is of a kind
    that the search does not list, and the bound says nothing of it. `prices`, `unpriced` and `free_cents` are those
    of the certificate.
    """

    solution: Solution
    cost_cents: int
    bound_cents: int
    riser_series: str
    released: tuple[tuple[str, tuple[str, ...]], ...]
    search: Search
    listed: bool = True
    prices: tuple[tuple[str, int], ...] = ()
    unpriced: tuple[str, ...] = ()
    free_cents: int | None = None

    @property
    def fits(self) -> bool:
        """True when every outlet is inside the target."""
        return self.solution.fits


def riser_options(site: Site) -> tuple[str, ...]:
    """Series the riser may take: the one wished for, else those of the default that are priced."""
    if site.building.wishes.riser_cable:
        return (site.building.wishes.riser_cable,)
    priced = {cable.series for cable in site.catalogue.cables if site.tariff.prices_cable(cable.id)}
    return tuple(series for series in RISER_SERIES if series in priced) or tuple(sorted(priced))[:1]


def certified(search: Search, note: str, floors: dict[str, int]) -> Candidate:
    """A finished search with its true cost, and over all riser cables what it costs when levels don't matter."""
    site = search.site
    solution, released = finish(search)
    cost = network_cents(solution.network, site.tariff, site.ways)
    return Candidate(
        solution=solution,
        cost_cents=cost,
        bound_cents=cost - solution.cents + min(floors.values()),
        riser_series=search.riser_series,
        released=(*released, (note, ())) if note else released,
        search=search,
    )


def attempts(site: Site, openings: tuple[float, ...] = OPENINGS_DB) -> list[tuple[Site, Target, str]]:
    """What to aim at, in turn: the reserve at flats kept, then without it, then the target opened step by step.

    At each opening amplifiers may also get less than they ask for: a weak feed is answered with an amplifier and a
    finding on its input, not with a network that nobody can watch.
    """
    policy = site.building.policy
    room = float(np.min(site.target.high_dbmv - site.target.low_dbmv))
    tries: list[tuple[Site, Target, str]] = []
    if policy.spare and site.building.new_build and policy.unit_reserve_db > 0:
        if room - policy.unit_reserve_db >= policy.unit_reserve_db:
            tries.append((site, replace(site.target, reserve_db=policy.unit_reserve_db), ""))
        tries.append((site, site.target, "unit-reserve"))
    else:
        tries.append((site, site.target, ""))
    loose = relaxed(site)
    for opening in openings:
        opened = replace(site.target, shrink_db=-opening)
        tries += [(site, opened, "window"), (loose, opened, "window")]
    return tries


def place(site: Site, *, openings: tuple[float, ...] = OPENINGS_DB) -> Candidate | None:
    """The cheapest design that fits, or the closest where none does; None when no network can be built at all.

    Riser cables are compared before the rules that compare closets, and the cheapest is worked out first: in a large
    building it alone, as long as it fits. A design that leaves the target by less than `SMALL_MISS_DB` is taken before
    the target is opened: the limits lie further out, and a finding says by how much. `openings` says how
    far, in turn.
    """
    floors = {series: level_free(site, series) for series in riser_options(site)}
    missed: list[Candidate] = []
    for tried, target, note in attempts(site, openings):
        near = any(one.solution.miss_db <= SMALL_MISS_DB for one in missed)
        if note == "window" and near:
            break
        searches = [Search(tried, series, target, floor) for series, floor in floors.items()]
        started = [search for search in searches if search.start()]
        fitting: list[Candidate] = []
        for search in sorted(started, key=prospect):
            one = certified(search, note, floors)
            (fitting if one.fits else missed).append(one)
            if fitting and len(site.building.outlets) > FEW_OUTLETS:
                break
        if fitting:
            return _best(site, fitting)
        if note == "window" and started:
            break
    return _closest(missed) if missed else None


def bounded(found: Candidate, sites: list[Site]) -> Candidate:
    """A candidate with the least bill over all routes that were tried, inside its own target.

    One that doesn't fit keeps its bound. No bound is said where the least bill contradicts the design.
    """
    if not found.fits:
        return found
    chosen, target = found.solution, found.search.plan.target
    least = [
        least_bill(site, riser_options(site), target, freedoms(site, chosen.network, chosen.report))
        for site in sites
    ]
    bound = min((cents for cents in least if cents is not None), default=0)
    return replace(found, bound_cents=bound if bound <= found.cost_cents else 0)


def _best(site: Site, fitting: list[Candidate]) -> Candidate:
    """The design that keeps most rules, of those that aren't much dearer than the cheapest; then the cheapest."""
    most = (1.0 + RULES_SHARE) * min(one.cost_cents for one in fitting)
    near = [one for one in fitting if one.cost_cents <= most]
    return min(
        near,
        key=lambda one: (
            given_up(rule for rule, _ in one.released),
            _weighed(one, site),
            one.solution.miss_db,
            one.riser_series,
        ),
    )


def _weighed(one: Candidate, site: Site) -> int:
    """Direct cost with the penalty for variety, where the policy counts it."""
    penalty = variety_cents(one.solution.network, site.tariff) if site.building.policy.parts_variety else 0
    return one.cost_cents + penalty


def _closest(missed: list[Candidate]) -> Candidate:
    """The one that misses least; that it misses is said once."""
    first = min(missed, key=lambda one: (one.solution.miss_db, one.cost_cents, one.riser_series))
    if ("window", ()) not in first.released:
        first = replace(first, released=(*first.released, ("window", ())))
    return first


def unchanged(site: Site, found: Candidate, keep: Network) -> Candidate:
    """The kept network itself, where it is whole and the search found nothing cheaper that fits."""
    if not serves_every_outlet(site.building, keep):
        return found
    cost = network_cents(keep, site.tariff, site.ways)
    report = site.judge.report(keep)
    miss_db = missed_by(site.target, report)
    if cost > found.cost_cents or (found.fits and miss_db > SLACK_DB):
        return found
    wishes = site.building.wishes
    if keeps_spread(wishes, found.solution.report) and not keeps_spread(wishes, report):
        return found
    solution = replace(found.solution, network=keep, report=report, miss_db=miss_db)
    return replace(found, solution=solution, cost_cents=cost, listed=cost >= found.bound_cents)
