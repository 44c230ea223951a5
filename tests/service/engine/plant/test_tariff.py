"""The price sheet: variety weighs in the search and stands in no bill."""

from __future__ import annotations

from service.engine.plant.network import Device, Network
from service.engine.plant.tariff import network_cents, variety_cents
from service.library import library


def network(*parts: str) -> Network:
    devices = tuple(Device(id=f"D{number}", part=part) for number, part in enumerate(parts))
    return Network(id="n", feeds=(), devices=devices, runs=(), served=())


def test_every_kind_of_part_beyond_the_first_costs_its_shelf_price() -> None:
    tariff = library().tariffs["demo-usd"]
    assert tariff.variety_cents == 2500
    assert variety_cents(network("split-2", "split-2"), tariff) == 0
    assert variety_cents(network("split-2", "split-3", "tap-4-17", "split-3"), tariff) == 2 * 2500
    assert variety_cents(network(), tariff) == 0


def test_variety_is_in_no_direct_cost() -> None:
    tariff = library().tariffs["demo-usd"]
    both = network_cents(network("split-2", "split-3"), tariff, {})
    assert both == tariff.device_cents("split-2") + tariff.device_cents("split-3")
