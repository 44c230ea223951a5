"""Tables as CSV, as a page of HTML and as JSON."""

from __future__ import annotations

import csv
import io
from decimal import ROUND_HALF_UP, Decimal
from html import escape
from typing import Any

from service.documents.table import Formula, Imprint, Kind, Table, Value

_DIGITS: dict[Kind, int] = {"whole": 0, "number": 2, "exact": 2, "money": 2, "share": 4}
_FIGURES = ("whole", "number", "exact", "money", "share")


def csv_text(table: Table) -> str:
    """A table as CSV: header with units, one row a line. What looks like a formula is led by a quote."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([column.title for column in table.columns])
    for row in table.rows:
        shown = (shown_value(value, column.kind) for value, column in zip(row, table.columns, strict=True))
        writer.writerow([_unlike_a_formula(text, value) for text, value in zip(shown, row, strict=True)])
    return out.getvalue()


def _unlike_a_formula(text: str, value: Value) -> str:
    return f"'{text}" if isinstance(value, str) and text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def shown_value(value: Value, kind: Kind) -> str:
    """A value as text, a figure with the digits of its kind."""
    if isinstance(value, Formula):
        return shown_value(value.shown, kind)
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    digits = _DIGITS.get(kind, 2)
    if isinstance(value, Decimal):
        return str(value.quantize(Decimal(1).scaleb(-digits), rounding=ROUND_HALF_UP))
    # Adding nothing turns the negative zero that rounding leaves into a plain one.
    return f"{round(value, digits) + 0.0:.{digits}f}"


def table_json(table: Table) -> dict[str, Any]:
    """A table as JSON: its columns with their units, rows of plain values rounded as shown, money as text."""
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


def _plain(value: Value, kind: Kind) -> str | int | float | None:
    if isinstance(value, Formula):
        return _plain(value.shown, kind)
    if kind == "money" and not isinstance(value, str) and value is not None:
        return shown_value(value, kind)
    if isinstance(value, Decimal):
        return float(value)
    return round(value, _DIGITS.get(kind, 2)) if isinstance(value, float) else value


def html_text(tables: tuple[Table, ...], imprint: Imprint) -> str:
    """Tables as one page of HTML that needs no other file."""
    facts = (imprint.design, f"revision {imprint.revision}", imprint.date, imprint.status)
    said = ", ".join(fact for fact in facts if fact and fact != "revision ")
    parts = [
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">',
        f"<title>{escape(imprint.title)}</title><style>{_STYLE}</style></head><body>",
        f"<h1>{escape(imprint.title)}</h1><p>{escape(said)}</p>",
    ]
    parts += [_html_table(table) for table in tables]
    return "\n".join([*parts, "</body></html>\n"])


_STYLE = (
    "body{font:14px sans-serif;margin:2em}table{border-collapse:collapse;margin-bottom:2em}"
    "th{background:#1f4e5f;color:#fff;text-align:left;position:sticky;top:0}"
    "th,td{padding:.25em .6em;border-bottom:1px solid #b8c4c9;vertical-align:top}"
    ".figure{text-align:right}.bad{background:#f6d5d0}.look{background:#fbe9c6}"
    ".head{background:#e3ecef;font-weight:bold}"
)


def _html_table(table: Table) -> str:
    marks = dict(table.marks)
    heads = "".join(
        f'<th scope="col"{_side(column.kind)}>{escape(column.title)}</th>' for column in table.columns
    )
    lines = [f"<h2>{escape(table.title)}</h2>", f"<p>{escape(table.note)}</p>" if table.note else ""]
    lines.append(f'<table id="{escape(table.id)}"><thead><tr>{heads}</tr></thead><tbody>')
    for number, row in enumerate(table.rows):
        cells = "".join(
            f"<td{_side(column.kind)}>{escape(shown_value(value, column.kind))}</td>"
            for value, column in zip(row, table.columns, strict=True)
        )
        mark = marks.get(number, "")
        lines.append(f'<tr class="{mark}">{cells}</tr>' if mark else f"<tr>{cells}</tr>")
    return "\n".join(line for line in [*lines, "</tbody></table>"] if line)


def _side(kind: Kind) -> str:
    return ' class="figure"' if kind in _FIGURES else ""
