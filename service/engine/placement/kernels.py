"""The compiled inner loops of the placement programme, and `compiled`; nothing else in the house imports
numba.

Layout. `tables[row, t, D]` holds cents as 32-bit integers. A row is a set of outlets at the lowest spot that
holds them all. t = 0: one feed arrives; t = m − 1: m feeds arrive, all used; then bundles of unequal port
groups; then one tail table per head of the menu. Every feed is priced with its cable all the way from
the root of the block ("rooted" cost), so passing a spot changes nothing and a device with u used ports at a
spot with cable cost R from the root gets the credit (u − 1)·R.
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


def compiled(function: _Function) -> _Function:
    """Compile at the first call, without holding the interpreter's lock while running."""
    kernel = njit(nogil=True)(function)
    _KERNELS.append(kernel)
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
    for kernel in _KERNELS:
        kernel.enable_caching()
    return True


@compiled
def _last(vector: Ints) -> int:
    """One past the last entry that can be done."""
    d: int = len(vector)
    while d > 0 and vector[d - 1] >= INF:
        d -= 1
    return d


@compiled
def _least(out: Ints, left: Ints, right: Ints, n: int) -> None:
    """out[d] = min(out[d], left[d] + right[d]); INF + anything stays at or above INF."""
    for d in range(n):
        # Kept at 32 bits in so many words: else the sum is widened and the loop runs four times slower.
        x = np.int32(left[d] + right[d])
        y = out[d]
        out[d] = x if x < y else y


@compiled
def _shifted(out: Ints, source: Ints, n: int, cents: int) -> None:
    """out[d] = min(out[d], source[d] + cents) where source can be done."""
    c = np.int32(cents)
    inf = np.int32(INF)
    for d in range(n):
        x = source[d]
        x = np.int32(x + c) if x < inf else inf
        y = out[d]
        out[d] = x if x < y else y


@compiled
def _join(tables: Ints, ends: Ints, joins: Ints, start: int, stop: int, row: int, one: int, two: int) -> None:
    """Combine the parts `one` and `two` of a set into the tables of `row`, by joins (out, ta, sa, tb, sb,
    both).
    """
    for j in range(start, stop):
        out, ta, sa, tb, sb = joins[j, 0], joins[j, 1], joins[j, 2], joins[j, 3], joins[j, 4]
        n = min(ends[one, ta] - sa, ends[two, tb] - sb)
        if n > 0:
            _least(tables[row, out], tables[one, ta, sa:], tables[two, tb, sb:], n)
        if joins[j, 5]:
            n = min(ends[two, ta] - sa, ends[one, tb] - sb)
            if n > 0:
                _least(tables[row, out], tables[two, ta, sa:], tables[one, tb, sb:], n)


@compiled
def _finish(
    tables: Ints,
    ends: Ints,
    row: int,
    plain: int,
    unary: Ints,
    u0: int,
    u1: int,
    pads: Ints,
    p0: int,
    p1: int,
    rooted: int,
) -> None:
    """Close a row: devices with one port group in use, then pads from the largest D downward."""
    one = tables[row, 0]
    steps = one.shape[0]
    for t in range(1, plain):
        ends[row, t] = _last(tables[row, t])
    for e in range(u0, u1):
        t, s = unary[e, 0], unary[e, 1]
        n = ends[row, t] - s
        if n > 0:
            _shifted(one, tables[row, t, s:], n, unary[e, 3] - (unary[e, 2] - 1) * rooted)
    for d in range(steps - 1, -1, -1):
        best = one[d]
        for e in range(p0, p1):
            at = d + pads[e, 0]
            if at < steps and one[at] < INF:
                best = min(best, one[at] + pads[e, 1])
        one[d] = best
    ends[row, 0] = _last(one)


@compiled
def _tails(
    tables: Ints, ends: Ints, row: int, plain: int, heads: int, tails: Ints, t0: int, t1: int, rooted: int
) -> None:
    """The tail tables of a row for the menu of a spot: what the ports beside the head cost when they serve
    it.
    """
    for h in range(heads):
        tables[row, plain + h, :] = INF
    for e in range(t0, t1):
        h, t, s = tails[e, 0], tails[e, 1], tails[e, 2]
        n = ends[row, t] - s
        if n > 0:
            _shifted(tables[row, plain + h], tables[row, t, s:], n, tails[e, 4] - (tails[e, 3] - 1) * rooted)
    for h in range(heads):
        ends[row, plain + h] = _last(tables[row, plain + h])


@compiled
def _allowed(i: int, j: int, reach: int, edge: Ints, open_end: bool) -> bool:
    """Whether the class holds the interval [i, j): short, or ending (if asked also starting) at a spot's
    edge.
    """
    return j - i <= reach or edge[j] != 0 or (open_end and edge[i] != 0)


@compiled
def list_rows(
    spots: Ints,
    owner: Ints,
    turn: Ints,
    turn_at: Ints,
    edge: Ints,
    reach: int,
    open_end: bool,
    most_splits: int,
    rows: Ints,
    first: Ints,
) -> tuple[int, int]:
    """List the intervals of a block in the order of work and count their splits.

    `spots[v]` = (lo, hi, start of the last child, …) in postorder; `turn[turn_at[v] + i − lo]` is the end of
    the child that holds position i. Rows (i, j, spot) are written when `rows` is long enough; `first[v]` is
    the first row of spot v. Returns (number of rows, number of splits); stops short beyond `most_splits`.
    """
    count = 0
    splits = 0
    for v in range(spots.shape[0]):
        first[v] = count
        lo, hi, last = spots[v, 0], spots[v, 1], spots[v, 2]
        for i in range(hi - 1, lo - 1, -1):
            if owner[i] == v:
                if count < rows.shape[0]:
                    rows[count, 0], rows[count, 1], rows[count, 2] = i, i + 1, v
                count += 1
            if i >= last:
                continue
            for j in range(turn[turn_at[v] + i - lo] + 1, hi + 1):
                if not _allowed(i, j, reach, edge, open_end):
                    continue
                if count < rows.shape[0]:
                    rows[count, 0], rows[count, 1], rows[count, 2] = i, j, v
                count += 1
                for m in range(i + 1, j):
                    if _allowed(i, m, reach, edge, open_end) and _allowed(m, j, reach, edge, open_end):
                        splits += 1
                if splits > most_splits:
                    return count, splits
    first[spots.shape[0]] = count
    return count, splits


