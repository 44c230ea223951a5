"""Charts of a design: levels by floor, levels against frequency, where the decibels go, tolerances."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from service.documents.chart_axes import (
    TEXT_MM,
    Scale,
    draw_title,
    draw_x_axis,
    draw_y_axis,
    padded,
    wide,
)
from service.documents.drawing import Drawing, Pen
from service.documents.measures import Measures
from service.documents.window_place import draw_spot, standings_of
from service.engine.building.places import Building
from service.engine.placement.proposal import Design
from service.engine.signal.limits import Limits, ServiceLimit, design_window

LAYERS = ("areas", "grid", "data", "texts")
WIDTH_MM = 170.0
_LEFT_MM, _TOP_MM, _FOOT_MM = 22.0, 16.0, 13.0
_ROW_MM = 5.2
_MARKER_MM = 2.4


def design_charts(design: Design, limits: Limits) -> tuple[Drawing, ...]:
    """Every chart for which the design holds figures."""
    measures = Measures.of(design.building)
    charts = (
        *_level_charts(design, limits, measures),
        _frequency_chart(design, limits, measures),
        _tolerance_chart(design),
    )
    return tuple(chart for chart in charts if chart is not None)


def _floors(building: Building) -> list[tuple[str, str]]:
    """Block and label of every floor, from the top down, block by block."""
    rows = sorted(building.floors, key=lambda floor: (floor.block, -floor.order))
    return [(floor.block, floor.label) for floor in rows]


def floor_rows(design: Design) -> list[tuple[str, list[int]]]:
    """Every floor with outlets, from the top down, block by block: its name, and the rows of its outlets in the
    report."""
    units = {unit.id: unit for unit in design.building.units}
    rows: dict[tuple[str, str], list[int]] = {}
    for row, served in enumerate(design.chosen.report.outlets):
        unit = units.get(served.unit)
        rows.setdefault((unit.block, unit.floor) if unit else ("", served.floor), []).append(row)
    known = [floor for floor in _floors(design.building) if floor in rows]
    return [
        (f"{block} {label}".strip(), rows[block, label])
        for block, label in (*known, *sorted(set(rows) - set(known)))
    ]


def _level_charts(design: Design, limits: Limits, measures: Measures) -> Iterator[Drawing]:
    """For each service, the level of every outlet on its tightest carrier, floor by floor in its window."""
    report = design.chosen.report
    services = dict.fromkeys(carrier.service for carrier in report.carriers)
    for service in services:
        asked = limits.service(service)
        if asked is not None:
            chart = _level_chart(design, asked, measures, many=len(services) > 1)
            if chart is not None:
                yield chart


def _level_chart(design: Design, asked: ServiceLimit, measures: Measures, *, many: bool) -> Drawing | None:
    report, margins, building = design.chosen.report, design.chosen.margins, design.building
    columns = [at for at, carrier in enumerate(report.carriers) if carrier.service == asked.service]
    level = report.outlet_level_dbmv[:, columns]
    nearer = np.fmin(margins.low_db[:, columns], margins.high_db[:, columns])
    standings = standings_of(margins)
    floors: list[tuple[str, list[tuple[float, str]]]] = []
    for name, rows in floor_rows(design):
        judged = [(row, int(np.nanargmin(nearer[row]))) for row in rows if np.isfinite(nearer[row]).any()]
        if judged:
            spots = [
                (measures.level(float(level[row, at])), report.outlets[row].outlet) for row, at in judged
            ]
            floors.append((name, spots))
    if not floors:
        return None
    low, high = (measures.level(edge) for edge in (asked.low_dbmv, asked.high_dbmv))
    inner = tuple(measures.level(edge) for edge in design_window(asked, margins=building.policy.margins))
    figures = [value for _, spots in floors for value, _ in spots]
    scale_low, scale_high = padded([low, high, *figures], 10.0)
    pen, bottom = Pen(), _TOP_MM + _ROW_MM * len(floors)
    left = min(40.0, max(_LEFT_MM, 14.0 + max(wide(name) for name, _ in floors)))
    scale = Scale(low=scale_low, high=scale_high, start_mm=left, end_mm=WIDTH_MM - 4.0)
    pen.layer = "areas"
    _window(pen, scale, (low, high), (inner[0], inner[1]), _TOP_MM, bottom)
    pen.layer = "grid"
    draw_x_axis(pen, scale, _TOP_MM, bottom, f"level at the outlet [{measures.level_unit}]")
    for number, (name, spots) in enumerate(floors):
        y = _TOP_MM + _ROW_MM * (number + 0.5)
        pen.text(left - 2.0, y + 1.0, name, TEXT_MM, anchor="end", room=left - 10.0)
        pen.line((left, y), (WIDTH_MM - 4.0, y), stroke="line", stroke_mm=0.1)
        pen.layer = "data"
        for value, outlet in sorted(spots):
            pen.ref = f"outlet:{outlet}"
            draw_spot(pen, scale.at(value), y, _MARKER_MM, standings[outlet].spot)
        pen.layer, pen.ref = "grid", ""
    pen.text(4.0, (_TOP_MM + bottom) / 2, "floor", TEXT_MM, anchor="middle", tone="soft", turned=True)
    of = f" for {asked.service}" if many else ""
    title = f"Level of every outlet by floor{of}"
    remark = "On the carrier with least left. Pale: the limits; darker: the design window."
    draw_title(pen, title, remark, WIDTH_MM)
    says = f"{title}: {len(figures)} outlets from {min(figures):.1f} to {max(figures):.1f} {measures.level_unit}, "
    says += f"limits {low:.1f} to {high:.1f}."
    id = f"levels-{asked.service}".replace(" ", "-")
    return pen.drawing(id, title, says, width=WIDTH_MM, height=bottom + _FOOT_MM, layers=LAYERS)


def _window(
    pen: Pen, scale: Scale, limits: tuple[float, float], inner: tuple[float, float], top: float, bottom: float
) -> None:
    """The limits as a pale area with dashed edges, the design window as a darker one, across an upright chart."""
    low, high = scale.at(limits[0]), scale.at(limits[1])
    pen.box(low, top, high - low, bottom - top, fill="pale", stroke="none")
    low, high = scale.at(inner[0]), scale.at(inner[1])
    pen.box(low, top, high - low, bottom - top, fill="line", stroke="none")
    for edge in limits:
        x = scale.at(edge)
        pen.line((x, top), (x, bottom), stroke="ink", stroke_mm=0.4, dashed=True)


def _frequency_chart(design: Design, limits: Limits, measures: Measures) -> Drawing | None:
    """Level against frequency at the worst and at the best outlet, with the limits of every carrier."""
    report, margins = design.chosen.report, design.chosen.margins
    if margins.worst is None or margins.best is None:
        return None
    rows = {name: row for row, name in enumerate(margins.outlets)}
    level = report.outlet_level_dbmv
    pen, bottom = Pen(), 86.0
    frequencies = [carrier.frequency_mhz for carrier in report.carriers]
    edges = [(limits.service(carrier.service)) for carrier in report.carriers]
    windows = [
        (at, measures.level(edge.low_dbmv), measures.level(edge.high_dbmv))
        for at, edge in enumerate(edges)
        if edge is not None
    ]
    lines = [("worst", margins.worst.outlet), ("best", margins.best.outlet)]
    figures = [measures.level(float(v)) for _, name in lines for v in level[rows[name]] if np.isfinite(v)]
    figures += [value for _, low, high in windows for value in (low, high)]
    x_low, x_high = padded(frequencies, 100.0)
    y_low, y_high = padded(figures, 10.0)
    x = Scale(low=x_low, high=x_high, start_mm=_LEFT_MM, end_mm=WIDTH_MM - 4.0)
    y = Scale(low=y_low, high=y_high, start_mm=bottom, end_mm=_TOP_MM + 6.0)
    pen.layer = "grid"
    draw_x_axis(pen, x, y.end_mm, bottom, "frequency [MHz]")
    draw_y_axis(pen, y, _LEFT_MM, WIDTH_MM - 4.0, f"level [{measures.level_unit}]")
    pen.layer = "areas"
    for at, low, high in windows:
        carrier, top = report.carriers[at], y.at(high)
        left, right = x.at(carrier.low_mhz), x.at(carrier.high_mhz)
        wide_mm = max(right - left, 1.2)
        pen.box(left, top, wide_mm, y.at(low) - top, fill="pale", stroke="line", stroke_mm=0.25)
    legend = 60.0
    for word, name in lines:
        _curve(
            pen, x, y, frequencies, [measures.level(float(v)) for v in level[rows[name]]], best=word == "best"
        )
        _key(pen, legend, _TOP_MM + 2.0, f"{word}: {name}", best=word == "best")
        legend += wide(f"{word}: {name}") + 16.0
    draw_title(
        pen,
        "Level against frequency",
        "At the outlets with least and with most left. Bars: limits.",
        WIDTH_MM,
    )
    says = f"Levels at {margins.worst.outlet} and {margins.best.outlet} on {len(frequencies)} carriers."
    height = bottom + _FOOT_MM
    return pen.drawing(
        "frequency", "Level against frequency", says, width=WIDTH_MM, height=height, layers=LAYERS
    )


def _curve(
    pen: Pen, x: Scale, y: Scale, frequencies: list[float], levels: list[float], *, best: bool
) -> None:
    points = [(x.at(f), y.at(v)) for f, v in sorted(zip(frequencies, levels, strict=True)) if v == v]
    pen.layer = "data"
    pen.line(*points, stroke="drop" if best else "trunk", stroke_mm=0.5, dashed=best)
    for px, py in points:
        _dot(pen, px, py, best=best)


def _dot(pen: Pen, x: float, y: float, *, best: bool) -> None:
    if best:
        pen.circle(x, y, 1.1, fill="paper", stroke="drop")
    else:
        pen.box(x - 1.0, y - 1.0, 2.0, 2.0, fill="trunk", stroke="trunk")


def _key(pen: Pen, x: float, y: float, text: str, *, best: bool) -> None:
    pen.layer = "data"
    pen.line((x, y), (x + 8.0, y), stroke="drop" if best else "trunk", stroke_mm=0.5, dashed=best)
    _dot(pen, x + 4.0, y, best=best)
    pen.text(x + 9.5, y + 1.0, text, TEXT_MM)


def _tolerance_chart(design: Design) -> Drawing | None:
    """What every outlet has left as designed and in nine of ten draws of tolerance, hot and cold."""
    report, margins = design.chosen.report, design.chosen.margins
    spread = report.spread
    if spread is None or not margins.outlets:
        return None
    level = report.outlet_level_dbmv
    low, high = level - margins.low_db, level + margins.high_db
    drawn = np.fmin.reduce(np.fmin(spread.low_dbmv - low, high - spread.high_dbmv), axis=1, initial=np.inf)
    planned = margins.least_db
    # Each line is sorted on its own: how many outlets have so little left is what is asked.
    curves = [np.sort(rows[np.isfinite(rows)]).tolist() for rows in (planned, drawn)]
    if not all(curves):
        return None
    pen, bottom = Pen(), 72.0
    figures = [value for curve in curves for value in curve]
    y_low, y_high = padded([0.0, *figures], 6.0)
    x = Scale(low=0.0, high=max(*map(len, curves), 2), start_mm=_LEFT_MM, end_mm=WIDTH_MM - 4.0)
    y = Scale(low=y_low, high=y_high, start_mm=bottom, end_mm=_TOP_MM + 6.0)
    pen.layer = "grid"
    draw_x_axis(pen, x, y.end_mm, bottom, "outlets, from least to most left [number]")
    draw_y_axis(pen, y, _LEFT_MM, WIDTH_MM - 4.0, "left to the limits [dB]")
    pen.line((_LEFT_MM, y.at(0.0)), (WIDTH_MM - 4.0, y.at(0.0)), stroke="ink", stroke_mm=0.5, dashed=True)
    key = 60.0
    for word, curve, best in (("as designed", curves[0], False), ("in 90 % of draws", curves[1], True)):
        points = [(x.at(at + 0.5), y.at(value)) for at, value in enumerate(curve)]
        pen.layer = "data"
        pen.line(*points, stroke="drop" if best else "trunk", stroke_mm=0.5, dashed=best)
        if len(points) <= 60:
            for px, py in points:
                _dot(pen, px, py, best=best)
        _key(pen, key, _TOP_MM + 2.0, word, best=best)
        key += wide(word) + 16.0
    remark = f"Every outlet passes in {spread.yield_share:.1%} of {spread.draws} draws. Below 0 dB a limit is broken."
    draw_title(pen, "What tolerances and temperature leave", remark, WIDTH_MM)
    height = bottom + _FOOT_MM
    return pen.drawing(
        "tolerance",
        "What tolerances and temperature leave",
        remark,
        width=WIDTH_MM,
        height=height,
        layers=LAYERS,
    )
