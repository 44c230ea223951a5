"""What is wrong in a workbook: one complaint about one place of one sheet."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A cell's value judged by itself: what it looks like, what would be right."""

    code: str
    looks_like: str
    right: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A place in a sheet. `row` 0 is the sheet as a whole, `column` "" the row as a whole."""

    sheet: str
    row: int = 0
    column: str = ""
    header: str = ""

    @property
    def cell(self) -> str:
        """The place as people write it: "outlets!D12"."""
        where = (
            f"{self.column}{self.row}" if self.row and self.column else (str(self.row) if self.row else "")
        )
        return f"{self.sheet}!{where}" if where else self.sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One complaint. `stops` says that `building` ("" for every building of the workbook) isn't designed.

    A complaint that stops nothing tells what was read in which way, so that a person can object.
    """

    code: str
    spot: Spot
    building: str = ""
    value: str = ""
    looks_like: str
    right: str
    stops: bool = True
    workbook: str = ""

    @property
    def text(self) -> str:
        """The complaint in one line."""
        value = f" {self.value!r}" if self.value else ""
        head = f" ({self.spot.header})" if self.spot.header else ""
        return f"{self.workbook} {self.spot.cell}{head}:{value} {self.looks_like}; right: {self.right}"


def in_order(problems: Iterable[Problem], sheets: tuple[str, ...], workbook: str) -> tuple[Problem, ...]:
    """Complaints by sheet, row and column, each place and code once, with the workbook's name."""
    order = {sheet: number for number, sheet in enumerate(sheets)}
    unique: dict[tuple[str, int, str, str], Problem] = {}
    for problem in problems:
        spot = problem.spot
        unique.setdefault(
            (spot.sheet, spot.row, spot.column, problem.code), replace(problem, workbook=workbook)
        )

    def key(problem: Problem) -> tuple[int, int, int, str, str]:
        spot = problem.spot
        return (order.get(spot.sheet, len(order)), spot.row, len(spot.column), spot.column, problem.code)

    return tuple(sorted(unique.values(), key=key))
