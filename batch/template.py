"""The workbook that people fill: sheets with headers and notes, choices to pick from, an example."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import xlsxwriter
from xlsxwriter.utility import xl_col_to_name

from batch.columns import Column, Sheet
from batch.desk import desk
from batch.example import EXAMPLE
from batch.exit_codes import INPUT_WRONG, SERVED
from batch.folder import write_whole
from batch.sheets import SHEETS

#: Rows with lists to pick from under each header.
READY_ROWS = 2000

Rows = Mapping[str, Sequence[Mapping[str, Any]]]
Lists = Mapping[str, Sequence[str]]
Headers = Sequence[tuple[Column, str]]

_FONT = "Calibri"
_HEAD, _NEED, _PALE = "#1F4E5F", "#B3541E", "#EEF4F6"

_INSTRUCTIONS = """\
# Evendrop building workbook
One workbook describes as many buildings as you like. The example building in it is invented.

## How to fill it
1. Put one row for each building into the sheet buildings, and the line-up it receives into feeds.
2. Describe its plan in one of two ways.
    Types: floors, unit types, floor types, and risers in closets and panels. For alike floors.
    Rows: closets and panels, and outlets, each with the cable that leads to it.
    Where cables may go more than one way round, list the ways in the sheet ways.
3. A building with the same plan as another one needs only its row with same_as (and mirrored).
4. Headers with an orange ground must be filled. Rest the pointer on a header to read its note.
5. Delete the example rows, or the building demo-8 is designed too.

## How to write values
Lengths are numbers in the unit of the header, without the unit: 12.5. For feet, call the header
run_ft, drop_ft, floor_height_ft and so on. One unit in one building.
A length is the whole cable, height included. Cable left at the ends is added for you.
Names such as 1-2, 3E5 or 0101 are text: the cells are formatted so. One spelling for one name.
Several values in one cell are parted by commas. Yes and no are written yes and no.
No totals, no second header, no merged cells, no hidden rows: each is found and told.

