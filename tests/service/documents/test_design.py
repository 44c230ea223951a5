"""A design's sections as JSON."""

import json
from decimal import Decimal

import pytest

from service.documents.design import design_sections


@pytest.fixture
def sections(house):
    return design_sections(house.design(), house.catalogue, house.tariff)


def test_everything_is_plain_json(sections):
    assert json.loads(json.dumps(sections, allow_nan=False)) == sections


def test_levels_and_margins_stand_in_the_order_of_the_carriers(house, sections):
    assert sections["carriers"] == ["14", "36"]
    report = house.design().chosen.report
    for outlet, level in zip(sections["outlets"], report.outlet_level_dbmv, strict=True):
        assert outlet["level_dbmv"] == pytest.approx(level, abs=0.006)
        for figure, low in zip(outlet["level_dbmv"], outlet["margin_low_db"], strict=True):
            assert low == pytest.approx(figure + 10.0, abs=0.02)


def test_the_building_spreads_at_least_as_far_as_any_unit(sections):
    spread = sections["spread"]
    assert set(spread["units_db"]) == {"1A", "1B", "2A"}
    assert spread["building_db"] >= max(spread["units_db"].values())


def test_money_is_decimal_text_and_adds_up(sections):
    bill = sections["bill"]
    assert bill["direct"] == "1005.90"
    assert sum(Decimal(line["total"]) for line in bill["lines"]) == Decimal(bill["direct"])
    assert sum(Decimal(line["total"]) for line in bill["below"]) == Decimal(bill["below_total"])


def test_pulls_name_their_runs_and_boxes(sections):
    first = sections["pulls"][0]
    assert (first["pull"], first["phase"], first["start"]) == ("P001", "risers", "HE")
    assert [cable["run"] for cable in first["cables"]] == ["C1.1", "C2.1"]
    boxes = [cable["cut_from"] for cable in first["cables"]]
    assert len(set(boxes)) == 2
    run = next(row for row in sections["runs"] if row["id"] == "C1.1")
    assert (run["label"], run["stops"], run["length_m"]) == ("1-C1-1", ["HE", "C2", "C1"], 19.4)
