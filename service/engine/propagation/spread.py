"""Spread: what tolerances and temperature do to the level at every outlet, and in how many cases all pass."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from service.engine.propagation.climate import AMBIENT_C, loss_share_at
from service.engine.propagation.draws import DRAWS, own_errors, shared_shares, triangular
from service.engine.propagation.ladder import Ladder
from service.engine.propagation.levels import Levels
from service.engine.propagation.report import SpreadReport
from service.engine.signal.spectrum import Carrier

Floats = NDArray[np.float64]
Reals = NDArray[np.float32]
Ints = NDArray[np.int64]

#: Up to here a part's `tolerance_db` holds, above it `tolerance_high_db`.
TOLERANCE_STEP_MHZ = 500.0
_AMBIENTS = tuple(sorted(AMBIENT_C))
_OUTLETS_AT_ONCE = 1024
_LEVELS_AT_ONCE = 1024
#: Carriers on either side of the tolerance step at which percentiles are taken.
_KNOTS = 3
_TAIL = round(0.05 * (DRAWS - 1))


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """What is uncertain. `spread` off leaves the spread out of the report.

    `length_share` is the error of lengths: 0.03 walked, 0.10 from drawings, 0.25 from an outline.
    `cable_share` is the error of cable loss (assumed), `off_air_db` and `provider_db` that of a source.
    Source: common practice.
    """

    spread: bool = True
    length_share: float = 0.10
    cable_share: float = 0.05
    off_air_db: float = 3.0
    provider_db: float = 2.0


#: Lengths taken from drawings.
AS_DRAWN = Conditions()


@dataclass(frozen=True, slots=True, kw_only=True)
class OutletLimits:
    """Lowest and highest level that passes, in dBmV.

    Arrays of outlets × carriers, or anything that broadcasts to it (one row for all outlets, say): outlets by
    id, carriers by frequency, then id. NaN or infinity where nothing is asked.
    """

    low_dbmv: Floats
    high_dbmv: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shared:
    """Errors that more than one part or run has, each row × draws.

    `part` by kind of part, `cable` by cable, `length` alone, `warmth` the excess of loss by ambient, `source`
    in dB by feed and carrier.
    """

    part: Reals
    cable: Reals
    length: Reals
    warmth: Reals
    source: Reals


def spread_levels(
    ladder: Ladder,
    levels: Levels,
    carriers: tuple[Carrier, ...],
    conditions: Conditions,
    limits: OutletLimits,
) -> SpreadReport:
    """Levels under tolerances and temperature, and the share of draws in which every outlet passes.

    Every error is triangular between its bounds, half common to its type and half its own; temperature is
    even between the cold and the hot end of each ambient. Pairs of outlet and carrier that no draw can push
    over a limit are told apart by exact bounds and not tried.
    """
    count = len(carriers)
    nominal = levels.level_dbmv[ladder.outlet_rows, :count]
    low = np.broadcast_to(_asked(limits.low_dbmv, -np.inf), nominal.shape)
    high = np.broadcast_to(_asked(limits.high_dbmv, np.inf), nominal.shape)
    kinds = {part: n for n, part in enumerate(sorted({part.id for part in ladder.parts}))}
    kind = np.array([kinds[part.id] for part in ladder.parts], dtype=np.int64)
    shared = _shared_errors(ladder, conditions, len(kinds), count)
    weights = _weights(levels, count).astype(np.float32)
    knots, between = _knots(levels.frequency_mhz[:count])
    lowest, highest = np.full(nominal.shape, np.nan), np.full(nominal.shape, np.nan)
    failed = np.zeros(DRAWS, dtype=np.bool_)
    for outlets, errors in _outlet_errors(ladder, conditions, shared, kind):
        step = max(1, _LEVELS_AT_ONCE // max(count, 1))
        for begin in range(0, outlets.size, step):
            some = outlets[begin : begin + step]
            source = shared.source[ladder.row_feed[ladder.outlet_rows[some]]]
            bounds = low[some] - nominal[some], high[some] - nominal[some]
            failed |= _failed(errors[begin : begin + step], source, weights, bounds)
            shift = np.matmul(weights[knots], errors[begin : begin + step]) + source[:, knots]
            # A full sort: numpy's is several times faster than its partition at two places.
            shift.sort(axis=-1)
            lowest[some] = nominal[some] + shift[..., _TAIL] @ between
            highest[some] = nominal[some] + shift[..., DRAWS - 1 - _TAIL] @ between
    cold, hot = (_at_temperature_end(ladder, levels, nominal, end) for end in (0, 1))
    return SpreadReport(
        draws=DRAWS,
        yield_share=1.0 - float(np.count_nonzero(failed)) / DRAWS,
        low_dbmv=lowest,
        high_dbmv=highest,
        hot_dbmv=hot,
        cold_dbmv=cold,
        statement=_statement(conditions),
    )


def _asked(limit_dbmv: Floats, silent: float) -> Floats:
    limit = np.asarray(limit_dbmv, dtype=np.float64)
    return np.where(np.isnan(limit), silent, limit)


def _statement(conditions: Conditions) -> str:
    return (
        f"{DRAWS} fixed draws. Each error is triangular between its bounds, half common to its type and half "
        "its own: parts and amplifier gain by their own tolerance, "
        f"lengths ±{conditions.length_share:.0%}, cable loss ±{conditions.cable_share:.0%}, "
        f"source ±{conditions.off_air_db:g} dB off-air or ±{conditions.provider_db:g} dB from a provider "
        "(half common to the carriers). Temperature even between the ends of each ambient, cable loss "
        "growing 0.2 % per °C. Shared errors by a low-discrepancy sequence (Richtmyer), own errors by a "
        "fixed Latin hypercube on the van der Corput set."
    )


def _shared_errors(ladder: Ladder, conditions: Conditions, kinds: int, carriers: int) -> _Shared:
    cables, feeds = len(ladder.cables), len(ladder.feeds)
    share = shared_shares(feeds + 1 + len(_AMBIENTS) + cables + kinds)
    source, length, warmth, cable, part = np.split(share, np.cumsum([feeds, 1, len(_AMBIENTS), cables]))
    ends = np.array([AMBIENT_C[ambient] for ambient in _AMBIENTS])
    temperature = ends[:, :1] + (ends[:, 1:] - ends[:, :1]) * warmth
    bound = np.array(
        [conditions.off_air_db if feed.kind == "off-air" else conditions.provider_db for feed in ladder.feeds]
    )
    # Variables 0 … 3·devices − 1 are the devices' and runs' own; the carriers' own follow.
    own = own_errors(3 * len(ladder.devices) + np.arange(feeds * carriers)).reshape(feeds, carriers, DRAWS)
    both = 0.5 * (triangular(source)[:, None, :] + own)
    return _Shared(
        part=(0.5 * triangular(part)).astype(np.float32),
        cable=(0.5 * conditions.cable_share * triangular(cable)).astype(np.float32),
        length=(0.5 * conditions.length_share * triangular(length)).astype(np.float32)[0],
        warmth=loss_share_at(temperature).astype(np.float32),
        source=(bound[:, None, None] * both).astype(np.float32),
    )


def _weights(levels: Levels, carriers: int) -> Floats:
    """Carriers × kinds of error: each cable's loss per metre, then parts' errors below and above the step."""
    frequency = levels.frequency_mhz[:carriers]
    above = frequency > TOLERANCE_STEP_MHZ
    return np.column_stack([_lengthwise(levels, carriers).T, ~above, above]).astype(np.float64)


def _lengthwise(levels: Levels, carriers: int) -> Floats:
    """Loss per metre, cables × carriers; 0 where no such carrier passes the cable."""
    return np.nan_to_num(levels.cable_db_per_m[:, :carriers])


def _outlet_errors(
    ladder: Ladder, conditions: Conditions, shared: _Shared, kind: Ints
) -> Iterator[tuple[Ints, Reals]]:
    """Outlets in stretches along the tree, and their errors: outlets × kinds of error × draws.

    Errors of cables are metres of cable that the path seems longer, negative as they lower the level.
    """
    order = _along_the_tree(ladder)
    for begin in range(0, order.size, _OUTLETS_AT_ONCE):
        outlets = order[begin : begin + _OUTLETS_AT_ONCE]
        at = ladder.row_device[ladder.outlet_rows[outlets]]
        devices = _with_ancestors(ladder, at[at >= 0])
        path = _path_errors(ladder, conditions, shared, kind, devices)
        place = np.full(len(ladder.devices) + 1, devices.size, dtype=np.int64)
        place[devices] = np.arange(devices.size)
        yield outlets, path[place[at]]


def _path_errors(ladder: Ladder, conditions: Conditions, shared: _Shared, kind: Ints, devices: Ints) -> Reals:
    """Errors summed from the feed to behind each of the devices; the last row, a feed's, holds nothing."""
    cables = len(ladder.cables)
    path = np.zeros((devices.size + 1, cables + 2, DRAWS), dtype=np.float32)
    place = np.full(len(ladder.devices) + 1, devices.size, dtype=np.int64)
    place[devices] = np.arange(devices.size)
    above = place[ladder.row_device[ladder.run_row[devices]]]
    tolerance = np.array(
        [(ladder.parts[d].tolerance_db, ladder.parts[d].tolerance_high_db) for d in devices], dtype=np.float32
    ).reshape(devices.size, 2, 1)
    ambient = np.array([_AMBIENTS.index(ladder.runs[d].ambient) for d in devices], dtype=np.int64)
    cable = ladder.run_cable[devices]
    metres = ladder.run_loss_m[devices].astype(np.float32)
    stretches = np.searchsorted(devices, ladder.depth_start)
    for low, high in pairwise(stretches):
        some = slice(low, high)
        path[some] = path[above[some]]
        own = own_errors(devices[some])
        path[some, cables:] += tolerance[some] * (shared.part[kind[devices[some]]] + 0.5 * own)[:, None, :]
        laid = low + np.flatnonzero(cable[some] >= 0)
        if laid.size:
            error = shared.length + shared.cable[cable[laid]] + shared.warmth[ambient[laid]]
            error += np.float32(0.5 * conditions.length_share) * own_errors(
                devices[laid] + len(ladder.devices)
            )
            error += np.float32(0.5 * conditions.cable_share) * own_errors(
                devices[laid] + 2 * len(ladder.devices)
            )
            path[laid, cable[laid]] -= metres[laid, None] * error
    return path


