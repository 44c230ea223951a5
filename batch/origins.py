"""Where every value of a building's document stands in the workbook, so that a complaint finds its cell."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from batch.columns import Keys
from batch.problems import Problem, Spot
from batch.records import Record
from service.engine.findings import Fault

Path = tuple[str | int, ...]


@dataclass(slots=True, kw_only=True)
class Origins:
    """The cell of every value, and the row of every object, by their path in the document."""

    cells: dict[Path, Spot] = field(default_factory=dict)
    rows: dict[Path, Record] = field(default_factory=dict)

    def fill(self, target: dict[str, Any], path: Path, record: Record, headers: Iterable[str]) -> None:
        """Put a record's values into the object that stands at `path`, and remember their cells."""
        self.rows.setdefault(path, record)
        for header in headers:
            if header in record.values:
                keys = record.sheet.column(header).key_of(header)
                self.put(target, path, keys, record.values[header], record.spot(header))

    def put(self, target: dict[str, Any], path: Path, keys: Keys, value: object, spot: Spot) -> None:
        """Put one value at `keys` below the object at `path`."""
        for key in keys[:-1]:
            target = target.setdefault(key, {})
        target[keys[-1]] = value
        self.cells[(*path, *keys)] = spot
        if isinstance(value, list):
            for position in range(len(value)):
                self.cells[(*path, *keys, position)] = spot

    def spot(self, path: Path) -> Spot:
        """The cell of the value at a path; where there is none, the cell where it would stand, or the row."""
        for depth in range(len(path), -1, -1):
            head, rest = path[:depth], path[depth:]
            if head in self.cells:
                return self.cells[head]
            if head in self.rows:
                record = self.rows[head]
                return record.spot(_header(record, rest))
        return Spot(sheet="buildings")

    def problem(self, fault: Fault, building: str) -> Problem:
        """A complaint about the document as a complaint about its cell."""
        return Problem(
            code=fault.code,
            spot=self.spot(fault.path),
            building=building,
            value=fault.value,
            looks_like=f"{fault.subject}: {fault.wrong}" if fault.subject else fault.wrong,
            right=fault.right,
        )


def _header(record: Record, rest: Path) -> str:
    """The header under which a value would stand, were it there."""
    keys = tuple(step for step in rest if isinstance(step, str))
    if not keys:
        return ""
    for column in record.sheet.columns:
        headers = [column.name, *(name for name, _ in column.others)]
        if any(column.key_of(header) == keys for header in headers):
            return next((header for header in headers if header in record.grid.columns), column.name)
    return next(
        (column.name for column in record.sheet.columns if column.key_of(column.name)[:1] == keys[:1]), ""
    )
