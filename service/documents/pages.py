"""Tables, and how they look as pages of a workbook, as CSV and as JSON."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

import xlsxwriter

Kind = Literal["text", "wide", "whole", "number", "exact", "money", "share", "blank"]
Value = str | int | float | None

_DIGITS = {"whole": "0", "number": "0.0", "exact": "0.00", "money": "#,##0.00", "share": "0.0%"}
_WIDTHS = {
    "text": 12,
    "wide": 44,
    "whole": 8,
    "number": 10,
    "exact": 10,
    "money": 13,
    "share": 9,
    "blank": 12,
}
_HEAD, _PALE, _RED, _AMBER = "#1F4E5F", "#EEF4F6", "#F6D5D0", "#FBE9C6"
#: A fixed moment, so that the same tables have the same bytes.
_CREATED = datetime(2026, 1, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column: its name, its unit in the header, how its values are shown."""

    name: str
    unit: str = ""
    kind: Kind = "text"
    width: int = 0

    @property
    def title(self) -> str:
        """The header."""
        return f"{self.name} [{self.unit}]" if self.unit else self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table. `marks` colours rows by position: "bad" or "look"; `totals` names columns to be summed."""

    id: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Value, ...], ...]
    marks: tuple[tuple[int, str], ...] = ()
    totals: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Imprint:
    """What stands at the top and the foot of every page."""

    title: str
    design: str = ""
    revision: str = ""
    date: str = ""
    status: str = ""

    @property
    def footer(self) -> str:
        """Left, middle and right of the footer, in the sheet's own codes."""
        said = [
            f"design {self.design}" if self.design else "",
            f"rev {self.revision}" if self.revision else "",
        ]
        left = ", ".join(word for word in said if word).replace("&", "&&")
        middle = " ".join(word for word in (self.date, self.status) if word).replace("&", "&&")
        return f"&L{left}&C{middle}&RPage &P of &N"


def write_pages(path: Path, tables: Sequence[Table], imprint: Imprint) -> None:
    """Write a workbook with one sheet a table. Same tables, same bytes."""
    book = xlsxwriter.Workbook(str(path), {"in_memory": True, "strings_to_formulas": False})
    book.set_properties({"title": imprint.title, "created": _CREATED})
    looks = _Looks(book)
    for table in tables:
        _write(book.add_worksheet(table.title[:31]), table, imprint, looks)
    book.close()


class _Looks:
    """Cell formats by kind and mark, made once each."""

    def __init__(self, book: xlsxwriter.Workbook) -> None:
        self._book = book
        self._made: dict[tuple[str, str, bool], Any] = {}
        base = {"font_name": "Calibri", "font_size": 10, "valign": "top"}
        self._base = base
        self.head = book.add_format(
            base | {"bold": True, "font_color": "white", "bg_color": _HEAD, "text_wrap": True, "border": 1}
        )
        self.title = book.add_format(base | {"bold": True, "font_size": 14, "font_color": _HEAD})
        self.note = book.add_format(base | {"italic": True})

    def of(self, kind: Kind, mark: str, *, total: bool = False) -> Any:
        """The format of a cell."""
        key = (kind, mark, total)
        if key not in self._made:
            look: dict[str, Any] = dict(self._base) | {"bottom": 4, "bottom_color": "#B8C4C9"}
            if kind in _DIGITS:
                look["num_format"] = _DIGITS[kind]
            if kind in ("text", "wide"):
                look |= {"text_wrap": True, "num_format": "@"}
            if kind == "blank":
                look["border"] = 1
            if mark:
                look["bg_color"] = {"bad": _RED, "look": _AMBER, "head": _PALE}[mark]
            if total:
                look |= {"bold": True, "top": 1}
            self._made[key] = self._book.add_format(look)
        return self._made[key]


def _write(page: Any, table: Table, imprint: Imprint, looks: _Looks) -> None:
    page.write_string(0, 0, f"{imprint.title}: {table.title}", looks.title)
    if table.note:
        page.write_string(1, 0, table.note, looks.note)
    for position, column in enumerate(table.columns):
        page.set_column(
            position, position, column.width or max(_WIDTHS[column.kind], min(len(column.title), 16))
        )
        page.write_string(2, position, column.title, looks.head)
    marks = dict(table.marks)
    for number, row in enumerate(table.rows):
        for position, (column, value) in enumerate(zip(table.columns, row, strict=True)):
            _cell(page, number + 3, position, value, looks.of(column.kind, marks.get(number, "")))
    last = len(table.rows) + 2
    for position, column in enumerate(table.columns):
        if column.name in table.totals and table.rows:
            letter = xlsxwriter.utility.xl_col_to_name(position)
            total = sum(value for row in table.rows if isinstance(value := row[position], (int, float)))
            look = looks.of(column.kind, "head", total=True)
            page.write_formula(last + 1, position, f"=SUM({letter}4:{letter}{last + 1})", look, total)
    page.freeze_panes(3, 1)
    if table.rows:
        page.autofilter(2, 0, last, len(table.columns) - 1)
    page.repeat_rows(2)
    page.set_landscape()
    page.set_paper(9)
    page.fit_to_pages(1, 0)
    page.set_margins(left=0.4, right=0.4, top=0.5, bottom=0.6)
    page.set_footer(imprint.footer)


def _cell(page: Any, row: int, column: int, value: Value, look: Any) -> None:
    if value is None or value == "":
        page.write_blank(row, column, None, look)
    elif isinstance(value, str):
        page.write_string(row, column, value, look)
    else:
        page.write_number(row, column, value, look)


def csv_text(table: Table) -> str:
    """A table as CSV: header with units, one row a line. What looks like a formula is led by a quote."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([column.title for column in table.columns])
    for row in table.rows:
        writer.writerow(
            [_shown(value, column.kind) for value, column in zip(row, table.columns, strict=True)]
        )
    return out.getvalue()


def _shown(value: Value, kind: Kind) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return f"'{value}" if value[:1] in ("=", "+", "-", "@") else value
    digits = {"whole": 0, "number": 2, "exact": 2, "money": 2, "share": 4}.get(kind, 2)
    return f"{value:.{digits}f}"


def table_json(table: Table) -> dict[str, Any]:
    """A table as JSON: its columns with their units, and rows of plain values, rounded as shown."""
    return {
        "id": table.id,
        "title": table.title,
        "columns": [{"name": column.name, "unit": column.unit} for column in table.columns],
        "rows": [
            [_plain(value, column.kind) for value, column in zip(row, table.columns, strict=True)]
            for row in table.rows
        ],
        "note": table.note,
    }


def _plain(value: Value, kind: Kind) -> Value:
    """A value of a row as JSON; money is a decimal text."""
    if kind == "money" and isinstance(value, (int, float)):
        return f"{value:.2f}"
    return round(value, 4 if kind == "share" else 2) if isinstance(value, float) else value
