"""Trees of devices over the leaves of one place, every one that could be cheapest."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import product
from operator import add
from typing import Any

import numpy as np

Vector = tuple[float, ...]
Leaves = tuple[int, ...]
THROUGH = "through"
ROUNDING_DB = 1e-7


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A passive part: price, and each group of ports with its count and its loss at every carrier.

    `value` is the loss at the lowest carrier to the ports beside a through port.
    """

    id: str
    cents: int
    groups: tuple[tuple[str, int, Vector], ...]
    ports: int
    counts: tuple[int, ...]
    value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """Something that a port may feed: what it costs, and between which levels it wants its feed, by carrier.

    `spare` and `ports` count to the ends, `own` the closed ports at its own place. `value` is that of the tap it begins
    with, `form` what alike floors compare of its own place, `below` of the places below, `thing` what to build.
    """

    cents: int
    low: Vector
    high: Vector
    spare: int = 0
    ports: int = 0
    own: int = 0
    value: float = -math.inf
    form: Any = None
    below: tuple[Any, ...] = ()
    thing: Any = None


def moved(label: Label, loss: Vector) -> Label:
    """The label as seen before so much loss."""
    return Label(
        cents=label.cents,
        low=tuple(map(add, label.low, loss)),
        high=tuple(map(add, label.high, loss)),
        spare=label.spare,
        ports=label.ports,
        own=label.own,
        value=label.value,
        form=label.form,
        below=label.below,
        thing=label.thing,
    )


def shares(leaves: Leaves, rooms: Leaves) -> Iterator[tuple[tuple[Leaves, int], ...]]:
    """Every way to gather leaves into blocks, each on a port of a group with room; ports of a group are alike."""
    if not leaves:
        yield ()
        return
    first, others = leaves[0], leaves[1:]
    for chosen in range(1 << len(others)):
        block = (first, *(leaf for at, leaf in enumerate(others) if chosen >> at & 1))
        rest = tuple(leaf for at, leaf in enumerate(others) if not chosen >> at & 1)
        for group, room in enumerate(rooms):
            if room:
                left = (*rooms[:group], room - 1, *rooms[group + 1 :])
                for more in shares(rest, left):
                    yield ((block, group), *more)


def unreplaced(found: list[Label]) -> list[Label]:
    """Labels by rising cost, less those that an earlier one replaces.

    It does where it takes every level that the other takes, spares as large a share of ports, has a spare port if the
    other has, begins with no larger value, and looks the same to a comparison of alike floors.
    """
    kept: list[Label] = []
    tables: dict[Any, tuple[Any, int]] = {}
    for label in sorted(found, key=lambda row: row.cents):
        row = np.asarray(
            [
                *label.low,
                *(-one for one in label.high),
                label.ports - 10.0 * label.spare,
                -float(label.own > 0),
                label.value,
            ]
        )
        table, count = tables.get((label.form, label.below), (np.empty((16, row.size)), 0))
        if count and bool(np.any(np.all(table[:count] <= row + ROUNDING_DB, axis=1))):
            continue
        if count == len(table):
            table = np.concatenate((table, np.empty_like(table)))
        table[count] = row
        tables[label.form, label.below] = (table, count + 1)
        kept.append(label)
    return kept


