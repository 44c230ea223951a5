"""Power on the cable: Ohm's law along the runs, constant power at the devices, who carries voltage."""

from __future__ import annotations

import math

import pytest

from service.engine.plant.parts import Power

HUNGRY = Power(supply="line", draws_w=6.0, least_v=15.0)


def supply(into, volts=24.0):
    return Power(injects_v=volts, injects_a=2.0, injects_into=into)


def test_one_device_at_the_end_of_a_cable_draws_by_the_quadratic(bench):
    bench.feed().cable(ohm_per_km=50.0).part("inserter", [("out", 1, -1.0)], power=supply("out"))
    bench.amplifier(power=HUNGRY).put("I", "inserter", "F:out").put("A", "amp", "I:out", "c", 100.0)
    power = bench.report().power
    volts = (24.0 + math.sqrt(24.0**2 - 4 * 5.0 * 6.0)) / 2
    (device,) = power.devices
    assert device.voltage_v == pytest.approx(volts)
    assert device.current_a == pytest.approx(6.0 / volts)
    assert (device.device, device.supply, device.least_v) == ("A", "I", 15.0)
    assert power.supply_load_a == (("I", pytest.approx(6.0 / volts)),)


def test_two_devices_on_one_line_share_its_drop(bench):
    bench.feed().cable(ohm_per_km=50.0).part("inserter", [("out", 1, -1.0)], power=supply("out"))
    bench.part("tap", [("through", 1, -1.0), ("tap", 2, -12.0)], passes=("through",)).amplifier(power=HUNGRY)
    bench.part("live", [("out", 2, -4.0)], passes=("out",)).put("I", "inserter", "F:out")
    bench.put("S", "live", "I:out", "c", 100.0).put("A", "amp", "S:out.1").put(
        "B", "amp", "S:out.2", "c", 40.0
    )
    a, b = bench.report().power.devices
    assert 24.0 - a.voltage_v == pytest.approx(5.0 * (a.current_a + b.current_a))
    assert a.voltage_v - b.voltage_v == pytest.approx(2.0 * b.current_a)
    assert b.current_a * b.voltage_v == pytest.approx(6.0)


def test_voltage_goes_up_the_cable_to_a_device_ahead(bench):
    bench.feed().cable().amplifier(power=HUNGRY).part("inserter", [("out", 1, -1.0)], power=supply("input"))
    bench.put("A", "amp", "F:out").put("I", "inserter", "A:out", "c", 20.0).serve("u", "I:out")
    power = bench.report().power
    assert power.devices[0].supply == "I"
    assert power.devices[0].voltage_v == pytest.approx(24.0 - 1.0 * power.devices[0].current_a)
    assert power.live_outlets == ()


def test_a_part_that_does_not_pass_power_leaves_what_is_behind_it_dark(bench):
    bench.feed().part("inserter", [("out", 1, -1.0)], power=supply("out")).part("split", [("out", 2, -4.0)])
    bench.amplifier(power=HUNGRY).put("I", "inserter", "F:out").put("S", "split", "I:out")
    (device,) = bench.put("A", "amp", "S:out.1").report().power.devices
    assert (device.supply, device.voltage_v, device.current_a) == ("", 0.0, 0.0)


def test_an_outlet_behind_parts_that_pass_power_is_live(bench):
    bench.feed().part("inserter", [("out", 1, -1.0)], power=supply("out"))
    bench.part("split", [("out", 1, -4.0), ("safe", 1, -4.0)], passes=("out",))
    bench.put("I", "inserter", "F:out").put("S", "split", "I:out").serve("u1", "S:out").serve("u2", "S:safe")
    power = bench.report().power
    assert power.live_outlets == ("u1",)
    assert power.supply_load_a == (("I", 0.0),)


def test_a_line_that_cannot_bear_its_load_is_at_no_voltage(bench):
    bench.feed().cable(ohm_per_km=50.0).part("inserter", [("out", 1, -1.0)], power=supply("out"))
    bench.amplifier(power=HUNGRY).put("I", "inserter", "F:out").put("A", "amp", "I:out", "c", 500.0)
    (device,) = bench.report().power.devices
    assert device.voltage_v == 0.0
    assert device.current_a == pytest.approx(6.0 / 24.0)


def test_a_stretch_with_two_supplies_hangs_on_the_first(bench):
    bench.feed().part("inserter", [("out", 1, -1.0)], power=supply("out"))
    bench.part("late", [("out", 1, -1.0)], passes=("out",), power=supply("out", volts=30.0))
    bench.amplifier(power=HUNGRY).put("I", "inserter", "F:out").put("J", "late", "I:out")
    power = bench.put("A", "amp", "J:out").report().power
    assert power.devices[0].supply == "I"
    assert power.supply_load_a == (("I", pytest.approx(0.25)), ("J", 0.0))


def test_without_supplies_or_hungry_devices_there_is_nothing_to_say(bench):
    power = bench.feed().serve("u", "F:out").report().power
    assert (power.devices, power.supply_load_a, power.live_outlets) == ((), (), ())
