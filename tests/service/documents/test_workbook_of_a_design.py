"""The workbook of a design: pictures of the drawing, charts over its own cells, no text that becomes a formula."""

from __future__ import annotations

import io
import re
import struct
import zipfile
import zlib
from dataclasses import replace
from typing import Any

import openpyxl
import pytest

from service.documents.book import building_tables
from service.documents.drawing_png import png_bytes
from service.documents.drawing_svg import COLOURS
from service.documents.pages import write_design_book
from service.documents.riser_drawing import riser_drawings
from service.documents.sheet_chart import book_charts
from service.documents.table import Formula
from service.engine.placement.proposal import Design


def written(bench: Any, design: Design) -> bytes:
    trade, out = bench.trade(design), io.BytesIO()
    tables = building_tables(design, trade.catalogue, trade.tariff, trade.limits, design_id="kept")
    write_design_book(out, tables, design, trade, design_id="kept")
    return out.getvalue()


@pytest.fixture(scope="module")
def book(bench: Any) -> bytes:
    return written(bench, bench.design("europe_two_stairs"))


def test_every_sheet_of_the_riser_drawing_is_a_picture_with_a_text_for_who_cant_see_it(
    bench: Any, book: bytes
) -> None:
    design = bench.design("europe_two_stairs")
    trade = bench.trade(design)
    sheets = riser_drawings(design, trade.catalogue, trade.symbols, bench.imprint(design))
    names = zipfile.ZipFile(io.BytesIO(book)).namelist()
    pictures = [name for name in names if name.startswith("xl/media/")]
    assert len(pictures) == len(sheets)
    drawn = zipfile.ZipFile(io.BytesIO(book)).read("xl/drawings/drawing2.xml").decode()
    assert len(re.findall(r'descr="[^"]{20,}"', drawn)) == len(sheets)


def test_charts_take_their_figures_from_cells_of_the_book(bench: Any, book: bytes) -> None:
    design = bench.design("europe_two_stairs")
    trade = bench.trade(design)
    charted = book_charts(design, trade.limits, trade.catalogue)
    assert [chart.id for chart in charted.charts] == ["floors-dvb-t", "frequency", "path"]
    workbook = openpyxl.load_workbook(io.BytesIO(book), data_only=True)
    archive = zipfile.ZipFile(io.BytesIO(book))
    for number, chart in enumerate(charted.charts, 1):
        xml = archive.read(f"xl/charts/chart{number}.xml").decode()
        ranges = re.findall(r"<c:val>.*?<c:f>'?(.*?)'?!\$(\w+)\$(\d+):\$\w+\$(\d+)</c:f>", xml)
        ranges += re.findall(r"<c:yVal>.*?<c:f>'?(.*?)'?!\$(\w+)\$(\d+):\$\w+\$(\d+)</c:f>", xml)
        assert len(ranges) == len(chart.series)
        for series, (sheet, letter, first, last) in zip(chart.series, ranges, strict=True):
            table = next(table for table in charted.tables if table.id == chart.table)
            at = [column.name for column in table.columns].index(series.y)
            cells = [workbook[sheet][f"{letter}{row}"].value for row in range(int(first), int(last) + 1)]
            assert cells == pytest.approx([row[at] for row in table.rows[series.first : series.last + 1]])
        assert chart.y_title in xml.replace("&amp;", "&")
        assert "[dB" in chart.y_title


def test_floors_of_the_chart_hold_every_outlet_once_and_lie_inside_the_limits(bench: Any) -> None:
    design = bench.design("europe_two_stairs")
    trade = bench.trade(design)
    table = book_charts(design, trade.limits, trade.catalogue).tables[0]
    assert sum(row[2] for row in table.rows) == len(design.chosen.report.outlets)
    for row in table.rows:
        low, high, lower, upper = row[3], row[4], row[6], row[9]
        assert lower <= low <= high <= upper


def test_no_name_of_a_building_becomes_a_formula_on_any_sheet(bench: Any) -> None:
    design = bench.design("smallest")
    evil = '=HYPERLINK("x")'
    rooms = tuple(replace(outlet, room=evil) for outlet in design.building.outlets)
    named = replace(design, building=replace(design.building, name=evil, note="@SUM(1)", outlets=rooms))
    workbook = openpyxl.load_workbook(io.BytesIO(written(bench, named)))
    formulas = [
        cell.value
        for sheet in workbook.worksheets
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    ]
    assert not [text for text in formulas if "HYPERLINK" in text or "@SUM" in text]
    trade = bench.trade(named)
    tables = building_tables(named, trade.catalogue, trade.tariff, trade.limits, design_id="kept")
    meant = sum(isinstance(value, Formula) for table in tables for row in table.rows for value in row)
    totals = sum(len(table.totals) for table in tables if table.rows)
    assert len(formulas) == meant + totals


def test_an_outlets_place_in_the_window_has_the_colour_of_the_drawing(book: bytes) -> None:
    sheet = openpyxl.load_workbook(io.BytesIO(book))["Outlets"]
    at = [cell.value for cell in sheet[3]].index("in the window")
    cells = [row[at] for row in sheet.iter_rows(min_row=4, max_row=sheet.max_row)]
    assert {cell.value for cell in cells} == {"inside"}
    assert {cell.font.color.rgb[2:].lower() for cell in cells} == {COLOURS["inside"][1:]}


def test_the_same_design_gives_the_same_book(bench: Any) -> None:
    design = bench.design("smallest")
    assert written(bench, design) == written(bench, design)


def test_a_picture_holds_the_colours_of_its_drawing_in_few_bytes(bench: Any) -> None:
    design = bench.design("walkup_8")
    trade = bench.trade(design)
    sheet = riser_drawings(design, trade.catalogue, trade.symbols, bench.imprint(design))[0]
    made = png_bytes(sheet, wide_dots=1100)
    assert made.startswith(b"\x89PNG\r\n\x1a\n")
    wide, high, depth, kind = struct.unpack(">IIBB", made[16:26])
    assert (wide, depth, kind) == (1100, 8, 3)
    assert high == round(1100 * sheet.height_mm / sheet.width_mm)
    palette_at = made.index(b"PLTE")
    count = struct.unpack(">I", made[palette_at - 4 : palette_at])[0] // 3
    colours = [tuple(made[palette_at + 4 + 3 * n : palette_at + 7 + 3 * n]) for n in range(count)]
    trunk = tuple(int(COLOURS["trunk"][n : n + 2], 16) for n in (1, 3, 5))
    assert min(max(abs(a - b) for a, b in zip(trunk, colour, strict=True)) for colour in colours) <= 8
    data_at = made.index(b"IDAT")
    data = made[data_at + 4 : data_at + 4 + struct.unpack(">I", made[data_at - 4 : data_at])[0]]
    assert len(zlib.decompress(data)) == high * (wide + 1)
    assert len(made) < 150_000
