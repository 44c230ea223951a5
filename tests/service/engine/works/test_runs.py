"""Runs: labels, routes, lengths, jackets."""

from dataclasses import replace

import pytest

from service.engine.errors import UnknownIdError
from service.engine.works.runs import cable_runs, jacket_findings, region_of


def runs_of(house, network=None, building=None):
    rows = cable_runs(building or house.building, network or house.network, house.catalogue)
    return {run.id: run for run in rows}


def with_run(network, run_id, **changes):
    runs = tuple(replace(run, **changes) if run.id == run_id else run for run in network.runs)
    return replace(network, runs=runs)


def with_way(building, way_id, **changes):
    ways = tuple(replace(way, **changes) if way.id == way_id else way for way in building.ways)
    return replace(building, ways=ways)


def test_couplings_without_cable_are_no_runs(house):
    assert sorted(runs_of(house)) == ["1A-1.1", "1B-1.1", "2A-1.1", "2A-2.1", "2A.1", "C1.1", "C2.1"]


def test_both_ends_carry_the_identifier_and_say_where_they_land(house):
    run = runs_of(house)["1B-1.1"]
    assert run.label == "1-1B-1-1"
    assert run.start_label == "1-1B-1-1/A 1-C1:out.2"
    assert run.end_label == "1-1B-1-1/B 1-1B-1:in"


def test_a_block_stands_first_in_labels(house):
    places = tuple(replace(place, block="N") for place in house.building.places)
    run = runs_of(house, building=replace(house.building, places=places))["C1.1"]
    assert run.label == "N-1-C1-1"


def test_every_label_stands_on_one_run_only(house):
    labels = [run.label for run in runs_of(house).values()]
    assert len(set(labels)) == len(labels)


def test_a_run_keeps_its_label_when_its_feeding_port_changes(house):
    before = runs_of(house)["2A.1"]
    moved = with_run(house.network, "2A.1", start=replace(before.start, number=2))
    after = runs_of(house, moved)["2A.1"]
    assert after.label == before.label
    assert after.start_label == "2-2A-1/A 2-C2:out.2"


def test_a_route_is_walked_way_by_way_whichever_way_they_are_drawn(house):
    run = runs_of(house)["1B-1.1"]
    assert run.stops == ("C1", "J1", "1B", "1B-1")
    assert run.passes == ("J1", "1B")
    assert run.firestops == ("F.K1B.1",)


def test_the_length_is_the_ways_and_what_is_left_at_both_ends(house):
    for run in runs_of(house).values():
        assert run.way_m + run.left_start_m + run.left_end_m == pytest.approx(run.length_m)
    riser = runs_of(house)["C1.1"]
    assert (riser.way_m, riser.left_start_m, riser.left_end_m) == (pytest.approx(14.4), 3.0, 2.0)


def test_the_strictest_space_decides_which_jackets_are_allowed(house):
    run = runs_of(house)["1A-1.1"]
    assert run.spaces == ("unknown-ceiling", "unit")
    assert run.strictest == "unknown-ceiling"
    assert run.permitted == ("CATVP",)
    assert run.jacket_fits


def test_a_right_choice_of_jackets_finds_nothing(house):
    assert jacket_findings(tuple(runs_of(house).values()), region_of(house.building)) == ()


def test_a_dwelling_cable_in_a_riser_is_found(house):
    runs = runs_of(house, with_run(house.network, "C2.1", cable="6-catvx"))
    (found,) = jacket_findings(tuple(runs.values()), "us")
    assert (found.rule, found.severity, found.where) == ("jacket", "warns", ("C2.1",))


def test_ways_that_no_one_jacket_suits_are_found(house):
    building = with_way(house.building, "K2A", spaces=("buried", "general"))
    runs = runs_of(house, building=building)
    (found,) = jacket_findings(tuple(runs.values()), "us")
    assert (found.rule, found.where) == ("jacket-changes", ("2A.1",))
    assert runs["2A.1"].permitted == ()


def test_an_existing_cable_has_nothing_left_at_its_ends_and_no_jacket_finding(house):
    network = with_run(house.network, "C2.1", cable="6-catvx", existing=True)
    runs = runs_of(house, network)
    assert (runs["C2.1"].left_start_m, runs["C2.1"].left_end_m) == (0.0, 0.0)
    assert jacket_findings(tuple(runs.values()), "us") == ()


def test_a_run_along_a_way_that_is_not_there_is_refused(house):
    with pytest.raises(UnknownIdError, match="K9"):
        runs_of(house, with_run(house.network, "2A.1", ways=("K9",)))


def test_a_run_between_devices_that_are_not_there_is_refused(house):
    with pytest.raises(UnknownIdError, match="X9"):
        runs_of(house, with_run(house.network, "2A.1", end="X9.1"))
