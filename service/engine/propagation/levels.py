"""Levels: one pass over ports × frequencies, from the feeds outwards."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.plant.network import Settings
from service.engine.plant.parts import Active
from service.engine.propagation.ladder import GainRow, Ladder
from service.engine.signal.curves import Curve
from service.engine.signal.spectrum import Carrier, Feed

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
JOINT_REFERENCE_MHZ = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Levels:
    """Gains and levels of a ladder at `frequency_mhz`: carriers first, then the two passband edges.

    `path_gain_db` (ports × frequencies) is the gain from the feed's output to the port, `level_dbmv` the
    level there, `input_dbmv` (devices × frequencies) the level at each device's input, `gain_db` (gain rows ×
    frequencies) the gain of each output group as set, `cable_db_per_m` (cables × frequencies) the cable loss.
    NaN where nothing of that frequency passes and the table has no figure.
    """

    frequency_mhz: Floats
    gain_db: Floats
    cable_db_per_m: Floats
    path_gain_db: Floats
    level_dbmv: Floats
    input_dbmv: Floats


def carriers_of(feeds: tuple[Feed, ...]) -> tuple[Carrier, ...]:
    """Every carrier of every feed once, ordered by frequency, then id."""
    found = {line.carrier for feed in feeds for line in feed.carriers}
    return tuple(sorted(found, key=lambda carrier: (carrier.frequency_mhz, carrier.id, carrier.service)))


def passband_edges(ladder: Ladder, passband_mhz: tuple[float, float]) -> tuple[float, float]:
    """The passband's edges, drawn in to where every table in use has a figure.

    As given where no frequency is in every table, as with two feeds of different bands.
    """
    curves = [row.group.gain_db for row in ladder.gains]
    curves += [cable.loss_db_per_100m for cable in ladder.cables]
    low = max([passband_mhz[0], *(curve.low_mhz for curve in curves)])
    high = min([passband_mhz[1], *(curve.high_mhz for curve in curves)])
    return (low, high) if low <= high else passband_mhz


def joint_loss_db(loss_db_at_1ghz: float, frequency_mhz: Floats) -> Floats:
    """Loss of one connector joint: the root law from its figure at 1 GHz."""
    return root_law_loss_db(loss_db_at_1ghz, JOINT_REFERENCE_MHZ, frequency_mhz)


def root_law_loss_db(loss_db: float, at_mhz: float, frequency_mhz: Floats) -> Floats:
    """Loss at other frequencies of a cable known at one: L2 = L1·√(f2/f1).

    Skin effect only; a table is better where there is one. Source: common practice.

    >>> float(root_law_loss_db(20.0, 400.0, np.array([100.0]))[0])
    10.0
    """
    return np.asarray(loss_db * np.sqrt(np.asarray(frequency_mhz) / at_mhz), dtype=np.float64)


def slope_share(active: Active, frequency_mhz: Floats) -> Floats:
    """Share of a slope or equaliser setting that is taken off at each frequency.

    1 at `slope_low_mhz`, 0 at `slope_high_mhz`, linear on the root of frequency between, constant beyond.
    """
    low, high = np.sqrt(active.slope_low_mhz), np.sqrt(active.slope_high_mhz)
    return np.asarray(np.clip((high - np.sqrt(frequency_mhz)) / (high - low), 0.0, 1.0), dtype=np.float64)


def setting_loss_db(active: Active, settings: Settings, frequency_mhz: Floats) -> Floats:
    """What pad, equaliser, lowered gain and slope take off the full gain, at each frequency."""
    lowered = 0.0 if settings.gain_db is None else active.gain_db.high - settings.gain_db
    sloped = settings.slope_db + settings.input_equaliser_db
    fixed = settings.input_pad_db + lowered
    if sloped == 0.0:
        return np.full(frequency_mhz.shape, fixed)
    return fixed + sloped * slope_share(active, frequency_mhz)


def feed_levels_dbmv(feed: Feed, carriers: tuple[Carrier, ...], edges_mhz: tuple[float, float]) -> Floats:
    """Levels of a feed at the carriers (NaN where it has none) and the edges.

    At an edge the feed counts as launching what its carriers do, read between them on the root of frequency,
    and that of the nearest carrier beyond them.
    """
    lines = {line.carrier: line.level_dbmv for line in feed.carriers}
    levels = [lines.get(carrier, np.nan) for carrier in carriers]
    if not lines:
        return np.array([*levels, np.nan, np.nan])
    ordered = sorted((carrier.frequency_mhz, level) for carrier, level in lines.items())
    at = np.sqrt([frequency for frequency, _ in ordered])
    edges = np.interp(np.sqrt(edges_mhz), at, [level for _, level in ordered])
    return np.array([*levels, *edges])


def run_levels(ladder: Ladder, carriers: tuple[Carrier, ...], passband_mhz: tuple[float, float]) -> Levels:
    """Levels at every port and every device input.

    Where a feed has no such carrier its parts needn't have a figure: NaN. Raises OutsideTableError when a
    carrier lies outside the table of a part or cable that it passes.
    """
    edges = passband_edges(ladder, passband_mhz)
    frequency = np.array([*(carrier.frequency_mhz for carrier in carriers), *edges], dtype=np.float64)
    feed = _stacked([feed_levels_dbmv(one, carriers, edges) for one in ladder.feeds], frequency)
    carried = ~np.isnan(feed)
    carried[:, len(carriers) :] = False
    used = _used(ladder.row_gain, ladder.row_feed, carried, len(ladder.gains))
    gain = _stacked(
        [_gain_db(row, frequency, u) for row, u in zip(ladder.gains, used, strict=True)], frequency
    )
    used = _used(ladder.run_cable, ladder.device_feed, carried, len(ladder.cables))
    cable = _stacked(
        [
            _read(one.loss_db_per_100m, frequency, u, f"cable {one.id}") / 100.0
            for one, u in zip(ladder.cables, used, strict=True)
        ],
        frequency,
    )
    loss = run_loss_db(ladder, cable, joint_loss_db(ladder.joint_loss_db_at_1ghz, frequency))
    path = np.zeros((len(ladder.ports), frequency.size))
    arriving = np.zeros((len(ladder.devices), frequency.size))
    for low, high in zip(ladder.depth_start[:-1], ladder.depth_start[1:], strict=True):
        arriving[low:high] = path[ladder.run_row[low:high]] - loss[low:high]
        rows = slice(ladder.first_row[low], ladder.first_row[high])
        path[rows] = arriving[ladder.row_device[rows]] + gain[ladder.row_gain[rows]]
    return Levels(
        frequency_mhz=frequency,
        gain_db=gain,
        cable_db_per_m=cable,
        path_gain_db=path,
        level_dbmv=path + feed[ladder.row_feed],
        input_dbmv=arriving + feed[ladder.device_feed],
    )


def run_loss_db(ladder: Ladder, cable_db_per_m: Floats, joint_db: Floats) -> Floats:
    """Loss of each device's run, cable and joints, devices × frequencies."""
    loss = ladder.run_joints[:, None] * joint_db
    laid = np.flatnonzero(ladder.run_cable >= 0)
    loss[laid] += ladder.run_loss_m[laid, None] * cable_db_per_m[ladder.run_cable[laid]]
    return np.asarray(loss, dtype=np.float64)


