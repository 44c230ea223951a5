"""A revision: what differs is found by identifier, and its money adds up to the cent."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.engine.plant.network import Settings
from service.engine.works.revision import Issued, revision_of


def issued(house, network=None):
    return Issued(building=house.building, network=network or house.network)


def compared(house, network):
    return revision_of(issued(house), issued(house, network), house.catalogue, house.tariff)


def with_run(network, name, **changes):
    runs = tuple(replace(run, **changes) if run.id == name else run for run in network.runs)
    return replace(network, runs=runs)


def test_the_same_design_has_no_changes(house):
    revision = compared(house, house.network)
    assert revision.unchanged
    assert revision.change_cents == 0


def test_the_order_of_rows_is_no_change(house):
    network = replace(house.network, runs=house.network.runs[::-1], devices=house.network.devices[::-1])
    assert compared(house, network).unchanged


@pytest.mark.parametrize(
    ("changes", "what"),
    [
        ({"length_m": 12.5}, ("length",)),
        ({"cable": "6-catvr"}, ("cable",)),
        ({"existing": True}, ("new or existing",)),
    ],
)
def test_a_changed_run_says_what_differs(house, changes, what):
    priced = house.tariff.cables[0]
    tariff = replace(house.tariff, cables=(*house.tariff.cables, replace(priced, cable="6-catvr")))
    network = with_run(house.network, "2A.1", **changes)
    revision = revision_of(issued(house), issued(house, network), house.catalogue, tariff)
    (change,) = revision.runs
    assert (change.id, change.happened, change.what) == ("2A.1", "changed", what)
    assert revision.devices == ()


def test_an_outlet_taken_away_is_a_pull_a_device_and_its_money_less(house):
    network = replace(
        house.network,
        devices=tuple(device for device in house.network.devices if device.id != "2A-2.1"),
        runs=tuple(run for run in house.network.runs if run.id != "2A-2.1"),
        served=tuple(served for served in house.network.served if served.outlet != "2A-2"),
    )
    revision = compared(house, network)
    assert [(row.id, row.happened) for row in revision.runs] == [("2A-2.1", "removed")]
    assert [(row.id, row.happened) for row in revision.devices] == [("2A-2.1", "removed")]
    # An outlet of 4.00 with 0.3 h at 60.00; two ends of 1.00 with 0.4 h; 7 m in the open at 2.90, 1.3 m left at 0.50.
    assert revision.change_cents == -(2200 + 2600 + 2030 + 65)


def test_another_setting_of_an_amplifier_is_a_change_without_money(house):
    devices = tuple(
        replace(device, settings=Settings(gain_db=20.0)) if device.id == "HE.1" else device
        for device in house.network.devices
    )
    revision = compared(house, replace(house.network, devices=devices))
    assert [(row.id, row.what) for row in revision.devices] == [("HE.1", ("settings",))]
    assert (revision.runs, revision.money, revision.change_cents) == ((), (), 0)


def test_changes_of_money_add_up_to_the_change_of_direct_cost(house):
    network = with_run(with_run(house.network, "2A.1", length_m=30.0), "1A-1.1", existing=True)
    revision = compared(house, network)
    assert sum(row.change_cents for row in revision.money) == revision.change_cents != 0


def test_turned_round_what_was_added_is_removed(house):
    network = with_run(house.network, "2A.1", length_m=30.0)
    there = compared(house, network)
    back = revision_of(issued(house, network), issued(house), house.catalogue, house.tariff)
    assert back.change_cents == -there.change_cents
    assert [row.id for row in back.runs] == [row.id for row in there.runs]
