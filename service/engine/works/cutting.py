"""Cutting stock: from which put-ups to cut a list of lengths, so that as little cable as possible is bought.

Cables of one pull come from different reels, because they are pulled at once. Small lists are solved exactly by
branch and bound; every answer has a bound below which no plan can be.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

#: Lists longer than this, or that need more steps than this, keep the best plan of the two simple orders. Steps
#: are counted, never timed: the same list has the same answer everywhere.
MOST_EXACT = 60
MOST_STEPS = 50_000
_LEAST_M = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Length:
    """A length to cut: `pull` numbers the pull it belongs to, `name` tells it apart."""

    name: str
    pull: int
    length_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """One put-up that is bought, and the lengths that are cut from it."""

    put_up_m: float
    lengths: tuple[Length, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttingPlan:
    """What to buy and what to cut from it. `bound_m` is below the metres bought of every plan.

    `exact` is true when no plan buys less cable.
    """

    stocks: tuple[Stock, ...]
    bound_m: float
    exact: bool

    @property
    def bought_m(self) -> float:
        """Metres bought."""
        return sum(stock.put_up_m for stock in self.stocks)


def cutting_plan(lengths: Sequence[Length], put_ups_m: Sequence[float]) -> CuttingPlan:
    """Cut every length from one of the put-ups, which may be mixed, buying as few metres as possible.

    A reel gives at most one length to a pull. Among plans of the same metres the one with fewer reels wins.
    Raises ValueError for a length that no put-up holds.
    """
    sizes = tuple(sorted({size for size in put_ups_m if size > 0.0}))
    if not lengths:
        return CuttingPlan(stocks=(), bound_m=0.0, exact=True)
    longest = max(row.length_m for row in lengths)
    if not sizes or longest > sizes[-1] + _LEAST_M:
        raise ValueError(f"no put-up holds a length of {longest:g} m")
    in_order = sorted(lengths, key=lambda row: (row.pull, -row.length_m, row.name))
    longest_first = sorted(lengths, key=lambda row: (-row.length_m, row.pull, row.name))
    best: list[Stock] | None = None
    for size in reversed(sizes):
        if longest <= size + _LEAST_M:
            for order in (in_order, longest_first):
                tried = _fit(order, size, sizes)
                if best is None or _price(tried) < _price(best):
                    best = tried
    assert best is not None, "the longest length fits the greatest put-up"
    bound = least_bought_m(lengths, sizes)
    done = _price(best)[0] <= bound + 1e-6
    if not done and len(lengths) <= MOST_EXACT:
        search = _Search(longest_first, sizes, best, bound)
        done = search.run()
        best = search.best
    if done:
        bound = _price(best)[0]
    return CuttingPlan(stocks=tuple(best), bound_m=bound, exact=done)


def _price(stocks: Sequence[Stock]) -> tuple[float, int]:
    return round(sum(stock.put_up_m for stock in stocks), 6), len(stocks)


def _least_size(need_m: float, sizes: tuple[float, ...]) -> float:
    """The smallest put-up that holds a length."""
    return sizes[min(bisect_left(sizes, need_m - _LEAST_M), len(sizes) - 1)]


def _fit(order: Sequence[Length], size: float, sizes: tuple[float, ...]) -> list[Stock]:
    """Each length goes to the first reel with room that gives none to its pull; reels then shrink."""
    reels: list[list[Length]] = []
    left: list[float] = []
    busy: list[set[int]] = []
    first = 0
    for row in order:
        at = first
        while at < len(reels) and (left[at] + _LEAST_M < row.length_m or row.pull in busy[at]):
            at += 1
        if at == len(reels):
            reels.append([])
            left.append(size)
            busy.append(set())
        reels[at].append(row)
        left[at] -= row.length_m
        busy[at].add(row.pull)
        while first < len(reels) and left[first] < 1e-6:
            first += 1
    return [
        Stock(put_up_m=_least_size(sum(row.length_m for row in rows), sizes), lengths=tuple(rows))
        for rows in reels
    ]


def least_bought_m(lengths: Sequence[Length], put_ups_m: Sequence[float]) -> float:
    """A bound on the metres of every plan: enough for the sum, and a reel for each of a set that can't share.

    Such sets are the cables of one pull, and lengths above half of the greatest put-up.
    """
    sizes = tuple(sorted(put_ups_m))
    total = sum(row.length_m for row in lengths)
    pulls: dict[int, list[float]] = {}
    for row in lengths:
        pulls.setdefault(row.pull, []).append(row.length_m)
    sets = [*pulls.values(), [row.length_m for row in lengths if row.length_m > sizes[-1] / 2.0 + _LEAST_M]]
    #: For each put-up: how many reels greater than the one before it there must be.
    at_least = tuple(
        max((sum(1 for one in rows if one > smaller + _LEAST_M) for rows in sets), default=0)
        for smaller in (0.0, *sizes[:-1])
    )
    return _least_mix(sizes, total, at_least)


def _least_mix(sizes: tuple[float, ...], total_m: float, at_least: tuple[int, ...]) -> float:
    """Cheapest mix of put-ups that holds the sum, with at least so many reels of each size or greater."""
    best = float("inf")

    def choose(position: int, count: int, metres: float) -> None:
        nonlocal best
        if metres >= best:
            return
        size = sizes[position]
        missing = max(0, at_least[position] - count)
        if position == 0:
            need = max(missing, -int(-(total_m - metres - _LEAST_M) // size) if total_m > metres else 0)
            best = min(best, metres + need * size)
            return
        most = max(missing, -int(-(total_m - metres) // size) if total_m > metres else 0)
        for number in range(most, missing - 1, -1):
            choose(position - 1, count + number, metres + number * size)

    choose(len(sizes) - 1, 0, 0.0)
    return best


class _Search:
    """Branch and bound: the longest length first, into every reel that differs, or into a new one."""

    def __init__(
        self, order: list[Length], sizes: tuple[float, ...], best: list[Stock], bound_m: float
    ) -> None:
        self.order, self.sizes, self.best, self.bound_m = order, sizes, best, bound_m
        self.steps = 0
        self.rest = [0.0] * (len(order) + 1)
        self.later: list[frozenset[int]] = [frozenset()] * (len(order) + 1)
        for at in range(len(order) - 1, -1, -1):
            self.rest[at] = self.rest[at + 1] + order[at].length_m
            self.later[at] = self.later[at + 1] | {order[at].pull}
        counts = Counter(row.pull for row in order)
        self.single = frozenset(pull for pull, count in counts.items() if count == 1)
        self.reels: list[list[Length]] = []
        self.size: list[float] = []
        self.left: list[float] = []

    def run(self) -> bool:
        """Search on; true when everything was seen and the best plan is the best there is."""
        return self._place(0, 0.0) or _price(self.best)[0] <= self.bound_m + 1e-6

    def _place(self, at: int, bought_m: float) -> bool:
        self.steps += 1
        if self.steps > MOST_STEPS:
            return False
        if at == len(self.order):
            stocks = [
                Stock(put_up_m=size, lengths=tuple(rows))
                for size, rows in zip(self.size, self.reels, strict=True)
            ]
            if _price(stocks) < _price(self.best):
                self.best = stocks
            return True
        if self._hopeless(at, bought_m):
            return True
        row = self.order[at]
        seen: set[tuple[float, frozenset[int]]] = set()
        for reel, left in enumerate(self.left):
            pulls = frozenset(cut.pull for cut in self.reels[reel])
            kind = (round(left, 6), (pulls & self.later[at]) - self.single)
            if left + _LEAST_M < row.length_m or row.pull in pulls or kind in seen:
                continue
            seen.add(kind)
            self.reels[reel].append(row)
            self.left[reel] = left - row.length_m
            whole = self._place(at + 1, bought_m)
            self.reels[reel].pop()
            self.left[reel] = left
            if not whole:
                return False
        return self._open(at, bought_m, row)

    def _open(self, at: int, bought_m: float, row: Length) -> bool:
        for size in reversed(self.sizes):
            if size + _LEAST_M < row.length_m:
                break
            self.reels.append([row])
            self.size.append(size)
            self.left.append(size - row.length_m)
            whole = self._place(at + 1, bought_m + size)
            self.reels.pop()
            self.size.pop()
            self.left.pop()
            if not whole:
                return False
        return True

    def _hopeless(self, at: int, bought_m: float) -> bool:
        """True when what is left can't beat the best plan: the best meets the bound, or new reels are needed."""
        best = _price(self.best)[0]
        if best <= self.bound_m + 1e-6:
            return True
        short = self.rest[at] - sum(self.left)
        more = _least_mix(self.sizes, short, (0,) * len(self.sizes)) if short > 1e-6 else 0.0
        return bought_m + more >= best - 1e-6
