"""Jackets: two relations kept apart, unknown spaces taken strictest, few kinds, screening."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.engine.plant.permits import SPACES, allowed_jackets
from service.engine.works.jackets import building_jacket_findings, least_jacket, may_replace
from service.engine.works.runs import cable_runs


def findings(house, building=None, **changes):
    building = replace(building or house.building, **changes)
    runs = cable_runs(building, house.network, house.catalogue)
    return {row.rule: row for row in building_jacket_findings(building, runs, house.catalogue)}


@pytest.mark.parametrize("region", ["us", "europe"])
def test_a_stricter_jacket_goes_wherever_the_laxer_one_goes(region):
    jackets = {jacket for space in SPACES for jacket in allowed_jackets(region, space)}
    for space in SPACES:
        allowed = allowed_jackets(region, space)
        for stricter in sorted(jackets):
            if any(may_replace(region, stricter, jacket) for jacket in allowed):
                assert stricter in allowed, (space, stricter)


@pytest.mark.parametrize("jacket", ["CATVP", "CATVR", "CATV", "CATVX"])
@pytest.mark.parametrize("fire_class", ["B2ca", "Cca", "Dca", "Eca"])
def test_types_and_fire_classes_never_stand_in_for_each_other(jacket, fire_class):
    for region in ("us", "europe"):
        assert not may_replace(region, jacket, fire_class)
        assert not may_replace(region, fire_class, jacket)


def test_the_strictest_space_decides_and_unknown_ones_count_as_strict():
    assert least_jacket("us", ("unit", "riser", "general")) == "CATVR"
    assert least_jacket("us", ("unit", "unknown-ceiling")) == "CATVP"
    assert least_jacket("us", ("unknown-vertical",)) == "CATVR"
    assert least_jacket("us", ()) == "CATVP"
    assert least_jacket("us", ("buried", "plenum")) == ""


def test_a_third_kind_of_jacket_is_warned_about_while_the_policy_stands(house):
    # The house has plenum, riser, general and dwelling jackets.
    found = findings(house)["jacket-variety"]
    assert (found.measured, found.limit) == (4.0, 2.0)
    free = replace(house.building, policy=replace(house.building.policy, parts_variety=False))
    assert "jacket-variety" not in findings(house, free)


def test_runs_through_unknown_spaces_are_named(house):
    assert findings(house)["jacket-unknown-space"].where == ("1A-1.1", "1B-1.1")


def test_a_cable_too_lax_for_its_way_is_warned_about(house):
    ways = tuple(replace(way, spaces=("plenum",)) for way in house.building.ways)
    assert "C1.1" in findings(house, ways=ways)["jacket"].where


def test_european_plants_are_asked_for_class_a(house):
    rules = replace(house.building.rules, codes="eu")
    assert findings(house, rules=rules)["screening"].limit == 85.0
    assert "screening" not in findings(house)
