"""One finding for a rule and a carrier, with every id that misses it, worst first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from service.engine.findings import Finding, Severity
from service.engine.signal.units import dbuv_from_dbmv

Floats = NDArray[np.float64]

#: Rounding of figures never makes a finding.
SLACK = 1e-6


def shown(value: float, unit: str, level_unit: str = "dBmV") -> str:
    """A figure as text: decibels to two decimals, else three digits. Levels in dBmV appear in `level_unit`.

    >>> shown(-24.8, "dBmV", "dBµV"), shown(3.0, "dB"), shown(0.456789, "A")
    ('35.2 dBµV', '3 dB', '0.457 A')
    """
    if not unit.startswith("dB"):
        return f"{value:.3g} {unit}".strip()
    if unit == "dBmV" and level_unit == "dBµV":
        value, unit = dbuv_from_dbmv(value), level_unit
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return f"{'0' if text == '-0' else text} {unit}"


def counted(number: int, noun: str) -> str:
    """A number with its noun.

    >>> counted(1, "outlet"), counted(3, "outlet")
    ('1 outlet', '3 outlets')
    """
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def grouped_by_carrier(
    *,
    rule: str,
    severity: Severity,
    what: str,
    noun: str,
    ids: Sequence[str],
    carriers: Sequence[str],
    measured: Floats,
    limit: Floats,
    least: bool,
    unit: str,
    sources: Sequence[str],
    level_unit: str = "dBmV",
    apart_from: NDArray[np.bool_] | None = None,
) -> Iterator[Finding]:
    """Findings of one rule over ids × carriers, one for each carrier that any id misses.

    `limit` has one entry a carrier, NaN where nothing is asked; `least` says whether it is the least or the
    most that is allowed. `apart_from` marks entries that another rule has already.
    """
    missed = limit - measured if least else measured - limit
    hit = missed > SLACK
    if apart_from is not None:
        hit &= ~apart_from
    for column in map(int, np.flatnonzero(hit.any(axis=0))):
        there = np.flatnonzero(hit[:, column])
        rows: list[int] = there[np.argsort(-missed[there, column], kind="stable")].tolist()
        worst, bound = float(measured[rows[0], column]), float(limit[column])
        at = f"at {counted(len(rows), noun)} on carrier {carriers[column]}"
        figures = f"{ids[rows[0]]} {shown(worst, unit, level_unit)}, limit {shown(bound, unit, level_unit)}"
        yield Finding(
            rule=rule,
            severity=severity,
            where=tuple(ids[row] for row in rows),
            carrier=carriers[column],
            measured=worst,
            limit=bound,
            unit=unit,
            source=sources[column],
            text=f"{what} {at}: {figures}",
        )


def grouped(
    *,
    rule: str,
    severity: Severity,
    what: str,
    missed: Sequence[tuple[str, float, float]],
    unit: str,
    source: str = "common practice",
    carrier: str | None = None,
    level_unit: str = "dBmV",
) -> Iterator[Finding]:
    """One finding over (id, measured, limit) rows that miss a rule; none when there are none.

    The row farthest from its limit comes first, ties by id.
    """
    if not missed:
        return
    rows = sorted(missed, key=lambda row: (-abs(row[1] - row[2]), row[0]))
    name, worst, bound = rows[0]
    yield Finding(
        rule=rule,
        severity=severity,
        where=tuple(row[0] for row in rows),
        carrier=carrier,
        measured=worst,
        limit=bound,
        unit=unit,
        source=source,
        text=f"{what}: {name} {shown(worst, unit, level_unit)}, limit {shown(bound, unit, level_unit)}",
    )