@compiled
def _split(
    tables: Ints,
    ends: Ints,
    rows: Ints,
    row: int,
    index: Ints,
    subsets: bool,
    joins: Ints,
    join_at: Ints,
    menu: int,
) -> None:
    """Join all splits of the set of a row in two parts; the first outlet of a subset lies in the first part."""
    i, j = rows[row, 0], rows[row, 1]
    if subsets:
        rest = i & (i - 1)
        part = rest
        while part > 0:
            one, two = index[0, i ^ part], index[0, part]
            _join(tables, ends, joins, join_at[0], join_at[1], row, one, two)
            _join(tables, ends, joins, join_at[menu + 1], join_at[menu + 2], row, one, two)
            part = (part - 1) & rest
    else:
        for m in range(i + 1, j):
            one, two = index[i, m], index[m, j]
            if one >= 0 and two >= 0:
                _join(tables, ends, joins, join_at[0], join_at[1], row, one, two)
                _join(tables, ends, joins, join_at[menu + 1], join_at[menu + 2], row, one, two)


@compiled
def fill(
    tables: Ints,
    ends: Ints,
    rows: Ints,
    first: Ints,
    under: Ints,
    spots: Ints,
    index: Ints,
    base: Ints,
    edge: Ints,
    tail_reach: int,
    subsets: bool,
    plain: int,
    joins: Ints,
    join_at: Ints,
    unary: Ints,
    unary_at: Ints,
    tails: Ints,
    tail_at: Ints,
    pads: Ints,
    pad_at: Ints,
) -> None:
    """Fill every row of a block, spot by spot from the leaves to the root.

    `spots[v]` = (lo, hi, last, menu, rooted cents, heads of the menu); `under[v]` is the first row of the
    subtree of v. `join_at[0] … join_at[1]` are the joins for feed counts and bundles, menu k has the head
    joins `join_at[k + 1] … join_at[k + 2]`. With `subsets` rows are bit masks (column 0) and `index[0, mask]`
    finds them; else rows are intervals and `index[i, j]` finds them. Column 3 of a row is its atom, or −1.
    Intervals that start beyond `tail_reach` past the own part of a spot, and not at an edge, are in no split
    there.
    """
    tables[:, :, :] = INF
    ends[:, :] = 0
    for v in range(spots.shape[0]):
        last, k, rooted, heads = spots[v, 2], spots[v, 3], spots[v, 4], spots[v, 5]
        for row in range(under[v], first[v]):
            start = rows[row, 0]
            if subsets or edge[start] != 0 or start <= last + tail_reach:
                _tails(tables, ends, row, plain, heads, tails, tail_at[k], tail_at[k + 1], rooted)
        for row in range(first[v], first[v + 1]):
            if rows[row, 3] >= 0:
                tables[row, 0, :] = base[rows[row, 3], :]
            else:
                _split(tables, ends, rows, row, index, subsets, joins, join_at, k)
            _finish(
                tables,
                ends,
                row,
                plain,
                unary,
                unary_at[k],
                unary_at[k + 1],
                pads,
                pad_at[k],
                pad_at[k + 1],
                rooted,
            )
            _tails(tables, ends, row, plain, heads, tails, tail_at[k], tail_at[k + 1], rooted)


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
    windows: Longs, bounds: Longs, cents: Longs, pieces: Longs, firsts: Longs, depth: int, none: int
) -> tuple[Longs, Longs]:
    """Cost over D of each item of a closet, the item with the least budget first, and that order.

    `windows[w]` are the least and largest D of a drop; item i has the drops bounds[i] … bounds[i + 1].
    `cents[r]` and `pieces[r]` (rows of first drop, past last, steps; −1 where there is none) are the panel recipes,
    those for m drops from firsts[m] to firsts[m + 1].
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
        drops = own.shape[0]
        hung = _sorted_rows(own[:, 1], own[:, 0])
        _panel_cost(own, hung, cents, pieces, firsts[drops], firsts[drops + 1], tables[row])
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
def lift_legs(rows: Longs, table: Longs, cents: int, low: int, high: int, first: int, past: int) -> None:
    """Let an amplifier stand first: `rows` takes cents + the least of `table` from D + low to D + high.

    Counts for D from `first` to `past` alone. A window that slides over D keeps its candidates in a queue, each
    dearer than the one before.
    """
    count, depth = rows.shape
    queue = np.empty(depth, dtype=np.int64)
    for row in range(count):
        head, tail, fresh = 0, 0, 0
        for lost in range(first, past):
            while fresh < depth and fresh <= lost + high:
                while tail > head and table[row, queue[tail - 1]] >= table[row, fresh]:
                    tail -= 1
                queue[tail] = fresh
                tail += 1
                fresh += 1
            while tail > head and queue[head] < lost + low:
                head += 1
            if tail > head:
                total = cents + table[row, queue[head]]
                if total < rows[row, lost]:
                    rows[row, lost] = total
