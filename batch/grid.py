"""A sheet as rows of cells under its header, and what is wrong with its shape.

The header may stand below a title. Blank rows are passed over. A unit line under the header, the header once
more halfway and a row of totals are left out and said so. Hidden rows, merged cells and missing columns are
complaints: nobody can tell whether what they hold is meant.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from openpyxl.utils import column_index_from_string, get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from batch.cells import Cell
from batch.problems import Problem, Spot

HEADER_WITHIN = 20
MOST_ROWS = 200_000

_TOTAL = re.compile(r"((grand\s+)?(sub-?)?totals?|sum|summe)[\s:=\d]*", re.IGNORECASE)
_LENGTHS = ("m", "ft", "feet", "metres", "meters", "mm")
_LEVELS = ("db", "dbmv", "dbµv", "dbuv", "dbm", "mhz", "khz", "ghz")
_OTHERS = ("usd", "eur", "jpy", "gbp", "$", "€", "%", "h", "pcs", "qty", "no.", "-", "text", "yes/no")
_UNITS = frozenset(_LENGTHS + _LEVELS + _OTHERS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row under the header: its cells by header. Blank cells are left out."""

    number: int
    cells: Mapping[str, Cell]
    hidden: bool = False


@dataclass(slots=True, kw_only=True)
class Grid:
    """A sheet that was read: rows, the letter of each column, complaints."""

    sheet: str
    columns: dict[str, str] = field(default_factory=dict)
    rows: list[Row] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)

    def spot(self, row: int, header: str = "") -> Spot:
        """The place of a cell, or of a row when its sheet lacks the column."""
        return Spot(sheet=self.sheet, row=row, column=self.columns.get(header, ""), header=header)


def header_name(value: object) -> str:
    """A header as its column is called: without case, spaces, brackets.

    >>> header_name("Run (m)"), header_name(" unit type ")
    ('run_m', 'unit_type')
    """
    if not isinstance(value, str):
        return ""
    return re.sub(r"[^a-z0-9]+", "_", value.casefold().replace("µ", "u")).strip("_")


def read_grid(
    sheet: Worksheet,
    formulas: Mapping[tuple[int, int], str],
    known: Mapping[str, str],
    required: tuple[str, ...],
) -> Grid:
    """The rows of a sheet. `known` maps every header that the sheet may have to its unit.

    `formulas` holds the formula of every cell that has one, by row and column.
    """
    grid = Grid(sheet=sheet.title)
    lines = _lines(sheet, formulas)
    at = next((number for number, cells in lines if _is_header(cells, known)), 0)
    if at == 0 or at > HEADER_WITHIN:
        wanted = ", ".join(required)
        grid.problems.append(
            Problem(
                code="missing-header",
                spot=grid.spot(1),
                looks_like=f"a sheet without its header in the first {HEADER_WITHIN} rows",
                right=f"a row with the columns {wanted}",
            )
        )
        return grid
    header = dict(lines)[at]
    _read_header(grid, at, header, known, required)
    names = {column_index_from_string(letter): name for name, letter in grid.columns.items()}
    _merged(grid, sheet, at)
    first = True
    for number, cells in lines:
        if number <= at:
            continue
        if first and _is_units(cells):
            _unit_line(grid, number, cells, names, known)
        elif _repeats(cells, header):
            _left_out(grid, number, "second-header", "the header once more", "one header, at the top")
        elif _is_header(cells, known) and len(cells) > 1:
            grid.problems.append(
                Problem(
                    code="second-header",
                    spot=grid.spot(number),
                    looks_like="another header, with its columns in other places",
                    right="one table under one header; move the second table's rows under the first",
                )
            )
            break
        elif _is_total(cells):
            _left_out(grid, number, "total-row", "a row of totals", "rows of things only", cells)
        else:
            named = {names[column]: cell for column, cell in cells.items() if column in names}
            if named:
                hidden = bool(sheet.row_dimensions[number].hidden)
                grid.rows.append(Row(number=number, cells=named, hidden=hidden))
        first = False
    return grid


def _lines(sheet: Worksheet, formulas: Mapping[tuple[int, int], str]) -> list[tuple[int, dict[int, Cell]]]:
    """Rows that hold anything, each as cells by column number."""
    lines = []
    for number, row in enumerate(sheet.iter_rows(max_row=min(sheet.max_row, MOST_ROWS)), start=1):
        cells = {}
        for column, found in enumerate(row, start=1):
            if found.value is None and (number, column) not in formulas:
                continue
            cell = Cell(
                value=found.value,
                number_format=str(found.number_format),
                formula=formulas.get((number, column), ""),
            )
            if not cell.blank:
                cells[column] = cell
        if cells:
            lines.append((number, cells))
    return lines