## What happens then
evendrop batch BOOK.xlsx -o DIR designs every building. It writes DIR/portfolio.xlsx with a line for
each and a sheet of problems, and a book of schedules for each building. A building with a problem
is left out, the others are designed.
"""


def add_verb(verbs: Any) -> None:
    """Add this verb to the command."""
    verb = verbs.add_parser(
        "template",
        help="write an empty workbook for many buildings",
        description="Write a workbook to fill with buildings: notes on every header, choices, an example.",
        epilog="Exit codes: 0 written, 2 the file can't be written.",
    )
    verb.add_argument("out", metavar="OUT.xlsx", type=Path, help="the workbook to write")
    verb.add_argument("--feet", action="store_true", help="ask for lengths in feet; the example stays metric")
    verb.add_argument("--force", action="store_true", help="write over a workbook that is there")
    verb.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> int:
    """Write the template."""
    if chosen.out.suffix.lower() != ".xlsx":
        return _refuse(f"{chosen.out}: a workbook's name ends in .xlsx")
    if chosen.out.exists() and not chosen.force:
        return _refuse(f"{chosen.out} is there already; --force writes over it")
    try:
        write_whole(chosen.out, lambda path: write_template(path, desk().lists, feet=chosen.feet))
    except OSError as error:
        return _refuse(f"{chosen.out}: {error.strerror or error}")
    print(f"wrote {chosen.out}")
    return SERVED


def _refuse(text: str) -> int:
    sys.stderr.write(text + "\n")
    return INPUT_WRONG


def write_template(path: Path, lists: Lists, *, feet: bool = False) -> None:
    """Write the workbook with its example to `path`; `lists` holds the ids of the library to pick from."""
    write_book(path, EXAMPLE, lists, feet=feet)


def write_book(path: Path, rows: Rows, lists: Lists, *, feet: bool = False) -> None:
    """Write a building workbook with the given rows, by sheet and header. Same rows, same bytes."""
    book = xlsxwriter.Workbook(str(path), {"in_memory": True})
    book.set_properties({"title": "Evendrop building workbook", "created": datetime(2026, 1, 1)})
    looks = _looks(book)
    _instructions(book, looks)
    headers: dict[str, Headers] = {}
    for sheet in SHEETS:
        used = {header for row in rows.get(sheet.title, ()) for header in row}
        headers[sheet.title] = [
            (column, header) for column in sheet.columns for header in _headers(column, used, feet=feet)
        ]
        _write_sheet(book, sheet, headers[sheet.title], rows.get(sheet.title, ()), looks)
    _offer(book, headers, lists)
    book.close()


def _headers(column: Column, used: set[str], *, feet: bool) -> list[str]:
    """The headers a column gets: those its rows use, else metres, or feet where wanted."""
    names = [column.name, *(name for name, _ in column.others)]
    wanted = [name for name in names if name in used]
    imperial = [name for name, unit in column.others if unit == "ft" and feet]
    return wanted or imperial or [column.name]


def _looks(book: xlsxwriter.Workbook) -> dict[str, Any]:
    base = {"font_name": _FONT, "font_size": 10, "valign": "vcenter"}
    head = base | {
        "bold": True,
        "font_color": "white",
        "bg_color": _HEAD,
        "border": 1,
        "border_color": "white",
    }
    return {
        "head": book.add_format(head | {"text_wrap": True}),
        "need": book.add_format(head | {"text_wrap": True, "bg_color": _NEED}),
        "text": book.add_format(base | {"num_format": "@"}),
        "number": book.add_format(base | {"num_format": "0.##;-0.##;0"}),
        "money": book.add_format(base | {"num_format": "0.00##"}),
        "date": book.add_format(base | {"num_format": "yyyy-mm-dd"}),
        "plain": book.add_format(base),
        "title": book.add_format(base | {"bold": True, "font_size": 18, "font_color": _HEAD}),
        "section": book.add_format(base | {"bold": True, "font_size": 12, "bg_color": _PALE}),
    }


def _instructions(book: xlsxwriter.Workbook, looks: Mapping[str, Any]) -> None:
    page = book.add_worksheet("instructions")
    page.hide_gridlines(2)
    page.set_column(0, 0, 2)
    page.set_column(1, 1, 112)
    lines = _INSTRUCTIONS.splitlines()
    for number, line in enumerate(lines, start=1):
        look = {"# ": "title", "##": "section"}.get(line[:2], "plain")
        page.write_string(number, 1, line.lstrip("# ") if look != "plain" else line, looks[look])
    start = len(lines) + 2
    page.write_string(start, 1, "Sheets", looks["section"])
    for number, sheet in enumerate(SHEETS, start=start + 1):
        page.write_url(
            number, 1, f"internal:'{sheet.title}'!A1", looks["plain"], f"{sheet.title}: {sheet.text}"
        )
    page.set_portrait()
    page.fit_to_pages(1, 0)


def _write_sheet(
    book: xlsxwriter.Workbook,
    sheet: Sheet,
    headers: Headers,
    rows: Sequence[Mapping[str, Any]],
    looks: Mapping[str, Any],
) -> None:
    page = book.add_worksheet(sheet.title)
    page.freeze_panes(1, 2 if sheet.columns[0].name == "building" else 1)
    page.set_row(0, 32)
    page.set_tab_color(_NEED if not sheet.optional else _HEAD)
    for position, (column, header) in enumerate(headers):
        look = looks[_look(column)]
        page.set_column(position, position, max(column.width, len(header) + 2), look)
        page.write_string(0, position, header, looks["need" if column.required else "head"])
        page.write_comment(0, position, _note(column, header), {"x_scale": 2.0, "y_scale": 1.2, "author": ""})
        for number, row in enumerate(rows, start=1):
            if header in row:
                _write_value(page, number, position, row[header], look)
    page.autofilter(0, 0, max(len(rows), 1), len(headers) - 1)
    page.set_landscape()
    page.repeat_rows(0)
    page.fit_to_pages(1, 0)


def _look(column: Column) -> str:
    kinds = {"number": "number", "whole": "number", "money": "money", "date": "date"}
    return kinds.get(column.kind, "text")


def _note(column: Column, header: str) -> str:
    unit = column.unit_of(header)
    words = [column.note]
    if unit:
        words.append(f"Unit: {unit}.")
    if column.choices:
        words.append("One of: " + ", ".join(column.choices) + ".")
    if column.others:
        words.append("Or under the header " + ", ".join(name for name, _ in column.others) + ".")
    words.append("Must be filled." if column.required else "May stay empty.")
    return "\n".join(words)


def _write_value(page: Any, row: int, column: int, value: Any, look: Any) -> None:
    if isinstance(value, bool):
        page.write_string(row, column, "yes" if value else "no", look)
    elif isinstance(value, (int, float)):
        page.write_number(row, column, value, look)
    else:
        page.write_string(row, column, str(value), look)


def _offer(book: xlsxwriter.Workbook, headers: Mapping[str, Headers], lists: Lists) -> None:
    """Lists to pick from: choices, ids of the library (in a sheet of their own), ids of other sheets."""
    page = book.add_worksheet("lists")
    page.hide()
    ranges = {}
    for position, name in enumerate(sorted(lists)):
        values = list(lists[name])
        page.write_string(0, position, name)
        page.write_column(1, position, values)
        letter = xl_col_to_name(position)
        ranges[name] = f"=lists!${letter}$2:${letter}${len(values) + 1}"
    defined = _defined(headers)
    for sheet in SHEETS:
        target = book.get_worksheet_by_name(sheet.title)
        for position, (column, _) in enumerate(headers[sheet.title]):
            offer = _rule(column, ranges, defined)
            if offer is not None:
                target.data_validation(1, position, READY_ROWS, position, offer)


def _defined(headers: Mapping[str, Headers]) -> dict[str, str]:
    """Where the ids of each kind of thing are defined."""
    found: dict[str, str] = {}
    for sheet in SHEETS:
        for position, (column, _) in enumerate(headers[sheet.title]):
            if column.defines and not (column.defines == "place" and sheet.title == "buildings"):
                letter = xl_col_to_name(position)
                found.setdefault(column.defines, f"='{sheet.title}'!${letter}$2:${letter}${READY_ROWS + 1}")
    return found


def _rule(column: Column, ranges: Mapping[str, str], defined: Mapping[str, str]) -> dict[str, Any] | None:
    """The validation of a column. Choices are enforced; ids may be typed ahead of their definition."""
    if column.kind == "flag":
        return {"validate": "list", "source": ["yes", "no"], "error_title": "Yes or no"}
    if column.kind == "choice":
        return {"validate": "list", "source": list(column.choices), "error_title": f"No such {column.name}"}
    source = ranges.get(column.lists) or defined.get(column.refers)
    if source:
        return {"validate": "list", "source": source, "error_type": "information", "show_error": False}
    if column.kind == "number":
        return {
            "validate": "decimal",
            "criteria": ">",
            "value": -100000,
            "error_title": "A number",
            "error_message": f"A number {'in ' + column.unit if column.unit else ''}, without the unit.",
        }
    return None
