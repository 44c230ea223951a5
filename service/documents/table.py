"""Tables: the one shape that becomes a sheet, a CSV file, a page or JSON."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

#: text and wide wrap; whole, number, exact, money and share are figures with 0, 1, 2, 2 digits and per cent;
#: blank is left open to be filled in by hand; place says in a word where a level lies in its window.
Kind = Literal["text", "wide", "whole", "number", "exact", "money", "share", "blank", "place"]
#: "bad" and "look" colour a row, "head" makes it the heading of the rows under it.
Mark = Literal["bad", "look", "head"]
PaperSize = Literal["A4", "Letter"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Formula:
    """A value that a workbook works out. `[name]` stands for the cell of that column in the same row,
    `[name#n]` for the first n cells of the column. `shown` is its value as long as nothing is filled in."""

    text: str
    shown: str | float | None = None


Value = str | int | float | Decimal | Formula | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column: its name, its unit in the header, how values are shown, its width in characters (0: as its
    kind has it)."""

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
    """A table.

    `marks` pairs row positions with a mark, `starts` lists rows that begin a group, `totals` names columns to
    be summed, `note` stands above the header. `portrait` tables are printed upright. A table that is printed
    `pages_wide` pages side by side has its first column on each.
    """

    id: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Value, ...], ...]
    marks: tuple[tuple[int, str], ...] = ()
    starts: tuple[int, ...] = ()
    totals: tuple[str, ...] = ()
    note: str = ""
    portrait: bool = False
    pages_wide: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Imprint:
    """What stands on every page: the building, the design's id, revision, date and status, and the paper."""

    title: str
    design: str = ""
    revision: str = ""
    date: str = ""
    status: str = ""
    paper: PaperSize = "A4"


def money(cents: int) -> Decimal:
    """An amount in cents as an exact decimal.

    >>> money(123405)
    Decimal('1234.05')
    """
    return Decimal(cents).scaleb(-2)
