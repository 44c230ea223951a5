"""Papers of inspector, crew leader and estimator."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

import openpyxl
import pytest

from service.documents.book import building_tables
from service.documents.table import Imprint
from service.documents.xlsx import write_workbook
from service.library.profiles import load_limits

LIMITS = load_limits()["us-off-air"]
PERMISSION = re.compile(
    r"\b(complies|compliant|approved|permitted|allowed|is safe|acceptable)\b", re.IGNORECASE
)


def tables_of(house, building=None):
    tables = building_tables(house.design(building), house.catalogue, house.tariff, LIMITS, design_id="d1")
    return {table.id: table for table in tables}


@pytest.fixture(scope="module")
def tables(house):
    return tables_of(house)


def test_no_line_about_bonding_safety_or_the_mast_reads_as_a_permission(house):
    building = replace(house.building, lightning_system=True, new_build=False, slab="post-tensioned")
    for name in ("bonding", "safety", "mast"):
        table = tables_of(house, building)[name]
        words = [str(value) for row in table.rows for value in row if value] + [table.note]
        assert not [text for text in words if PERMISSION.search(text)]


def test_the_mast_has_a_sheet_where_antennas_are_raised(house, tables):
    assert tables["mast"].rows[0][0] == "Fall distance"
    provider = replace(house.building, feed=replace(house.building.feed, kind="provider"))
    assert "mast" not in tables_of(house, provider)


def test_shared_ways_are_listed_with_a_raceway_and_lonely_ones_counted(tables):
    ways = {row[0]: row for row in tables["ways"].rows}
    assert set(ways) == {"R2", "K1"}
    assert "8 ways with one cable are left out" in tables["ways"].note


def test_the_hardest_pull_is_always_listed(tables):
    assert len(tables["pull-loads"].rows) >= 1


def test_an_estimates_totals_are_those_of_the_written_cells(house, tables, tmp_path):
    path = tmp_path / "estimate.xlsx"
    write_workbook(path, (tables["estimate"],), Imprint(title="House"))
    sheet = openpyxl.load_workbook(path).worksheets[0]
    rows = list(sheet.iter_rows(min_row=4, values_only=True))
    names = [row[1] for row in rows]
    cost, price = names.index("Cost"), names.index("Price")

    def paid(value):
        return Decimal(str(value)).quantize(Decimal("0.01"))

    for column in range(4, 8):
        assert paid(rows[cost][column]) == sum(paid(row[column]) for row in rows[:cost])
    assert paid(rows[price][7]) == sum(paid(row[7]) for row in rows[cost:price])
    assert paid(rows[0][7]) == Decimal(house.design().chosen.cost_cents) / 100
    assert "common practice, no source" in tables["estimate"].note


def test_findings_hold_what_the_works_find_about_jackets(tables):
    rules = [row[1] for row in tables["findings"].rows]
    assert "jacket-variety" in rules
    assert "jacket-unknown-space" in rules
