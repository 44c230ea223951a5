"""Makes fixtures/workbooks/wrong_<fault>.xlsx: two invented buildings, one fault, and where it must be found.

Run `python tests/whole/wrong_workbooks.py` after a change. Building demo-8 is written with types, rows-4 with
rows.
"""

from __future__ import annotations

import copy
import datetime
import importlib.util
import sys
import tempfile
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import openpyxl

from batch.desk import desk
from batch.example import EXAMPLE
from batch.template import write_book

WORKBOOKS = Path(__file__).parents[2] / "fixtures" / "workbooks"
TYPES, ROWS = "demo-8", "rows-4"
BOTH = frozenset((TYPES, ROWS))

Change = Callable[[openpyxl.Workbook], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wrong:
    """One fault: the change that makes it, the complaint it must give, and the buildings that it stops."""

    change: Change
    code: str
    cell: str
    says: str
    right: str
    stopped: frozenset[str]


def put(sheet: str, header: str, row: int, value: object, *, number_format: str = "") -> Change:
    """Write one cell under a header."""

    def change(book: openpyxl.Workbook) -> None:
        column = next(cell.column for cell in book[sheet][1] if cell.value == header)
        cell = book[sheet].cell(row, column)
        cell.value = value
        if number_format:
            cell.number_format = number_format

    return change


def both(*changes: Change) -> Change:
    """Several changes, one after another."""

    def change(book: openpyxl.Workbook) -> None:
        for one in changes:
            one(book)

    return change


def _drop_column(sheet: str, header: str) -> Change:
    def change(book: openpyxl.Workbook) -> None:
        column = next(cell.column for cell in book[sheet][1] if cell.value == header)
        book[sheet].delete_cols(column)

    return change


def _repeat_header(sheet: str, row: int) -> Change:
    def change(book: openpyxl.Workbook) -> None:
        book[sheet].insert_rows(row)
        for cell in book[sheet][1]:
            book[sheet].cell(row, cell.column, cell.value)

    return change


def _second_table(book: openpyxl.Workbook) -> None:
    for column, name in enumerate(("outlet", "unit", "at", "building"), start=1):
        book["outlets"].cell(9, column, name)


def _unit_line(unit: str) -> Change:
    def change(book: openpyxl.Workbook) -> None:
        book["outlets"].insert_rows(2)
        put("outlets", "drop_m", 2, unit)(book)

    return change


def _hide(sheet: str, row: int) -> Change:
    def change(book: openpyxl.Workbook) -> None:
        book[sheet].row_dimensions[row].hidden = True

    return change


def _blank_rows(book: openpyxl.Workbook) -> None:
    book["outlets"].insert_rows(3, 2)


def _no_outlets(book: openpyxl.Workbook) -> None:
    book["outlets"].delete_rows(2, 10)


def wrong(change: Change, code: str, cell: str, says: str, right: str, *stopped: str) -> Wrong:
    """A fault in its usual order."""
    return Wrong(change=change, code=code, cell=cell, says=says, right=right, stopped=frozenset(stopped))


JANUARY_2 = datetime.datetime(2026, 1, 2)
DROP = ("outlets", "drop_m", 2)
CLOSETS = "closets and panels"

FAULTS: Mapping[str, Wrong] = {
    "missing_sheet": wrong(
        lambda book: book.remove(book["feeds"]), "missing-sheet", "feeds", "without", "feeds", *BOTH
    ),
    "missing_column": wrong(
        _drop_column("outlets", "drop_m"), "missing-column", "outlets!1", "drop_m", "drop_ft", *BOTH
    ),
    "merged_cells": wrong(
        lambda book: book["outlets"].merge_cells("C2:C3"),
        "merged-cells",
        "outlets!C2",
        "C2:C3",
        "unmerge",
        *BOTH,
    ),
    "date_in_number": wrong(put(*DROP, JANUARY_2), "date", "outlets!E2", "a date", "number", ROWS),
    "date_in_name": wrong(
        put("outlets", "unit", 2, JANUARY_2), "date", "outlets!C2", "1-2 that", "type 1-2", ROWS
    ),
    "power_of_ten": wrong(
        put("outlets", "unit", 2, 300000), "turned-into-number", "outlets!C2", "3E5", "type 3E5", ROWS
    ),
    "lost_zeros": wrong(
        put("outlets", "unit", 2, 101, number_format="0000"),
        "lost-zeros",
        "outlets!C2",
        "0101",
        "type 0101",
        ROWS,
    ),
    "formula_without_value": wrong(
        put(*DROP, "=2*5.5"), "formula-without-value", "outlets!E2", "never saved", "save it", ROWS
    ),
    "feet_in_metres": wrong(put(*DROP, "45'"), "unit-in-cell", "outlets!E2", "45 ft", "13.72", ROWS),
    "feet_and_inches": wrong(put(*DROP, "12'6\""), "unit-in-cell", "outlets!E2", "12.5 ft", "3.81", ROWS),
    "unit_in_cell": wrong(put(*DROP, "14 m"), "unit-in-cell", "outlets!E2", "14 m", "14 alone", ROWS),
    "comma": wrong(put(*DROP, "1,300"), "comma", "outlets!E2", "1300, or 1.300", "1300 or 1.300", ROWS),
    "mixed_units": wrong(
        both(put(*DROP, "45'"), put("outlets", "drop_m", 3, "14 m")),
        "mixed-units",
        "outlets",
        "row 2",
        "m alone",
        ROWS,
    ),
    "two_length_columns": wrong(
        both(put("outlets", "room", 1, "drop_ft"), put("outlets", "drop_ft", 2, 36)),
        "said-twice",
        "outlets!F2",
        "the same thing as drop_m",
        "one of",
        ROWS,
    ),
    "second_header": wrong(
        _repeat_header("outlets", 4), "second-header", "outlets!4", "once more", "at the top"
    ),
    "second_table": wrong(_second_table, "second-header", "outlets!9", "other places", "one header", *BOTH),
    "hidden_row": wrong(_hide("outlets", 3), "hidden-row", "outlets!3", "hidden", "show it", ROWS),
    "total_row": wrong(
        put("outlets", "building", 9, "TOTAL 205"), "total-row", "outlets!9", "totals", "things only"
    ),
    "unit_line": wrong(_unit_line("[m]"), "unit-line", "outlets!2", "line of units", "header alone"),
    "unit_line_differs": wrong(
        _unit_line("ft"), "unit-differs", "outlets!E2", "says m", "column in m", *BOTH
    ),
    "look_alike_place": wrong(
        put("outlets", "at", 2, "c-1"), "unknown-place", "outlets!D2", "no such place", "C1", ROWS
    ),
    "look_alike_building": wrong(
        put("outlets", "building", 2, "ROWS 4"), "unknown-building", "outlets!A2", "rows-4,", "rows-4", ROWS
    ),
    "missing_building": wrong(
        put("outlets", "building", 3, None), "missing", "outlets!A3", "rows-4", "every row", ROWS
    ),
    "outlet_twice": wrong(put("outlets", "outlet", 3, "1A-1"), "duplicate-id", "outlets!B3", "", "", ROWS),
    "empty_building": wrong(_no_outlets, "empty-building", "buildings!3", "", "outlet", ROWS),
    "loop": wrong(put(CLOSETS, "from", 3, "C2"), "loop", "", "", "", ROWS),
    "unknown_place": wrong(put("outlets", "at", 2, "attic"), "unknown-place", "outlets!D2", "", "", ROWS),
    "exit_stair": wrong(put(CLOSETS, "spaces", 3, "exit-stair"), "forbidden-space", "", "", "", ROWS),
    "mains_maybe": wrong(
        put(CLOSETS, "mains", 3, "maybe"),
        "not-yes-or-no",
        "closets and panels!L3",
        "neither",
        "yes or no",
        ROWS,
    ),
    "level_in_dbuv": wrong(
        put("feeds", "level_dbmv", 2, 105), "looks-like-other-unit", "feeds!H2", "dBµV", "", TYPES
    ),
    "level_in_dbm": wrong(
        put("feeds", "level_dbmv", 2, -60), "looks-like-other-unit", "feeds!H2", "dBm", "", TYPES
    ),
    "level_missing": wrong(put("feeds", "level_dbmv", 2, None), "not-together", "feeds!2", "", "", TYPES),
    "channel_unknown": wrong(put("feeds", "channel", 2, "99"), "unknown-channel", "feeds!B2", "", "", TYPES),
    "frequency_in_khz": wrong(
        both(put("feeds", "channel", 2, None), put("feeds", "frequency_mhz", 2, 473000)),
        "looks-like-other-unit",
        "feeds!E2",
        "kHz",
        "",
        TYPES,
    ),
    "negative_slack": wrong(put("buildings", "left_outlet_m", 3, -0.3), "out-of-range", "", "", "", ROWS),
    "counts_differ": wrong(
        put("buildings", "expected_outlets", 2, 118), "count-differs", "", "12 outlets", "118", TYPES
    ),
    "price_with_currency": wrong(
        put("prices", "price", 2, "$7.25"), "currency-sign", "prices!E2", "currency", "7.25", ROWS
    ),
    "percent": wrong(
        put("wishes and policy", "spare_share", 3, 1.2, number_format="0%"), "percent", "", "120%", "", TYPES
    ),
}


def base() -> dict[str, list[dict[str, Any]]]:
    """The two buildings without a fault."""
    path = Path(__file__).with_name("portfolio_maker.py")
    spec = importlib.util.spec_from_file_location("portfolio_maker", path)
    assert spec is not None
    assert spec.loader is not None
    maker = importlib.util.module_from_spec(spec)
    sys.modules.setdefault("portfolio_maker", maker)
    spec.loader.exec_module(maker)
    document = maker.building("smallest") | {"id": ROWS, "name": "Rows of four (invented)", "prices": "own"}
    rows: dict[str, list[dict[str, Any]]] = copy.deepcopy(EXAMPLE)
    for title, found in maker.rows_of([document]).items():
        rows.setdefault(title, []).extend(found)
    rows["prices"] = [
        {"prices": "own", "based_on": "demo-usd", "what": "part", "id": "split-2", "price": 7.25}
    ]
    rows["wishes and policy"].append({"building": TYPES, "spare_share": 0.1})
    return rows


def make(name: str, path: Path) -> None:
    """Write the workbook of one fault."""
    write_book(path, base(), desk().lists)
    book = openpyxl.load_workbook(path)
    FAULTS[name].change(book)
    book.save(path)
    book.close()


def contents(path: Path) -> dict[str, bytes]:
    """What a workbook file holds, less the moment it was saved."""
    with zipfile.ZipFile(path) as packed:
        return {name: packed.read(name) for name in packed.namelist() if name != "docProps/core.xml"}


def main() -> None:
    """Write every workbook whose contents differ from what is there."""
    WORKBOOKS.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        for name in FAULTS:
            made, kept = Path(folder) / "made.xlsx", WORKBOOKS / f"wrong_{name}.xlsx"
            make(name, made)
            if not kept.exists() or contents(kept) != contents(made):
                kept.write_bytes(made.read_bytes())


if __name__ == "__main__":
    main()
