"""A building's book: what each of its readers finds."""

import re
from dataclasses import replace

import openpyxl
import pytest

from service.documents.book import building_tables, imprint_of
from service.documents.mounting_table import mounting_table
from service.documents.xlsx import write_workbook
from service.engine.plant.network import Port
from service.engine.works.revision import Issued
from service.library.profiles import load_limits

LIMITS = load_limits()["us-off-air"]


def tables_of(house, building=None):
    design = house.design(building)
    limits = load_limits()[design.building.rules.limits]
    tables = building_tables(design, house.catalogue, house.tariff, limits, design_id="d1")
    return {table.id: table for table in tables}


def column(table, title):
    at = [column.title for column in table.columns].index(title)
    return [row[at] for row in table.rows]


def test_the_book_has_a_sheet_for_each_of_its_readers(house):
    assert list(tables_of(house)) == [
        "summary",
        "outlets",
        "response",
        "work-order",
        "pulls",
        "labels",
        "firestops",
        "reels",
        "mounting",
        "ways",
        "pull-loads",
        "parts",
        "cost",
        "estimate",
        "rates",
        "findings",
        "bonding",
        "safety",
        "mast",
        "setup-HE.1",
        "power",
        "test",
        "floors",
        "carriers",
        "path",
        "assumptions",
    ]


def test_the_pull_schedule_has_a_row_a_cable_with_room_to_write(house):
    pulls = tables_of(house)["pulls"]
    assert column(pulls, "pull") == ["P001", "P001", "P002", "P003", "P003", "P004", "P005"]
    assert column(pulls, "box") == ["1 of 2", "2 of 2", "1 of 1", "1 of 2", "2 of 2", "1 of 1", "1 of 1"]
    assert column(pulls, "left at start / end [m]")[0] == "3.0 / 2.0"
    blanks = [made.title for made in pulls.columns if made.kind == "blank"]
    assert blanks == ["start mark", "end mark", "as pulled [m]", "continuity", "crew, day, initials"]


def test_an_occupied_flat_wants_an_appointment(house):
    units = tuple(replace(unit, occupied=unit.id == "2A") for unit in house.building.units)
    pulls = tables_of(house, replace(house.building, units=units))["pulls"]
    pairs = list(zip(column(pulls, "to"), column(pulls, "key or time"), strict=True))
    assert [end for end, key in pairs if key == "appointment"] == ["2A", "2A-2", "2A-1"]
    assert {key for end, key in pairs if end.startswith("C")} == {"key of the room"}


def test_feet_are_used_throughout_or_not_at_all(house):
    feet = tables_of(house, replace(house.building, length_unit="ft"))
    units = {made.unit for table in feet.values() for made in table.columns}
    assert "ft" in units
    assert not units & {"m", "mm"}
    assert not {"m", "mm"} & set(column(feet["parts"], "unit"))
    metres, longer = tables_of(house)["pulls"], feet["pulls"]
    assert column(longer, "length as pulled [ft]")[0] == pytest.approx(
        column(metres, "length as pulled [m]")[0] / 0.3048
    )


def test_levels_follow_the_region_of_the_codes(house):
    rules = replace(house.building.rules, codes="eu-2023")
    abroad = replace(house.building, rules=rules)
    here = column(tables_of(house)["outlets"], "lowest level [dBmV]")
    there = column(tables_of(house, abroad)["outlets"], "lowest level [dBµV]")
    assert there == pytest.approx([level + 60.0 for level in here])
    assert imprint_of(house.design(abroad), design_id="d1").paper == "A4"
    assert imprint_of(house.design(), design_id="d1").paper == "Letter"


def test_the_spread_of_a_unit_is_the_difference_of_its_outlets(house):
    outlets = tables_of(house)["outlets"]
    by_outlet = dict(zip(column(outlets, "outlet"), column(outlets, "spread in the unit [dB]"), strict=True))
    report = house.design().chosen.report
    level = report.outlet_level_dbmv
    two_a = [at for at, served in enumerate(report.outlets) if served.unit == "2A"]
    assert (
        by_outlet["2A-1"] == by_outlet["2A-2"] == pytest.approx(abs(level[two_a[0]] - level[two_a[1]]).max())
    )
    assert by_outlet["1A-1"] == 0.0


