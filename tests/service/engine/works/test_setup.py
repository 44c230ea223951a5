"""Amplifier set-up: the sheet says what the network says."""

from dataclasses import replace

import pytest

from service.engine.plant.network import Settings
from service.engine.works.setup import setups_of


def setup_of(house, building=None):
    building = building or house.building
    (setup,) = setups_of(building, house.network, house.design().chosen.report, house.catalogue)
    return setup


def test_levels_in_and_out_are_those_of_the_feed_and_the_gain(house):
    setup = setup_of(house)
    assert (setup.device, setup.place, setup.floor) == ("HE.1", "HE", "3")
    assert [pilot.carrier for pilot in setup.pilots] == ["14", "36"]
    for pilot in setup.pilots:
        assert pilot.output_dbmv - pilot.input_dbmv == pytest.approx(setup.gain_used_db, abs=1.5)
        assert pilot.test_point_dbmv == pytest.approx(pilot.output_dbmv - setup.test_point_loss_db)


def test_settings_and_what_is_left_are_told(house):
    setting = Settings(gain_db=20.0, slope_db=3.0, input_pad_db=2.0, input_equaliser_db=3.0)
    devices = tuple(
        replace(device, settings=setting) if device.id == "HE.1" else device
        for device in house.network.devices
    )
    setup = setup_of(replace(house, network=replace(house.network, devices=devices)))
    active = house.catalogue.part("launch-small").active
    assert (setup.gain_used_db, setup.slope_db, setup.input_pad_db) == (20.0, 3.0, 2.0)
    assert setup.input_equaliser_db == 3.0
    assert setup.gain_full_db == active.gain_db.high
    assert setup.gain_reserve_db == pytest.approx(active.gain_db.high - 20.0)
    assert setup.slope_reserve_db == pytest.approx(active.slope_db.high - 3.0)


def test_an_amplifier_without_settings_stands_at_full_gain(house):
    setup = setup_of(house)
    assert setup.gain_used_db == setup.gain_full_db


def test_loading_counts_today_and_tomorrow_and_headroom_is_what_is_left(house):
    setup = setup_of(house)
    assert (setup.carriers_today, setup.carriers_tomorrow) == (2, 6)
    assert setup.derated_tomorrow_dbmv < setup.derated_today_dbmv
    assert setup.headroom_today_db == pytest.approx(setup.derated_today_dbmv - setup.total_dbmv)


def test_house_power_has_the_voltage_of_its_region(house):
    watts = house.catalogue.part("launch-small").power.draws_w
    rules = replace(house.building.rules, codes="eu-2023")
    assert setup_of(house).current_a == pytest.approx(watts / 120.0)
    abroad = setup_of(house, building=replace(house.building, rules=rules))
    assert (abroad.voltage_v, abroad.current_a) == (230.0, pytest.approx(watts / 230.0))


def test_a_watt_that_is_always_on_is_8760_watt_hours_a_year(house):
    setups = setups_of(house.building, house.network, house.design().chosen.report, house.catalogue)
    assert setups
    assert [row.energy_kwh for row in setups] == [pytest.approx(8.76 * row.draws_w) for row in setups]
