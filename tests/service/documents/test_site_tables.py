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
from service.engine.building.mast import Mast, MountedAntenna
from service.engine.building.places import BondLength, ExistingCable
from service.engine.building.rates import PutUp, Rates
from service.forms.estimate import RateFields
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
    assert "8 ways with one cable and no stated raceway are left out" in tables["ways"].note


def test_every_pull_is_listed_with_what_it_bears(tables):
    pulls = {row[0] for row in tables["pulls"].rows}
    loads = tables["pull-loads"]
    assert {row[0] for row in loads.rows} == pulls
    assert all(row[5] > row[4] >= 0.0 for row in loads.rows)


def stated(house, **changes):
    return tables_of(house, replace(house.building, **changes))


MAST = Mast(
    free_m=2.0,
    clamped_m=0.6,
    tube_mm=60.0,
    line_m=12.0,
    antennas=(MountedAntenna(name="UHF", wind_n=100.0, height_m=1.5),),
)


def test_a_stated_mast_fills_its_sheet_and_speaks_in_the_findings(house):
    tables = stated(house, mast=MAST)
    rows = {row[0]: row for row in tables["mast"].rows}
    assert rows["Fall distance"][6].shown == "out of reach as stated: look again on the day"
    assert rows["UHF"][6].shown == pytest.approx(150.0)
    moment = rows["Moment at the upper clamp, Nm"][6].shown
    # 100 N × 1.5 m and the tube, D·h²·q·c/2 at 800 N/m².
    assert moment == pytest.approx(150.0 + 0.06 * 4.0 * 800.0 * 1.2 / 2.0)
    assert "mast-fall" in [row[1] for row in tables["findings"].rows]
    assert "Not stated" not in tables["mast"].note


def test_a_mast_in_reach_of_a_line_stops_everything_else(house):
    tables = stated(house, mast=replace(MAST, line_m=3.5))
    assert len(tables["mast"].rows) == 1
    assert tables["mast"].rows[0][6].shown == "STOP: call the utility"
    assert tables["mast"].marks == ((0, "bad"),)
    first = tables["findings"].rows[0]
    assert (first[0], first[1]) == ("breaks", "mast-fall")
    assert not {"mast-moment", "mast-clamped", "mast-unknown"} & {row[1] for row in tables["findings"].rows}
    assert any(row[0] == "Mast" and "STOP" in row[1] for row in tables["summary"].rows)


def test_what_nobody_knows_of_a_mast_is_said(house):
    bare = Mast(free_m=2.0, antennas=(MountedAntenna(name="UHF", wind_n=None, height_m=1.5),))
    tables = stated(house, mast=bare)
    for text in ("wind load of UHF", "the tube's diameter", "the length between the clamps"):
        assert text in tables["mast"].note
    assert tables["mast"].rows[0][6].shown == "look before anything is raised"
    assert "mast-unknown" in [row[1] for row in tables["findings"].rows]


def test_stated_bonds_stand_in_their_rows_and_long_ones_are_findings(house):
    bonds = (
        BondLength(what="mast", length_m=9.0),
        BondLength(what="entrance", length_m=4.0),
        BondLength(what="entrance", at="C9", length_m=7.0),
    )
    tables = stated(house, bonds=bonds)
    lengths = {(row[0].split(",")[0], row[4]) for row in tables["bonding"].rows}
    assert ("mast", 9.0) in lengths
    assert ("shield of every coax that enters", 4.0) in lengths
    assert ("entrance", 7.0) in lengths
    found = [row for row in tables["findings"].rows if row[1] == "bond-length"]
    assert [row[5] for row in found] == [9.0, 7.0]


def test_an_overfull_raceway_is_a_warning_with_the_next_size(house):
    ways = tuple(
        replace(way, raceway="emt-1/2", bends_deg=90.0, pull_points=1) if way.id == "R2" else way
        for way in house.building.ways
    )
    tables = stated(house, ways=ways)
    row = next(row for row in tables["ways"].rows if row[0] == "R2")
    assert "1/2" in row
    assert any(str(value).startswith("next size that fits: ") for value in row)
    found = next(row for row in tables["findings"].rows if row[1] == "raceway-fill")
    assert found[0] == "warns"
    assert "the next size that fits is" in found[2]


def test_a_lived_in_building_has_phases_and_its_old_cable_on_paper(house):
    units = tuple(replace(unit, occupied=True, stack="S1") for unit in house.building.units)
    ways = tuple(
        replace(way, existing=ExistingCable(fate="replace", loss_db=3.0, loss_mhz=600.0))
        for way in house.building.ways
    )
    tables = stated(house, units=units, ways=ways, new_build=False)
    phases = tables["phases"].rows
    assert [row[1] for row in phases] == ["", "stack S1", ""]
    assert phases[1][5] == "7 days ahead"
    assert sum(row[7] for row in phases) == len(tables["pulls"].rows)
    assert "provider" in tables["phases"].note
    old = tables["old-cable"].rows
    assert len(old) == len(house.building.ways)
    assert old[0][5] == "3 dB at 600 MHz"
    assert not {"phases", "old-cable"} & tables_of(house).keys()


def test_every_rate_is_printed_with_what_it_stands_on(house):
    rates = Rates(mast_h=Decimal(20), own=("mast_h",))
    rows = {row[1]: row for row in stated(house, rates=rates)["rates"].rows}
    assert rows["mast"][2:] == ("mast_h", Decimal(20), "h", "stated for this building")
    assert rows["headend"][5] == "example: common practice, no source"
    assert rows["visit"][5] in ("example: common practice, no source", "example: invented price")
    own_boxes = stated(house, rates=Rates(put_ups=(PutUp(length_m=100.0),)))["rates"]
    assert {len(row) for row in own_boxes.rows} == {len(own_boxes.columns)}
    assert "put_ups" in {row[2] for row in own_boxes.rows}
    said = {row[2] for row in stated(house)["rates"].rows}
    asked = set(RateFields().fields) - {"support_every_ft"}
    assert asked <= said
    assert said - asked == {"kits", "labour_per_h", "end_h", "test_h", "first_h_per_m", "further_h_per_m"}
    boxes = Rates(put_ups=(PutUp(length_m=305.0), PutUp(length_m=500.0, cable="11-catvr")))
    printed = {row[1]: row[3] for row in stated(house, rates=boxes)["rates"].rows}
    assert (printed["put-up of every cable"], printed["put-up of 11-catvr"]) == (Decimal(305), Decimal(500))


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


def test_lengths_of_findings_stand_in_the_buildings_unit(house):
    tables = stated(house, length_unit="ft", bonds=(BondLength(what="mast", length_m=9.144),))
    found = next(row for row in tables["findings"].rows if row[1] == "bond-length")
    assert found[5:8] == (30.0, 20.0, "ft")
