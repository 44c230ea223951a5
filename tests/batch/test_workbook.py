"""A workbook reads as documents, and every fault of a sheet is told with its place."""

from __future__ import annotations

import datetime
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from batch.problems import Problem
from batch.workbook import Book, UnreadableBook, read_workbook

MakeBook = Callable[..., Path]
Rows = dict[str, list[dict[str, Any]]]


def the_problem(book: Book, code: str) -> Problem:
    found = [problem for problem in book.problems if problem.code == code]
    assert found, [problem.text for problem in book.problems]
    return found[0]


def column(book: openpyxl.Workbook, sheet: str, header: str) -> str:
    return next(cell.column_letter for cell in book[sheet][1] if cell.value == header)


def put(sheet: str, header: str, row: int, value: object) -> Callable[[openpyxl.Workbook], None]:
    def change(book: openpyxl.Workbook) -> None:
        book[sheet][f"{column(book, sheet, header)}{row}"] = value

    return change


def test_a_clean_workbook_reads_without_a_complaint(make_book: MakeBook) -> None:
    book = read_workbook(make_book())
    assert book.problems == ()
    assert [plan.id for plan in book.plans] == ["demo-8", "other"]
    assert book.plans[0].document["floor_types"] == book.plans[1].document["floor_types"]
    assert book.stopped == frozenset()


def test_blank_rows_are_passed_over(make_book: MakeBook) -> None:
    path = make_book(lambda book: book["floor types"].insert_rows(3, 2))
    assert read_workbook(path).problems == ()


def test_a_title_above_the_header_is_passed_over(make_book: MakeBook) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book["floors"].insert_rows(1, 2)
        book["floors"]["A1"] = "Floors of the estate"

    book = read_workbook(make_book(change))
    assert book.problems == ()
    assert book.plans[0].document["floors"] == [{"labels": "1-2", "floor_type": "typical"}]


@pytest.mark.parametrize(
    ("sheet", "header", "value", "code", "looks_like", "right"),
    [
        ("unit types", "drop_m", "45'", "unit-in-cell", "45 ft", "13.72"),
        ("unit types", "drop_m", "12'6\"", "unit-in-cell", "12.5 ft", "3.81"),
        ("unit types", "drop_m", "14 m", "unit-in-cell", "14 m", "14 alone"),
        ("unit types", "drop_m", "1,300", "comma", "decimal comma", "as a number"),
        ("unit types", "drop_m", datetime.datetime(2026, 1, 2), "date", "a date", "number"),
        ("unit types", "drop_m", "=A1*2", "formula-without-value", "formula", "save it"),
        ("floor types", "unit", datetime.datetime(2026, 1, 2), "date", "1-2", "type 1-2"),
        ("floor types", "unit", 300000, "turned-into-number", "3E5", "type 3E5"),
        ("floor types", "run_m", "about 9", "not-a-number", "a text", "in m"),
        ("unit types", "feed", "loop", "not-a-choice", "none of", "panel, home-run"),
    ],
)
def test_a_wrong_cell_stops_its_building_and_no_other(
    make_book: MakeBook, sheet: str, header: str, value: object, code: str, looks_like: str, right: str
) -> None:
    path = make_book(put(sheet, header, 2, value))
    book = read_workbook(path)
    problem = the_problem(book, code)
    assert (problem.workbook, problem.spot.sheet, problem.spot.row) == ("book.xlsx", sheet, 2)
    assert problem.spot.header == header
    assert problem.spot.column == column(openpyxl.load_workbook(path), sheet, header)
    assert looks_like in problem.looks_like
    assert right in problem.right
    assert book.stopped == {"demo-8"}


def test_a_formula_with_a_saved_result_reads_as_its_result(make_book: MakeBook, tmp_path: Path) -> None:
    path = make_book(put("unit types", "drop_m", 2, "=3+4.5"))
    with_result = tmp_path / "saved.xlsx"
    _save_result(path, with_result, "=3+4.5", "7.5")
    book = read_workbook(with_result)
    assert book.problems == ()
    assert book.plans[0].document["unit_types"][0]["outlets"][0]["drop_m"] == 7.5


def _save_result(path: Path, target: Path, formula: str, result: str) -> None:
    """Put the result of a formula into the file, as a spreadsheet program does when it saves."""
    filled = f"<f>{formula[1:]}</f><v>{result}</v>".encode()
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(target, "w") as new:
        for name in old.namelist():
            data = old.read(name)
            for empty in (b"<v />", b"<v/>"):
                data = data.replace(f"<f>{formula[1:]}</f>".encode() + empty, filled)
            new.writestr(name, data)


