"""The semantic validator of a network: every fault found, at its place, and nothing else."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.engine.findings import Fault
from service.engine.plant.cables import Cable
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.faults import NETWORK_CODES, network_faults
from service.engine.plant.network import Device, Network, Port, Run, Served, Settings
from service.engine.plant.parts import Active, Part, PortGroup, Rating, SettingRange
from service.engine.signal.curves import Curve, flat
from service.engine.signal.limits import Limits, ServiceLimit
from service.engine.signal.spectrum import Carrier, Feed, FeedCarrier, Service

SPLITTER = Part(
    id="split2",
    family="splitter",
    name="two-way",
    groups=(PortGroup(name="out", count=2, gain_db=Curve(frequency_mhz=(5.0, 1000.0), value=(-3.5, -4.5))),),
)
AMPLIFIER = Part(
    id="amp",
    family="amplifier",
    name="amplifier",
    groups=(PortGroup(name="out", count=1, gain_db=flat(30.0)),),
    active=Active(
        noise_figure_db=flat(6.0),
        ratings=(Rating(basis="total power", output_dbmv=50.0, ratio_db=60.0),),
        gain_db=SettingRange(low=10.0, high=30.0, step=1.0),
        input_pad_db=SettingRange(low=0.0, high=20.0, step=0.5),
        slope_low_mhz=54.0,
        slope_high_mhz=1002.0,
    ),
)
CABLE = Cable(
    id="six",
    series="6",
    name="series 6",
    jacket="CATVR",
    loss_db_per_100m=Curve(frequency_mhz=(5.0, 1218.0), value=(2.0, 24.0)),
    loop_resistance_ohm_per_km=100.0,
    outer_diameter_mm=7.0,
    mass_kg_per_km=45.0,
    pull_limit_n=400.0,
    bend_installed_mm=70.0,
    bend_pulling_mm=140.0,
    screening_class="A",
    connector="f",
    put_ups_m=(305.0,),
)
CATALOGUE = Catalogue(parts=(SPLITTER, AMPLIFIER), cables=(CABLE,))


def _service(name: str, band: str) -> Service:
    return Service(
        id=name, name=name, modulation="digital", band=band, noise_bandwidth_mhz=6.0, source="invented"
    )


SERVICES = {
    "tv": _service("tv", "terrestrial"),
    "radio": _service("radio", "terrestrial"),
    "sat": _service("sat", "satellite"),
}
LIMITS = Limits(
    id="ours",
    name="ours",
    region="us",
    bands=("terrestrial",),
    services=(ServiceLimit(service="tv", low_dbmv=-10.0, high_dbmv=15.0, source="invented"),),
    passband_low_mhz=54.0,
    passband_high_mhz=1002.0,
    source="invented",
)


def _carrier(
    name: str = "14", frequency_mhz: float = 473.0, service: str = "tv", level_dbmv: float = 20.0
) -> FeedCarrier:
    carrier = Carrier(
        id=name,
        frequency_mhz=frequency_mhz,
        low_mhz=frequency_mhz - 3.0,
        high_mhz=frequency_mhz + 3.0,
        service=service,
    )
    return FeedCarrier(carrier=carrier, level_dbmv=level_dbmv)


def _run(start: str, end: str, cable: str | None = "six", length_m: float = 10.0) -> Run:
    device, _, group = start.partition(":")
    name, _, number = group.partition(".")
    return Run(
        id=f"to-{end}",
        start=Port(device=device, group=name, number=int(number)),
        end=end,
        cable=cable,
        length_m=length_m,
    )


GOOD = Network(
    id="n",
    feeds=(Feed(id="HE", carriers=(_carrier(),)),),
    devices=(Device(id="A1", part="amp"), Device(id="S1", part="split2")),
    runs=(_run("HE:out.1", "A1"), _run("A1:out.1", "S1")),
    served=(Served(outlet="o1", port=Port(device="S1", group="out", number=1), user="1"),),
    terminated=(Port(device="S1", group="out", number=2),),
)


def _faults(network: Network) -> list[tuple[str, tuple[str | int, ...]]]:
    return [(fault.code, fault.path) for fault in network_faults(network, CATALOGUE, LIMITS, SERVICES)]


def _only(network: Network) -> Fault:
    (fault,) = network_faults(network, CATALOGUE, LIMITS, SERVICES)
    return fault


def test_a_sound_network_has_no_fault() -> None:
    assert _faults(GOOD) == []


@pytest.mark.parametrize(
    ("changed", "code", "path"),
    [
        ({"feeds": ()}, "no-feeds", ("feeds",)),
        ({"feeds": (Feed(id="HE", carriers=()),)}, "no-carriers", ("feeds", 0, "carriers")),
        ({"served": ()}, "nothing-served", ("served",)),
        ({"devices": (*GOOD.devices, Device(id="S1", part="split2"))}, "duplicate-id", ("devices", 2, "id")),
        ({"served": GOOD.served * 2}, "duplicate-id", ("served", 1, "outlet")),
        ({"devices": (GOOD.devices[0], Device(id="S1", part="no"))}, "unknown-part", ("devices", 1, "part")),
        ({"runs": (GOOD.runs[0], _run("A1:out.1", "S1", "no"))}, "unknown-cable", ("runs", 1, "cable")),
        ({"runs": (*GOOD.runs, _run("S1:out.2", "gone"))}, "unknown-device", ("runs", 2, "to")),
        ({"runs": (GOOD.runs[0], _run("A1:out.2", "S1"))}, "unknown-port", ("runs", 1, "from")),
        ({"runs": (_run("HE:tap.1", "A1"), GOOD.runs[1])}, "unknown-port", ("runs", 0, "from")),
        ({"terminated": (Port(device="S1", group="out", number=1),)}, "port-used-twice", ("terminated", 0)),
        ({"devices": (*GOOD.devices, Device(id="S2", part="split2"))}, "not-fed", ("devices", 2, "id")),
        (
            {"runs": (GOOD.runs[0], _run("A1:out.1", "S1", length_m=0.0))},
            "impossible-length",
            ("runs", 1, "length_m"),
        ),
        (
            {"runs": (GOOD.runs[0], _run("A1:out.1", "S1", length_m=-4.0))},
            "impossible-length",
            ("runs", 1, "length_m"),
        ),
        (
            {"runs": (GOOD.runs[0], _run("A1:out.1", "S1", length_m=float("nan")))},
            "impossible-length",
            ("runs", 1, "length_m"),
        ),
        (
            {"runs": (GOOD.runs[0], _run("A1:out.1", "S1", None, 3.0))},
            "impossible-length",
            ("runs", 1, "length_m"),
        ),
    ],
)
def test_each_fault_of_the_plant_is_found_at_its_place(
    changed: dict[str, object], code: str, path: tuple[str | int, ...]
) -> None:
    assert (code, path) in _faults(replace(GOOD, **changed))
    assert code in NETWORK_CODES


def test_a_run_into_a_feed_and_a_second_run_into_a_device_are_named() -> None:
    runs = (*GOOD.runs, _run("S1:out.2", "HE"))
    assert ("run-into-feed", ("runs", 2, "to")) in _faults(replace(GOOD, runs=runs))
    runs = (*GOOD.runs, _run("S1:out.2", "A1"))
    assert ("fed-twice", ("runs", 2, "to")) in _faults(replace(GOOD, runs=runs, terminated=()))


def test_a_loop_is_one_fault_that_names_its_devices() -> None:
    devices = (*GOOD.devices, *(Device(id=name, part="split2") for name in ("L1", "L2", "L3")))
    runs = (*GOOD.runs, _run("L1:out.1", "L2"), _run("L2:out.1", "L1"), _run("L2:out.2", "L3"))
    fault = _only(replace(GOOD, devices=devices, runs=runs))
    assert fault.code == "loop"
    assert "L1, L2" in fault.wrong


def test_only_the_top_of_an_unfed_tree_is_named() -> None:
    devices = (*GOOD.devices, Device(id="T1", part="split2"), Device(id="T2", part="split2"))
    fault = _only(replace(GOOD, devices=devices, runs=(*GOOD.runs, _run("T1:out.1", "T2"))))
    assert (fault.code, fault.value) == ("not-fed", "T1")


@pytest.mark.parametrize(
    ("settings", "code", "field"),
    [
        (Settings(gain_db=31.0), "setting-out-of-range", "gain_db"),
        (Settings(gain_db=20.5), "setting-between-steps", "gain_db"),
        (Settings(input_pad_db=0.3), "setting-between-steps", "input_pad_db"),
        (Settings(slope_db=2.0), "setting-not-available", "slope_db"),
    ],
)
def test_a_setting_the_amplifier_lacks_is_a_fault(settings: Settings, code: str, field: str) -> None:
    fault = _only(replace(GOOD, devices=(Device(id="A1", part="amp", settings=settings), GOOD.devices[1])))
    assert (fault.code, fault.path) == (code, ("devices", 0, "settings", field))


def test_a_passive_part_has_no_gain_to_set() -> None:
    devices = (GOOD.devices[0], Device(id="S1", part="split2", settings=Settings(gain_db=0.0)))
    assert _only(replace(GOOD, devices=devices)).code == "setting-not-available"


@pytest.mark.parametrize(
    ("carrier", "code", "field"),
    [
        (_carrier(service="none"), "unknown-service", "service"),
        (_carrier(service="sat"), "wrong-band", "service"),
        (_carrier(service="radio"), "service-without-limit", "service"),
        (_carrier(level_dbmv=105.0), "impossible-level", "level_dbmv"),
        (_carrier(level_dbmv=-60.0), "impossible-level", "level_dbmv"),
        (_carrier(level_dbmv=float("nan")), "impossible-level", "level_dbmv"),
        (_carrier(frequency_mhz=2.0), "impossible-frequency", "frequency_mhz"),
    ],
)
def test_a_carrier_that_cannot_be_is_a_fault(carrier: FeedCarrier, code: str, field: str) -> None:
    found = _faults(replace(GOOD, feeds=(Feed(id="HE", carriers=(carrier,)),)))
    assert (code, ("feeds", 0, "carriers", 0, field)) in found


def test_a_level_in_another_unit_is_recognised() -> None:
    high, low = (
        _only(replace(GOOD, feeds=(Feed(id="HE", carriers=(_carrier(level_dbmv=level),)),)))
        for level in (105.0, -60.0)
    )
    assert "dBµV" in high.wrong
    assert "dBm" in low.wrong.replace("dBmV", "")


def test_one_carrier_id_never_stands_for_two_channels() -> None:
    feeds = (GOOD.feeds[0], Feed(id="H2", carriers=(_carrier(frequency_mhz=479.0),)))
    assert _faults(replace(GOOD, feeds=feeds)) == [("carrier-differs", ("feeds", 1, "carriers", 0, "id"))]
    twice = (Feed(id="HE", carriers=(_carrier(), _carrier())),)
    assert _faults(replace(GOOD, feeds=twice)) == [("duplicate-id", ("feeds", 0, "carriers", 1, "id"))]


def test_parts_and_cables_are_never_used_outside_their_tables() -> None:
    found = _faults(replace(GOOD, feeds=(Feed(id="HE", carriers=(_carrier(frequency_mhz=1300.0),)),)))
    assert [code for code, _ in found] == ["outside-table"] * 3
    assert [path for _, path in found] == [("devices", 1, "part"), ("runs", 0, "cable"), ("runs", 1, "cable")]


def test_all_faults_come_together() -> None:
    broken = replace(
        GOOD,
        devices=(Device(id="A1", part="amp", settings=Settings(gain_db=99.0)), Device(id="S1", part="no")),
        runs=(_run("HE:out.9", "A1", "no"), _run("A1:out.1", "S1", length_m=-1.0)),
    )
    assert {code for code, _ in _faults(broken)} == {
        "setting-out-of-range",
        "unknown-part",
        "unknown-port",
        "unknown-cable",
        "impossible-length",
    }
