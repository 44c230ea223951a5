"""Workbooks for tests: the example, changed where a test wants it."""

from __future__ import annotations

import copy
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from batch.example import EXAMPLE
from batch.template import write_book

Rows = dict[str, list[dict[str, Any]]]
Change = Callable[[openpyxl.Workbook], None]
MakeBook = Callable[..., Path]


@pytest.fixture
def make_book(tmp_path: Path) -> MakeBook:
    """Writes the example with another building `other` beside it, then lets the test change the file."""

    def make(change: Change | None = None, *, rows: Rows | None = None, name: str = "book.xlsx") -> Path:
        path = tmp_path / name
        write_book(path, rows or _two_buildings(), {"limits": ["us-off-air"]})
        if change is not None:
            book = openpyxl.load_workbook(path)
            change(book)
            book.save(path)
            book.close()
        return path

    return make


@pytest.fixture
def two_buildings() -> Rows:
    """The rows of that workbook, for a test to change."""
    return _two_buildings()


def _two_buildings() -> Rows:
    """The example, and a building of the same plan written with rows of its own."""
    rows = copy.deepcopy(EXAMPLE)
    for sheet in ("buildings", "floors", "unit types", "floor types", "closets and panels"):
        rows[sheet] += [row | {"building": "other"} for row in copy.deepcopy(EXAMPLE[sheet])]
    return rows