def test_a_missing_sheet_stops_every_building(make_book: MakeBook) -> None:
    book = read_workbook(make_book(lambda book: book.remove(book["feeds"])))
    problem = the_problem(book, "missing-sheet")
    assert problem.spot.sheet == "feeds"
    assert book.stopped == {"demo-8", "other"}


def test_a_sheet_that_nobody_knows_is_told_and_stops_nothing(make_book: MakeBook) -> None:
    book = read_workbook(make_book(lambda book: book.create_sheet("outlet")))
    assert the_problem(book, "unknown-sheet").spot.sheet == "outlet"
    assert book.stopped == frozenset()


def test_a_missing_column_names_what_is_wanted(make_book: MakeBook) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book["unit types"].delete_cols(6)

    problem = the_problem(read_workbook(make_book(change)), "missing-column")
    assert (problem.spot.sheet, problem.spot.header) == ("unit types", "drop_m or drop_ft")


def test_a_column_of_ones_own_is_told_and_not_read(make_book: MakeBook) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book["floors"]["Z1"] = "my remarks"
        book["floors"]["Z2"] = "call the janitor"

    book = read_workbook(make_book(change))
    assert the_problem(book, "unknown-column").value == "my remarks"
    assert book.stopped == frozenset()


def test_merged_cells_are_a_complaint(make_book: MakeBook) -> None:
    book = read_workbook(make_book(lambda book: book["floor types"].merge_cells("D2:D4")))
    problem = the_problem(book, "merged-cells")
    assert (problem.spot.cell, problem.spot.header) == ("floor types!D2", "unit_type")
    assert "D2:D4" in problem.looks_like


def test_a_second_header_halfway_is_left_out(make_book: MakeBook) -> None:
    def change(book: openpyxl.Workbook) -> None:
        sheet = book["floor types"]
        sheet.insert_rows(4)
        for cell in sheet[1]:
            sheet.cell(4, cell.column, cell.value)

    book = read_workbook(make_book(change))
    assert the_problem(book, "second-header").spot.row == 4
    assert len(book.plans[0].document["floor_types"][0]["units"]) == 4
    assert book.stopped == frozenset()


def test_a_second_table_with_other_columns_stops_reading(make_book: MakeBook) -> None:
    def change(book: openpyxl.Workbook) -> None:
        sheet = book["floors"]
        for position, name in enumerate(("label", "building", "order"), start=1):
            sheet.cell(9, position, name)

    problem = the_problem(read_workbook(make_book(change)), "second-header")
    assert problem.stops
    assert problem.spot.row == 9


def test_a_hidden_row_stops_its_building(make_book: MakeBook) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book["floor types"].row_dimensions[7].hidden = True

    book = read_workbook(make_book(change))
    assert the_problem(book, "hidden-row").spot.row == 7
    assert book.stopped == {"other"}


def test_a_row_of_totals_is_left_out(make_book: MakeBook) -> None:
    def change(book: openpyxl.Workbook) -> None:
        sheet = book["floor types"]
        sheet.cell(10, 1, "TOTAL 205")

    book = read_workbook(make_book(change))
    assert the_problem(book, "total-row").value == "TOTAL 205"
    assert book.stopped == frozenset()


def test_a_unit_line_that_agrees_is_left_out(make_book: MakeBook) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book["unit types"].insert_rows(2)
        book["unit types"]["F2"] = "[m]"

    book = read_workbook(make_book(change))
    assert not the_problem(book, "unit-line").stops
    assert book.stopped == frozenset()


def test_a_unit_line_that_says_feet_under_metres_stops_all(make_book: MakeBook) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book["unit types"].insert_rows(2)
        book["unit types"]["F2"] = "ft"

    book = read_workbook(make_book(change))
    problem = the_problem(book, "unit-differs")
    assert (problem.spot.header, problem.value) == ("drop_m", "ft")
    assert book.stopped == {"demo-8", "other"}


def test_feet_and_metres_in_one_column_are_told_once_for_the_column(make_book: MakeBook) -> None:
    def change(book: openpyxl.Workbook) -> None:
        book["unit types"]["F2"], book["unit types"]["F3"] = "45'", "14 m"

    problem = the_problem(read_workbook(make_book(change)), "mixed-units")
    assert problem.spot.header == "drop_m"
    assert "row 2" in problem.looks_like
    assert "row 3" in problem.looks_like


def test_a_building_written_in_another_way_is_recognised(make_book: MakeBook, two_buildings: Rows) -> None:
    rows = two_buildings
    rows["floors"][1]["building"] = "OTHER "
    book = read_workbook(make_book(rows=rows))
    problem = the_problem(book, "unknown-building")
    assert problem.looks_like.startswith("other,")
    assert book.stopped == {"other"}


