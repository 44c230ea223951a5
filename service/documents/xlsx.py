"""Tables as a workbook that prints well: a sheet each, frozen and repeated headers, an imprint a page.

Text never becomes a formula, colours are those of the drawing, and the same tables give the same bytes.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from typing import IO, Any

import xlsxwriter
from xlsxwriter.utility import xl_col_to_name

from service.documents.drawing import Drawing
from service.documents.drawing_svg import COLOURS
from service.documents.sheet_chart import SheetChart
from service.documents.table import Column, Formula, Imprint, Kind, Table, Value
from service.documents.window_place import PLACES
from service.documents.xlsx_pictures import write_charts, write_drawings

# The blank of a bracket's width keeps figures clear of the text in the next column.
_DIGITS = {
    "whole": "0_)",
    "number": "#,##0.0_)",
    "exact": "0.00_)",
    "money": "#,##0.00_)",
    "share": "0.0%_)",
}
_WHOLE_NUMBER = "#,##0_)"
_WIDTHS = {
    "text": 12,
    "wide": 44,
    "whole": 8,
    "number": 10,
    "exact": 10,
    "money": 13,
    "share": 9,
    "blank": 12,
    "place": 11,
}
_INK, _LINE = COLOURS["trunk"], COLOURS["line"]
_FILLS = {"bad": "#FBE3D8", "look": "#FBF0D2", "head": "#E3ECEF"}
_PAPER = {"A4": 9, "Letter": 1}
#: A fixed moment, so that the same tables have the same bytes.
_CREATED = datetime(2026, 1, 1)
_HEADER_ROW = 2
_CHARTS, _DRAWING = "Charts", "Riser drawing"
#: A column in a formula, with a number of cells or as the cell of the row.
_PLACE = re.compile(r"\[(?P<name>[^\]#]+)(?:#(?P<count>\d+))?\]")
_LONGEST_NAME = 31
_HEIGHT_PT = 13.5
#: Text is narrower than the digits that column widths count.
_NARROWER = 1.15
#: Rows to be filled in by hand are taller.
_HAND_PT = 17.0


def write_workbook(
    path: Path | IO[bytes],
    tables: Sequence[Table],
    imprint: Imprint,
    *,
    charts: Sequence[SheetChart] = (),
    drawings: Sequence[Drawing] = (),
) -> None:
    """Write a workbook with one sheet a table; after the first, charts over the tables and pictures of drawings.

    Same tables, same bytes.
    """
    target = path if not isinstance(path, Path) else str(path)
    book = xlsxwriter.Workbook(target, {"in_memory": True, "strings_to_formulas": False})
    book.set_properties({"title": imprint.title, "created": _CREATED})
    looks, paper = _Looks(book), _PAPER[imprint.paper]
    taken = {_CHARTS.casefold(), _DRAWING.casefold()}
    names: dict[str, tuple[str, Table]] = {}
    sheets = []
    for number, table in enumerate(tables):
        name = sheet_name(table.title, taken)
        taken.add(name.casefold())
        names[table.id] = (name, table)
        sheets.append(_Sheet(book.add_worksheet(name), table, looks))
        if number == 0:
            chart_sheet = book.add_worksheet(_CHARTS) if charts else None
            drawing_sheet = book.add_worksheet(_DRAWING) if drawings else None
    for sheet in sheets:
        sheet.write(imprint)
    if charts:
        write_charts(book, chart_sheet, charts, names, _HEADER_ROW + 1, paper)
    if drawings:
        write_drawings(drawing_sheet, drawings, paper)
    book.close()


def sheet_name(title: str, taken: set[str]) -> str:
    """A name that a sheet may have and that is not taken (names are compared without case).

    >>> sheet_name("Set-up A/12", set())
    'Set-up A-12'
    """
    clean = "".join("-" if letter in "[]:*?/\\" else letter for letter in title).strip("'") or "Sheet"
    name, number = clean[:_LONGEST_NAME], 1
    while name.casefold() in taken:
        number += 1
        tail = f" ({number})"
        name = clean[: _LONGEST_NAME - len(tail)] + tail
    return name


class _Looks:
    """Cell formats by kind and mark, made once each."""

    def __init__(self, book: Any) -> None:
        self._book = book
        self._made: dict[tuple[str, str, bool, bool, bool, str], Any] = {}
        base = {"font_name": "Calibri", "font_size": 10, "valign": "top"}
        self._base = base
        head = {"bold": True, "font_color": "white", "bg_color": _INK, "text_wrap": True, "valign": "vcenter"}
        self.head = book.add_format(base | head | {"border": 1, "border_color": _LINE})
        self.head_right = book.add_format(
            base | head | {"border": 1, "border_color": _LINE, "align": "right"}
        )
        self.title = book.add_format(base | {"bold": True, "font_size": 14, "font_color": _INK})
        self.note = book.add_format(base | {"italic": True, "font_color": "#44545A", "text_wrap": True})

    def of(
        self,
        kind: Kind,
        mark: str,
        *,
        starts: bool = False,
        total: bool = False,
        whole: bool = False,
        place: str = "",
    ) -> Any:
        """The format of a cell; `whole` counts in a column of numbers stay without digits, a `place` in the
        window has the colour it has in the drawing."""
        key = (kind, mark, starts, total, whole, place)
        if key not in self._made:
            look: dict[str, Any] = dict(self._base) | {"bottom": 4, "bottom_color": _LINE}
            if kind in _DIGITS:
                look["num_format"] = _WHOLE_NUMBER if whole and kind == "number" else _DIGITS[kind]
            if kind in ("text", "wide"):
                look |= {"text_wrap": True, "num_format": "@"}
            if kind == "blank":
                look |= {"border": 1, "border_color": _LINE}
            if place:
                look |= {"font_color": COLOURS[PLACES[place]], "bold": True}
            if starts:
                look |= {"top": 1, "top_color": _INK}
            if mark:
                look["bg_color"] = _FILLS[mark]
            if mark == "head":
                look |= {"bold": True, "font_color": _INK}
            if total:
                look |= {"bold": True, "top": 2, "top_color": _INK}
            self._made[key] = self._book.add_format(look)
        return self._made[key]


class _Sheet:
    """One sheet being written."""

    def __init__(self, sheet: Any, table: Table, looks: _Looks) -> None:
        self.sheet, self.table, self.looks = sheet, table, looks
        self.letters = {column.name: xl_col_to_name(at) for at, column in enumerate(table.columns)}
        #: Characters in a line of each column, 0 where nothing is wrapped.
        self.widths = [
            round(width_of(column) * _NARROWER) if column.kind in ("text", "wide") else 0
            for column in table.columns
        ]

    def write(self, imprint: Imprint) -> None:
        """Title, note, header, rows, totals, and how it prints."""
        sheet, table = self.sheet, self.table
        sheet.write_string(0, 0, f"{imprint.title}: {table.title}", self.looks.title)
        if table.note:
            self._note()
        self._header()
        marks, starts = dict(table.marks), set(table.starts)
        by_hand = any(column.kind == "blank" for column in table.columns)
        least_pt = _HAND_PT if by_hand else _HEIGHT_PT + 1
        for number, row in enumerate(table.rows):
            mark, start = marks.get(number, ""), number in starts
            for position, (column, value) in enumerate(zip(table.columns, row, strict=True)):
                place = str(value) if column.kind == "place" and value in PLACES else ""
                whole = isinstance(value, int)
                look = self.looks.of(column.kind, mark, starts=start, whole=whole, place=place)
                if isinstance(value, Formula):
                    text = self._formula(value, number)
                    sheet.write_formula(number + _HEADER_ROW + 1, position, text, look, _cached(value))
                else:
                    _cell(sheet, number + _HEADER_ROW + 1, position, value, look)
            lines = max(map(_cell_lines, row, self.widths), default=1)
            sheet.set_row(number + _HEADER_ROW + 1, max(least_pt, _HEIGHT_PT * lines + 1))
        self._totals()
        self._print(imprint)

    def _note(self) -> None:
        """The note, wrapped inside the table's first page: a line that ran beyond would shrink the print."""
        last = max(len(self.table.columns) // self.table.pages_wide - 1, 0)
        width = sum(width_of(column) for column in self.table.columns[: last + 1])
        if last:
            self.sheet.merge_range(1, 0, 1, last, "", self.looks.note)
        self.sheet.write_string(1, 0, self.table.note, self.looks.note)
        self.sheet.set_row(1, _HEIGHT_PT * lines_of(self.table.note, round(width * _NARROWER)) + 1)

    def _formula(self, formula: Formula, number: int) -> str:
        """A formula with its columns turned into cells of this row, or into the first cells of a column."""
        letters, first = self.letters, _HEADER_ROW + 2

        def cells(found: re.Match[str]) -> str:
            letter, count = letters[found["name"]], found["count"]
            if count is None:
                return f"{letter}{first + number}"
            return f"${letter}${first}:${letter}${first + int(count) - 1}"

        return "=" + _PLACE.sub(cells, formula.text)

    def _header(self) -> None:
        lines = 1
        for position, column in enumerate(self.table.columns):
            width = width_of(column)
            self.sheet.set_column(position, position, width)
            look = self.looks.head_right if column.kind in _DIGITS else self.looks.head
            self.sheet.write_string(_HEADER_ROW, position, column.title, look)
            lines = max(lines, lines_of(column.title, width - 1))
        self.sheet.set_row(_HEADER_ROW, _HEIGHT_PT * lines + 4)

    def _totals(self) -> None:
        table, last = self.table, len(self.table.rows) + _HEADER_ROW
        if not table.rows or not table.totals:
            return
        for position, column in enumerate(table.columns):
            look = self.looks.of(column.kind, "head", total=True)
            if column.name not in table.totals:
                _cell(self.sheet, last + 1, position, "Total" if position == 0 else None, look)
                continue
            letter = xl_col_to_name(position)
            figures = [row[position] for row in table.rows]
            total = sum(float(value) for value in figures if isinstance(value, int | float | Decimal))
            formula = f"=SUM({letter}{_HEADER_ROW + 2}:{letter}{last + 1})"
            self.sheet.write_formula(last + 1, position, formula, look, round(total, 6))

    def _print(self, imprint: Imprint) -> None:
        sheet, table = self.sheet, self.table
        sheet.freeze_panes(_HEADER_ROW + 1, 1)
        if table.rows:
            sheet.autofilter(_HEADER_ROW, 0, len(table.rows) + _HEADER_ROW, len(table.columns) - 1)
        sheet.repeat_rows(_HEADER_ROW)
        if not table.portrait:
            sheet.set_landscape()
        sheet.set_paper(_PAPER[imprint.paper])
        sheet.fit_to_pages(table.pages_wide, 0)
        if table.pages_wide > 1:
            sheet.repeat_columns(0)
        sheet.hide_gridlines(2)
        sheet.set_margins(left=0.3, right=0.3, top=0.7, bottom=0.6)
        sheet.set_header(_page_header(imprint, table.title), {"margin": 0.3})
        sheet.set_footer(_page_footer(imprint), {"margin": 0.3})


def width_of(column: Column) -> int:
    """Width of a column in characters: as asked, else by kind and title."""
    return column.width or max(_WIDTHS[column.kind], min(len(column.title), 16))


def _cell_lines(value: Value, width: int) -> int:
    """Lines that a cell takes in its column, so many characters wide."""
    return lines_of(value, width) if width and isinstance(value, str) else 1


def lines_of(text: str, width: int) -> int:
    """Lines that a text takes in a column so many characters wide, words kept whole where they fit."""
    if len(text) <= width:
        return 1
    lines, used = 1, 0
    for word in text.split():
        size = len(word)
        if used and used + 1 + size > width:
            lines, used = lines + 1, size
        else:
            used += size + (1 if used else 0)
        # A word longer than the column is broken by the program that shows it.
        lines += max(0, (size - 1) // max(width, 1))
    return lines


def _page_header(imprint: Imprint, title: str) -> str:
    return f"&L&B{_plain(imprint.title)}&R{_plain(title)}"


def _page_footer(imprint: Imprint) -> str:
    """Left, middle and right of the footer, in the sheet's own codes."""
    design = f"Design {imprint.design}" if imprint.design else ""
    middle = [
        f"Revision {imprint.revision}" if imprint.revision else "",
        imprint.date or ("date: ________" if imprint.design else ""),
        imprint.status,
    ]
    said = "   ".join(word for word in middle if word)
    return f"&L&8{_plain(design)}&C&8{_plain(said)}&R&8Page &P of &N"


def _plain(text: str) -> str:
    return text.replace("&", "&&")


def _cached(formula: Formula) -> str | float:
    """What a program shows that doesn't work formulas out."""
    return "" if formula.shown is None else formula.shown


def _cell(sheet: Any, row: int, column: int, value: str | int | float | Decimal | None, look: Any) -> None:
    if value is None or value == "":
        sheet.write_blank(row, column, None, look)
    elif isinstance(value, str):
        sheet.write_string(row, column, value, look)
    else:
        sheet.write_number(row, column, float(value), look)