def _with_ancestors(ladder: Ladder, devices: Ints) -> Ints:
    """The devices and all ahead of them, in order."""
    found = np.zeros(len(ladder.devices), dtype=np.bool_)
    found[devices] = True
    for low, high in zip(ladder.depth_start[-2::-1], ladder.depth_start[:0:-1], strict=True):
        above = ladder.row_device[ladder.run_row[low:high][found[low:high]]]
        found[above[above >= 0]] = True
    return np.flatnonzero(found)


def _along_the_tree(ladder: Ladder) -> Ints:
    """Positions of the outlets so that those of one branch stand together."""
    above = ladder.row_device[ladder.run_row]
    size = np.ones(above.size, dtype=np.int64)
    for device in range(above.size - 1, -1, -1):
        if above[device] >= 0:
            size[above[device]] += size[device]
    free = np.zeros(above.size + 1, dtype=np.int64)
    begin = np.zeros(above.size, dtype=np.int64)
    for device in range(above.size):
        begin[device] = free[above[device]]
        free[above[device]] += size[device]
        free[device] = begin[device] + 1
    at = ladder.row_device[ladder.outlet_rows]
    return np.argsort(np.where(at >= 0, begin[at] if begin.size else 0, -1), kind="stable")


def _knots(frequency_mhz: Floats) -> tuple[Ints, Floats]:
    """Carriers at which percentiles are taken, and how those of all carriers follow (knots × carriers).

    Errors grow smoothly with the root of frequency on either side of the step in parts' tolerance: between knots
    percentiles are read linearly on the root, within what the draws themselves leave open.
    """
    count = frequency_mhz.size
    below = int(np.searchsorted(frequency_mhz, TOLERANCE_STEP_MHZ, side="right"))
    stretches = [(first, past) for first, past in ((0, below), (below, count)) if past > first]
    chosen = sorted(
        {int(at) for first, past in stretches for at in np.linspace(first, past - 1, _KNOTS).round()}
    )
    knots = np.asarray(chosen, dtype=np.int64)
    between = np.zeros((knots.size, count))
    for first, past in stretches:
        own = (knots >= first) & (knots < past)
        root = np.sqrt(frequency_mhz)
        for row in np.flatnonzero(own):
            unit = (np.flatnonzero(own) == row).astype(np.float64)
            between[row, first:past] = np.interp(root[first:past], root[knots[own]], unit)
    return knots, between


