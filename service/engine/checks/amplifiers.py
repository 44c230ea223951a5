"""Amplifiers: rated output, reserves, what they get at the input, how many stand in a row."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from service.engine.checks.case import Case
from service.engine.checks.grouping import SLACK, grouped
from service.engine.findings import Finding

#: Set-up rules of the trade: common practice.
OUTPUT_RESERVE_DB = 3.0
GAIN_RESERVE_DB = 3.0
SLOPE_RESERVE_DB = 2.0
MOST_INPUT_PAD_DB = 15.0
MOST_IN_SERIES = 3
MOST_UNITS_BEHIND = 100


def check_overload(case: Case) -> Iterator[Finding]:
    """Output above the rating as derated for today's carriers."""
    rows = [
        (row.device, row.headroom_today_db, 0.0)
        for row in case.report.amplifiers
        if row.headroom_today_db < -SLACK
    ]
    what = "Output above the derated rating"
    yield from grouped(rule="overload", severity="breaks", what=what, missed=rows, unit="dB")


def check_output_reserve_today(case: Case) -> Iterator[Finding]:
    """Less than 3 dB under the rating as derated for today's carriers."""
    rows = [
        (row.device, row.headroom_today_db, OUTPUT_RESERVE_DB)
        for row in case.report.amplifiers
        if case.margins and -SLACK <= row.headroom_today_db < OUTPUT_RESERVE_DB - SLACK
    ]
    what = "Little headroom with today's carriers"
    yield from grouped(rule="output-reserve-today", severity="warns", what=what, missed=rows, unit="dB")


def check_output_reserve_tomorrow(case: Case) -> Iterator[Finding]:
    """Less than 3 dB under the rating as derated for tomorrow's carriers."""
    rows = [
        (row.device, row.headroom_tomorrow_db, OUTPUT_RESERVE_DB)
        for row in case.report.amplifiers
        if case.margins and row.headroom_tomorrow_db < OUTPUT_RESERVE_DB - SLACK
    ]
    what = "Little headroom with tomorrow's carriers"
    yield from grouped(rule="output-reserve-tomorrow", severity="warns", what=what, missed=rows, unit="dB")


def check_gain_reserve(case: Case) -> Iterator[Finding]:
    """Less than 3 dB of gain left, where the gain can be set at all."""
    rows: list[tuple[str, float, float]] = []
    for row in case.report.amplifiers:
        active = case.parts[row.device].active
        if case.margins and active is not None and active.gain_db.high > active.gain_db.low:
            rows.append((row.device, row.gain_reserve_db, GAIN_RESERVE_DB))
    rows = [row for row in rows if row[1] < GAIN_RESERVE_DB - SLACK]
    what = "Little gain left"
    yield from grouped(rule="gain-reserve", severity="warns", what=what, missed=rows, unit="dB")


def check_slope_reserve(case: Case) -> Iterator[Finding]:
    """Less than 2 dB of slope left, where the slope can be set at all."""
    rows: list[tuple[str, float, float]] = []
    for row in case.report.amplifiers:
        active = case.parts[row.device].active
        if case.margins and active is not None and active.slope_db.high > active.slope_db.low:
            rows.append((row.device, row.slope_reserve_db, SLOPE_RESERVE_DB))
    rows = [row for row in rows if row[1] < SLOPE_RESERVE_DB - SLACK]
    what = "Little slope left"
    yield from grouped(rule="slope-reserve", severity="warns", what=what, missed=rows, unit="dB")


def check_input_low(case: Case) -> Iterator[Finding]:
    """Input below what the part is made for."""
    rows: list[tuple[str, float, float]] = []
    for row in case.report.amplifiers:
        active = case.parts[row.device].active
        weakest = float(np.fmin.reduce(row.input_dbmv, initial=np.inf))
        if active is not None and active.input_low_dbmv is not None:
            rows.append((row.device, weakest, active.input_low_dbmv))
    rows = [row for row in rows if row[1] < row[2] - SLACK]
    what = "Amplifier input too low"
    yield from grouped(
        rule="amplifier-input-low",
        severity="warns",
        what=what,
        missed=rows,
        unit="dBmV",
        level_unit=case.level_unit,
    )


def check_input_high(case: Case) -> Iterator[Finding]:
    """Input above what the part bears, behind the plug-in pad: the pad stands ahead of the gain."""
    rows: list[tuple[str, float, float]] = []
    for row in case.report.amplifiers:
        active = case.parts[row.device].active
        pad_db = case.devices[row.device].settings.input_pad_db
        strongest = float(np.fmax.reduce(row.input_dbmv, initial=-np.inf)) - pad_db
        if active is not None and active.input_high_dbmv is not None:
            rows.append((row.device, strongest, active.input_high_dbmv))
    rows = [row for row in rows if row[1] > row[2] + SLACK]
    what = "Amplifier input too high"
    yield from grouped(
        rule="amplifier-input-high",
        severity="breaks",
        what=what,
        missed=rows,
        unit="dBmV",
        level_unit=case.level_unit,
    )


def check_input_pad(case: Case) -> Iterator[Finding]:
    """More than 15 dB of input pad: the wrong amplifier."""
    rows = [
        (device.id, device.settings.input_pad_db, MOST_INPUT_PAD_DB)
        for device in case.network.devices
        if device.settings.input_pad_db > MOST_INPUT_PAD_DB + SLACK
    ]
    what = "Input pad so large that a smaller amplifier would do"
    yield from grouped(rule="input-pad", severity="warns", what=what, missed=rows, unit="dB")


def check_series(case: Case) -> Iterator[Finding]:
    """More than two amplifiers in a row after the launch amplifier."""
    counts = {row.device: len(case.amplifiers_above(row.device)) for row in case.report.amplifiers}
    rows = [
        (name, float(count), float(MOST_IN_SERIES))
        for name, count in sorted(counts.items())
        if count > MOST_IN_SERIES
    ]
    what = "Too many amplifiers in a row"
    yield from grouped(rule="amplifiers-in-series", severity="warns", what=what, missed=rows, unit="")


def check_fault_domain(case: Case) -> Iterator[Finding]:
    """More than about 100 flats behind one amplifier after the launch amplifier."""
    units: dict[str, set[str]] = {}
    for served in case.report.outlets:
        for name in case.amplifiers_above(served.port.device)[:-1]:
            units.setdefault(name, set()).add(served.unit or served.user)
    rows = [
        (name, float(len(flats)), float(MOST_UNITS_BEHIND))
        for name, flats in sorted(units.items())
        if len(flats) > MOST_UNITS_BEHIND
    ]
    what = "Too many flats behind one amplifier"
    yield from grouped(rule="fault-domain", severity="warns", what=what, missed=rows, unit="flats")
