"""What the devices of a menu offer, as table operations for the kernels.

A device with port groups (loss, count) can be used with any number of its ports; unused ports cost a
terminator. One port used: a *pad*. Several ports of one group: a *unary* entry over the table "m feeds
arrive". Several groups: the first group is the *head*, the others the *tail*. Devices with equal heads share
one tail table, so that a join of two sets costs one pass per head and not one per device.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from service.engine.errors import TableRangeError
from service.engine.placement.kernels import INF
from service.engine.placement.task import Choice, PlacementTask

Ints = np.ndarray[Any, np.dtype[np.int32]]
Used = tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Offers:
    """All menus of a task as flat arrays; `…_at` are the bounds of each menu's part.

    joins: (out, ta, sa, tb, sb, both). unary: (table, shift, used, cents). tails: (head, table, shift, used,
    cents). pads: (shift, cents). `unary_by`, `tails_by`, `pads_by` give (choice, ports used per group) for
    tracing. `bundles` maps a table index to its parts ((shift, ports), …).
    """

    plain: int
    heads: tuple[int, ...]
    joins: Ints
    join_at: Ints
    unary: Ints
    unary_at: Ints
    tails: Ints
    tail_at: Ints
    pads: Ints
    pad_at: Ints
    unary_by: tuple[tuple[Choice, tuple[int, ...]], ...]
    tails_by: tuple[tuple[Choice, tuple[int, ...]], ...]
    pads_by: tuple[tuple[Choice, tuple[int, ...]], ...]
    bundles: dict[int, Used] = field(default_factory=dict)


def grouped(choice: Choice) -> tuple[tuple[int, int], ...]:
    """The port groups in the order in which heads are chosen: fewest ports first, then least loss."""
    return tuple(sorted(choice.ports, key=lambda g: (g[1], g[0])))


def _ways_of_use(choice: Choice) -> list[tuple[int, ...]]:
    counts = [range(count + 1) for _, count in grouped(choice)]
    return [use for use in itertools.product(*counts) if any(use)]


class _Tables:
    """Numbers the tables: feed counts first, then bundles as they are met."""

    def __init__(self, most: int, halving: bool) -> None:
        self.joins: list[tuple[int, int, int, int, int, int]] = []
        self.bundles: dict[int, Used] = {m - 1: ((0, m),) for m in range(1, most + 1)}
        self._by_use: dict[Used, int] = {use: t for t, use in self.bundles.items()}
        for m in range(2, most + 1):
            left = (m + 1) // 2 if halving else 1
            self.joins.append((m - 1, left - 1, 0, m - left - 1, 0, 0))

    def of(self, use: Used) -> tuple[int, int]:
        """Table and shift that stand for the groups `use` = ((loss, ports used), …)."""
        shift = min(loss for loss, _ in use)
        key = tuple((loss - shift, ports) for loss, ports in use)
        if key not in self._by_use:
            (left, left_shift), (right, right_shift) = self.of(key[:1]), self.of(key[1:])
            table = len(self.bundles)
            self.bundles[table] = key
            self._by_use[key] = table
            self.joins.append((table, left, left_shift, right, right_shift, 1))
        return self._by_use[key], shift


_Found = dict[tuple[int, ...], tuple[int, Choice, tuple[int, ...]]]


def _keep(found: _Found, key: tuple[int, ...], cents: int, choice: Choice, use: tuple[int, ...]) -> None:
    if key not in found or (cents, choice.id) < (found[key][0], found[key][1].id):
        found[key] = (cents, choice, use)


def _without_chains(pads: _Found) -> _Found:
    """Drop pads that a chain of smaller kept pads replaces at no more cost."""
    kept: _Found = {}
    largest = max((key[0] for key in pads), default=0)
    chain = [0] + [INF] * largest
    for loss in range(1, largest + 1):
        chain[loss] = min([INF] + [chain[loss - key[0]] + kept[key][0] for key in kept])
        if (loss,) in pads and pads[(loss,)][0] < chain[loss]:
            kept[(loss,)] = pads[(loss,)]
            chain[loss] = pads[(loss,)][0]
    return kept


def _array(rows: list[tuple[int, ...]], width: int) -> Ints:
    return np.array(rows, dtype=np.int32).reshape(len(rows), width)


def arrange(task: PlacementTask, *, halving: bool) -> Offers:
    """Turn the menus into table operations.

    `halving` splits "m feeds" into two halves, right for intervals; without it one feed is taken off at a
    time, which is right for arbitrary subsets whose first outlet lies in the first part. Raises
    TableRangeError where a loss is negative or a price is outside the tables.
    """
    for choice in (c for menu in task.menus for c in menu):
        ports = sum(count for _, count in choice.ports)
        if choice.cents < 0 or choice.cents + ports * task.terminator_cents >= INF or ports < 1:
            raise TableRangeError(f"{choice.id}: price or ports outside the tables")
        if any(loss < 0 for loss, _ in choice.ports):
            raise TableRangeError(f"{choice.id}: a passive port cannot have gain")
    most = max((count for menu in task.menus for c in menu for _, count in c.ports), default=1)
    tables = _Tables(most, halving)
    heads: list[dict[tuple[int, int], int]] = []
    found: list[tuple[_Found, _Found, _Found]] = []
    for menu in task.menus:
        pads: _Found = {}
        unary: _Found = {}
        tails: _Found = {}
        head_of: dict[tuple[int, int], int] = {}
        for choice in menu:
            groups = grouped(choice)
            for use in _ways_of_use(choice):
                used = sum(use)
                cents = choice.cents + (sum(c for _, c in groups) - used) * task.terminator_cents
                parts = tuple((loss, ports) for (loss, _), ports in zip(groups, use, strict=True) if ports)
                if used == 1:
                    if parts[0][0] > 0:
                        _keep(pads, (parts[0][0],), cents, choice, use)
                elif len(parts) == 1:
                    table, shift = tables.of(parts)
                    _keep(unary, (table, shift, used), cents, choice, use)
                else:
                    head = head_of.setdefault(parts[0], len(head_of))
                    table, shift = tables.of(parts[1:])
                    _keep(tails, (head, table, shift, used), cents, choice, use)
        heads.append(head_of)
        found.append((_without_chains(pads), unary, tails))
    return _flatten(tables, heads, found)


def _flatten(
    tables: _Tables, heads: list[dict[tuple[int, int], int]], found: list[tuple[_Found, _Found, _Found]]
) -> Offers:
    plain = len(tables.bundles)
    joins: list[tuple[int, ...]] = list(tables.joins)
    join_at = [0, len(joins)]
    for head_of in heads:
        for (loss, ports), head in head_of.items():
            joins.append((0, ports - 1, loss, plain + head, 0, 1))
        join_at.append(len(joins))
    flat: list[list[tuple[int, ...]]] = [[], [], []]
    bounds: list[list[int]] = [[0], [0], [0]]
    by: list[list[tuple[Choice, tuple[int, ...]]]] = [[], [], []]
    for kinds in found:
        for kind, entries in enumerate(kinds):
            for key in sorted(entries):
                cents, choice, use = entries[key]
                flat[kind].append((*key, cents))
                by[kind].append((choice, use))
            bounds[kind].append(len(flat[kind]))
    at = [np.array(bound, dtype=np.int32) for bound in bounds]
    return Offers(
        plain=plain,
        heads=tuple(len(h) for h in heads),
        joins=_array(joins, 6),
        join_at=np.array(join_at, dtype=np.int32),
        pads=_array(flat[0], 2),
        pad_at=at[0],
        unary=_array(flat[1], 4),
        unary_at=at[1],
        tails=_array(flat[2], 5),
        tail_at=at[2],
        pads_by=tuple(by[0]),
        unary_by=tuple(by[1]),
        tails_by=tuple(by[2]),
        bundles=dict(tables.bundles),
    )
