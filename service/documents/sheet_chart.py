"""Charts that a workbook draws from its own cells: what is charted, and the tables it is taken from."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from service.documents.charts import floor_rows
from service.documents.drawing import Tone
from service.documents.measures import Measures
from service.documents.path_chart import path_table, worst_path
from service.documents.table import Column, Table, Value
from service.engine.placement.proposal import Design
from service.engine.plant.catalogue import Catalogue
from service.engine.signal.limits import Limits, design_window

#: How a series is drawn: bars hanging from a marker, a line with markers, a line alone, short marks, or bars.
Manner = Literal["spans", "marked", "plain", "ticks", "bars"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """One series: columns of a table, by name, over its rows `first` to `last` inclusive. `span` names the
    column that says how far down from its value each marker reaches."""

    name: str
    x: str
    y: str
    first: int
    last: int
    tone: Tone
    manner: Manner
    dashed: bool = False
    span: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetChart:
    """A chart over one table. `sort` names columns by their place, figures by their scale, or steps downwards.
    The axis of its values reaches from `low` to `high`."""

    id: str
    title: str
    sort: Literal["places", "figures", "steps"]
    x_title: str
    y_title: str
    low: float
    high: float
    table: str
    series: tuple[Series, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Charted:
    """The charts of a book and the tables that they stand on."""

    tables: tuple[Table, ...]
    charts: tuple[SheetChart, ...]


def book_charts(design: Design, limits: Limits, catalogue: Catalogue) -> Charted:
    """Levels by floor for each service, level against frequency, and where the decibels go."""
    measures = Measures.of(design.building)
    tables: list[Table] = []
    charts: list[SheetChart] = []
    floors = floor_table(design, limits, measures)
    if floors.rows:
        tables.append(floors)
        charts += _floor_charts(floors, measures)
    if design.chosen.margins.worst is not None:
        carriers = carrier_table(design, limits, measures)
        tables.append(carriers)
        charts.append(_carrier_chart(carriers, measures))
    path = worst_path(design, catalogue, measures)
    if path is not None:
        tables.append(path_table(path, measures))
        charts.append(_path_chart(tables[-1]))
    return Charted(tables=tuple(tables), charts=tuple(charts))


def floor_table(design: Design, limits: Limits, measures: Measures) -> Table:
    """A row for each service and floor, from the lowest up: the levels of its outlets, the limits and the
    design window."""
    report = design.chosen.report
    rows: list[tuple[Value, ...]] = []
    for service in dict.fromkeys(carrier.service for carrier in report.carriers):
        asked = limits.service(service)
        if asked is None:
            continue
        inner = design_window(asked, margins=design.building.policy.margins)
        edges = tuple(measures.level(v) for v in (asked.low_dbmv, inner[0], inner[1], asked.high_dbmv))
        at = [n for n, carrier in enumerate(report.carriers) if carrier.service == service]
        for name, outlets in reversed(floor_rows(design)):
            level = report.outlet_level_dbmv[np.ix_(outlets, at)]
            known = level[np.isfinite(level)]
            if known.size:
                low, high = measures.level(float(known.min())), measures.level(float(known.max()))
                rows.append((service, name, len(outlets), low, high, high - low, *edges))
    unit = measures.level_unit
    columns = (
        Column(name="service", width=12),
        Column(name="floor", width=10),
        Column(name="outlets", kind="whole"),
        *(Column(name=name, unit=unit, kind="exact") for name in ("lowest level", "highest level")),
        Column(name="between them", unit="dB", kind="exact"),
        *(
            Column(name=name, unit=unit, kind="exact", width=11)
            for name in ("lower limit", "design window from", "design window to", "upper limit")
        ),
    )
    note = "Over all outlets of the floor and all carriers of the service."
    return Table(id="floors", title="Levels by floor", columns=columns, rows=tuple(rows), note=note)


def carrier_table(design: Design, limits: Limits, measures: Measures) -> Table:
    """A row for each carrier, by frequency: its limits, and its level at the outlets with least and most left."""
    report, margins = design.chosen.report, design.chosen.margins
    assert margins.worst is not None, "an outlet is judged"
    assert margins.best is not None, "an outlet is judged"
    at = [margins.outlets.index(margins.worst.outlet), margins.outlets.index(margins.best.outlet)]
    order = sorted(range(len(report.carriers)), key=lambda n: report.carriers[n].frequency_mhz)
    rows = []
    for number in order:
        carrier = report.carriers[number]
        asked = limits.service(carrier.service)
        edges = (None, None) if asked is None else (asked.low_dbmv, asked.high_dbmv)
        levels = (*edges, *(float(report.outlet_level_dbmv[row, number]) for row in at))
        shown = (None if v is None or not np.isfinite(v) else measures.level(v) for v in levels)
        rows.append((carrier.id, carrier.service, carrier.frequency_mhz, *shown))
    unit = measures.level_unit
    columns = (
        Column(name="carrier", width=10),
        Column(name="service", width=12),
        Column(name="frequency", unit="MHz", kind="number"),
        Column(name="lower limit", unit=unit, kind="exact"),
        Column(name="upper limit", unit=unit, kind="exact"),
        Column(name=f"worst outlet {margins.worst.outlet}", unit=unit, kind="exact", width=14),
        Column(name=f"best outlet {margins.best.outlet}", unit=unit, kind="exact", width=14),
    )
    note = "Worst and best are the outlets with least and with most left to their limits."
    return Table(id="carriers", title="Level against frequency", columns=columns, rows=tuple(rows), note=note)


def _floor_charts(table: Table, measures: Measures) -> list[SheetChart]:
    """A chart for each service of the table."""
    rows: dict[Value, list[int]] = {}
    for number, row in enumerate(table.rows):
        rows.setdefault(row[0], []).append(number)
    looks: tuple[tuple[str, Tone, Manner, bool, str], ...] = (
        ("upper limit", "over", "plain", False, ""),
        ("design window to", "inside", "plain", True, ""),
        ("highest level", "trunk", "spans", False, "between them"),
        ("lowest level", "gain", "spans", False, ""),
        ("design window from", "inside", "plain", True, ""),
        ("lower limit", "under", "plain", False, ""),
    )
    return [
        SheetChart(
            id=f"floors-{service}",
            title=f"Level by floor, {service}",
            sort="places",
            x_title="floor",
            y_title=f"level at the outlet [{measures.level_unit}]",
            **_reach(table, at[0], at[-1], tuple(name for name, *_ in looks)),
            table=table.id,
            series=tuple(
                Series(
                    name=name,
                    x="floor",
                    y=name,
                    first=at[0],
                    last=at[-1],
                    tone=tone,
                    manner=manner,
                    dashed=dashed,
                    span=span,
                )
                for name, tone, manner, dashed, span in looks
            ),
        )
        for service, at in rows.items()
    ]


def _carrier_chart(table: Table, measures: Measures) -> SheetChart:
    worst, best = (column.name for column in table.columns[-2:])
    looks: tuple[tuple[str, Tone, Manner, bool], ...] = (
        ("upper limit", "over", "ticks", False),
        (best, "drop", "marked", True),
        (worst, "trunk", "marked", False),
        ("lower limit", "under", "ticks", False),
    )
    return SheetChart(
        id="frequency",
        title="Level against frequency",
        sort="figures",
        x_title="frequency [MHz]",
        y_title=f"level at the outlet [{measures.level_unit}]",
        **_reach(table, 0, len(table.rows) - 1, tuple(name for name, *_ in looks)),
        table=table.id,
        series=tuple(
            Series(
                name=name,
                x="frequency",
                y=name,
                first=0,
                last=len(table.rows) - 1,
                tone=tone,
                manner=manner,
                dashed=dashed,
            )
            for name, tone, manner, dashed in looks
        ),
    )


def _path_chart(table: Table) -> SheetChart:
    bars = Series(
        name="change of the level",
        x="step",
        y="change",
        first=1,
        last=len(table.rows) - 1,
        tone="loss",
        manner="bars",
    )
    return SheetChart(
        id="path",
        title=f"Where the decibels go, {table.title[0].lower()}{table.title[1:]}",
        sort="steps",
        x_title="",
        y_title="change of the level [dB]",
        **_reach(table, 1, len(table.rows) - 1, ("change",)),
        table=table.id,
        series=(bars,),
    )


def _reach(table: Table, first: int, last: int, names: tuple[str, ...]) -> dict[str, float]:
    """The ends of an axis that holds those columns of the rows, at multiples of five with some air."""
    at = [number for number, column in enumerate(table.columns) if column.name in names]
    found = [row[n] for row in table.rows[first : last + 1] for n in at]
    figures = [float(value) for value in found if isinstance(value, int | float)] or [0.0]
    return {
        "low": 5.0 * math.floor((min(figures) - 2.0) / 5.0),
        "high": 5.0 * math.ceil((max(figures) + 2.0) / 5.0),
    }
