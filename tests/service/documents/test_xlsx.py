"""Workbooks: what a reader of the file finds in it."""

from dataclasses import replace
from decimal import Decimal

import openpyxl
import pytest

from service.documents.table import Column, Imprint, Table
from service.documents.xlsx import lines_of, sheet_name, write_workbook

IMPRINT = Imprint(title="House & garden", design="d1", revision="B", date="2026-02-03", status="for bid")
TABLE = Table(
    id="t",
    title="Cost",
    columns=(
        Column(name="item", width=20),
        Column(name="total", unit="USD", kind="money"),
        Column(name="initials", kind="blank"),
    ),
    rows=(("=HYPERLINK(0)", Decimal("12.30"), None), ("+1", Decimal("0.07"), None)),
    totals=("total",),
    note="Invented.",
)


@pytest.fixture
def sheet(tmp_path):
    write_workbook(tmp_path / "book.xlsx", [TABLE], IMPRINT)
    return openpyxl.load_workbook(tmp_path / "book.xlsx")["Cost"]


def test_a_long_note_is_wrapped_inside_the_table_so_that_the_print_keeps_its_size(tmp_path):
    columns = (Column(name="a", width=10), Column(name="b", kind="wide", width=30))
    note = "One sentence after another, longer than the table is wide. " * 4
    table = Table(id="t", title="T", columns=columns, rows=(("x", "y"),), note=note.strip())
    write_workbook(tmp_path / "t.xlsx", (table,), Imprint(title="House"))
    sheet = openpyxl.load_workbook(tmp_path / "t.xlsx")["T"]
    assert [str(area) for area in sheet.merged_cells.ranges] == ["A2:B2"]
    assert sheet["A2"].alignment.wrap_text
    assert sheet["A2"].value == table.note
    assert sheet.row_dimensions[2].height >= 6 * 9


def test_text_never_becomes_a_formula(sheet):
    assert (sheet["A4"].value, sheet["A4"].data_type) == ("=HYPERLINK(0)", "s")
    assert (sheet["A5"].value, sheet["A5"].data_type) == ("+1", "s")


def test_headers_have_units_and_stay_in_sight_on_screen_and_paper(sheet):
    assert [cell.value for cell in sheet[3]] == ["item", "total [USD]", "initials"]
    assert sheet.freeze_panes == "B4"
    assert sheet.print_title_rows == "$3:$3"
    assert sheet.auto_filter.ref == "A3:C5"


def test_totals_are_formulas_over_their_rows_with_their_value_beside(sheet, tmp_path):
    assert sheet["B6"].value == "=SUM(B4:B5)"
    values = openpyxl.load_workbook(tmp_path / "book.xlsx", data_only=True)["Cost"]
    assert values["B6"].value == pytest.approx(12.37)


def test_every_page_says_what_it_belongs_to(sheet):
    assert "Design d1" in sheet.oddFooter.left.text
    for word in ("Revision B", "2026-02-03", "for bid"):
        assert word in sheet.oddFooter.center.text
    assert "House && garden" in sheet.oddHeader.left.text or "House & garden" in sheet.oddHeader.left.text
    assert sheet.oddHeader.right.text.endswith("Cost")


@pytest.mark.parametrize(("paper", "code"), [("A4", 9), ("Letter", 1)])
def test_sheets_print_landscape_on_the_paper_of_the_region(tmp_path, paper, code):
    imprint = Imprint(title="t", paper=paper)
    write_workbook(tmp_path / "book.xlsx", [TABLE], imprint)
    sheet = openpyxl.load_workbook(tmp_path / "book.xlsx")["Cost"]
    assert (sheet.page_setup.paperSize, sheet.page_setup.orientation) == (code, "landscape")
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert sheet.page_setup.fitToHeight == 0


def test_a_table_too_wide_for_a_page_prints_on_two_with_its_first_column_on_both(tmp_path):
    write_workbook(tmp_path / "book.xlsx", [replace(TABLE, pages_wide=2)], IMPRINT)
    sheet = openpyxl.load_workbook(tmp_path / "book.xlsx")["Cost"]
    assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (2, 0)
    assert sheet.print_title_cols == "$A:$A"


def test_the_same_tables_give_the_same_bytes(tmp_path):
    for name in ("a", "b"):
        write_workbook(tmp_path / name, [TABLE, TABLE], IMPRINT)
    assert (tmp_path / "a").read_bytes() == (tmp_path / "b").read_bytes()


def test_sheet_names_are_made_fit_and_kept_apart():
    long = "Set-up of the amplifier in closet N/12"
    first = sheet_name(long, set())
    second = sheet_name(long, {first.casefold()})
    assert len(first) == len(second) == 31
    assert first != second
    assert "/" not in first + second


def test_rows_grow_with_their_text():
    assert lines_of("one two", 20) == 1
    assert lines_of("one two three four", 10) == 2
    assert lines_of("abcdefghijkl", 5) == 3