def test_a_row_without_its_building_stops_the_one_above(make_book: MakeBook) -> None:
    book = read_workbook(make_book(put("floor types", "building", 3, None)))
    assert the_problem(book, "missing").spot.cell == "floor types!A3"
    assert book.stopped == {"demo-8"}


def test_one_building_in_two_rows_is_a_complaint(make_book: MakeBook, two_buildings: Rows) -> None:
    rows = two_buildings
    rows["buildings"].append(dict(rows["buildings"][0]))
    problem = the_problem(read_workbook(make_book(rows=rows)), "duplicate-id")
    assert problem.spot.row == 4
    assert "row 2" in problem.looks_like


def test_a_line_up_that_is_not_there_is_a_complaint(make_book: MakeBook, two_buildings: Rows) -> None:
    rows = two_buildings
    rows["buildings"][1]["feed"] = "valley"
    book = read_workbook(make_book(rows=rows))
    assert the_problem(book, "unknown-feed").right == "one of hill"
    assert book.stopped == {"other"}


def test_metres_and_feet_stand_under_their_own_headers(make_book: MakeBook, two_buildings: Rows) -> None:
    rows = two_buildings
    for row in rows["unit types"]:
        row["drop_ft"] = row.pop("drop_m") * 3
    book = read_workbook(make_book(rows=rows))
    assert book.plans[0].document["unit_types"][0]["outlets"][0]["drop_ft"] == 22.5


def test_a_file_that_is_no_workbook_says_so(tmp_path: Path) -> None:
    path = tmp_path / "book.xlsx"
    path.write_bytes(b"not a workbook")
    with pytest.raises(UnreadableBook) as caught:
        read_workbook(path)
    assert caught.value.right == "a workbook saved as .xlsx"
    with pytest.raises(UnreadableBook):
        read_workbook(tmp_path / "missing.xlsx")


def test_what_stops_a_building_stops_those_with_its_plan(make_book: MakeBook, two_buildings: Rows) -> None:
    two_buildings["buildings"].append({"building": "twin", "same_as": "demo-8", "mirrored": True})
    path = make_book(put("floor types", "run_m", 2, "far"), rows=two_buildings)
    assert read_workbook(path).stopped == {"demo-8", "twin"}


def test_a_wrong_line_up_stops_those_who_receive_it(make_book: MakeBook, two_buildings: Rows) -> None:
    two_buildings["buildings"][1]["feed"] = "valley"
    two_buildings["feeds"].append({"feed": "valley", "channel": "14", "level_dbmv": 9.0})
    path = make_book(put("feeds", "level_dbmv", 7, "loud"), rows=two_buildings)
    assert read_workbook(path).stopped == {"other"}


def test_a_wrong_price_stops_those_who_use_it(make_book: MakeBook, two_buildings: Rows) -> None:
    two_buildings["buildings"][1]["prices"] = "mine"
    row = {"prices": "mine", "based_on": "demo-usd", "what": "part", "id": "split-2", "price": "$7"}
    two_buildings["prices"] = [row]
    assert read_workbook(make_book(rows=two_buildings)).stopped == {"other"}


def test_ids_that_people_mix_up_are_a_complaint(make_book: MakeBook, two_buildings: Rows) -> None:
    two_buildings["buildings"].append({"building": "Demo 8", "same_as": "other"})
    problem = the_problem(read_workbook(make_book(rows=two_buildings)), "look-alike-id")
    assert problem.looks_like.startswith("demo-8,")


def test_a_building_known_in_outline_needs_its_row_in_buildings_alone(
    make_book: MakeBook, two_buildings: Rows
) -> None:
    row = {"building": "rough", "prices": "demo-usd", "outline_floors": 4, "outline_units_per_floor": 6}
    row |= {"outline_outlets_per_unit": 2.5, "outline_plate_length_ft": 120.0, "outline_plate_width_ft": 50.0}
    sheets = {"buildings": [row], "feeds": two_buildings["feeds"]}

    def drop(book: openpyxl.Workbook) -> None:
        for name in ("outlets", "unit types"):
            del book[name]

    read = read_workbook(make_book(drop, rows=sheets))
    assert read.problems == ()
    (plan,) = read.plans
    assert plan.document["outline"] == {
        "floors": 4,
        "units_per_floor": 6,
        "outlets_per_unit": 2.5,
        "plate_length_ft": 120.0,
        "plate_width_ft": 50.0,
    }
