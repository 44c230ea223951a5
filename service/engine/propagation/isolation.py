"""Isolation: the least loss between the outlets of two different users, found on the tree, per carrier.

Each pair of outlets meets at one device. A signal pushed into one outlet climbs to that device, crosses from
port to port with the isolation of the two groups, and comes down to the other outlet. Passive parts lose the
same both ways; an amplifier loses its reverse isolation upwards and gives its gain downwards. So it is enough
to know, at every port, the two nearest outlets of different users below it.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from service.engine.propagation.ladder import Ladder
from service.engine.propagation.levels import Levels
from service.engine.propagation.report import IsolationReport
from service.engine.signal.spectrum import Carrier

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_PAIRS_AT_ONCE = 4096
_NO_OUTLET = np.int64(-1)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Nearest:
    """At every port (rows × carriers): the two nearest outlets of different users and the loss to them.

    Loss is infinite and the outlet -1 where there is none.
    """

    loss: Floats
    outlet: Ints
    next_loss: Floats
    next_outlet: Ints


@dataclass(frozen=True, slots=True, kw_only=True)
class _Joins:
    """Pairs of ports of one device or feed with outlets below both: their rows and isolation row."""

    row_a: Ints
    row_b: Ints
    isolation_row: Ints
    isolation_db: Floats


def least_isolation(
    ladder: Ladder, levels: Levels, carriers: tuple[Carrier, ...]
) -> tuple[IsolationReport, ...]:
    """The least isolation between two users at each carrier; a carrier without two of them is left out.

    A part without a figure at a carrier counts as isolating two ports by the larger of their losses, and by
    nothing where both have gain: the least that passive sharing of a signal leaves.
    """
    count = len(carriers)
    names = sorted({served.user for served in ladder.outlets})
    if count == 0 or len(names) < 2:
        return ()
    index = {name: position for position, name in enumerate(names)}
    # One entry more, for "no outlet": position -1 reads the last.
    user = np.array([*(index[served.user] for served in ladder.outlets), -1], dtype=np.int64)
    # Columns without a carrier of the feed have no figures and, below, no outlets.
    down = np.nan_to_num(levels.path_gain_db[:, :count])
    absent = np.isnan(levels.level_dbmv[ladder.outlet_rows, :count])
    up = down + _upward_excess_db(ladder, levels, count)[ladder.row_stage]
    alive = _rows_with_outlets(ladder)
    joins = _joins(ladder, levels, alive, count)
    nearest_down = _nearest(ladder, down, absent, alive, user)
    crossed = _rows_above_amplifiers(ladder)
    mixed = crossed[joins.row_a] | crossed[joins.row_b]
    best = _Best(count)
    _search(best, joins, np.flatnonzero(~mixed), nearest_down, nearest_down, user)
    if mixed.any():
        nearest_up = _nearest(ladder, up, absent, alive, user)
        _search(best, joins, np.flatnonzero(mixed), nearest_up, nearest_down, user)
        _search(best, joins, np.flatnonzero(mixed), nearest_down, nearest_up, user)
    return best.reports(ladder, carriers)


def _upward_excess_db(ladder: Ladder, levels: Levels, count: int) -> Floats:
    """Gain of the way up less that of the way down, from the feed to every stage."""
    excess = np.zeros((len(ladder.stages), count))
    for position, stage in enumerate(ladder.stages):
        if stage.parent >= 0:
            active = ladder.parts[stage.device].active
            assert active is not None
            gain = np.nan_to_num(levels.gain_db[stage.gain_row, :count])
            excess[position] = excess[stage.parent] - active.reverse_isolation_db - gain
    return excess


def _rows_with_outlets(ladder: Ladder) -> NDArray[np.bool_]:
    alive = np.zeros(len(ladder.ports), dtype=np.bool_)
    alive[ladder.outlet_rows] = True
    for low, high in _depths_upwards(ladder):
        rows = slice(ladder.first_row[low], ladder.first_row[high])
        alive[ladder.run_row[ladder.row_device[rows][alive[rows]]]] = True
    return alive


def _rows_above_amplifiers(ladder: Ladder) -> NDArray[np.bool_]:
    """Ports below which an amplifier stands."""
    crossed = np.zeros(len(ladder.ports), dtype=np.bool_)
    active = np.array([part.active is not None for part in ladder.parts], dtype=np.bool_)
    for low, high in _depths_upwards(ladder):
        rows = slice(ladder.first_row[low], ladder.first_row[high])
        crossed[ladder.run_row[ladder.row_device[rows][crossed[rows]]]] = True
        crossed[ladder.run_row[low:high][active[low:high]]] = True
    return crossed


def _depths_upwards(ladder: Ladder) -> list[tuple[int, int]]:
    starts = [int(start) for start in ladder.depth_start]
    return list(pairwise(starts))[::-1]


def _nearest(
    ladder: Ladder, gain: Floats, absent: NDArray[np.bool_], alive: NDArray[np.bool_], user: Ints
) -> _Nearest:
    """The two nearest outlets below every port; `gain` is the gain from the feed, one way.

    `absent` (outlets × carriers) marks carriers that an outlet doesn't get.
    """
    shape = gain.shape
    best, second = np.full(shape, -np.inf), np.full(shape, -np.inf)
    outlet, other = np.full(shape, _NO_OUTLET), np.full(shape, _NO_OUTLET)
    best[ladder.outlet_rows] = np.where(absent, -np.inf, gain[ladder.outlet_rows])
    outlet[ladder.outlet_rows] = np.where(absent, _NO_OUTLET, np.arange(ladder.outlet_rows.size)[:, None])
    lists = (best, outlet, second, other)
    for low, high in _depths_upwards(ladder):
        rows = int(ladder.first_row[low]) + np.flatnonzero(
            alive[ladder.first_row[low] : ladder.first_row[high]]
        )
        owners = ladder.row_device[rows]
        starts = np.flatnonzero(np.diff(owners, prepend=-1))
        counts = np.diff(starts, append=rows.size)
        above = ladder.run_row[owners[starts]]
        single = counts == 1
        for values in lists:
            values[above[single]] = values[rows[starts[single]]]
        if not single.all():
            several = np.repeat(~single, counts)
            merged = _merged(tuple(v[rows[several]] for v in lists), counts[~single], user)
            for values, found in zip(lists, merged, strict=True):
                values[above[~single]] = found
    return _Nearest(loss=gain - best, outlet=outlet, next_loss=gain - second, next_outlet=other)


def _merged(
    lists: tuple[NDArray[np.generic], ...], counts: Ints, user: Ints
) -> tuple[NDArray[np.generic], ...]:
    """Merge the lists of the ports of each device: stretches of `counts` rows become one row each."""
    best, outlet, second, other = lists
    starts = np.concatenate(([0], np.cumsum(counts)[:-1]))
    stretch = np.repeat(np.arange(counts.size), counts)
    top, top_outlet = _stretch_best(best, outlet, starts, stretch)
    apart = user[outlet] != user[top_outlet][stretch]
    rest = np.where(apart, best, second)
    rest_outlet = np.where(apart, outlet, other)
    return top, top_outlet, *_stretch_best(rest, rest_outlet, starts, stretch)


def _stretch_best(
    value: NDArray[np.generic], outlet: NDArray[np.generic], starts: Ints, stretch: Ints
) -> tuple[Floats, Ints]:
    """Greatest value of each stretch and its outlet; the first outlet where several share it."""
    top = np.maximum.reduceat(value, starts, axis=0)
    holders = np.where(value == top[stretch], outlet, np.iinfo(np.int64).max)
    return top, np.minimum.reduceat(holders, starts, axis=0)


def _joins(ladder: Ladder, levels: Levels, alive: NDArray[np.bool_], count: int) -> _Joins:
    """Every pair of ports at which two outlets may meet."""
    rows = np.flatnonzero(alive)
    feeds = len(ladder.feeds)
    owner = np.where(ladder.row_device < 0, -1 - ladder.row_feed, ladder.row_device)[rows]
    starts = np.flatnonzero(np.diff(owner, prepend=owner[0] - 1))
    counts = np.diff(starts, append=rows.size)
    firsts, seconds = [], []
    for size in np.unique(counts[counts > 1]):
        a, b = np.triu_indices(int(size), k=1)
        begin = starts[counts == size][:, None]
        firsts.append(rows[begin + a].ravel())
        seconds.append(rows[begin + b].ravel())
    row_a = np.concatenate([np.empty(0, dtype=np.int64), *firsts])
    row_b = np.concatenate([np.empty(0, dtype=np.int64), *seconds])
    gain = np.where(ladder.row_gain < 0, -1 - ladder.row_feed, ladder.row_gain) + feeds
    width = feeds + len(ladder.gains)
    kinds, kind = np.unique(gain[row_a] * width + gain[row_b], return_inverse=True)
    table = [
        _isolation_db(ladder, levels, int(k) // width - feeds, int(k) % width - feeds, count) for k in kinds
    ]
    isolation = np.array(table).reshape(len(table), count)
    return _Joins(row_a=row_a, row_b=row_b, isolation_row=kind, isolation_db=isolation)


def _isolation_db(ladder: Ladder, levels: Levels, gain_a: int, gain_b: int, count: int) -> Floats:
    """Isolation of two gain rows of one part; of two outputs of a feed where the rows are negative."""
    if gain_a < 0:
        return np.full(count, ladder.feeds[-1 - gain_a].output_isolation_db)
    a, b = ladder.gains[gain_a], ladder.gains[gain_b]
    frequency = levels.frequency_mhz[:count]
    losses = np.maximum(-levels.gain_db[gain_a, :count], -levels.gain_db[gain_b, :count])
    least: Floats = np.maximum(np.nan_to_num(losses), 0.0)
    curve = a.part.isolation_between(a.group.name, b.group.name)
    if curve is None:
        return least
    inside = np.array([curve.covers(float(f)) for f in frequency])
    least[inside] = curve.at(frequency[inside])
    return least


class _Best:
    """The least isolation found so far at each carrier."""

    def __init__(self, count: int) -> None:
        self.isolation_db = np.full(count, np.inf)
        self.outlet_a = np.full(count, _NO_OUTLET)
        self.outlet_b = np.full(count, _NO_OUTLET)

    def offer(self, isolation_db: Floats, outlet_a: Ints, outlet_b: Ints) -> None:
        """Take what is smaller than before, carrier by carrier."""
        better = isolation_db < self.isolation_db
        self.isolation_db = np.where(better, isolation_db, self.isolation_db)
        self.outlet_a = np.where(better, outlet_a, self.outlet_a)
        self.outlet_b = np.where(better, outlet_b, self.outlet_b)

    def reports(self, ladder: Ladder, carriers: tuple[Carrier, ...]) -> tuple[IsolationReport, ...]:
        """One report for each carrier at which two users were found; outlets of a pair by id."""
        found = []
        for position, carrier in enumerate(carriers):
            if not np.isfinite(self.isolation_db[position]):
                continue
            pair = sorted((int(self.outlet_a[position]), int(self.outlet_b[position])))
            found.append(
                IsolationReport(
                    carrier=carrier.id,
                    frequency_mhz=carrier.frequency_mhz,
                    isolation_db=float(self.isolation_db[position]),
                    outlet_a=ladder.outlets[pair[0]].outlet,
                    outlet_b=ladder.outlets[pair[1]].outlet,
                )
            )
        return tuple(found)


def _search(best: _Best, joins: _Joins, chosen: Ints, side_a: _Nearest, side_b: _Nearest, user: Ints) -> None:
    """Offer the least of the chosen joins, `side_a` at their first ports and `side_b` at their second."""
    for begin in range(0, chosen.size, _PAIRS_AT_ONCE):
        part = chosen[begin : begin + _PAIRS_AT_ONCE]
        a, b = joins.row_a[part], joins.row_b[part]
        near_a, near_b = side_a.loss[a], side_b.loss[b]
        same = user[side_a.outlet[a]] == user[side_b.outlet[b]]
        loss = near_a + near_b
        a_next = near_b + side_a.next_loss[a]
        b_next = near_a + side_b.next_loss[b]
        loss = np.where(same, np.minimum(a_next, b_next), loss)
        loss += joins.isolation_db[joins.isolation_row[part]]
        worst = np.argmin(loss, axis=0)
        at = np.arange(loss.shape[1])
        swap_a = same[worst, at] & (a_next[worst, at] <= b_next[worst, at])
        swap_b = same[worst, at] & ~swap_a
        outlet_a = np.where(swap_a, side_a.next_outlet[a[worst], at], side_a.outlet[a[worst], at])
        outlet_b = np.where(swap_b, side_b.next_outlet[b[worst], at], side_b.outlet[b[worst], at])
        best.offer(loss[worst, at], outlet_a, outlet_b)
