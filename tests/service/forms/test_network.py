"""The network document: what it says arrives in the engine; every complaint comes at once with its place."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest

from service.engine.findings import Fault
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Port
from service.engine.signal.limits import Limits, ServiceLimit
from service.engine.signal.spectrum import Channel, ChannelPlan, Service
from service.forms.codes import FAULT_CODES
from service.forms.known import Known
from service.forms.network import NetworkForm, read_network
from service.forms.network_schema import MOST_OUTLETS
from service.forms.reading import pointer


def _service(name: str, band: Any) -> Service:
    return Service(
        id=name, name=name, modulation="digital", band=band, noise_bandwidth_mhz=6.0, source="invented"
    )


KNOWN = Known(
    catalogue=Catalogue(parts=(), cables=()),
    limits={
        "ours": Limits(
            id="ours",
            name="ours",
            region="us",
            bands=("terrestrial",),
            services=(ServiceLimit(service="tv", low_dbmv=-10.0, high_dbmv=15.0, source="invented"),),
            passband_low_mhz=54.0,
            passband_high_mhz=1002.0,
            source="invented",
        )
    },
    plans={
        "plan": ChannelPlan(
            id="plan",
            name="plan",
            service="tv",
            channels=(
                Channel(id="14", low_mhz=470.0, high_mhz=476.0, frequency_mhz=473.0, source="invented"),
            ),
            source="invented",
        )
    },
    services={"tv": _service("tv", "terrestrial"), "sat": _service("sat", "satellite")},
)

GOOD: dict[str, Any] = {
    "document": "evendrop/network",
    "version": 1,
    "id": "demo",
    "source": "invented",
    "rules": {"limits": "ours", "plan": "plan"},
    "feeds": [
        {
            "id": "HE",
            "kind": "provider",
            "carriers": [
                {"channel": "14", "level_dbuv": 90, "cn_db": 40},
                {"frequency_mhz": 600, "service": "tv", "level_dbm": -28.75},
            ],
        }
    ],
    "parts": [
        {
            "id": "split",
            "groups": [{"name": "out", "count": 2, "loss_db": [[50, 3.9], [750, 4.9]], "ends_in": "user"}],
            "isolation": [{"group_a": "out", "group_b": "out", "isolation_db": 25}],
        },
        {
            "id": "amp",
            "groups": [{"name": "out", "gain_db": 30}],
            "active": {
                "noise_figure_db": 6,
                "ratings": [{"basis": "total power", "output_dbuv": 114, "ratio_db": 60}],
                "gain_db": {"low": 10, "high": 30, "step": 1},
                "slope_low_mhz": 54,
                "slope_high_mhz": 1002,
            },
        },
    ],
    "cables": [{"id": "trunk", "loss_db_per_100ft": [[50, 0.5], [750, 2.04]]}],
    "devices": [{"id": "A1", "part": "amp", "settings": {"gain_db": 20}}, {"id": "S1", "part": "split"}],
    "runs": [
        {"from": "HE:out", "to": "A1", "cable": "trunk", "length_ft": 100, "ambient": "riser", "joints": 0},
        {"id": "J1", "from": "A1:out.1", "to": "S1", "direct": True},
    ],
    "served": [{"outlet": "1A-1", "at": "S1:out.1", "unit": "1A"}],
    "terminated": ["S1:out.2"],
    "joint_loss_db_at_1ghz": 0,
}


def _good() -> dict[str, Any]:
    return copy.deepcopy(GOOD)


def _form(document: object) -> NetworkForm:
    form, faults = read_network(document, KNOWN)
    assert faults == ()
    assert form is not None
    return form


def _faults(document: object) -> tuple[Fault, ...]:
    form, faults = read_network(document, KNOWN)
    assert form is None
    return faults


def _told(document: object) -> list[tuple[str, str]]:
    return [(pointer(fault.path), fault.code) for fault in _faults(document)]


def _set(document: dict[str, Any], path: tuple[str | int, ...], value: object) -> dict[str, Any]:
    place: Any = document
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    return document


def test_a_document_arrives_in_the_units_of_the_engine() -> None:
    form = _form(_good())
    network = form.network
    first, second = network.feeds[0].carriers
    assert first.level_dbmv == 30.0
    assert first.carrier.frequency_mhz == 473.0
    assert first.cn_db == 40.0
    assert second.level_dbmv == pytest.approx(20.0006, abs=1e-3)
    assert second.carrier.low_mhz == second.carrier.high_mhz == 600.0
    assert network.feeds[0].kind == "provider"
    assert network.runs[0].length_m == pytest.approx(30.48)
    assert network.runs[0].id == "A1"
    assert network.runs[0].start == Port(device="HE", group="out", number=1)
    assert network.runs[1].cable is None
    assert network.served[0].user == "1A"
    assert network.joint_loss_db_at_1ghz == 0.0
    assert form.limits.id == "ours"
    active = form.catalogue.part("amp").active
    assert active is not None
    assert active.ratings[0].output_dbmv == 54.0
    assert form.catalogue.part("split").groups[0].gain_db.value == (-3.9, -4.9)
    assert form.catalogue.cable("trunk").loss_db_per_100m.at_one(750.0) == pytest.approx(2.04 / 0.3048)


@pytest.mark.parametrize("document", [None, True, 3, "text", [], [GOOD]])
def test_a_document_that_is_no_object_is_of_the_wrong_type(document: object) -> None:
    assert _told(document) == [("", "wrong-type")]


def test_another_document_is_told_apart_at_once() -> None:
    assert _told(_set(_good(), ("document",), "evendrop/building")) == [("/document", "wrong-document")]
    assert _told(_set(_good(), ("version",), 2)) == [("/version", "wrong-document")]


def test_an_empty_object_lacks_every_field_that_must_be_there() -> None:
    assert {code for _, code in _told({})} == {"missing"}
    assert {place for place, _ in _told({})} >= {
        "/document",
        "/version",
        "/id",
        "/rules",
        "/feeds",
        "/served",
    }


LENGTH = ("runs", 0, "length_ft")


@pytest.mark.parametrize(
    ("path", "value", "code"),
    [
        (LENGTH, -1, "out-of-range"),
        (LENGTH, 0, "out-of-range"),
        (LENGTH, "100", "wrong-type"),
        (LENGTH, True, "wrong-type"),
        (LENGTH, None, "wrong-type"),
        (LENGTH, float("nan"), "not-finite"),
        (LENGTH, float("inf"), "not-finite"),
        (LENGTH, 10**400, "not-finite"),
        (LENGTH, 1e9, "out-of-range"),
        (("feeds", 0, "carriers", 0, "channel"), "99", "unknown-channel"),
        (("feeds", 0, "carriers", 0, "channel"), 14, "wrong-type"),
        (("feeds", 0, "carriers", 1, "frequency_mhz"), 600_000, "looks-like-other-unit"),
        (("feeds", 0, "carriers", 1, "service"), "no", "unknown-service"),
        (("feeds", 0, "carriers", 1, "service"), "sat", "wrong-band"),
        (("feeds", 0, "kind"), "roof", "not-a-choice"),
        (("feeds", 0, "outputs"), 1.5, "wrong-type"),
        (("feeds", 0, "plan"), "no", "unknown-plan"),
        (("feeds",), {}, "wrong-type"),
        (("feeds",), [], "no-feeds"),
        (("rules", "limits"), "no", "unknown-limits"),
        (("rules", "plan"), "no", "unknown-plan"),
        (("rules",), [], "wrong-type"),
        (("devices", 0, "part"), "no", "unknown-part"),
        (("devices", 0, "id"), "a b", "wrong-form"),
        (("devices", 0, "settings", "gain_db"), 20.5, "setting-between-steps"),
        (("devices", 0, "settings", "gain_db"), 31, "setting-out-of-range"),
        (("devices", 1, "settings"), {"slope_db": 3}, "setting-not-available"),
        (("devices", 1, "id"), "A1", "duplicate-id"),
        (("runs", 0, "cable"), "no", "unknown-cable"),
        (("runs", 0, "to"), "no", "unknown-device"),
        (("runs", 0, "to"), "HE", "run-into-feed"),
        (("runs", 0, "from"), "HE", "wrong-form"),
        (("runs", 0, "from"), "HE:out.2", "unknown-port"),
        (("runs", 0, "from"), "S1:out.2", "loop"),
        (("runs", 0, "length_m"), 3, "not-together"),
        (("runs", 1, "cable"), "trunk", "not-together"),
        (("runs", 0, "direct"), 1, "wrong-type"),
        (("served", 0, "at"), "S1:out.3", "unknown-port"),
        (("served", 0, "at"), "S1:out.2", "port-used-twice"),
        (("served",), [], "nothing-served"),
        (("terminated", 0), "S9:out.1", "unknown-device"),
        (("terminated",), "S1:out.2", "wrong-type"),
        (("parts", 0, "groups", 0, "loss_db"), [[50, 3.9], [50, 4.9]], "wrong-table"),
        (("parts", 0, "groups", 0, "loss_db"), [], "wrong-table"),
        (("parts", 0, "groups", 0, "loss_db"), 2, "beats-physics"),
        (("parts", 0, "groups", 0, "gain_db"), 2, "not-together"),
        (("parts", 0, "isolation", 0, "group_b"), "tap", "unknown-group"),
        (("parts", 1, "active", "gain_db", "low"), 40, "out-of-range"),
        (("parts", 1, "id"), "split", "duplicate-id"),
        (("cables", 0, "loss_db_per_100m"), 3, "not-together"),
        (("cables", 0, "loss_db_per_100ft"), [[50, 0.5], [550, 2.04]], "outside-table"),
        (("notes",), "x", "unknown-field"),
    ],
)
def test_each_fault_is_told_with_its_code_near_its_place(
    path: tuple[str | int, ...], value: object, code: str
) -> None:
    faults = [fault for fault in _faults(_set(_good(), path, value)) if fault.code == code]
    assert faults, _told(_set(_good(), path, value))
    fault = faults[0]
    assert code in FAULT_CODES
    assert fault.wrong
    assert fault.right
    if code not in ("port-used-twice", "outside-table", "loop", "beats-physics"):
        assert fault.path[: len(path) - 1] == path[: len(fault.path)][: len(path) - 1]


@pytest.mark.parametrize(
    ("field", "value", "looks"),
    [("level_dbmv", 105, "dBµV"), ("level_dbmv", -60, "dBm"), ("level_dbuv", 10, "dBmV")],
)
def test_a_level_in_another_unit_is_recognised(field: str, value: float, looks: str) -> None:
    carrier = {"channel": "14", field: value}
    (fault,) = _faults(_set(_good(), ("feeds", 0, "carriers", 0), carrier))
    assert fault.code == "looks-like-other-unit"
    assert pointer(fault.path) == f"/feeds/0/carriers/0/{field}"
    assert fault.value == str(value)
    assert fault.wrong.endswith(f"looks like {looks}")


def test_shape_faults_and_reference_faults_come_together() -> None:
    document = _good()
    document["runs"][0]["length_ft"] = "100"
    document["runs"][0]["cable"] = "no"
    document["devices"][1]["part"] = "gone"
    document["served"].append({"outlet": "x", "at": "S7:out.1"})
    assert _told(document) == [
        ("/devices/1/part", "unknown-part"),
        ("/runs/0/cable", "unknown-cable"),
        ("/runs/0/length_ft", "wrong-type"),
        ("/served/1/at", "unknown-device"),
    ]


def test_positions_are_those_of_the_document_though_an_item_before_is_broken() -> None:
    document = _good()
    document["devices"].insert(0, 5)
    document["devices"][2]["part"] = "gone"
    assert _told(document) == [("/devices/0", "wrong-type"), ("/devices/2/part", "unknown-part")]


def test_what_only_follows_from_a_broken_item_is_not_told() -> None:
    document = _good()
    document["parts"][0]["groups"] = 3
    document["runs"][1]["from"] = "?"
    assert _told(document) == [("/parts/0/groups", "wrong-type"), ("/runs/1/from", "wrong-form")]


def test_a_device_without_feed_and_a_port_used_twice_are_told() -> None:
    document = _good()
    document["devices"].append({"id": "S2", "part": "split"})
    document["served"].append({"outlet": "1A-2", "at": "S1:out"})
    assert _told(document) == [("/devices/2/id", "not-fed"), ("/served/1/at", "port-used-twice")]


def test_more_outlets_than_the_limit_are_refused_without_reading_them() -> None:
    document = _good()
    document["served"] = [{}] * (MOST_OUTLETS + 1)
    assert ("/served", "too-many") in _told(document)


def test_more_levels_than_the_limit_are_refused_before_they_are_computed() -> None:
    document = _good()
    document["devices"] = [{"id": f"d{n}", "part": "split"} for n in range(70_000)]
    document["feeds"][0]["carriers"] *= 50
    assert _told(document) == [("/devices", "too-many")]


def test_a_loop_of_many_devices_is_told_as_one_fault() -> None:
    document = _good()
    count = 5_000
    document["devices"] += [{"id": f"d{n}", "part": "split"} for n in range(count)]
    document["runs"] += [
        {"from": f"d{n}:out", "to": f"d{(n + 1) % count}", "direct": True} for n in range(count)
    ]
    assert [code for _, code in _told(document)] == ["loop"]


def test_the_order_of_rows_means_nothing() -> None:
    document = _good()
    for section in ("devices", "runs", "parts"):
        document[section].reverse()
    form, other = _form(document), _form(_good())
    assert set(form.network.runs) == set(other.network.runs)
    assert set(form.network.devices) == set(other.network.devices)


def test_complaints_survive_a_trip_through_json() -> None:
    document = json.loads(json.dumps(_set(_good(), LENGTH, -1)))
    (fault,) = _faults(document)
    assert fault.subject == "run A1"
    assert fault.value == "-1"