@dataclass(slots=True)
class Forest:
    """Trees of devices over the leaves of one place, none dearer than `budget`; each set of leaves worked out once.

    `leaves` are the labels of each leaf. Levels above `most` don't occur: what would want more is left out. `panel`
    keeps to parts without a through port, each with two ports in use at least.
    """

    parts: list[Part]
    close: int
    least: list[int]
    joint: Vector
    leaves: list[list[Label]]
    most: Vector
    budget: int
    panel: bool
    falling: bool
    forms: bool
    known: dict[Leaves, list[Label]] = field(default_factory=dict)

    def trees(self, leaves: Leaves) -> list[Label]:
        """Trees that begin with a part, by rising cost."""
        if leaves not in self.known:
            spread: list[Label] = []
            single: list[tuple[Part, int]] = []
            for part in self.parts:
                if self.panel and any(name == THROUGH for name, _, _ in part.groups):
                    continue
                for blocks in shares(leaves, part.counts):
                    if len(blocks) > 1:
                        spread += self.filled(part, blocks)
                    elif not self.panel:
                        single.append((part, blocks[0][1]))
            if len(leaves) == 1:
                for part, group in single:
                    options = [self.behind(part, group, self.leaves[leaves[0]], straight=True)]
                    spread += self.joined(part, ((leaves, group),), options)
            found = fresh = unreplaced(spread)
            while fresh and single:
                # One port in use, and a further part behind it.
                more = []
                for part, group in single:
                    more += self.joined(
                        part, ((leaves, group),), [self.behind(part, group, fresh, straight=False)]
                    )
                wider = unreplaced([*found, *more])
                seen = {id(label) for label in found}
                fresh = [label for label in wider if id(label) not in seen]
                found = wider
            self.known[leaves] = found
        return self.known[leaves]

    def filled(self, part: Part, blocks: Any) -> list[Label]:
        """The part with everything that may hang on its ports."""
        spent = part.cents + (part.ports - len(blocks)) * self.close
        budget = self.allowed(tuple(leaf for block, _ in blocks for leaf in block))
        left = budget - spent - sum(self.floor(block) for block, _ in blocks)
        if left < 0:
            return []
        options = []
        for block, group in blocks:
            rows = []
            if len(block) == 1:
                rows = self.behind(part, group, self.leaves[block[0]], straight=True)
            if left + self.floor(block) >= self.parts[0].cents:
                rows = rows + self.behind(part, group, self.trees(block), straight=False)
            if not rows:
                return []
            options.append(unreplaced(rows))
        return self.joined(part, blocks, options)

    def allowed(self, leaves: Leaves) -> int:
        """The most that a tree over these leaves may cost: the others need their own, and parts to join them."""
        others = [number for number in range(len(self.leaves)) if number not in leaves]
        if not others:
            return self.budget
        own = sum(min(row.cents for row in self.leaves[leaf]) for leaf in others)
        return self.budget - own - self.least[len(others) + 1]

    def floor(self, block: Leaves) -> int:
        """Least money for what hangs on a port."""
        return self.least[len(block)] + sum(min(row.cents for row in self.leaves[leaf]) for leaf in block)

    def behind(self, part: Part, group: int, subs: list[Label], *, straight: bool) -> list[Label]:
        """What may hang behind one port, seen before the part: values do not rise in a leg."""
        name, _, loss = part.groups[group]
        if not straight:
            loss = tuple(a + b for a, b in zip(loss, self.joint, strict=True))
        bound = part.value + 1e-6 if self.falling and name == THROUGH else math.inf
        most = [level - lost + ROUNDING_DB for level, lost in zip(self.most, loss, strict=True)]
        return [
            moved(sub, loss)
            for sub in subs
            if sub.value <= bound and all(low <= level for low, level in zip(sub.low, most, strict=True))
        ]

    def joined(self, part: Part, blocks: Any, options: list[list[Label]]) -> list[Label]:
        """A part over one label for each block, where some level suits all of them."""
        spare = part.ports - len(blocks)
        spent = part.cents + spare * self.close
        budget = self.allowed(tuple(leaf for block, _ in blocks for leaf in block))
        found = []
        for subs in product(*options):
            cents = spent + sum(sub.cents for sub in subs)
            if cents > budget:
                continue
            low = tuple(map(max, zip(*(sub.low for sub in subs), strict=True)))
            high = tuple(map(min, zip(self.most, *(sub.high for sub in subs), strict=True)))
            if any(a > b + ROUNDING_DB for a, b in zip(low, high, strict=True)):
                continue
            hung: list[list[Label]] = [[] for _ in part.groups]
            for (_, group), sub in zip(blocks, subs, strict=True):
                hung[group].append(sub)
            inner = [
                (part.groups[group][0] == THROUGH, sub.form)
                for (_, group), sub in zip(blocks, subs, strict=True)
            ]
            users = sum(count for name, count, _ in part.groups if name != THROUGH)
            goes = any(
                sub.thing[0] == "place" and part.groups[group][0] != THROUGH
                for (_, group), sub in zip(blocks, subs, strict=True)
            )
            below = tuple(sorted({one for sub in subs for one in sub.below}))
            if len({kind for kind, _ in below}) < len(below):
                # Alike floors, unlike closets.
                continue
            found.append(
                Label(
                    cents=cents,
                    low=low,
                    high=high,
                    spare=spare + sum(sub.spare for sub in subs),
                    ports=part.ports + sum(sub.ports for sub in subs),
                    own=spare + sum(sub.own for sub in subs),
                    value=part.value,
                    below=below,
                    form=(users, goes, tuple(sorted(one for one in inner if one[1]))) if self.forms else None,
                    thing=("part", part, tuple(tuple(sub.thing for sub in subs) for subs in hung)),
                )
            )
        return found