def test_a_wrong_jacket_is_found_in_the_book(house):
    runs = tuple(replace(r, cable="6-catvx") if r.id == "C2.1" else r for r in house.network.runs)
    wrong = replace(house, network=replace(house.network, runs=runs))
    assert "jacket" in column(tables_of(wrong)["findings"], "rule")
    assert "jacket" not in column(tables_of(house)["findings"], "rule")


def test_every_part_is_bought_on_one_line(house):
    parts = tables_of(house)["parts"]
    items = [item for item in column(parts, "part or cable") if item]
    assert len(set(items)) == len(items)
    bought = dict(zip(column(parts, "part or cable"), column(parts, "to buy"), strict=True))
    assert bought["connector-6"] == 10 + 3
    assert bought["split-2"] == 4 + 1


def test_the_order_costs_what_the_estimate_holds_as_material(house):
    tables = tables_of(house)
    parts, estimate = tables["parts"], tables["estimate"]
    material = column(estimate, "material [USD]")[column(estimate, "line").index("Cost")]
    assert sum(column(parts, "amount [USD]")) == material
    names = column(parts, "name")
    assert any("Ground bar" in name for name in names)
    assert "Sleeves and firestops" in names
    assert house.tariff.id in parts.note
    assert "revision's date" in parts.note


def test_cable_is_ordered_in_whole_boxes_with_the_size_of_the_spare(house):
    parts = tables_of(house)["parts"]
    ordered = 0
    for text, metres in zip(column(parts, "put-ups"), column(parts, "to buy"), strict=True):
        if text:
            sizes = re.findall(r"(\d+) × (\d+) m", text)
            assert "spare 1 × " in text
            assert sum(int(count) * int(size) for count, size in sizes) == pytest.approx(metres)
            ordered += 1
    assert ordered >= 2


def test_every_part_is_mounted_on_one_line_of_its_place(house):
    tables = tables_of(house)
    mounted, parts = tables["mounting"], tables["parts"]
    built = dict(zip(column(parts, "part or cable"), column(parts, "built in"), strict=True))
    pieces = {}
    for part, count in zip(column(mounted, "part"), column(mounted, "pieces"), strict=True):
        pieces[part] = pieces.get(part, 0) + count
    assert pieces == {part: built[part] for part in pieces}
    assert sum(pieces.values()) == len(house.network.devices) + len(house.network.terminated)
    floors = list(dict.fromkeys(column(mounted, "floor")))
    assert floors == sorted(floors, key=lambda name: -int(name.split()[-1]))


def test_an_open_output_of_the_feed_is_closed_at_the_head_end(house):
    spare = Port(device=house.network.feeds[0].id, group="out", number=2)
    network = replace(house.network, terminated=(*house.network.terminated, spare))
    table = mounting_table(house.building, network, house.catalogue, house.tariff.terminator)
    rows = [row for row in table.rows if str(spare) in str(row[5])]
    assert [(row[1], row[2]) for row in rows] == [("HE", house.tariff.terminator)]


def test_the_estimator_sees_what_labour_is_counted_at_and_what_antennas_are_not(house):
    estimate = tables_of(house)["estimate"]
    assert f"hours × {house.tariff.labour_cents_per_h / 100:.2f} USD" in estimate.note
    lines = column(estimate, "line")
    price = column(estimate, "total [USD]")[lines.index("Price")]
    each = column(estimate, "total [USD]")[lines.index("Price an outlet")]
    assert float(each) == pytest.approx(float(price) / len(house.network.served), abs=0.006)
    feed = replace(house.building.feed, kind="off-air")
    aloft = tables_of(house, replace(house.building, feed=feed))["estimate"]
    assert any(line.startswith("Antennas, mast") for line in column(aloft, "line"))


def test_sentences_keep_to_feet_where_the_building_does(house):
    for unit, other in (("ft", " m"), ("m", " ft")):
        tables = tables_of(house, replace(house.building, length_unit=unit))
        notes = [*column(tables["cost"], "name"), *column(tables["estimate"], "stands on")]
        said = [note for note in notes if f" {unit} " in f"{note} ".replace(",", " ")]
        assert said
        assert not [note for note in notes if f"{other} " in f"{note} ".replace(",", " ")]


