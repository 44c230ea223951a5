"""Blocks: a part of the tree solved in one go over the intervals, or all subsets, of its atoms.

An atom is an outlet, or a collapsed spot: everything below it, solved before as a block of its own and fed by
one feed. Atoms stand in depth-first order; at each spot children are sorted by their windows, and the
child with the most outlets, the way on along the riser, comes last.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np

from service.engine.placement.grove import Grove
from service.engine.placement.kernels import INF
from service.engine.placement.offers import Offers
from service.engine.placement.rows import fill, list_rows

Ints = np.ndarray[Any, np.dtype[np.int32]]
Order = Literal["last", "first", "both"]

EVERYTHING = 1 << 20
"""A reach beyond every number of atoms: all intervals."""

EVER = 1 << 60
"""More splits than any block has: no limit."""

MOST_BYTES = 700_000_000
"""Largest table of one block where an allowance is given."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """A class of designs: which sets of outlets one feed may serve.

    `collapsed` spots are entered by one feed. In each block an interval is allowed when it holds at most
    `reach` atoms, or ends where some spot's part ends; with `open_end` also when it starts where some spot's
    part starts. `order` sorts children by the last D they bear, the first cheapest D, or the sum of both.
    With `subsets` every subset of atoms is a state.
    """

    name: str
    collapsed: frozenset[int] = frozenset()
    reach: int = EVERYTHING
    open_end: bool = False
    order: Order = "last"
    subsets: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The shape of a block before its tables: spots in postorder, atoms in depth-first order."""

    places: tuple[int, ...]
    atoms: tuple[int, ...]
    spots: Ints
    owner: Ints
    turn: Ints
    turn_at: Ints
    edge: Ints
    base: Ints
    inner: tuple[Block | None, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A solved block. `served[D]` is the least cost of one feed entering at the root spot with device loss
    D.
    """

    plan: Plan
    rows: Ints
    index: Ints
    tables: Ints
    served: Ints
    subsets: bool

    @property
    def whole(self) -> int:
        """Row of the set of all atoms."""
        return int(self.index[0, -1])


@dataclass(slots=True, kw_only=True)
class Workshop:
    """What solving the blocks of one family needs and remembers."""

    grove: Grove
    offers: Offers
    family: Family
    steps: int
    done: dict[int, Block] = field(default_factory=dict)
    memo: dict[bytes, Block] = field(default_factory=dict)
    allowance: int | None = None
    work: int = 0


def _key(vector: Ints, order: Order) -> int:
    finite = np.flatnonzero(vector < INF)
    if not finite.size:
        return -1
    last, first = int(finite[-1]), int(np.argmin(vector))
    return {"last": last, "first": first, "both": last + first}[order]


def _vector(shop: Workshop, spot: int) -> Ints:
    """Cost of one feed at D leaving the parent of an atom for it, the way's cable left out."""
    block = shop.done.get(spot)
    if block is not None:
        return block.served
    window = shop.grove.spots[spot]
    vector = np.full(shop.steps, INF, dtype=np.int32)
    assert window.a is not None
    assert window.b is not None
    vector[max(window.a, 0) : max(window.b + 1, 0)] = 0
    return vector


@dataclass(slots=True, kw_only=True)
class _Survey:
    """Gathers a block: first the atoms' vectors and the order of children, then positions."""

    shop: Workshop
    root: int
    vectors: dict[int, Ints] = field(default_factory=dict)
    keys: dict[int, int] = field(default_factory=dict)
    inside: dict[int, list[int]] = field(default_factory=dict)
    places: list[int] = field(default_factory=list)
    atoms: list[int] = field(default_factory=list)
    owner: list[int] = field(default_factory=list)
    local: list[tuple[int, ...]] = field(default_factory=list)
    turn: list[int] = field(default_factory=list)
    turn_at: list[int] = field(default_factory=list)

    def look(self, spot: int) -> int:
        """Order the children below a spot; returns the key of the tightest atom."""
        grove, family = self.shop.grove, self.shop.family
        if grove.spots[spot].is_outlet or (spot in family.collapsed and spot != self.root):
            self.vectors[spot] = _vector(self.shop, spot)
            self.keys[spot] = _key(self.vectors[spot], family.order)
            return self.keys[spot]
        children = grove.children[spot]
        self.keys[spot] = min([self.look(child) for child in children])
        ways = [c for c in children if c not in self.vectors]
        on = max(ways, key=lambda c: (grove.below[c], c)) if ways else -1
        self.inside[spot] = sorted(children, key=lambda c: (c == on, self.keys[c], grove.spots[c].id))
        return self.keys[spot]

    def lay(self, spot: int) -> None:
        """Give positions to the atoms below a spot and write the spot down after its children."""
        shop = self.shop
        lo = last = len(self.atoms)
        mine: list[int] = []
        ends: list[int] = []
        for child in self.inside[spot]:
            last = len(self.atoms)
            if child in self.vectors:
                mine.append(last)
                self.atoms.append(child)
                self.owner.append(-1)
            else:
                self.lay(child)
            ends.extend([len(self.atoms)] * (len(self.atoms) - last))
        for position in mine:
            self.owner[position] = len(self.places)
        menu = shop.grove.spots[spot].menu
        rooted = shop.grove.rooted[spot] - shop.grove.rooted[self.root]
        self.local.append((lo, len(self.atoms), last, menu, rooted, shop.offers.heads[menu]))
        self.turn_at.append(len(self.turn))
        self.turn.extend(ends)
        self.places.append(spot)


def plan(shop: Workshop, root: int) -> Plan:
    """Lay out the block under `root`."""
    survey = _Survey(shop=shop, root=root)
    survey.look(root)
    survey.lay(root)
    atoms, rooted = survey.atoms, shop.grove.rooted
    edge = np.zeros(len(atoms) + 1, dtype=np.int32)
    edge[[bound for spot in survey.local for bound in spot[:2]]] = 1
    base = np.empty((len(atoms), shop.steps), dtype=np.int32)
    for n, spot in enumerate(atoms):
        vector = survey.vectors[spot]
        base[n] = np.where(vector < INF, vector + (rooted[spot] - rooted[root]), INF)
    return Plan(
        places=tuple(survey.places),
        atoms=tuple(atoms),
        spots=np.array(survey.local, dtype=np.int32),
        owner=np.array(survey.owner, dtype=np.int32),
        turn=np.array(survey.turn, dtype=np.int32),
        turn_at=np.array(survey.turn_at, dtype=np.int32),
        edge=edge,
        base=base,
        inner=tuple(shop.done.get(spot) for spot in atoms),
    )


def _interval_rows(shape: Plan, family: Family, most_splits: int) -> tuple[Ints, Ints, int]:
    """Rows (i, j, spot, atom or −1), first row per spot, number of splits; no rows beyond `most_splits`."""
    first = np.zeros(len(shape.places) + 1, dtype=np.int32)
    fixed = (
        shape.spots,
        shape.owner,
        shape.turn,
        shape.turn_at,
        shape.edge,
        family.reach,
        family.open_end,
        most_splits,
    )
    count, splits = list_rows(*fixed, np.empty((0, 4), dtype=np.int32), first)
    if splits > most_splits:
        return np.empty((0, 4), dtype=np.int32), first, splits
    rows = np.full((count, 4), -1, dtype=np.int32)
    list_rows(*fixed, rows, first)
    single = rows[:, 1] - rows[:, 0] == 1
    rows[single, 3] = rows[single, 0]
    return rows, first, splits


def _subset_rows(shape: Plan) -> tuple[Ints, Ints, int]:
    """All non-empty masks, each at the lowest spot that holds it."""
    count = len(shape.atoms)
    masks = np.arange(1, 1 << count)
    home = np.full(masks.shape, -1)
    for v in range(len(shape.places) - 1, -1, -1):
        lo, hi = int(shape.spots[v, 0]), int(shape.spots[v, 1])
        home[(masks & ~(((1 << hi) - 1) ^ ((1 << lo) - 1))) == 0] = v
    for position, v in enumerate(shape.owner):
        home[(1 << position) - 1] = v
    by_home = np.lexsort((masks, home))
    rows = np.full((len(masks), 4), -1, dtype=np.int32)
    rows[:, 0], rows[:, 2] = masks[by_home], home[by_home]
    single = (rows[:, 0] & (rows[:, 0] - 1)) == 0
    rows[single, 3] = np.round(np.log2(rows[single, 0])).astype(np.int32)
    first = np.searchsorted(rows[:, 2], np.arange(len(shape.places) + 1)).astype(np.int32)
    return rows, first, (3**count - 2 ** (count + 1) + 1) // 2


def _under(shape: Plan, first: Ints) -> Ints:
    """First row of the subtree of each spot: postorder keeps a subtree together."""
    under = first[:-1].copy()
    for v in range(len(shape.places)):
        for u in range(v - 1, -1, -1):
            if shape.spots[u, 0] < shape.spots[v, 0] or shape.spots[u, 1] > shape.spots[v, 1]:
                break
            under[v] = first[u]
    return under


def _filled(shop: Workshop, shape: Plan, rows: Ints, first: Ints) -> Block:
    """Allocate and fill the tables of a block."""
    offers, family = shop.offers, shop.family
    size = len(shape.atoms)
    if family.subsets:
        index = np.full((1, 1 << size), -1, dtype=np.int32)
        index[0, rows[:, 0]] = np.arange(len(rows), dtype=np.int32)
    else:
        index = np.full((size, size + 1), -1, dtype=np.int32)
        index[rows[:, 0], rows[:, 1]] = np.arange(len(rows), dtype=np.int32)
    tables = np.empty((len(rows), offers.plain + max(offers.heads), shop.steps), dtype=np.int32)
    ends = np.empty(tables.shape[:2], dtype=np.int32)
    fill(
        tables,
        ends,
        rows,
        first,
        _under(shape, first),
        shape.spots,
        index,
        shape.base,
        shape.edge,
        EVERYTHING if family.open_end else family.reach,
        family.subsets,
        offers.plain,
        offers.joins,
        offers.join_at,
        offers.unary,
        offers.unary_at,
        offers.tails,
        offers.tail_at,
        offers.pads,
        offers.pad_at,
    )
    return Block(
        plan=shape,
        rows=rows,
        index=index,
        tables=tables,
        served=tables[index[0, -1], 0],
        subsets=family.subsets,
    )


def solve(shop: Workshop, root: int) -> Block | None:
    """Solve the block under `root`; all collapsed spots below it must be solved already.

    None, with nothing done, where the work or the memory would be too much.
    """
    shape = plan(shop, root)
    offers, family = shop.offers, shop.family
    key = b"|".join(part.tobytes() for part in (shape.spots, shape.owner, shape.turn, shape.base))
    twin = shop.memo.get(key)
    if twin is not None:
        return Block(
            plan=shape,
            rows=twin.rows,
            index=twin.index,
            tables=twin.tables,
            served=twin.served,
            subsets=family.subsets,
        )
    per_split = len(offers.joins) * shop.steps
    most = EVER if shop.allowance is None else max(0, shop.allowance - shop.work) // per_split
    rows, first, splits = _subset_rows(shape) if family.subsets else _interval_rows(shape, family, most)
    width = offers.plain + max(offers.heads)
    work = splits * per_split
    if splits > most or (shop.allowance is not None and 4 * len(rows) * width * shop.steps > MOST_BYTES):
        return None
    block = _filled(shop, shape, rows, first)
    shop.work += work
    shop.memo[key] = block
    return block
