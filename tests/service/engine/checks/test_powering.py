"""DC on the cable."""

from dataclasses import replace

import pytest

from service.engine.propagation.report import LinePower, PowerReport


@pytest.fixture
def powered(grow, feed):
    return grow(
        feed(("14", 473.0, 8.0)),
        ("I", "inserter", "HE:out"),
        ("A", "line-amp", "I:out"),
        ("T", "tap-20", "A:out"),
        ("P1", "plate", "T:tap.1"),
        served=("P1:user",),
    )


RULES = ("line-voltage", "no-line-power", "supply-load", "live-outlet")


def power(supply="I", voltage_v=14.0, load_a=0.4, live=()):
    device = LinePower(device="A", supply=supply, voltage_v=voltage_v, current_a=0.4, least_v=11.0)
    return PowerReport(devices=(device,), supply_load_a=(("I", load_a),), live_outlets=live)


def test_a_fed_line_amplifier_has_no_findings(judged, powered):
    assert not [row for row in judged(powered) if row.rule in RULES]


@pytest.mark.parametrize(
    ("report", "rule", "where"),
    [
        (power(voltage_v=10.5), "line-voltage", ("A",)),
        (power(voltage_v=0.0), "line-voltage", ("A",)),
        (power(supply="", voltage_v=0.0), "no-line-power", ("A",)),
        (power(load_a=1.1), "supply-load", ("I",)),
        (power(live=("O1",)), "live-outlet", ("O1",)),
    ],
)
def test_wrong_power_breaks_the_design(judged, powered, report, rule, where):
    findings = [row for row in judged(powered, power=report) if row.rule in RULES]
    assert [(row.rule, row.severity, row.where) for row in findings] == [(rule, "breaks", where)]


def test_a_line_amplifier_without_supply_is_found_in_a_real_network(judged, grow, feed):
    network = grow(
        feed(("14", 473.0, 8.0)), ("A", "line-amp", "HE:out"), ("P1", "plate", "A:out"), served=("P1:user",)
    )
    assert judged(network, "no-line-power")


def test_a_plate_on_a_powered_port_is_a_live_outlet(judged, powered):
    straight = replace(
        powered,
        devices=tuple(row for row in powered.devices if row.id in ("I", "P1")),
        runs=tuple(
            replace(row, start=replace(row.start, device="I", group="out")) if row.end == "P1" else row
            for row in powered.runs
            if row.end in ("I", "P1")
        ),
        served=(replace(powered.served[0], port=replace(powered.served[0].port, device="I", group="out")),),
    )
    unplugged = replace(
        straight,
        devices=tuple(row for row in straight.devices if row.id == "I"),
        runs=tuple(row for row in straight.runs if row.end == "I"),
    )
    assert judged(unplugged, "live-outlet")
