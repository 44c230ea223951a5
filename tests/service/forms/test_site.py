"""What a document says of mast, bonds, raceways and rates, as the engine has it, and complaints about it."""

from __future__ import annotations

from decimal import Decimal

import pytest

from service.engine.building.rates import Rates
from service.forms.portfolio import read_buildings


@pytest.fixture
def block(document):
    return document("europe_two_stairs")


def codes(reading):
    return [(fault.code, fault.path) for fault in reading.faults]


def test_a_mast_is_read_with_what_nobody_said_left_open(read, block):
    block["mast"] = {"free_m": 2.0, "antennas": [{"name": "UHF", "height_m": 1.0}]}
    mast = read(block).building.mast
    assert (mast.free_m, mast.clamped_m, mast.tube_mm, mast.line_m) == (2.0, None, None, None)
    assert mast.antennas[0].wind_n is None
    roof_m = max(floor.elevation_m for floor in read(block).building.floors)
    assert mast.above_ground_m == roof_m


def test_pounds_inches_and_feet_become_metric(read, document):
    building = document("townhouse_row")
    length = "ft" if "run_ft" in str(building) else "m"
    building["mast"] = {
        f"free_{length}": 10.0,
        "tube_in": 2.0,
        "antennas": [{"name": "UHF", "wind_lbf": 10.0, f"height_{length}": 5.0}],
    }
    mast = read(building).building.mast
    assert mast.tube_mm == pytest.approx(50.8)
    assert mast.antennas[0].wind_n == pytest.approx(44.482216)
    assert mast.free_m == pytest.approx(3.048 if length == "ft" else 10.0)


def test_lengths_that_are_missing_and_units_that_stand_twice_are_complaints(read, block):
    block["mast"] = {
        "tube_mm": 50.0,
        "tube_in": 2.0,
        "antennas": [{"name": "UHF", "wind_n": 1.0, "wind_lbf": 1.0}],
    }
    block["bonds"] = [{"what": "mast"}]
    assert set(codes(read(block))) == {
        ("missing", ("mast", "free_m")),
        ("missing", ("mast", "antennas", 0, "height_m")),
        ("missing", ("bonds", 0, "length_m")),
        ("not-together", ("mast", "tube_in")),
        ("not-together", ("mast", "antennas", 0, "wind_lbf")),
    }


def test_a_bond_at_an_unknown_place_or_told_twice_is_a_complaint(read, block):
    block["bonds"] = [
        {"what": "entrance", "at": "nowhere", "length_m": 2.0},
        {"what": "mast", "length_m": 2.0},
        {"what": "mast", "length_m": 3.0},
    ]
    assert codes(read(block)) == [
        ("unknown-place", ("bonds", 0, "at")),
        ("duplicate-id", ("bonds", 2, "what")),
    ]


def test_rates_lie_over_the_example_and_know_which_were_stated(read, block):
    block["estimate"] = {
        "permit_price": 250.5,
        "markup_labour_share": 0.3,
        "lift": False,
        "kits": [{"kit": "panel", "item": "Box", "price": 9.99}],
        "alternates": [{"item": "More", "labour_h": 2.5, "deducts": True}],
    }
    rates = read(block).building.rates
    assert rates.permit_cents == 25050
    assert rates.markup_labour_share == Decimal("0.3")
    assert not rates.lift
    assert [(item.kit, item.name, item.each, item.price_cents) for item in rates.kits] == [
        ("panel", "Box", Decimal("1.0"), 999)
    ]
    assert rates.alternates[0].labour_h == Decimal("2.5")
    assert rates.own == ("alternates", "kits", "lift", "markup_labour_share", "permit_cents")
    assert rates.overhead_share == Rates().overhead_share


def test_money_has_no_more_digits_than_cents_and_shares_are_no_per_cents(read, block):
    block["estimate"] = {"permit_price": 1.005, "overhead_share": 12.0}
    assert codes(read(block)) == [
        ("looks-like-other-unit", ("estimate", "overhead_share")),
        ("wrong-form", ("estimate", "permit_price")),
    ]


def test_a_building_with_the_plan_of_another_takes_its_rates_but_never_its_site(block, known):
    block |= {
        "mast": {"free_m": 2.0, "line_m": 30.0},
        "bonds": [{"what": "mast", "length_m": 3.0}],
        "estimate": {"mast_h": 20.0},
    }
    other = {"document": block["document"], "version": 1, "id": "twin", "same_as": block["id"]}
    twin = read_buildings([block, other], known, {block["prices"]})[1].building
    assert (twin.mast, twin.bonds) == (None, ())
    assert twin.rates.mast_h == Decimal("20.0")
