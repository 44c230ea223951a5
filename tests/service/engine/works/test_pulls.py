"""Pulls: bundles, order, drop-off points, hours, seals."""

from dataclasses import replace
from math import sqrt

import pytest

from service.engine.plant.network import Device, Port, Run
from service.engine.works.pulls import MOST_IN_BUNDLE, firestops_of, least_sleeve_mm, pulls_of, run_hours


def pulls(house, network=None, building=None):
    return pulls_of(building or house.building, network or house.network, house.catalogue, house.tariff)


def named(pull):
    return [cable.run.id for cable in pull.cables]


def test_risers_come_first_then_corridors_from_the_top_then_flats(house):
    found = [(pull.phase, pull.start_place.id, named(pull)) for pull in pulls(house)]
    assert found == [
        ("risers", "HE", ["C1.1", "C2.1"]),
        ("corridors", "C2", ["2A.1"]),
        ("corridors", "C1", ["1B-1.1", "1A-1.1"]),
        ("flats", "2A", ["2A-2.1"]),
        ("flats", "2A", ["2A-1.1"]),
    ]
    assert [pull.name for pull in pulls(house)] == ["P001", "P002", "P003", "P004", "P005"]


def test_a_cable_leaves_the_bundle_where_its_ways_part_from_the_others(house):
    risers, alone, corridor, *_ = pulls(house)
    assert [cable.leaves_at for cable in risers.cables] == ["C2", "C2"]
    assert [cable.leaves_at for cable in corridor.cables] == ["J1", "J1"]
    assert [cable.leaves_at for cable in alone.cables] == [""]


def test_boxes_are_counted_from_the_cable_that_goes_furthest(house):
    corridor = pulls(house)[2]
    assert [(cable.box, cable.run.way_m) for cable in corridor.cables] == [(1, 22.0), (2, 19.0)]
    assert corridor.longest_m == 22.0
    assert corridor.length_m == pytest.approx(45.6)
    assert corridor.spaces == ("unknown-ceiling", "unit")


def test_every_new_cable_is_pulled_once(house):
    found = sorted(run for pull in pulls(house) for run in named(pull))
    assert found == sorted(run.id for run in house.network.runs if run.cable is not None)


def test_existing_cables_are_not_pulled(house):
    runs = tuple(replace(run, existing=run.id == "2A.1") for run in house.network.runs)
    found = [run for pull in pulls(house, replace(house.network, runs=runs)) for run in named(pull)]
    assert "2A.1" not in found
    assert len(found) == 6


def test_a_bundle_holds_no_more_cables_than_can_be_pulled(house):
    more = range(2, 12)
    devices = tuple(Device(id=f"C2.{n}", part="split-2", place="C2") for n in more)
    port = Port(device="HE.2", group="out", number=1)
    runs = tuple(
        Run(id=f"C2.{n}", start=port, end=f"C2.{n}", cable="11-catvr", length_m=15.0, ways=("R2",))
        for n in more
    )
    network = replace(house.network, devices=house.network.devices + devices, runs=house.network.runs + runs)
    sizes = [len(pull.cables) for pull in pulls(house, network) if pull.phase == "risers"]
    assert sizes == [MOST_IN_BUNDLE, 4]


def test_the_first_cable_of_a_way_takes_the_whole_pull_and_further_ones_a_share(house):
    hours = run_hours(house.building, house.network, house.tariff)
    ends = 2 * 0.1 + 0.2
    assert hours["1A-1.1"] == pytest.approx(ends + 15.0 * 0.05 + 4.0 * 0.04)
    assert hours["1B-1.1"] == pytest.approx(ends + 12.0 * 0.01 + 5.0 * 0.05 + 5.0 * 0.04)
    assert sum(pull.hours for pull in pulls(house)) == pytest.approx(sum(hours.values()))


def test_every_seal_is_named_once_with_what_goes_through(house):
    stops = {stop.name: stop for stop in firestops_of(house.building, house.network, house.catalogue)}
    assert sorted(stops) == ["F.K1A.1", "F.K1B.1", "F.K2A.1", "F.R1.1", "F.R2.1"]
    assert stops["F.R2.1"].runs == ("C1.1", "C2.1")
    assert stops["F.R1.1"].runs == ("C1.1",)
    used = {name for pull in pulls(house) for cable in pull.cables for name in cable.run.firestops}
    assert used == set(stops)


def test_a_sleeve_keeps_the_fill_of_one_two_and_more_cables(house):
    """Shares of NEC Chapter 9 Table 1, from memory: 53 % for one cable, 31 % for two, 40 % above."""
    cable = house.catalogue.cable("6-catv")
    each = cable.outer_diameter_mm
    for count, fill in ((1, 0.53), (2, 0.31), (3, 0.40), (6, 0.40)):
        assert least_sleeve_mm((cable,) * count) == pytest.approx(each * sqrt(count / fill))
    assert least_sleeve_mm(()) == 0.0


def test_a_higher_closet_is_pulled_before_a_lower_one(house):
    lower = replace(
        house.building, floors=tuple(replace(floor, order=-floor.order) for floor in house.building.floors)
    )
    corridors = [pull.start_place.id for pull in pulls(house, building=lower) if pull.phase == "corridors"]
    assert corridors == ["C1", "C2"]