def slope_db(level_dbmv: Floats) -> Floats:
    """Level at the highest carrier less that at the lowest: ports × carriers in, ports out, NaN without."""
    ports, carriers = level_dbmv.shape
    if carriers == 0:
        return np.full(ports, np.nan)
    there = ~np.isnan(level_dbmv)
    first = np.argmax(there, axis=1)
    last = carriers - 1 - np.argmax(there[:, ::-1], axis=1)
    row = np.arange(ports)
    return np.asarray(level_dbmv[row, last] - level_dbmv[row, first], dtype=np.float64)


def _gain_db(row: GainRow, frequency_mhz: Floats, used: Flags) -> Floats:
    gain = _read(row.group.gain_db, frequency_mhz, used, f"part {row.part.id}, group {row.group.name}")
    if row.part.active is None:
        return gain
    return gain - setting_loss_db(row.part.active, row.settings, frequency_mhz)


def _read(curve: Curve, frequency_mhz: Floats, used: Flags, what: str) -> Floats:
    """The curve where it is used or has a figure, NaN elsewhere: no carrier of its feed is there."""
    value = np.full(frequency_mhz.shape, np.nan)
    read = used | ((frequency_mhz >= curve.low_mhz) & (frequency_mhz <= curve.high_mhz))
    value[read] = curve.at(frequency_mhz[read], what)
    return value


def _used(kind: Ints, feed: Ints, carried: Flags, kinds: int) -> Flags:
    """Which frequencies pass each kind of thing, kinds × frequencies: those of the feeds it hangs on."""
    used = np.zeros((kinds, carried.shape[1]), dtype=np.bool_)
    feeds = max(1, carried.shape[0])
    for pair in np.unique(kind[kind >= 0] * feeds + feed[kind >= 0]):
        used[pair // feeds] |= carried[pair % feeds]
    return used


def _stacked(rows: list[Floats], frequency_mhz: Floats) -> Floats:
    return np.array(rows) if rows else np.empty((0, frequency_mhz.size))
