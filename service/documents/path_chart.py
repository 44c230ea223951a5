"""Where the decibels go: step by step from the head-end to the worst outlet, on its worst carrier."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from service.documents.chart_axes import TEXT_MM, Scale, draw_title, draw_x_axis, padded
from service.documents.charts import LAYERS, WIDTH_MM
from service.documents.drawing import Drawing, Pen, Tone
from service.documents.measures import Measures
from service.documents.table import Column, Table
from service.engine.placement.proposal import Design
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Device, Port

Sort = Literal["cable and connectors", "splitting and tapping", "through loss", "gain"]

_ROW_MM = 5.6
_TOP_MM = 18.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One change of the level on the path: `change_db` is negative for a loss, `level_dbmv` what is left after."""

    name: str
    sort: Sort
    change_db: float
    level_dbmv: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelPath:
    """From the feed's level to an outlet on one carrier."""

    outlet: str
    carrier: str
    launched_dbmv: float
    steps: tuple[Step, ...]


def worst_path(design: Design, catalogue: Catalogue, measures: Measures) -> LevelPath | None:
    """The path to the outlet with least left, on the carrier where it has least; None where none is judged."""
    chosen = design.chosen
    worst, report = chosen.margins.worst, chosen.report
    if worst is None:
        return None
    carrier = chosen.margins.carriers.index(worst.carrier)
    rows = {port: row for row, port in enumerate(report.ports)}
    inputs = {name: row for row, name in enumerate(report.devices)}
    devices = {device.id: device for device in chosen.network.devices}
    into = {run.end: run for run in chosen.network.runs}
    port = next(served.port for served in report.outlets if served.outlet == worst.outlet)
    ports = [port]
    while ports[0].device in into:
        ports.insert(0, into[ports[0].device].start)
    launched = float(report.level_dbmv[rows[ports[0]], carrier])
    level, steps = launched, []
    for port in ports[1:]:
        run = into[port.device]
        came = float(report.input_dbmv[inputs[port.device], carrier])
        long = f"{measures.length(run.length_m):.1f} {measures.length_unit}"
        name = f"{run.id}: {run.cable} {long}" if run.cable else f"{run.id}: coupling"
        steps.append(Step(name=name, sort="cable and connectors", change_db=came - level, level_dbmv=came))
        level = float(report.level_dbmv[rows[port], carrier])
        step = Step(
            name=f"{port.device}: {devices[port.device].part}, {port.group}",
            sort=_sort(devices[port.device], port, catalogue),
            change_db=level - came,
            level_dbmv=level,
        )
        steps.append(step)
    return LevelPath(outlet=worst.outlet, carrier=worst.carrier, launched_dbmv=launched, steps=tuple(steps))


def _sort(device: Device, port: Port, catalogue: Catalogue) -> Sort:
    part = catalogue.part(device.part)
    if part.active is not None:
        return "gain"
    return "through loss" if port.group == "through" or part.port_count == 1 else "splitting and tapping"


def path_chart(path: LevelPath, measures: Measures) -> Drawing:
    """The path as bars from the level before to the level after each step."""
    pen = Pen()
    levels = [measures.level(path.launched_dbmv)]
    levels += [measures.level(step.level_dbmv) for step in path.steps]
    low, high = padded(levels, 10.0)
    names_mm = 66.0
    scale = Scale(low=low, high=high, start_mm=names_mm, end_mm=WIDTH_MM - 18.0)
    bottom = _TOP_MM + _ROW_MM * (len(path.steps) + 1)
    pen.layer = "grid"
    draw_x_axis(pen, scale, _TOP_MM, bottom, f"level on carrier {path.carrier} [{measures.level_unit}]")
    rows: list[tuple[str, float, float, str]] = [("launched", levels[0], levels[0], f"{levels[0]:.1f}")]
    for number, step in enumerate(path.steps):
        rows.append(
            (step.name, levels[number], levels[number + 1], f"{round(step.change_db, 1) + 0.0:+.1f} dB")
        )
    for number, (name, before, after, said) in enumerate(rows):
        y = _TOP_MM + _ROW_MM * number
        left, right = sorted((scale.at(before), scale.at(after)))
        tone: Tone = "gain" if after > before else "loss"
        pen.layer = "data"
        width = max(right - left, 0.6)
        pen.box(left, y + 1.1, width, _ROW_MM - 2.2, fill=tone, stroke="ink", stroke_mm=0.15)
        pen.layer = "texts"
        pen.text(names_mm - 2.0, y + 3.9, name, TEXT_MM, anchor="end", room=names_mm - 3.0)
        pen.text(right + 1.2, y + 3.9, said, TEXT_MM)
    title = f"Where the decibels go on the way to {path.outlet}"
    sums = [f"{sort} {total:+.1f} dB" for sort, total in path_sums(path)]
    draw_title(pen, title, ", ".join(sums), WIDTH_MM)
    height = bottom + 13.0
    return pen.drawing("path", title, ", ".join(sums), width=WIDTH_MM, height=height, layers=LAYERS)


def path_sums(path: LevelPath) -> tuple[tuple[Sort, float], ...]:
    """What each sort of step adds up to, in the order in which sorts come up."""
    sums: dict[Sort, float] = {}
    for step in path.steps:
        sums[step.sort] = sums.get(step.sort, 0.0) + step.change_db
    return tuple(sums.items())


def path_table(path: LevelPath, measures: Measures) -> Table:
    """The path's figures as a table."""
    first = ("launched", "", None, measures.level(path.launched_dbmv))
    rows = [(s.name, s.sort, s.change_db, measures.level(s.level_dbmv)) for s in path.steps]
    columns = (
        Column(name="step", kind="wide"),
        Column(name="sort", width=20),
        Column(name="change", unit="dB", kind="exact"),
        Column(name="level after it", unit=measures.level_unit, kind="exact"),
    )
    title = f"From the head-end to {path.outlet} on carrier {path.carrier}"
    return Table(id="path", title=title, columns=columns, rows=(first, *rows))
