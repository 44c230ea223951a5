"""Long tables on paper: every row once and in order, blocks no wider than the page, columns that exist."""

from __future__ import annotations

import contextlib
import re
import zlib
from dataclasses import replace
from itertools import chain
from typing import Any

import pytest

from service.documents.book import building_tables
from service.documents.compact import KEPT, compact
from service.documents.pages import report_pdf
from service.documents.report import report_of
from service.documents.report_pdf import page_starts
from service.documents.table import Column, Table


def pages_of(made: bytes) -> int:
    """Pages of a PDF file by its own count, which stands in a compressed stream."""
    counts = []
    for found in re.finditer(rb"stream\r?\n(.*?)\r?\nendstream", made, re.DOTALL):
        with contextlib.suppress(zlib.error):
            counts += re.findall(rb"/Count (\d+)", zlib.decompress(found[1]))
    return max(map(int, counts))


LONG = Table(
    id="long",
    title="Long",
    columns=(Column(name="outlet"), Column(name="level", unit="dBmV", kind="exact")),
    rows=tuple((f"{number}.1", number / 7) for number in range(1000)),
)
WORDY = replace(
    LONG, columns=(Column(name="why", kind="wide"),), rows=tuple(("word " * (n % 70),) for n in range(200))
)


@pytest.mark.parametrize("table", [LONG, WORDY], ids=["figures", "words"])
@pytest.mark.parametrize(("paper", "wide"), [("A4", 277.0), ("Letter", 259.0)])
def test_every_row_stands_once_in_order_on_blocks_that_fit_the_page(
    table: Table, paper: Any, wide: float
) -> None:
    small = compact(table, paper)
    assert small is not None
    rows = list(chain.from_iterable(chain.from_iterable(small.pages)))
    assert rows == list(range(len(table.rows)))
    assert small.across * sum(small.widths_mm) <= wide


def test_a_short_table_stays_as_it_is() -> None:
    assert compact(replace(LONG, rows=LONG.rows[:30]), "A4") is None


def test_blocks_of_the_last_page_are_equally_high() -> None:
    small = compact(LONG, "A4")
    assert small is not None
    heights = [len(block) for block in small.pages[-1]]
    assert max(heights) - min(heights[:-1]) <= 1


def test_columns_that_are_kept_on_paper_are_columns_of_the_book(bench: Any) -> None:
    design = bench.design("europe_two_stairs")
    trade = bench.trade(design)
    tables = building_tables(design, trade.catalogue, trade.tariff, trade.limits, design_id="kept")
    named = {table.id: {column.name for column in table.columns} for table in tables}
    for table, columns in KEPT.items():
        assert set(columns) <= named[table], table


@pytest.mark.parametrize("name", ["smallest", "walkup_8", "europe_two_stairs"])
def test_the_answer_is_page_one_and_the_contents_name_the_right_pages(bench: Any, name: str) -> None:
    design = bench.design(name)
    report, paper = report_of(design, bench.trade(design), design_id="kept"), bench.imprint(design).paper
    starts, pages = page_starts(report.html, paper)
    assert (starts["answer"], starts["assumptions"]) == (1, 2)
    assert starts["drawing"] + len(report.drawings) == starts["charts"]
    made = report_pdf(report, design, design_id="kept")
    assert pages_of(made) == pages
