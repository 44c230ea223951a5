"""The compiled searches that find, by exact equality of integers, which step gave an entry of the tables."""

from __future__ import annotations

from service.engine.placement.kernels import INF, Ints, compiled


@compiled
def splits_of(row: int, rows: Ints, index: Ints, subsets: bool, out: Ints) -> int:
    """Write the splits (row of one part, row of the other) of a row; returns how many there are."""
    i, j = rows[row, 0], rows[row, 1]
    n = 0
    if subsets:
        rest = i & (i - 1)
        part = rest
        while part > 0:
            out[n, 0], out[n, 1] = index[0, i ^ part], index[0, part]
            n += 1
            part = (part - 1) & rest
    else:
        for m in range(i + 1, j):
            if index[i, m] >= 0 and index[m, j] >= 0:
                out[n, 0], out[n, 1] = index[i, m], index[m, j]
                n += 1
    return n


@compiled
def find_join(
    tables: Ints, joins: Ints, start: int, stop: int, splits: Ints, out: int, d: int, want: int
) -> tuple[int, int, int]:
    """Find the join and split that gave `want` at D = d in table `out`: (join, row of left, row of right)
    or −1.
    """
    steps = tables.shape[2]
    for x in range(splits.shape[0]):
        for j in range(start, stop):
            if joins[j, 0] != out:
                continue
            ta, da, tb, db = joins[j, 1], d + joins[j, 2], joins[j, 3], d + joins[j, 4]
            if da >= steps or db >= steps:
                continue
            for turn in range(1 + joins[j, 5]):
                left, right = splits[x, turn], splits[x, 1 - turn]
                if tables[left, ta, da] + tables[right, tb, db] == want:
                    return j, left, right
    return -1, -1, -1


@compiled
def find_head(
    tables: Ints,
    joins: Ints,
    start: int,
    stop: int,
    splits: Ints,
    tails: Ints,
    t0: int,
    t1: int,
    plain: int,
    rooted: int,
    d: int,
    want: int,
) -> tuple[int, int, int, int]:
    """Find the device with two or more port groups in use that gave `want` for one feed at D = d.

    Works from the tables of feed counts alone, because tail tables are overwritten by higher spots.
    Returns (head join, tail entry, row on the head, row on the tail) or −1s.
    """
    steps = tables.shape[2]
    for x in range(splits.shape[0]):
        for j in range(start, stop):
            ta, da = joins[j, 1], d + joins[j, 2]
            if da >= steps:
                continue
            for turn in range(2):
                left, right = splits[x, turn], splits[x, 1 - turn]
                need = want - tables[left, ta, da]
                if tables[left, ta, da] >= INF:
                    continue
                for e in range(t0, t1):
                    at = d + tails[e, 2]
                    if tails[e, 0] != joins[j, 3] - plain or at >= steps:
                        continue
                    if (
                        tables[right, tails[e, 1], at] < INF
                        and tables[right, tails[e, 1], at] + tails[e, 4] - (tails[e, 3] - 1) * rooted == need
                    ):
                        return j, e, left, right
    return -1, -1, -1, -1
