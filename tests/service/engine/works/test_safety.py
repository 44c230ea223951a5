"""Safety: each caution comes with the data that switch it on, and only then."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.engine.building.places import ExistingCable
from service.engine.works.safety import cautions_of


def topics(house, **changes):
    building = replace(house.building, **changes)
    return [row.topic for row in cautions_of(building, house.network, house.catalogue)]


def with_spaces(house, *spaces):
    first, *rest = house.building.ways
    return (replace(first, spaces=spaces), *rest)


def test_power_lines_come_first_where_antennas_are_raised(house):
    rows = cautions_of(house.building, house.network, house.catalogue)
    assert rows[0].topic == "power lines"
    assert "stop" in rows[0].text


def test_no_roof_is_climbed_for_a_provider_feed(house):
    found = topics(house, feed=replace(house.building.feed, kind="provider"))
    assert not {"power lines", "work on the roof", "radio waves on the roof"} & set(found)


@pytest.mark.parametrize(
    ("changes", "asbestos", "lead"),
    [
        ({"new_build": True, "year_built": None}, False, False),
        ({"new_build": False, "year_built": None}, True, True),
        ({"new_build": False, "year_built": 1965}, True, True),
        ({"new_build": False, "year_built": 1979}, True, False),
        ({"new_build": False, "year_built": 2015}, False, False),
    ],
)
def test_the_year_of_building_switches_old_plaster_on(house, changes, asbestos, lead):
    found = topics(house, **changes)
    assert ("asbestos" in found, "lead paint" in found) == (asbestos, lead)


@pytest.mark.parametrize(("slab", "wanted"), [("post-tensioned", True), ("", True), ("cast in place", False)])
def test_tendons_are_looked_for_in_slabs_of_their_kind_and_in_unknown_ones(house, slab, wanted):
    assert ("tendons in slabs" in topics(house, slab=slab)) == wanted


def test_a_lightning_system_calls_the_specialist_whatever_the_feed(house):
    feed = replace(house.building.feed, kind="provider")
    assert "lightning protection" in topics(house, lightning_system=True, feed=feed)
    assert "lightning protection" not in topics(house, lightning_system=False)


def test_what_nobody_said_of_the_roof_counts_as_the_worse_case(house):
    rows = {row.topic: row for row in cautions_of(house.building, house.network, house.catalogue)}
    assert "not stated" in rows["lightning protection"].because
    assert "not stated" in rows["radio waves on the roof"].because
    assert "radio waves on the roof" not in topics(house, roof_transmitters=False)
    feed = replace(house.building.feed, kind="provider")
    assert "radio waves on the roof" not in topics(house, feed=feed)
    assert "radio waves on the roof" in topics(house, feed=feed, roof_transmitters=True)


def test_wires_of_others_stay_untouched_in_a_building_that_stands(house):
    assert "wires of others" in topics(house, new_build=False)
    assert "wires of others" not in topics(house)


def test_spaces_switch_their_cautions_on(house):
    assert "heat in attics" in topics(house, ways=with_spaces(house, "attic"))
    assert "digging" in topics(house, ways=with_spaces(house, "buried"))
    assert "forbidden spaces" in topics(house, ways=with_spaces(house, "hoistway"))
    assert not {"heat in attics", "digging", "forbidden spaces"} & set(topics(house))


def test_people_at_home_and_old_shields_are_told_of(house):
    assert not {"people at home", "voltage between shields"} & set(topics(house))
    units = tuple(replace(unit, occupied=True) for unit in house.building.units)
    assert "people at home" in topics(house, units=units)
    first, *rest = house.building.ways
    ways = (replace(first, existing=ExistingCable(fate="replace")), *rest)
    assert "voltage between shields" in topics(house, ways=ways)


def test_a_network_without_supplies_has_no_caution_for_them(house):
    assert "power on coax" in topics(house)
    passive = replace(house.network, devices=())
    rows = cautions_of(house.building, passive, house.catalogue)
    assert "power on coax" not in [row.topic for row in rows]
    assert rows[-3].because == "always"