def _failed(
    errors: Reals, source_db: Reals, weights: Reals, bounds_db: tuple[Floats, Floats]
) -> NDArray[np.bool_]:
    """Draws in which some level leaves its bounds, given as shifts from the undisturbed level.

    No shift is below the sum of its terms' least values, so most pairs need no trial; NaN bounds never fail.
    """
    low, high = bounds_db
    # Rounding of single precision is far below this.
    slack = 1e-3
    least = np.matmul(weights, errors.min(axis=-1)[..., None])[..., 0] + source_db.min(axis=2) - slack
    most = np.matmul(weights, errors.max(axis=-1)[..., None])[..., 0] + source_db.max(axis=2) + slack
    failed = np.zeros(errors.shape[-1], dtype=np.bool_)
    for carrier in range(weights.shape[0]):
        outlet = np.flatnonzero((least[:, carrier] < low[:, carrier]) | (most[:, carrier] > high[:, carrier]))
        if outlet.size == 0:
            continue
        tried = np.matmul(weights[carrier], errors[outlet]) + source_db[outlet, carrier]
        under = tried < low[outlet, carrier, None].astype(np.float32)
        over = tried > high[outlet, carrier, None].astype(np.float32)
        failed |= (under | over).any(axis=0)
    return failed


def _at_temperature_end(ladder: Ladder, levels: Levels, nominal: Floats, end: int) -> Floats:
    """Undisturbed levels at the outlets with every run at the cold (0) or hot (1) end of its ambient."""
    share = np.array([loss_share_at(AMBIENT_C[run.ambient][end]) for run in ladder.runs])
    path = np.zeros((len(ladder.devices) + 1, len(ladder.cables)))
    for low, high in zip(ladder.depth_start[:-1], ladder.depth_start[1:], strict=True):
        path[low:high] = path[ladder.row_device[ladder.run_row[low:high]]]
        laid = low + np.flatnonzero(ladder.run_cable[low:high] >= 0)
        path[laid, ladder.run_cable[laid]] += ladder.run_loss_m[laid] * share[laid]
    extra = path[ladder.row_device[ladder.outlet_rows]] @ _lengthwise(levels, nominal.shape[1])
    return np.asarray(nominal - extra, dtype=np.float64)
