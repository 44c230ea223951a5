"""Reels: which run is cut from which box or reel, in which order, and what is left over.

The plan can be pulled: cables of one pull come from boxes of their own. For each put-up that
the cable is sold in it is cut in working order, so that a box is finished before the next is opened, or
longest cable first where that saves more than a twelfth of the boxes. The put-up that buys least is taken.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace

from service.engine.building.places import Building
from service.engine.plant.catalogue import Catalogue
from service.engine.works.cutting import Length, cutting_plan
from service.engine.works.pulls import Pull

#: The remnant below which cable is scrap. Common practice.
SCRAP_BELOW_M = 15.0
#: Share of boxes that cutting in working order may cost: a box carried back through the house costs more.
#: Common practice.
ORDER_SHARE = 1.0 / 12.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One run cut from a reel: the pull it belongs to and the length to take, waste included."""

    pull: int
    run: str
    take_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reel:
    """One box or reel of a cable and its cuts in working order."""

    name: str
    cable: str
    put_up_m: float
    cuts: tuple[Cut, ...]

    @property
    def left_m(self) -> float:
        """What remains on it."""
        return self.put_up_m - sum(cut.take_m for cut in self.cuts)

    @property
    def scrap(self) -> bool:
        """True when the remnant is too short to be used again."""
        return 1e-6 < self.left_m < SCRAP_BELOW_M


@dataclass(frozen=True, slots=True, kw_only=True)
class ReelPlan:
    """All reels of one cable. `net_m` is the length of its runs as pulled and `waste_share` what is added.

    `put_up_m` is the usual put-up; reels may be of several. `least_reels` is a bound: no plan with this put-up
    alone needs fewer. `least_m` is below the metres of every plan, put-ups mixed or not, runs of `too_long` left
    out. Those no put-up holds: each is bought as a length of its own, waste included, and stands in `bought_m`.
    """

    cable: str
    put_up_m: float
    net_m: float
    waste_share: float
    reels: tuple[Reel, ...]
    least_reels: int
    too_long: tuple[Cut, ...]
    least_m: float = 0.0

    @property
    def bought_m(self) -> float:
        """Cable to buy, in whole reels."""
        return sum(reel.put_up_m for reel in self.reels) + sum(cut.take_m for cut in self.too_long)

    @property
    def put_ups(self) -> tuple[tuple[float, int], ...]:
        """Put-ups to buy and how many of each, the greatest first; the spare one is not among them."""
        return tuple(sorted(Counter(reel.put_up_m for reel in self.reels).items(), reverse=True))


def waste_share_of(building: Building) -> float:
    """Purchase waste of a building by its rates: as stated for new work or for retrofit."""
    rates = building.rates
    return float(rates.waste_new_share if building.new_build else rates.waste_retrofit_share)


def reel_plans(building: Building, pulls: tuple[Pull, ...], catalogue: Catalogue) -> tuple[ReelPlan, ...]:
    """A plan for every cable type of the pulls, by id."""
    waste = waste_share_of(building)
    cuts: dict[str, list[Cut]] = {}
    net: dict[str, float] = {}
    for pull in pulls:
        for cable in pull.cables:
            run = cable.run
            take = Cut(pull=pull.number, run=run.id, take_m=run.length_m * (1.0 + waste))
            cuts.setdefault(run.cable, []).append(take)
            net[run.cable] = net.get(run.cable, 0.0) + run.length_m
    return tuple(
        _best_plan(
            cable,
            building.rates.put_ups_m(cable, catalogue.cable(cable).put_ups_m),
            cuts[cable],
            net[cable],
            waste,
        )
        for cable in sorted(cuts)
    )


