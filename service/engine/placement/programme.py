"""The placement programme: solve a family of designs, read the cost curve, trace a design.

For each set of outlets and each device loss D the tables hold the least cost of serving the set by one feed.
A device that feeds only outlets below one child is never better than the same device at the child, so every
set is worked out once, at the lowest spot that holds it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from service.engine.placement import retrace
from service.engine.placement.blocks import Block, Family, Ints, Workshop, solve
from service.engine.placement.grove import Grove
from service.engine.placement.kernels import INF
from service.engine.placement.offers import Offers, arrange, grouped
from service.engine.placement.task import Choice, MalformedTaskError, Pick


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """All tables of one family: `curve[D0]` is the least cost at starting loss D0 or None, `work` counts
    cells.
    """

    grove: Grove
    offers: Offers
    family: Family
    block: Block
    work: int

    @property
    def curve(self) -> tuple[int | None, ...]:
        """Least cost in cents against the loss the feed starts with."""
        always = self.grove.always
        return tuple(None if cost >= INF else int(cost) + always for cost in self.block.served)

    def tree(self, start: int = 0) -> Pick | None:
        """One cheapest design of the family for the starting loss, or None where there is none."""
        if start >= len(self.block.served) or self.block.served[start] >= INF:
            return None
        return _Tracer(self).feed(self.block, self.block.whole, start, 0)


def run(grove: Grove, family: Family, allowance: int | None = None) -> Solved | None:
    """Solve all blocks of a family, from the leaves to the root.

    `allowance` is the most table cells to touch; None comes back, before the work is done, where the family
    needs more. Raises MalformedTaskError where the root is an outlet.
    """
    if grove.spots[0].is_outlet:
        raise MalformedTaskError(what="the root of a task is a place, not an outlet")
    offers = arrange(grove.task, halving=not family.subsets)
    most = max(spot.b for spot in grove.spots if spot.b is not None) + 1
    shop = Workshop(
        grove=grove,
        offers=offers,
        family=family,
        steps=max(1, min(grove.task.steps, most)),
        allowance=allowance,
    )
    for spot in grove.from_leaves():
        if spot in family.collapsed or spot == 0:
            block = solve(shop, spot)
            if block is None:
                return None
            shop.done[spot] = block
    return Solved(grove=grove, offers=offers, family=family, block=shop.done[0], work=shop.work)


class _Tracer:
    """Finds, by exact equality of integers, which step gave each entry on the way down."""

    def __init__(self, solved: Solved) -> None:
        self._grove = solved.grove
        self._offers = solved.offers

    def feed(self, block: Block, row: int, d: int, here: int) -> Pick:
        """The design of one feed standing at spot `here` with loss d that serves the set of `row`."""
        spot = block.plan.places[block.rows[row, 2]]
        return self._along(here, spot, self._at(block, row, d, spot))

    def _along(self, top: int, bottom: int, then: Pick) -> Pick:
        for spot in reversed(self._grove.way(top, bottom)):
            then = Pick(cable_to=self._grove.spots[spot].id, branches=(then,))
        return then

    def _at(self, block: Block, row: int, d: int, spot: int) -> Pick:
        offers = self._offers
        want = int(block.tables[row, 0, d])
        atom = int(block.rows[row, 3])
        if atom >= 0 and int(block.plan.base[atom, d]) == want:
            return self._atom(block, atom, d, spot)
        menu = self._grove.spots[spot].menu
        rooted = int(block.plan.spots[block.rows[row, 2], 4])
        for e in range(int(offers.unary_at[menu]), int(offers.unary_at[menu + 1])):
            table, shift, used, cents = (int(x) for x in offers.unary[e])
            at = d + shift
            if (
                at < block.tables.shape[2]
                and int(block.tables[row, table, at]) + cents - (used - 1) * rooted == want
            ):
                choice, use = offers.unary_by[e]
                return self._device(block, choice, use, spot, self._parts(block, row, table, at))
        head = self._head(block, row, d, menu, rooted, want)
        if head is not None:
            choice, use, parts = head
            return self._device(block, choice, use, spot, parts)
        for e in range(int(offers.pad_at[menu]), int(offers.pad_at[menu + 1])):
            at = d + int(offers.pads[e, 0])
            if at < block.tables.shape[2] and int(block.tables[row, 0, at]) + int(offers.pads[e, 1]) == want:
                choice, use = offers.pads_by[e]
                return self._device(block, choice, use, spot, [[(row, at)]])
        raise AssertionError(f"no step gives {want} cents at {self._grove.spots[spot].id}, D = {d}")

    def _atom(self, block: Block, atom: int, d: int, spot: int) -> Pick:
        bottom = block.plan.atoms[atom]
        inner = block.plan.inner[atom]
        if inner is not None:
            return self._along(spot, bottom, self.feed(inner, inner.whole, d, bottom))
        return self._along(spot, bottom, Pick(outlet=self._grove.spots[bottom].id))

    def _head(
        self, block: Block, row: int, d: int, menu: int, rooted: int, want: int
    ) -> tuple[Choice, tuple[int, ...], list[list[tuple[int, int]]]] | None:
        offers = self._offers
        if int(block.rows[row, 3]) >= 0:
            return None
        join, entry, left, right = retrace.find_head(
            block.tables,
            offers.joins,
            offers.join_at[menu + 1],
            offers.join_at[menu + 2],
            self._cut(block, row),
            offers.tails,
            offers.tail_at[menu],
            offers.tail_at[menu + 1],
            offers.plain,
            rooted,
            d,
            want,
        )
        if join < 0:
            return None
        _, ta, sa, _, _, _ = (int(x) for x in offers.joins[join])
        choice, use = offers.tails_by[entry]
        parts = self._parts(block, left, ta, d + sa)
        parts += self._parts(block, right, int(offers.tails[entry, 1]), d + int(offers.tails[entry, 2]))
        return choice, use, parts

    def _cut(self, block: Block, row: int) -> Ints:
        out = np.empty(
            (1 << bin(int(block.rows[row, 0])).count("1") if block.subsets else len(block.index) + 1, 2),
            dtype=np.int32,
        )
        return out[: retrace.splits_of(row, block.rows, block.index, block.subsets, out)]

    def _parts(self, block: Block, row: int, table: int, d: int) -> list[list[tuple[int, int]]]:
        """Rows and losses of the feeds behind a table entry, one list per port group in use."""
        if table == 0:
            return [[(row, d)]]
        offers = self._offers
        join, left, right = retrace.find_join(
            block.tables,
            offers.joins,
            offers.join_at[0],
            offers.join_at[1],
            self._cut(block, row),
            table,
            d,
            block.tables[row, table, d],
        )
        assert join >= 0
        _, ta, sa, tb, sb, _ = (int(x) for x in offers.joins[join])
        one, two = self._parts(block, left, ta, d + sa), self._parts(block, right, tb, d + sb)
        return one + two if len(offers.bundles[table]) > 1 else [one[0] + two[0]]

    def _device(
        self,
        block: Block,
        choice: Choice,
        use: tuple[int, ...],
        spot: int,
        parts: list[list[tuple[int, int]]],
    ) -> Pick:
        feeds = iter(parts)
        by_group: dict[tuple[int, int], list[list[tuple[int, int]]]] = {}
        for group, ports in zip(grouped(choice), use, strict=True):
            by_group.setdefault(group, []).append(next(feeds) if ports else [])
        return Pick(
            device=choice.id,
            at=self._grove.spots[spot].id,
            branches=tuple(self._ports(block, choice, by_group, spot)),
        )

    def _ports(
        self,
        block: Block,
        choice: Choice,
        by_group: dict[tuple[int, int], list[list[tuple[int, int]]]],
        spot: int,
    ) -> Iterator[Pick | None]:
        for group in choice.ports:
            served = by_group[group].pop(0)
            for row, d in served:
                yield self.feed(block, row, d, spot)
            for _ in range(group[1] - len(served)):
                yield None