def test_an_amplifiers_sheet_names_the_cables_that_go_out(house):
    sheet = tables_of(house)["setup-HE.1"]
    remarks = dict(zip(column(sheet, "item"), column(sheet, "remark"), strict=True))
    run = next(run for run in house.network.runs if run.start.device == "HE.1")
    assert f"{run.start}" in remarks["Goes out"] or run.end in remarks["Goes out"]


def test_totals_added_again_from_the_file_are_the_direct_cost(house, tmp_path):
    design = house.design()
    tables = building_tables(design, house.catalogue, house.tariff, LIMITS, design_id="d1")
    write_workbook(tmp_path / "book.xlsx", tables, imprint_of(design, design_id="d1"))
    sheet = openpyxl.load_workbook(tmp_path / "book.xlsx", data_only=True)["Cost"]
    rows = [[cell.value for cell in row] for row in sheet.iter_rows(min_row=4)]
    headings = [row[0] for row in rows]
    direct, below = headings.index("Direct cost"), headings.index("Below the direct cost")
    cents = [round(100 * row[-1]) for row in rows]
    assert sum(cents[:direct]) == cents[direct] == design.chosen.cost_cents == 100590
    assert sum(cents[direct + 1 : below]) == cents[below]
    assert cents[below + 1] == cents[direct] + cents[below]


def test_lines_that_must_stand_are_on_the_summary(house):
    text = " ".join(str(value) for value in column(tables_of(house)["summary"], "value"))
    for words in ("One-way television only", "not a signed project", "engineering yardstick"):
        assert words in text
    assert "complies" not in text


def test_an_outlet_without_a_level_is_shown_empty_and_red(house):
    design = house.design()
    level = design.chosen.report.level_dbmv.copy()
    level[design.chosen.report.outlet_rows[0]] = float("nan")
    report = replace(design.chosen.report, level_dbmv=level)
    margins = replace(
        design.chosen.margins,
        low_db=design.chosen.margins.low_db.copy(),
        high_db=design.chosen.margins.high_db.copy(),
    )
    margins.low_db[0] = margins.high_db[0] = float("nan")
    silent = replace(design, chosen=replace(design.chosen, report=report, margins=margins))
    tables = building_tables(silent, house.catalogue, house.tariff, LIMITS, design_id="d1")
    outlets = next(table for table in tables if table.id == "outlets")
    assert column(outlets, "lowest level [dBmV]")[0] is None
    assert (0, "bad") in outlets.marks


def test_an_outline_is_called_one_on_every_page_and_beside_its_result(house):
    ways = tuple(replace(way, survey="outline") for way in house.building.ways)
    rough = replace(house.building, ways=ways)
    assert imprint_of(house.design(rough), design_id="d1").status == "outline, for construction"
    assert imprint_of(house.design(), design_id="d1").status == "for construction"
    summary = dict(tables_of(house, rough)["summary"].rows)
    assert summary["Known from"].startswith("AN OUTLINE")
    lines = {row[1]: row[2] for row in tables_of(house, rough)["estimate"].rows}
    assert lines["Contingency"] == "20.0% of cost, by the survey"


def test_the_book_of_a_revision_lists_what_changed(house):
    old = tuple(
        replace(run, length_m=9.0, cable="6-catvp") if run.id == "2A.1" else run for run in house.network.runs
    )
    since = Issued(building=house.building, network=replace(house.network, runs=old))
    tables = building_tables(
        house.design(), house.catalogue, house.tariff, LIMITS, design_id="d1", since=since
    )
    changes = next(table for table in tables if table.id == "changes")
    assert changes.rows[0][:4] == ("pull", "2A.1", "changed", "cable, length")
    assert "6-catvp, 9.0 m" in changes.rows[0][4]
    assert "6-catv, 11.0 m" in changes.rows[0][5]
    adds = column(changes, "adds [USD]")
    assert adds[-1] == sum(value for value in adds[:-1] if value is not None) > 0


def test_consumption_and_energy_of_a_year_stand_on_page_one(house):
    summary = dict(tables_of(house)["summary"].rows)
    drawn = sum(
        house.catalogue.part(device.part).power.draws_w
        for device in house.design().chosen.network.devices
        if house.catalogue.part(device.part).active is not None
    )
    assert summary["Consumption"].startswith(f"{drawn:.0f} W, {drawn * 8.76:,.0f} kWh a year")