def _is_header(cells: Mapping[int, Cell], known: Mapping[str, str]) -> bool:
    names = [header_name(cell.value) for cell in cells.values()]
    return sum(name in known for name in names) >= min(2, len(known))


def _read_header(
    grid: Grid, number: int, cells: Mapping[int, Cell], known: Mapping[str, str], required: tuple[str, ...]
) -> None:
    for column, cell in cells.items():
        name, letter = header_name(cell.value), get_column_letter(column)
        spot = Spot(sheet=grid.sheet, row=number, column=letter, header=cell.shown)
        if name in grid.columns:
            looks = f"the same column as {grid.columns[name]}"
            grid.problems.append(
                Problem(
                    code="second-column",
                    spot=spot,
                    value=cell.shown,
                    looks_like=looks,
                    right="each column once",
                )
            )
        elif name in known:
            grid.columns[name] = letter
        else:
            looks = "a column that isn't known; it is not read"
            right = "a column of the template, or leave it as your own note"
            grid.problems.append(
                Problem(
                    code="unknown-column",
                    spot=spot,
                    value=cell.shown,
                    looks_like=looks,
                    right=right,
                    stops=False,
                )
            )
    for name in required:
        if not any(choice in grid.columns for choice in name.split("|")):
            wanted = " or ".join(name.split("|"))
            grid.problems.append(
                Problem(
                    code="missing-column",
                    spot=Spot(sheet=grid.sheet, row=number, header=wanted),
                    looks_like=f"a header without the column {wanted}",
                    right=f"a column {wanted}, as in the template",
                )
            )


def _merged(grid: Grid, sheet: Worksheet, header: int) -> None:
    for area in sorted(sheet.merged_cells.ranges, key=lambda area: (area.min_row, area.min_col)):
        if area.max_row < header:
            continue
        letter = get_column_letter(area.min_col)
        name = next((name for name, column in grid.columns.items() if column == letter), "")
        value = sheet.cell(area.min_row, area.min_col).value
        grid.problems.append(
            Problem(
                code="merged-cells",
                spot=Spot(sheet=grid.sheet, row=max(area.min_row, header), column=letter, header=name),
                value="" if value is None else str(value),
                looks_like=f"one cell merged over {area.coord}; only its first cell holds the value",
                right="unmerge it and write the value into every row",
            )
        )


def _is_units(cells: Mapping[int, Cell]) -> bool:
    words = [str(cell.value).strip().strip("[]()").casefold() for cell in cells.values()]
    return all(word in _UNITS for word in words)


def _unit_line(
    grid: Grid, number: int, cells: Mapping[int, Cell], names: Mapping[int, str], known: Mapping[str, str]
) -> None:
    """A line of units is left out where it says what the header says; else nobody knows which one holds."""
    _left_out(
        grid, number, "unit-line", "a line of units under the header", "units in the header alone", cells
    )
    for column, cell in cells.items():
        name = names.get(column, "")
        said, wanted = cell.shown.strip("[]() ").casefold(), known.get(name, "").casefold()
        said = {"feet": "ft", "metres": "m", "meters": "m", "dbuv": "dbµv"}.get(said, said)
        if name and wanted and said != wanted and said != "-":
            grid.problems.append(
                Problem(
                    code="unit-differs",
                    spot=grid.spot(number, name),
                    value=cell.shown,
                    looks_like=f"{said} under a header that says {wanted}",
                    right=f"the column in {wanted}, or a header that names {said}",
                )
            )


def _repeats(cells: Mapping[int, Cell], header: Mapping[int, Cell]) -> bool:
    return all(
        column in header and header_name(cell.value) == header_name(header[column].value) != ""
        for column, cell in cells.items()
    )


def _is_total(cells: Mapping[int, Cell]) -> bool:
    words = [cell.value for cell in cells.values() if isinstance(cell.value, str) and not cell.formula]
    return any(_TOTAL.fullmatch(word.strip()) for word in words[:2])


def _left_out(
    grid: Grid, number: int, code: str, looks_like: str, right: str, cells: Mapping[int, Cell] | None = None
) -> None:
    value = " ".join(cell.shown for _, cell in sorted((cells or {}).items()))[:80]
    grid.problems.append(
        Problem(
            code=code,
            spot=grid.spot(number),
            value=value,
            looks_like=f"{looks_like}; it is left out",
            right=right,
            stops=False,
        )
    )
