"""The order in which people count names: numbers inside a name by their value."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Protocol, TypeVar


class Named(Protocol):
    """Anything with an id."""

    @property
    def id(self) -> str:
        """Its name."""
        ...


Row = TypeVar("Row", bound=Named)
_DIGITS = re.compile("([0-9]+)")


def natural(name: str) -> tuple[tuple[int, int, str], ...]:
    """A key that sorts names as people count them; the name itself breaks ties.

    >>> sorted(["A10", "A9", "A09"], key=natural)
    ['A09', 'A9', 'A10']
    """
    parts = [part for part in _DIGITS.split(name) if part]
    counted = [(0, int(part), "") if part.isdecimal() else (1, 0, part) for part in parts]
    return (*counted, (2, 0, name))


def in_order(rows: Iterable[Row]) -> tuple[Row, ...]:
    """Rows by id: the order of rows in a document never means anything."""
    return tuple(sorted(rows, key=lambda row: natural(row.id)))
