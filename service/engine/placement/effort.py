"""How hard to try: families in rising cost until the bound is met or the counted work is spent."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from service.engine.placement import subsets
from service.engine.placement.blocks import Family, Order
from service.engine.placement.bounds import count_bound, one_feed_is_enough
from service.engine.placement.grove import Grove, index
from service.engine.placement.levels_bound import level_bounds
from service.engine.placement.programme import Solved, run
from service.engine.placement.task import Certificate, Pick, Placed, PlacementTask

Effort = Literal["quick", "normal", "thorough"]

CELLS: dict[Effort, tuple[int, int]] = {
    "quick": (10_000_000, 5_000),
    "normal": (40_000_000, 30_000),
    "thorough": (1_200_000_000, 600_000),
}
"""Table cells each effort may spend: at least the first, and the second times outlets to the power of 1.5.

Counted, never timed: the same input gives the same design anywhere.
"""

EXACT_OUTLETS: dict[Effort, int] = {"quick": 12, "normal": 14, "thorough": 15}
"""Up to here all subsets of outlets are worked through: nothing is assumed about the shape of a design."""

ORDERS: tuple[Order, ...] = ("last", "first", "both")


def families(grove: Grove) -> Iterator[Family]:
    """Families from cheap to dear: what is collapsed, how far intervals reach, in which order."""
    places = frozenset(i for i, spot in enumerate(grove.spots) if i and not spot.is_outlet)
    panels = frozenset(i for i in places if all(grove.spots[c].is_outlet for c in grove.children[i]))
    enough = one_feed_is_enough(grove) & panels
    yield Family(name="one cable per way", collapsed=places)
    yield Family(name="panels by one feed", collapsed=panels, reach=16)
    for reach in (16, 32, 64, 128):
        for order in ORDERS:
            yield Family(
                name=f"aligned intervals, {reach}, {order}", collapsed=enough, reach=reach, order=order
            )
        if reach >= grove.below[0]:
            break
    for order in ORDERS:
        yield Family(name=f"all intervals, {order}", order=order)


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
    if grove.below[0] <= EXACT_OUTLETS[effort]:
        return _answer(subsets.solve_exactly(grove))
    bound = best_bound(grove)
    allowed = max(CELLS[effort][0], int(CELLS[effort][1] * grove.below[0] ** 1.5))
    best: tuple[int | None, Pick | None, str] | None = None
    curve: list[int | None] = []
    spent = 0
    for family in families(grove):
        solved = run(grove, family, None if best is None else allowed - spent)
        if solved is None:
            break
        spent += solved.work
        curve = _pointwise(curve, solved.curve)
        cost = solved.curve[0]
        if best is None or (cost is not None and (best[0] is None or cost < best[0])):
            best = cost, solved.tree(), family.name
        del solved
        if best[0] == bound:
            break
    assert best is not None
    cost, tree, method = best
    return Placed(
        cost_cents=cost,
        curve=tuple(curve),
        tree=tree,
        certificate=Certificate(
            cost_cents=cost,
            bound_cents=bound,
            gap=_gap(cost, bound),
            proven=cost == bound,
            method=method,
            assumes=subsets.ASSUMES,
            work=spent,
        ),
    )


def best_bound(grove: Grove) -> int:
    """The better of the bounds in cents at the launch as given."""
    return max(count_bound(grove), level_bounds(grove)[0])


def _answer(solved: Solved) -> Placed:
    """The answer of the exact programme: cost and bound are the same number."""
    cost = solved.curve[0]
    nested = solved.grove.nested
    low = cost if nested and cost is not None else best_bound(solved.grove)
    return Placed(
        cost_cents=cost,
        curve=solved.curve,
        tree=solved.tree(),
        certificate=Certificate(
            cost_cents=cost,
            bound_cents=low,
            gap=_gap(cost, low),
            proven=nested or cost == low,
            method=solved.family.name,
            assumes=subsets.ASSUMES,
            work=solved.work,
        ),
    )
