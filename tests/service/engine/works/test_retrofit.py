"""Retrofit: what becomes of old cable, and phases that leave nobody without service."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from service.engine.building.places import ExistingCable
from service.engine.building.rates import Rates
from service.engine.works.pulls import pulls_of
from service.engine.works.retrofit import is_retrofit, old_cables, phases_of


def with_old(building, fate, **changes):
    ways = tuple(replace(way, existing=ExistingCable(fate=fate)) for way in building.ways)
    return replace(building, ways=ways, **changes)


def stacked(building):
    """Flats of the house in stacks by the letter of their id."""
    return replace(
        building, units=tuple(replace(unit, stack=unit.id[-1], occupied=True) for unit in building.units)
    )


def phases(house, building):
    pulls = pulls_of(building, house.network, house.catalogue, house.tariff)
    return pulls, phases_of(building, house.network, pulls, house.tariff)


def test_new_work_without_old_cable_and_people_has_no_phases(house):
    assert not is_retrofit(house.building)
    assert phases(house, house.building)[1] == ()


def test_shared_ways_come_first_then_stacks_and_old_risers_last(house):
    building = with_old(stacked(house.building), "replace", new_build=False)
    _, rows = phases(house, building)
    stacks = sorted({unit.id[-1] for unit in building.units})
    assert [row.stack for row in rows] == ["", *(f"stack {name}" for name in stacks), ""]
    assert [row.number for row in rows] == list(range(1, len(rows) + 1))
    assert rows[0].removal_h == 0
    assert rows[0].old_m > 0
    assert rows[-1].removal_m == pytest.approx(rows[0].old_m)


def test_every_cable_device_and_outlet_belongs_to_one_phase(house):
    building = with_old(stacked(house.building), "abandon", new_build=False)
    pulls, rows = phases(house, building)
    assert sum(row.cables for row in rows) == sum(len(pull.cables) for pull in pulls)
    devices = [name for row in rows for name in row.devices]
    assert sorted(devices) == sorted(row.id for row in house.network.devices)
    outlets = [name for row in rows for name in row.outlets]
    assert sorted(outlets) == sorted(row.outlet for row in house.network.served)


def test_removal_is_reckoned_once_for_each_way(house):
    building = with_old(stacked(house.building), "abandon", new_build=False)
    _, rows = phases(house, building)
    old = old_cables(building, house.network)
    assert sum(row.removal_h for row in rows) == sum(row.removal_h for row in old)
    metres = sum(Decimal(str(round(way.length_m, 3))) for way in building.ways)
    assert sum(row.removal_h for row in old) == metres * Rates().removal_h_per_m


def test_flats_without_a_stack_move_floor_by_floor_from_the_top(house):
    building = replace(house.building, new_build=False)
    _, rows = phases(house, building)
    assert [row.stack for row in rows[1:]] == ["floor 2", "floor 1"]


@pytest.mark.parametrize("fate", ["keep", "keep-if-tests-well"])
def test_cable_that_may_stay_is_tested_and_not_taken_out(house, fate):
    rows = old_cables(with_old(house.building, fate), house.network)
    assert all(row.test_h == Rates().test_existing_h and not row.removal_h for row in rows)


def test_cable_in_use_names_its_runs(house):
    building = with_old(house.building, "keep")
    run = next(run for run in house.network.runs if run.ways)
    network = replace(
        house.network,
        runs=tuple(replace(row, existing=row.id == run.id) for row in house.network.runs),
    )
    using = {row.way.id: row.runs for row in old_cables(building, network)}
    assert using[run.ways[0]] == (run.id,)
