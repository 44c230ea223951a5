"""The compiled loops of the placement programme: list the rows of a block, fill their tables.

Layout. `tables[row, t, D]` holds cents as 32-bit integers. A row is a set of outlets at the lowest spot that
holds them all. t = 0: one feed arrives; t = m − 1: m feeds arrive, all used; then bundles of unequal port
groups; then one tail table per head of the menu. Every feed is priced with its cable all the way from
the root of the block ("rooted" cost), so passing a spot changes nothing and a device with u used ports at a
spot with cable cost R from the root gets the credit (u − 1)·R.
"""

from __future__ import annotations

import numpy as np

from service.engine.placement.kernels import INF, Ints, compiled


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
    """Join all splits of a row's set into two parts; the first outlet of a subset lies in the first part."""
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
