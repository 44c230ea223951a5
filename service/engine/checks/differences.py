"""Differences of level: between carriers at one outlet, between the outlets of a flat and of the building."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from service.engine.checks.case import Case
from service.engine.checks.grouping import SLACK, counted, grouped, grouped_by_carrier, shown
from service.engine.findings import Finding, Severity
from service.engine.signal.limits import ServiceLimit
from service.engine.signal.spectrum import Carrier

Floats = NDArray[np.float64]

#: What levelling aims at where the profile states no limit: common practice.
AIMED_ADJACENT_DB = 3.0
AIMED_PAIR_DB = 10.0
#: Channels whose edges lie this close are neighbours.
_TOUCHING_MHZ = 0.5


def check_adjacent_difference(case: Case) -> Iterator[Finding]:
    """Neighbouring channels of one service at one outlet; a finding names the upper channel."""
    carriers = case.report.carriers
    last: dict[str, int] = {}
    for position, carrier in enumerate(carriers):
        below = last.get(carrier.service)
        last[carrier.service] = position
        row = case.asked[position]
        if below is None or row is None or not _touch(carriers[below], carrier):
            continue
        aimed = row.adjacent_db is None
        yield from grouped_by_carrier(
            rule="adjacent-aim" if aimed else "adjacent-difference",
            severity="warns" if aimed else "breaks",
            what=f"Difference to neighbour {carriers[below].id} too large",
            noun="outlet",
            ids=case.outlets,
            carriers=[carrier.id],
            measured=np.abs(case.level_dbmv[:, position] - case.level_dbmv[:, below])[:, None],
            limit=np.array([AIMED_ADJACENT_DB if row.adjacent_db is None else row.adjacent_db]),
            least=False,
            unit="dB",
            sources=["common practice" if aimed else row.source],
        )


def _touch(lower: Carrier, upper: Carrier) -> bool:
    return abs(upper.low_mhz - lower.high_mhz) <= _TOUCHING_MHZ


def check_pair_difference(case: Case) -> Iterator[Finding]:
    """Any two carriers of one service at one outlet; a finding names the weaker one at the worst outlet."""
    carriers = case.report.carriers
    for service in sorted({carrier.service for carrier in carriers}):
        columns = [at for at, carrier in enumerate(carriers) if carrier.service == service]
        row = case.asked[columns[0]]
        if row is None or len(columns) < 2:
            continue
        level = case.level_dbmv[:, columns]
        spread = _spread(level, axis=1)
        limit, severity = _pair_limit(row, max(carriers[at].frequency_mhz for at in columns))
        if not spread.size or not float(np.max(spread)) > limit:
            continue
        weakest = columns[int(np.nanargmin(level[int(np.argmax(spread))]))]
        yield from grouped_by_carrier(
            rule="pair-aim" if severity == "warns" else "pair-difference",
            severity=severity,
            what=f"Difference between two {service} carriers too large",
            noun="outlet",
            ids=case.outlets,
            carriers=[carriers[weakest].id],
            measured=spread[:, None],
            limit=np.array([limit]),
            least=False,
            unit="dB",
            sources=["common practice" if severity == "warns" else row.source],
        )


def _pair_limit(row: ServiceLimit, highest_mhz: float) -> tuple[float, Severity]:
    """Largest difference in dB. The growing part follows the highest carrier of the service in use."""
    if row.any_pair_db is None:
        return AIMED_PAIR_DB, "warns"
    above = max(0.0, (highest_mhz - 300.0) / 100.0)
    return row.any_pair_db + row.any_pair_db_per_100mhz_above_300 * above, "breaks"


def _spread(level: Floats, axis: int) -> Floats:
    """Highest less lowest along an axis, entries without a level left out; 0 where there is at most one."""
    high = np.fmax.reduce(level, axis=axis)
    low = np.fmin.reduce(level, axis=axis)
    return np.asarray(np.nan_to_num(high - low, nan=0.0), dtype=np.float64)


def check_unit_spread(case: Case) -> Iterator[Finding]:
    """Outlets of one flat on one carrier: every flat that misses the aim, with the worst carrier of the worst flat."""
    units = np.array([served.unit for served in case.report.outlets])
    order = np.argsort(units, kind="stable")
    order = order[units[order] != ""]
    if not order.size:
        return
    names, starts = np.unique(units[order], return_index=True)
    level = case.level_dbmv[order]
    high = np.fmax.reduceat(level, starts, axis=0)
    low = np.fmin.reduceat(level, starts, axis=0)
    spread = np.nan_to_num(high - low, nan=0.0)
    widest = np.max(spread, axis=1)
    limit = case.limits.unit_spread_db
    worst = case.report.carriers[int(np.argmax(spread[int(np.argmax(widest))]))].id
    yield from grouped(
        rule="unit-spread",
        severity="warns",
        what=f"Outlets of one flat too far apart, most on carrier {worst}",
        missed=[
            (str(name), float(apart), limit)
            for name, apart in zip(names, widest, strict=True)
            if apart > limit + SLACK
        ],
        unit="dB",
        carrier=worst,
    )


def check_building_spread(case: Case) -> Iterator[Finding]:
    """All outlets on one carrier; a finding names the lowest outlet, then the highest.

    Where a standard sets the limit every carrier that misses it is named; an aim is missed once, on its worst carrier.
    """
    if len(case.outlets) < 2:
        return
    limit, source = case.limits.building_spread_db, case.limits.spread_source
    spread = _spread(case.level_dbmv, axis=0)
    missed = np.flatnonzero(spread > limit + SLACK)
    worst_first = missed[np.argsort(-spread[missed], kind="stable")]
    for at in worst_first if source else worst_first[:1]:
        level, carrier = case.level_dbmv[:, at], case.report.carriers[at].id
        ends = (case.outlets[int(np.nanargmin(level))], case.outlets[int(np.nanargmax(level))])
        figures = f"{' to '.join(ends)} {shown(float(spread[at]), 'dB')}, limit {shown(limit, 'dB')}"
        others = "" if source or len(missed) < 2 else f" (and on {counted(len(missed) - 1, 'other carrier')})"
        yield Finding(
            rule="building-spread",
            severity="breaks" if source else "warns",
            where=ends,
            carrier=carrier,
            measured=float(spread[at]),
            limit=limit,
            unit="dB",
            source=source or "common practice",
            text=f"Outlets of the building too far apart on carrier {carrier}{others}: {figures}",
        )
