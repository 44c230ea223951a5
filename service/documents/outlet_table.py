"""Levels and margins of every outlet, and how far the outlets of a flat lie apart."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from service.documents.measures import Measures
from service.documents.table import Column, Table, Value
from service.documents.window_place import WORDS, standings_of
from service.engine.placement.proposal import Design
from service.engine.propagation.report import SignalReport

Floats = NDArray[np.float64]


def spread_db(level_dbmv: Floats) -> float | None:
    """Highest less lowest outlet on the carrier where they lie furthest apart; None without a level.

    `level_dbmv` has a row an outlet and a column a carrier.
    """
    if not level_dbmv.size or not np.isfinite(level_dbmv).any():
        return None
    apart = np.fmax.reduce(level_dbmv, axis=0) - np.fmin.reduce(level_dbmv, axis=0)
    return float(np.nanmax(apart))


def unit_spreads(report: SignalReport) -> Mapping[str, float | None]:
    """The spread of every unit, by its id, in the order of the outlets."""
    rows: dict[str, list[int]] = {}
    for at, served in enumerate(report.outlets):
        rows.setdefault(served.unit, []).append(at)
    level = report.outlet_level_dbmv
    return {unit: spread_db(level[at]) for unit, at in rows.items()}


def outlet_table(design: Design, measures: Measures) -> Table:
    """One row an outlet: level at its weakest and its strongest carrier, what is left, spread of its unit."""
    report, margins = design.chosen.report, design.chosen.margins
    rooms = {outlet.id: outlet.room for outlet in design.building.outlets}
    stacks = {unit.id: unit.stack for unit in design.building.units}
    stacked = any(stacks.values())
    spreads = unit_spreads(report)
    standings = standings_of(margins)
    level = report.outlet_level_dbmv
    rows: list[tuple[Value, ...]] = []
    marks: list[tuple[int, str]] = []
    for at, served in enumerate(report.outlets):
        left_low, left_high = _least(margins.low_db[at]), _least(margins.high_db[at])
        figures = (*_levels(level[at], report, measures), left_low, left_high)
        stack = (stacks.get(served.unit, ""),) if stacked else ()
        named = (served.outlet, served.unit, *stack, served.floor, rooms.get(served.outlet, ""))
        place = WORDS[standings[served.outlet].spot]
        rows.append((*named, *figures, place, spreads[served.unit], str(served.port)))
        silent = not np.isfinite(level[at]).any()
        if silent or any(left is not None and left < 0.0 for left in (left_low, left_high)):
            marks.append((at, "bad"))
    unit = measures.level_unit
    columns = (
        Column(name="outlet", width=14),
        Column(name="unit", width=12),
        *((Column(name="stack", width=8),) if stacked else ()),
        Column(name="floor", width=8),
        Column(name="room", width=18),
        Column(name="lowest level", unit=unit, kind="exact"),
        Column(name="on carrier", width=9),
        Column(name="highest level", unit=unit, kind="exact"),
        Column(name="on carrier", width=9),
        Column(name="above the lower limit", unit="dB", kind="exact", width=11),
        Column(name="below the upper limit", unit="dB", kind="exact", width=11),
        Column(name="in the window", kind="place"),
        Column(name="spread in the unit", unit="dB", kind="exact", width=11),
        Column(name="port", width=20),
    )
    note = (
        "Exact levels at every carrier; margins to the limits. In the window: inside the design window, low or "
        "high between it and a limit, below or above a limit. Red: outside the limits."
    )
    return Table(
        id="outlets", title="Outlets", columns=columns, rows=tuple(rows), marks=tuple(marks), note=note
    )


def _levels(level: Floats, report: SignalReport, measures: Measures) -> tuple[Value, ...]:
    if not np.isfinite(level).any():
        return (None, "", None, "")
    low, high = int(np.nanargmin(level)), int(np.nanargmax(level))
    return (
        measures.level(float(level[low])),
        report.carriers[low].id,
        measures.level(float(level[high])),
        report.carriers[high].id,
    )


def _least(margins: Floats) -> float | None:
    known = margins[np.isfinite(margins)]
    return float(known.min()) if known.size else None