def _best_plan(
    cable: str, put_ups_m: tuple[float, ...], cuts: list[Cut], net_m: float, waste: float
) -> ReelPlan:
    """One put-up in working order, unless mixed put-ups or another order buy markedly less cable."""
    tries = [_plan(cable, put_up, cuts, net_m, waste) for put_up in put_ups_m or (0.0,)]
    best = min(tries, key=lambda plan: (len(plan.too_long), plan.bought_m, -plan.put_up_m))
    long = {cut.run for cut in best.too_long}
    fitting = {cut.run: cut for cut in cuts if cut.run not in long}
    if not fitting:
        return best
    lengths = [Length(name=cut.run, pull=cut.pull, length_m=cut.take_m) for cut in fitting.values()]
    least = cutting_plan(lengths, put_ups_m)
    plan = replace(best, least_m=least.bound_m)
    if sum(reel.put_up_m for reel in best.reels) <= least.bought_m * (1.0 + ORDER_SHARE):
        return plan
    stocks = [(stock.put_up_m, [fitting[row.name] for row in stock.lengths]) for stock in least.stocks]
    return replace(plan, reels=_named(cable, stocks))


def _plan(cable: str, put_up_m: float, cuts: list[Cut], net_m: float, waste: float) -> ReelPlan:
    """Cut everything from reels of one put-up, no two cables of a pull from the same reel."""
    too_long = [cut for cut in cuts if cut.take_m > put_up_m + 1e-9]
    fitting = [cut for cut in cuts if cut.take_m <= put_up_m + 1e-9]
    in_order = sorted(fitting, key=lambda cut: (cut.pull, -cut.take_m, cut.run))
    longest_first = sorted(fitting, key=lambda cut: (-cut.take_m, cut.pull, cut.run))
    reels, fewest = _first_fit(in_order, put_up_m), _first_fit(longest_first, put_up_m)
    if len(reels) > len(fewest) * (1.0 + ORDER_SHARE):
        reels = fewest
    return ReelPlan(
        cable=cable,
        put_up_m=put_up_m,
        net_m=net_m,
        waste_share=waste,
        reels=_named(cable, [(put_up_m, rows) for rows in reels]),
        least_reels=_least_reels(fitting, put_up_m),
        too_long=tuple(sorted(too_long, key=lambda cut: (cut.pull, cut.run))),
    )


def _named(cable: str, stocks: list[tuple[float, list[Cut]]]) -> tuple[Reel, ...]:
    """Reels by the first pull that each is opened for, their cuts in working order."""
    stocks = sorted(stocks, key=lambda stock: (min((cut.pull, cut.run) for cut in stock[1]), stock[0]))
    return tuple(
        Reel(
            name=f"{cable}#{number}",
            cable=cable,
            put_up_m=put_up_m,
            cuts=tuple(sorted(rows, key=lambda cut: (cut.pull, cut.run))),
        )
        for number, (put_up_m, rows) in enumerate(stocks, start=1)
    )


def _first_fit(cuts: list[Cut], put_up_m: float) -> list[list[Cut]]:
    """Each cut goes on the first reel that has room and gives no other cable of the pull; else a new one."""
    reels: list[list[Cut]] = []
    left: list[float] = []
    busy: list[set[int]] = []
    for cut in cuts:
        fits = (n for n, room in enumerate(left) if room + 1e-9 >= cut.take_m and cut.pull not in busy[n])
        at = next(fits, len(reels))
        if at == len(reels):
            reels.append([])
            left.append(put_up_m)
            busy.append(set())
        reels[at].append(cut)
        left[at] -= cut.take_m
        busy[at].add(cut.pull)
    return reels


def _least_reels(cuts: list[Cut], put_up_m: float) -> int:
    """Fewest reels of any plan: by total length, by cuts above half a reel, by cables of one pull."""
    if not cuts:
        return 0
    by_length = math.ceil(sum(cut.take_m for cut in cuts) / put_up_m - 1e-9)
    by_half = sum(1 for cut in cuts if cut.take_m > put_up_m / 2.0 + 1e-9)
    at_once: dict[int, int] = {}
    for cut in cuts:
        at_once[cut.pull] = at_once.get(cut.pull, 0) + 1
    return max(by_length, by_half, max(at_once.values()))


def reel_of_run(plans: tuple[ReelPlan, ...]) -> Mapping[str, str]:
    """The reel that each run is cut from, by run id; runs bought as a length of their own are left out."""
    return {cut.run: reel.name for plan in plans for reel in plan.reels for cut in reel.cuts}
