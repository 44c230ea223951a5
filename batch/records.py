"""The rows of a sheet as records: every value with its cell, every complaint with the building it stops."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from batch.cells import Value, is_feet, is_metres, read_cell
from batch.columns import Column, Sheet
from batch.grid import Grid, Row
from batch.problems import Problem, Spot

EVERY = "*"


@dataclass(slots=True, kw_only=True)
class Record:
    """One row: its values by header. `building` is "" on sheets that belong to none."""

    sheet: Sheet
    grid: Grid
    row: int
    building: str = ""
    values: dict[str, Value] = field(default_factory=dict)

    def spot(self, header: str = "") -> Spot:
        """The cell under a header, or the row."""
        return self.grid.spot(self.row, header)

    def text(self, header: str) -> str:
        """A value as text; "" where the cell is blank."""
        value = self.values.get(header, "")
        return value if isinstance(value, str) else str(value)


def read_records(sheet: Sheet, grid: Grid) -> tuple[list[Record], list[Problem]]:
    """Every row of the grid as a record, and what is wrong with its cells."""
    problems = list(grid.problems)
    records: list[Record] = []
    owned = any(column.name == "building" for column in sheet.columns)
    above = ""
    for row in grid.rows:
        record = Record(sheet=sheet, grid=grid, row=row.number)
        if owned:
            record.building = _owner(record, row, above, problems)
            above = record.building or above
        stops = (record.building or above) if owned else _shared(sheet, row)
        for header, cell in row.cells.items():
            if owned and header == "building":
                continue
            column = sheet.column(header)
            value, mark = read_cell(cell, column.kind, unit=column.unit_of(header), choices=column.choices)
            if mark is not None:
                problems.append(
                    Problem(
                        code=mark.code,
                        spot=record.spot(header),
                        building="" if stops == EVERY else stops,
                        value=cell.shown[:80],
                        looks_like=mark.looks_like,
                        right=mark.right,
                    )
                )
            elif value is not None:
                record.values[header] = value
        problems += _row_problems(record, row, "" if stops == EVERY else stops)
        records.append(record)
    problems += _mixed_columns(sheet, grid)
    return [record for record in records if record.building or not owned], problems


def _owner(record: Record, row: Row, above: str, problems: list[Problem]) -> str:
    """The building of a row; a row without one is a complaint that stops the building above it."""
    cell = row.cells.get("building")
    if cell is None:
        looks = f"a row without a building; it may belong to {above}" if above else "a row without a building"
        problems.append(
            Problem(
                code="missing",
                spot=record.spot("building"),
                building=above,
                looks_like=looks,
                right="the building's id in every row",
            )
        )
        return ""
    value, mark = read_cell(cell, "id")
    if mark is not None:
        problems.append(
            Problem(
                code=mark.code,
                spot=record.spot("building"),
                building=above,
                value=cell.shown[:80],
                looks_like=mark.looks_like,
                right=mark.right,
            )
        )
        return ""
    return str(value)


def shared_name(kind: str, name: str) -> str:
    """The name under which complaints about a line-up or a price sheet stand: they stop those who use it.

    >>> shared_name("feed", "hill")
    'feed hill'
    """
    return f"{kind} {name}"


def _shared(sheet: Sheet, row: Row) -> str:
    """Whom a complaint stops on a sheet that belongs to no building; everybody where nothing is named."""
    kind = sheet.columns[0].name
    name = read_cell(row.cells[kind], "id")[0] if kind in row.cells else None
    return shared_name(kind, name) if isinstance(name, str) else ""


def _row_problems(record: Record, row: Row, owner: str) -> Iterable[Problem]:
    """Hidden rows, and two headers that say the same thing."""
    if row.hidden:
        yield Problem(
            code="hidden-row",
            spot=record.spot(),
            building=owner,
            value=" ".join(cell.shown for cell in row.cells.values())[:80],
            looks_like="a hidden or filtered row that still holds values",
            right="show it, or delete it",
        )
    for column in record.sheet.columns:
        headers = [column.name, *(name for name, _ in column.others)]
        said = [name for name in headers if name in row.cells]
        if len(said) > 1:
            yield Problem(
                code="said-twice",
                spot=record.spot(said[1]),
                building=owner,
                value=row.cells[said[1]].shown[:80],
                looks_like=f"the same thing as {said[0]}",
                right=f"one of {' and '.join(said)}",
            )
        elif column.required and not said and (column.defines or column.kind == "choice"):
            yield Problem(
                code="missing",
                spot=record.spot(column.name),
                building=owner,
                looks_like=f"a row without {column.name}",
                right=column.note,
            )


def _mixed_columns(sheet: Sheet, grid: Grid) -> Iterable[Problem]:
    """Feet and metres written into one column."""
    for column in sheet.columns:
        for header in (column.name, *(name for name, _ in column.others)):
            if header not in grid.columns or not _is_length(column):
                continue
            texts = [(row.number, row.cells[header].value) for row in grid.rows if header in row.cells]
            feet = next((number for number, text in texts if isinstance(text, str) and is_feet(text)), 0)
            metres = next((number for number, text in texts if isinstance(text, str) and is_metres(text)), 0)
            if feet and metres:
                yield Problem(
                    code="mixed-units",
                    spot=Spot(sheet=grid.sheet, row=0, column=grid.columns[header], header=header),
                    looks_like=f"feet (row {feet}) and metres (row {metres}) in one column",
                    right=f"numbers in {column.unit_of(header)} alone",
                    stops=False,
                )


def _is_length(column: Column) -> bool:
    return column.kind == "number" and column.unit == "m"
