"""The papers of every demo building: drawn in full and without overlap, and the same numbers on each of them."""

from __future__ import annotations

import io
import json
import re
from collections import Counter
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from batch.cli import main
from service.documents.book import building_tables, imprint_of
from service.documents.drawing import Drawing
from service.documents.measures import Measures
from service.documents.pages import write_design_book
from service.documents.report import Trade, report_charts, report_of
from service.documents.riser_drawing import riser_drawings
from service.engine.placement.proposal import Design

QUICK = ("smallest", "walkup_8", "townhouse_row", "europe_two_stairs", "slab_1968", "senior_corridors")
LARGE = ("slab_14",)
DEMOS = [*QUICK, *(pytest.param(name, marks=pytest.mark.slow) for name in LARGE)]
BUILDINGS = Path(__file__).parents[2] / "fixtures" / "buildings"


@pytest.fixture(params=DEMOS)
def made(request: pytest.FixtureRequest, desk: Any) -> Design:
    return desk.demo(request.param)


def trade_of(desk: Any, design: Design) -> Trade:
    return Trade(
        catalogue=desk.library.catalogue,
        tariff=desk.library.tariffs[design.building.tariff],
        limits=desk.limits[design.building.rules.limits],
        services=desk.services,
        symbols={name: family.symbol for name, family in desk.library.families.items()},
        sources=desk.library.sources,
    )


def drawn(desk: Any, design: Design, *, folded: bool | None = None) -> tuple[Drawing, ...]:
    trade = trade_of(desk, design)
    imprint = imprint_of(design, design_id="kept")
    return riser_drawings(design, trade.catalogue, trade.symbols, imprint, folded=folded)


def faults_of(drawing: Drawing) -> list[tuple[str, ...]]:
    """Texts that lie on another, and texts and boxes that leave the page, by the font's own metrics."""
    wide, high = drawing.width_mm, drawing.height_mm
    rooms = sorted(((text.bounds_mm, text.text) for text in drawing.texts), key=lambda row: row[0][1])
    boxes = [((b.x_mm, b.y_mm, b.x_mm + b.width_mm, b.y_mm + b.height_mm), b.ref) for b in drawing.boxes]
    found: list[tuple[str, ...]] = [
        ("off the page", name)
        for (left, top, right, bottom), name in (*rooms, *boxes)
        if left < 0 or top < 0 or right > wide or bottom > high
    ]
    for at, ((left, _, right, bottom), text) in enumerate(rooms):
        for (l2, t2, r2, _), other in rooms[at + 1 :]:
            if t2 >= bottom - 0.05:
                break
            if left < r2 - 0.05 and l2 < right - 0.05:
                found.append(("overlap", text, other))
    return found


def test_nothing_overlaps_or_leaves_its_page_on_any_drawing_or_chart(made: Design, desk: Any) -> None:
    pictures = (
        *drawn(desk, made),
        *drawn(desk, made, folded=False),
        *report_charts(made, trade_of(desk, made)),
    )
    assert [fault for picture in pictures for fault in faults_of(picture)] == []


def test_every_device_run_and_outlet_is_drawn_once(made: Design, desk: Any) -> None:
    sheets, network = drawn(desk, made, folded=False), made.chosen.network
    named = Counter(
        text.ref.removeprefix("device:")
        for sheet in sheets
        for text in sheet.texts
        if text.bold and text.ref.startswith("device:")
    )
    assert named == Counter([*(d.id for d in network.devices), *(feed.id for feed in network.feeds)])
    unit = f" {made.building.length_unit}"
    labelled = Counter(
        text.ref
        for sheet in sheets
        for text in sheet.texts
        if text.ref.startswith("run:") and unit in text.text
    )
    assert labelled == Counter(f"run:{run.id}" for run in network.runs if run.cable is not None)
    marked = {
        thing.ref.removeprefix("outlet:")
        for sheet in sheets
        for thing in (*sheet.boxes, *sheet.lines)
        if thing.ref.startswith("outlet:")
    }
    assert marked == {outlet.id for outlet in made.building.outlets}


def test_the_same_numbers_stand_in_drawing_report_workbook_and_json(desk: Any, tmp_path: Path) -> None:
    assert main(["design", str(BUILDINGS / "walkup_8.json"), "-o", str(tmp_path)]) == 0
    name = "demo-walkup-8"
    document = json.loads((tmp_path / f"{name}.json").read_text(encoding="utf-8"))
    page = (tmp_path / f"{name}.report.html").read_text(encoding="utf-8")
    book = openpyxl.load_workbook(tmp_path / f"{name}.xlsx", data_only=True)
    drawing = "".join(
        path.read_text(encoding="utf-8") for path in sorted(tmp_path.glob(f"{name}.riser-*.svg"))
    )
    figures = document["figures"]
    summary = {row[0].value: row[1].value for row in book["Summary"].iter_rows(min_row=4)}
    cost = f"{figures['cost_cents'] / 100:,.2f}"
    assert f'<span class="big">{cost} USD' in page
    assert summary["Direct cost"].startswith(f"{cost} USD")
    assert f'<span class="big">{figures["worst_margin_db"]:.1f} dB' in page
    assert summary["Worst margin to a limit"].startswith(f"{figures['worst_margin_db']:.2f} dB")

    design, measures = desk.demo("walkup_8"), Measures.of(desk.demo("walkup_8").building)
    report = design.chosen.report
    outlets = book["Outlets"]
    heads = [cell.value for cell in outlets[3]]
    lows, highs = heads.index("lowest level [dBmV]"), heads.index("highest level [dBmV]")
    rows = {row[0].value: (row[lows].value, row[highs].value) for row in outlets.iter_rows(min_row=4)}
    at = {served.outlet: number for number, served in enumerate(report.outlets)}
    assert rows.keys() == at.keys()
    for outlet, (low, high) in rows.items():
        levels = [measures.level(float(level)) for level in report.outlet_level_dbmv[at[outlet]]]
        assert (low, high) == pytest.approx((min(levels), max(levels)))
        assert f">{low:.2f}<" in page
        port = next(served.port for served in report.outlets if served.outlet == outlet)
        said = re.findall(rf'data-ref="device:{re.escape(port.device)}">([^<]*out [^<]*)<', drawing)
        first, last = (round(level, 1) + 0.0 for level in (levels[0], levels[-1]))
        assert said[0].endswith(f"out {first:.1f} / {last:.1f} dBmV")


def test_a_building_that_cant_be_supplied_has_papers_that_say_so(desk: Any) -> None:
    document = desk.document("walkup_8")
    for carrier in document["feed"]["carriers"]:
        carrier["cn_db"] = 12.0
    design = desk.design(desk.building(document))
    assert not design.chosen.serves_all
    trade = trade_of(desk, design)
    report = report_of(design, trade, design_id="kept")
    assert "<strong>No</strong>" in report.html
    assert (
        "that were tried serves every outlet" in report.html
        or "Every outlet would be served with" in report.html
    )
    assert [fault for picture in (*report.drawings, *report.charts) for fault in faults_of(picture)] == []
    out = io.BytesIO()
    tables = building_tables(design, trade.catalogue, trade.tariff, trade.limits, design_id="kept")
    write_design_book(out, tables, design, trade, design_id="kept")
    summary = openpyxl.load_workbook(out)["Summary"]
    assert str(summary["B5"].value).startswith("NOT every outlet is served")
