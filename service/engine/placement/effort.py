"""How hard to try: families in rising cost until the bound is met or the counted work is spent."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from service.engine.placement import subsets
from service.engine.placement.blocks import Family, Order
from service.engine.placement.bounds import count_bound, one_feed_is_enough
from service.engine.placement.grove import Grove, index
from service.engine.placement.programme import Solved, run
from service.engine.placement.task import Certificate, Placed, PlacementTask

Effort = Literal["quick", "normal", "thorough"]

CELLS: dict[Effort, int] = {"quick": 600_000_000, "normal": 6_000_000_000, "thorough": 60_000_000_000}
"""Table cells each effort may spend. Counted, never timed: the same input gives the same design anywhere."""

ORDERS: tuple[Order, ...] = ("last", "first", "both")


def families(grove: Grove) -> Iterator[Family]:
    """Families from cheap to dear: what is collapsed, how far intervals reach, in which order."""
    places = frozenset(i for i, spot in enumerate(grove.spots) if i and not spot.is_outlet)
    panels = frozenset(i for i in places if all(grove.spots[c].is_outlet for c in grove.children[i]))
    enough = one_feed_is_enough(grove) & panels
    yield Family(name="one cable per way", collapsed=places)
    yield Family(name="panels by one feed, reach 16", collapsed=panels, reach=16)
    for reach in (16, 24, 48, 96, 192):
        for order in ORDERS:
            yield Family(
                name=f"aligned intervals, reach {reach}, by {order}",
                collapsed=enough,
                reach=reach,
                order=order,
            )
        if reach >= grove.below[0]:
            return
    for order in ORDERS:
        yield Family(name=f"all intervals, by {order}", order=order)


def _pointwise(old: list[int | None], new: tuple[int | None, ...]) -> list[int | None]:
    out: list[int | None] = []
    for d in range(max(len(old), len(new))):
        known = [
            c for c in (old[d] if d < len(old) else None, new[d] if d < len(new) else None) if c is not None
        ]
        out.append(min(known) if known else None)
    return out


def _gap(cost: int | None, bound: int) -> float | None:
    return None if cost is None or bound <= 0 else (cost - bound) / bound


def place(task: PlacementTask, effort: Effort = "normal") -> Placed:
    """The best design found within the effort, the best cost for every starting loss, and a certificate.

    Small tasks are solved exactly. Raises what `grove.index` and `offers.arrange` raise; an impossible task
    is an answer with `cost_cents` None.
    """
    grove = index(task)
    bound = count_bound(grove)
    if grove.below[0] <= subsets.MOST_OUTLETS:
        return _answer(subsets.solve_exactly(grove), bound)
    best: Solved | None = None
    curve: list[int | None] = []
    spent = 0
    for family in families(grove):
        solved = run(grove, family, None if best is None else CELLS[effort] - spent)
        if solved is None:
            continue
        spent += solved.work
        curve = _pointwise(curve, solved.curve)
        if best is None or _better(solved, best):
            best = solved
        if best.curve[0] == bound:
            break
    assert best is not None
    cost = best.curve[0]
    return Placed(
        cost_cents=cost,
        curve=tuple(curve),
        tree=best.tree(),
        certificate=Certificate(
            cost_cents=cost,
            bound_cents=bound,
            gap=_gap(cost, bound),
            proven=cost == bound,
            method=best.family.name,
            assumes=subsets.ASSUMES,
            work=spent,
        ),
    )


def _better(one: Solved, two: Solved) -> bool:
    a, b = one.curve[0], two.curve[0]
    return a is not None and (b is None or a < b)


def _answer(solved: Solved, bound: int) -> Placed:
    """The answer of the exact programme: cost and bound are the same number."""
    cost = solved.curve[0]
    low = bound if cost is None else cost
    return Placed(
        cost_cents=cost,
        curve=solved.curve,
        tree=solved.tree(),
        certificate=Certificate(
            cost_cents=cost,
            bound_cents=low,
            gap=_gap(cost, low),
            proven=True,
            method=solved.family.name,
            assumes=subsets.ASSUMES,
            work=solved.work,
        ),
    )
