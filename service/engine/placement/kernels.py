"""The switch to compiled code, what stands for "cannot be done", and the loops of the policy programme.

Nothing else in the house imports numba: modules with loops of their own take `compiled` from here.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

import numpy as np
from numba import njit

INF = 1 << 29
"""Cents that stand for "cannot be done". Two of them still fit into 32 bits."""

Ints = np.ndarray[Any, np.dtype[np.int32]]


_Function = TypeVar("_Function", bound=Callable[..., Any])
_KERNELS: list[Any] = []
_FOLDERS: list[str] = []


def compiled(function: _Function) -> _Function:
    """Compile at the first call, without holding the interpreter's lock while running."""
    kernel = njit(nogil=True)(function)
    _KERNELS.append(kernel)
    if _FOLDERS:
        kernel.enable_caching()
    return cast(_Function, kernel)


def enable_cache(folder: str) -> bool:
    """Keep compiled code in `folder`; for composition roots only, before the first call.

    Returns False, and leaves everything as it was, where the folder cannot be written: importing this module
    never touches the disk.
    """
    from numba import config

    try:
        Path(folder).mkdir(parents=True, exist_ok=True)
        probe = Path(folder) / ".probe"
        probe.write_bytes(b"")
        probe.unlink()
    except OSError:
        return False
    vars(config)["CACHE_DIR"] = folder
    _FOLDERS.append(folder)
    for kernel in _KERNELS:
        kernel.enable_caching()
    return True


Longs = np.ndarray[Any, np.dtype[np.int64]]


@compiled
def _panel_cost(
    windows: Longs, order: Longs, cents: Longs, pieces: Longs, first: int, past: int, table: Longs
) -> None:
    """Least cost over D of one item's panel into `table`, its drops hung in `order`; recipes first … past.

    A recipe costs the same wherever all its drops are inside.
    """
    depth = table.shape[0]
    for recipe in range(first, past):
        low, high = 0, depth - 1
        for place in range(pieces.shape[1]):
            if pieces[recipe, place, 0] >= 0:
                steps = pieces[recipe, place, 2]
                for at in range(pieces[recipe, place, 0], pieces[recipe, place, 1]):
                    low = max(low, windows[order[at], 0] - steps)
                    high = min(high, windows[order[at], 1] - steps)
        for lost in range(low, high + 1):
            if cents[recipe] < table[lost]:
                table[lost] = cents[recipe]


@compiled
def _sorted_rows(keys: Longs, ties: Longs) -> Longs:
    """Positions by rising key, then tie, then position."""
    order = np.arange(keys.shape[0])
    for at in range(1, keys.shape[0]):
        moving = order[at]
        back = at
        while back > 0:
            before = order[back - 1]
            if keys[before] < keys[moving]:
                break
            if keys[before] == keys[moving] and ties[before] <= ties[moving]:
                break
            order[back] = before
            back -= 1
        order[back] = moving
    return order


@compiled
def item_tables(
    windows: Longs,
    bounds: Longs,
    kinds: Longs,
    cents: Longs,
    pieces: Longs,
    firsts: Longs,
    depth: int,
    none: int,
) -> tuple[Longs, Longs]:
    """Cost over D of each item of a closet, the item with the least budget first, and that order.

    `windows[w]` are the least and largest D of a drop; item i has the drops bounds[i] … bounds[i + 1].
    `cents[r]` and `pieces[r]` (rows of first drop, past last, steps; −1 where there is none) are the panel recipes,
    those of class k from firsts[k] to firsts[k + 1]; `kinds[i]` is item i's class.
    """
    count = bounds.shape[0] - 1
    budgets = np.empty(count, dtype=np.int64)
    for item in range(count):
        budgets[item] = np.min(windows[bounds[item] : bounds[item + 1], 1])
    order = _sorted_rows(budgets, np.zeros(count, dtype=np.int64))
    tables = np.full((count, depth), none, dtype=np.int64)
    for row in range(count):
        item = order[row]
        own = windows[bounds[item] : bounds[item + 1]]
        kind = kinds[item]
        hung = _sorted_rows(own[:, 1], own[:, 0])
        _panel_cost(own, hung, cents, pieces, firsts[kind], firsts[kind + 1], tables[row])
    return tables, order


@compiled
def recipe_groups(
    tables: Longs, spans: Longs, cents: Longs, pieces: Longs, group_of: Longs, groups: int, none: int
) -> tuple[Longs, Longs]:
    """Least cost over D for each group of recipes, and which recipe gives it (the first on a tie).

    `tables[i, D]` is the cost of the i-th local; `spans[s]` the locals first … past of load s; `pieces[r]` rows
    (s, steps) of recipe r, −1 where there is none; `group_of[r]` its group; `none` what cannot be done.
    """
    depth = tables.shape[1]
    loads = np.zeros((spans.shape[0], depth), dtype=np.int64)
    ranges = np.zeros((spans.shape[0], 2), dtype=np.int64)
    for span in range(spans.shape[0]):
        for local in range(spans[span, 0], spans[span, 1]):
            for lost in range(depth):
                loads[span, lost] += tables[local, lost]
        low, high = depth, 0
        for lost in range(depth):
            if loads[span, lost] < none:
                low = min(low, lost)
                high = lost + 1
        ranges[span, 0] = low
        ranges[span, 1] = high
    best = np.full((groups, depth), none, dtype=np.int64)
    which = np.zeros((groups, depth), dtype=np.int64)
    for recipe in range(cents.shape[0]):
        low, high = 0, depth
        for place in range(pieces.shape[1]):
            span = pieces[recipe, place, 0]
            if span >= 0:
                low = max(low, ranges[span, 0] - pieces[recipe, place, 1])
                high = min(high, ranges[span, 1] - pieces[recipe, place, 1])
        group = group_of[recipe]
        for lost in range(low, high):
            total = cents[recipe]
            for place in range(pieces.shape[1]):
                span = pieces[recipe, place, 0]
                if span >= 0:
                    total += loads[span, lost + pieces[recipe, place, 1]]
            if total < best[group, lost]:
                best[group, lost] = total
                which[group, lost] = recipe
    return best, which


