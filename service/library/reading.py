"""Files to rows: every CSV under a folder, each cell checked against its column, every complaint kept.

Knows tables and columns, not what they mean: the same code reads the packaged data and a user's folder.
"""

from __future__ import annotations

import csv
import io
import math
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib.resources.abc import Traversable
from typing import Any

from service.library.columns import FIGURE_RANGES, TABLES, Column, TableKind
from service.library.complaints import Complaint

Cell = str | float | int | bool | tuple[float, ...] | None

_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._/-]{0,31}")
_MONEY = re.compile(r"[0-9]{1,9}(\.[0-9]{1,2})?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row of a table with its place. Cells are typed by their columns; an empty optional cell is None."""

    table: str
    file: str
    row: int
    cells: Mapping[str, Cell]

    def text(self, column: str) -> str:
        """The cell as text; empty for an empty optional cell."""
        value = self.cells[column]
        return "" if value is None else str(value)

    def number(self, column: str) -> float:
        """The cell as a number; raises TypeError on a cell that holds none."""
        value = self.cells[column]
        if not isinstance(value, (int, float)):
            raise TypeError(f"{self.table}.{column} holds no number")
        return float(value)

    def numbers(self, column: str) -> tuple[float, ...]:
        """The cell as a tuple of numbers."""
        value = self.cells[column]
        return value if isinstance(value, tuple) else ()

    def key(self, columns: tuple[str, ...]) -> tuple[str, ...]:
        """The cells of some columns as text, to compare rows by."""
        return tuple(self.text(column) for column in columns)

    def complaint(self, column: str, code: str, wrong: str, right: str) -> Complaint:
        """A complaint about one cell of the row."""
        value = self.cells.get(column)
        shown = "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)
        return Complaint(
            file=self.file, row=self.row, column=column, code=code, value=shown, wrong=wrong, right=right
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What a folder holds: rows of every table, source texts by key, families by name, and what is wrong.

    `damaged` are the rows with a complaint, with those cells that could be read: what hangs on them isn't
    complained about again.
    """

    rows: tuple[Row, ...]
    damaged: tuple[Row, ...]
    sources: Mapping[str, str]
    families: Mapping[str, Mapping[str, str]]
    complaints: tuple[Complaint, ...]


class _CellError(Exception):
    """A cell that doesn't hold what its column asks for."""

    def __init__(self, code: str, wrong: str, right: str) -> None:
        self.code = code
        self.wrong = wrong
        self.right = right
        super().__init__(wrong)


def read_folder(folder: Traversable) -> Reading:
    """Read every CSV and the two TOML files under a folder, in the order of their names."""
    rows: list[Row] = []
    damaged: list[Row] = []
    complaints: list[Complaint] = []
    sources: dict[str, str] = {}
    families: dict[str, Mapping[str, str]] = {}
    for path, file in _files(folder, ""):
        if file.name.endswith(".csv"):
            found_rows, found_damaged, found = _read_table(path, file)
            rows += found_rows
            damaged += found_damaged
        elif file.name == "sources.toml":
            document, found = _read_toml(path, file)
            found += _read_sources(path, document, sources)
        elif file.name == "families.toml":
            document, found = _read_toml(path, file)
            found += _read_families(path, document, families)
        else:
            continue
        complaints += found
    return Reading(
        rows=tuple(rows),
        damaged=tuple(damaged),
        sources=sources,
        families=families,
        complaints=tuple(complaints),
    )


def read_sources(file: Traversable) -> tuple[dict[str, str], tuple[Complaint, ...]]:
    """Texts by key of one sources file, and what is wrong with it."""
    sources: dict[str, str] = {}
    document, complaints = _read_toml(file.name, file)
    complaints += _read_sources(file.name, document, sources)
    return sources, tuple(complaints)


def _files(folder: Traversable, path: str) -> Iterator[tuple[str, Traversable]]:
    for entry in sorted(folder.iterdir(), key=lambda item: item.name):
        if entry.is_dir():
            yield from _files(entry, f"{path}{entry.name}/")
        else:
            yield path + entry.name, entry


def _about(path: str, row: int, column: str, code: str, value: str, wrong: str, right: str) -> Complaint:
    return Complaint(file=path, row=row, column=column, code=code, value=value, wrong=wrong, right=right)


def _read_toml(path: str, file: Traversable) -> tuple[dict[str, Any], list[Complaint]]:
    try:
        return tomllib.loads(file.read_bytes().decode("utf-8-sig")), []
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        return {}, [_about(path, 0, "", "bad-file", "", f"not readable: {error}", "TOML in UTF-8")]


def _read_sources(path: str, document: dict[str, Any], into: dict[str, str]) -> list[Complaint]:
    complaints: list[Complaint] = []
    table = document.get("sources", {})
    for key, text in (table if isinstance(table, dict) else {"sources": None}).items():
        if isinstance(text, str) and text:
            into[key] = text
        else:
            complaints.append(
                _about(path, 0, key, "bad-file", str(text), "a source without a text", 'key = "text"')
            )
    return complaints


def _read_families(
    path: str, document: dict[str, Any], into: dict[str, Mapping[str, str]]
) -> list[Complaint]:
    wanted = ("symbol", "prefix", "heading")
    complaints: list[Complaint] = []
    for name, words in document.items():
        if isinstance(words, dict) and all(isinstance(words.get(word), str) for word in wanted):
            into[name] = {word: words[word] for word in wanted}
        else:
            wrong = "a family without its three words"
            complaints.append(_about(path, 0, name, "bad-file", "", wrong, ", ".join(wanted)))
    return complaints


def _read_table(path: str, file: Traversable) -> tuple[list[Row], list[Row], list[Complaint]]:
    table = file.name.removesuffix(".csv")
    if table not in TABLES:
        return [], [], [_about(path, 0, "", "unknown-table", table, "no such table", ", ".join(TABLES))]
    try:
        text = file.read_bytes().decode("utf-8-sig")
        lines = list(csv.reader(io.StringIO(text), strict=True))
    except (UnicodeDecodeError, csv.Error) as error:
        return [], [], [_about(path, 0, "", "bad-file", "", f"not readable: {error}", "CSV in UTF-8, commas")]
    if not lines:
        return [], [], [_about(path, 0, "", "bad-file", "", "the file is empty", "a header and rows")]
    header = [name.strip() for name in lines[0]]
    complaints = _header_complaints(path, header, TABLES[table])
    if any(complaint.code == "bad-file" for complaint in complaints):
        return [], [], complaints
    incomplete = any(complaint.code == "missing-column" for complaint in complaints)
    rows: list[Row] = []
    damaged: list[Row] = []
    for number, cells in enumerate(lines[1:], start=2):
        if not any(cell.strip() for cell in cells):
            continue
        row, found = _read_row(path, table, number, header, cells)
        complaints += found
        (damaged if found or incomplete else rows).append(row)
    return rows, damaged, complaints


def _header_complaints(path: str, header: list[str], kind: TableKind) -> list[Complaint]:
    known = [column.name for column in kind.columns]
    if len(header) == 1 and ";" in header[0]:
        wrong, right = "semicolons between the columns", "commas, and a decimal point in numbers"
        return [_about(path, 1, "", "bad-file", header[0], wrong, right)]
    complaints: list[Complaint] = []
    for position, name in enumerate(header):
        if name not in known:
            right = f"one of {', '.join(known)}"
            complaints.append(_about(path, 1, name, "unknown-column", name, "no such column", right))
        elif name in header[:position]:
            complaints.append(_about(path, 1, name, "unknown-column", name, "the column twice", "it once"))
    for column in kind.columns:
        if column.name not in header and not column.optional:
            wrong = "the column is missing"
            complaints.append(
                _about(path, 1, column.name, "missing-column", "", wrong, "a column of that name")
            )
    return complaints


def _read_row(
    path: str, table: str, number: int, header: list[str], cells: list[str]
) -> tuple[Row, list[Complaint]]:
    kind = TABLES[table]
    values: dict[str, Cell] = {column.name: None for column in kind.columns if column.optional}
    row = Row(table=table, file=path, row=number, cells=values)
    complaints: list[Complaint] = []
    if len(cells) != len(header):
        values |= {
            name: cell.strip() for name, cell in zip(header, cells, strict=False) if name in kind.unique
        }
        wrong = f"{len(cells)} cells under {len(header)} columns"
        right = "as many cells as columns; a decimal point, not a comma, and text with commas in quotes"
        return row, [_about(path, number, "", "wrong-width", ",".join(cells), wrong, right)]
    for name, cell in zip(header, cells, strict=True):
        column = kind.column(name)
        if column is None:
            continue
        try:
            values[name] = _cell(column, cell.strip())
        except _CellError as error:
            complaints.append(_about(path, number, name, error.code, cell, error.wrong, error.right))
    figure, value = values.get("figure"), values.get("value")
    if isinstance(figure, str) and isinstance(value, float):
        complaints += _figure_complaints(path, number, figure, value)
    return row, complaints


def _figure_complaints(path: str, number: int, figure: str, value: float) -> list[Complaint]:
    low, high = FIGURE_RANGES[figure]
    if low <= value <= high:
        return []
    wrong, right = f"{figure} can't be that", f"{low:g} to {high:g}"
    return [_about(path, number, "value", "out-of-range", f"{value:g}", wrong, right)]


def _cell(column: Column, text: str) -> Cell:
    """The typed value of a cell; raises _CellError."""
    if not text:
        if column.optional:
            return None
        raise _CellError("missing-value", "the cell is empty", "a value")
    match column.kind:
        case "number":
            return _number(column, text)
        case "count":
            return _count(column, text)
        case "numbers":
            return tuple(_number(column, word) for word in text.split())
        case "id":
            if not _ID.fullmatch(text):
                raise _CellError(
                    "bad-id", "not an id", "letters, digits, . _ / -, at most 32, no leading mark"
                )
        case "money":
            if not _MONEY.fullmatch(text):
                raise _CellError("bad-number", "not an amount", "digits and at most two decimals, like 12.50")
        case "choice":
            if text not in column.choices:
                raise _CellError("bad-choice", "not one of the words", ", ".join(column.choices))
        case "flag":
            if text not in ("yes", "no"):
                raise _CellError("bad-choice", "neither yes nor no", "yes or no")
            return text == "yes"
        case _:
            pass
    return text


def _number(column: Column, text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        wrong = "a decimal comma" if re.fullmatch(r"-?\d+,\d+", text) else "not a number"
        raise _CellError("bad-number", wrong, "a number with a decimal point, like 12.5") from None
    if not math.isfinite(value):
        raise _CellError("bad-number", "not a finite number", "a number with a decimal point, like 12.5")
    if not column.low <= value <= column.high:
        wrong = "looks like kHz" if column.name == "frequency_mhz" and value >= 5000.0 else "can't be that"
        raise _CellError("out-of-range", wrong, f"{column.low:g} to {column.high:g}")
    return value


def _count(column: Column, text: str) -> int:
    if not re.fullmatch(r"\d{1,6}", text):
        raise _CellError("bad-number", "not a whole number", f"a whole number from {column.low:g}")
    value = int(text)
    if not column.low <= value <= column.high:
        raise _CellError("out-of-range", "can't be that", f"{column.low:g} to {column.high:g}")
    return value