@compiled
def continue_legs(
    rows: Longs, costs: Longs, steps: Longs, below: Longs, cents: int, size: int, whole: bool, none: int
) -> None:
    """Grow legs by a closet: `rows` takes the least of own cost + run + the legs `below`, moved along D.

    `costs[g, D]` and `steps[g]` are the closet's groups, landing included. A leg of n closets below becomes one
    of n + `size`; the last row stays the last row, and counts only where `whole` is set.
    """
    count, depth = rows.shape
    for group in range(costs.shape[0]):
        lost = steps[group]
        low, high = depth, 0
        for here in range(depth - lost):
            if costs[group, here] < none:
                low = min(low, here)
                high = here + 1
        for row in range(size, count):
            source = row - size
            if row == count - 1:
                if not whole:
                    continue
                source = row
            for here in range(low, high):
                total = costs[group, here] + cents + below[source, here + lost]
                if total < rows[row, here]:
                    rows[row, here] = total


@compiled
def share_legs(
    legs: Longs, landing: Longs, runs: Longs, last: Longs, empty: Longs, most_feeds: int, none: int
) -> Longs:
    """`result[k, x, D]`: least cost of serving closets x … end by k legs that start together.

    `legs[x, r, D]` is the cost of a leg from closet x covering r + 1 closets (the last r: everything below it,
    which ends at `last[x]`), reached by a run that costs `runs[x]` and loses `landing[x]`; `empty[x]` says that
    closet x needs no leg. The closets run from 0 to n − 1, and `result[0, n]` is free.
    """
    count, rows, depth = legs.shape
    result = np.full((most_feeds + 1, count + 1, depth), none, dtype=np.int64)
    result[0, count] = 0
    for here in range(count - 1, -1, -1):
        lost = landing[here]
        for feeds in range(1, most_feeds + 1):
            target = result[feeds, here]
            for row in range(rows):
                after = last[here] + 1 if row == rows - 1 else here + row + 1
                if after > last[here] + 1:
                    continue
                rest = result[feeds - 1, after]
                leg = legs[here, row]
                for at in range(depth - lost):
                    total = leg[at + lost] + runs[here] + rest[at]
                    if total < target[at]:
                        target[at] = total
            if empty[here]:
                for at in range(depth):
                    if result[feeds, here + 1, at] < target[at]:
                        target[at] = result[feeds, here + 1, at]
    return result


@compiled
def pad_legs(legs: Longs, steps: Longs, cents: Longs, none: int) -> Longs:
    """The legs with a pad ahead of each where the feed is too strong for it without: `steps[p]` and `cents[p]`."""
    padded = legs.copy()
    depth = legs.shape[1]
    for row in range(legs.shape[0]):
        low = 0
        while low < depth and legs[row, low] >= none:
            low += 1
        if low == depth:
            continue
        for pad in range(steps.shape[0]):
            for here in range(max(0, low - steps[pad]), low):
                if here + steps[pad] < depth:
                    total = legs[row, here + steps[pad]] + cents[pad]
                    if total < padded[row, here]:
                        padded[row, here] = total
    return padded


@compiled
def split_legs(row: Longs, costs: Longs, steps: Longs, onward: Longs, none: int) -> None:
    """`row` takes the least of a closet's own cost and what its several onward feeds cost, moved along D."""
    depth = row.shape[0]
    for group in range(costs.shape[0]):
        lost = steps[group]
        for here in range(depth - lost):
            if costs[group, here] < none:
                total = costs[group, here] + onward[here + lost]
                if total < row[here]:
                    row[here] = total


@compiled
def lift_legs(
    rows: Longs,
    table: Longs,
    cents: int,
    deepest: int,
    low: int,
    count: int,
    stride: int,
    first: int,
    past: int,
) -> None:
    """Let an amplifier stand first: `rows` takes cents + the least of `table` at D + low, D + low + stride, ….

    There are `count` settings, and none deeper than `deepest`. Counts for D from `first` to `past` alone. For
    each remainder of D by the stride a window slides over D and keeps its candidates in a queue, each dearer than
    the one before.
    """
    depth = rows.shape[1]
    deepest = min(deepest, depth - 1)
    queue = np.empty(depth + 1, dtype=np.int64)
    for row in range(rows.shape[0]):
        for start in range(first, min(first + stride, past)):
            head, tail = 0, 0
            fresh = start + low
            for lost in range(start, past, stride):
                while fresh <= lost + low + (count - 1) * stride:
                    if 0 <= fresh <= deepest:
                        while tail > head and table[row, queue[tail - 1]] >= table[row, fresh]:
                            tail -= 1
                        queue[tail] = fresh
                        tail += 1
                    fresh += stride
                while tail > head and queue[head] < lost + low:
                    head += 1
                if tail > head:
                    total = cents + table[row, queue[head]]
                    if total < rows[row, lost]:
                        rows[row, lost] = total
