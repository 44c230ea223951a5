"""What is wrong with a building is told at once, with code, place and what would be right."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from service.engine.findings import Fault
from service.forms.building import BuildingReading
from service.forms.codes import FAULT_CODES
from service.forms.known import Known
from service.forms.portfolio import read_buildings

Document = Callable[[str], Any]
Read = Callable[[object], BuildingReading]
Where = tuple[str | int, ...]
TARIFFS = ("demo-usd", "demo-eur")


def put(document: Any, path: Where, value: object) -> Any:
    """Set one value of a document; an index one past the end appends."""
    here = document
    for step in path[:-1]:
        here = here[step]
    if isinstance(here, list) and path[-1] == len(here):
        here.append(value)
    else:
        here[path[-1]] = value
    return document


def found(reading: BuildingReading) -> list[tuple[str, Where]]:
    assert reading.building is None
    assert all(fault.code in FAULT_CODES and fault.wrong and fault.right for fault in reading.faults)
    return [(fault.code, fault.path) for fault in reading.faults]


#: base document, where, value, code, where the complaint stands (empty: at the value), words in it.
WRONG: list[tuple[str, str, object, str, str, str]] = [
    ("walkup_8", "outlets/0/drop_ft", "45'", "wrong-type", "", "45 ft"),
    ("walkup_8", "outlets/0/drop_ft", '12\'6"', "wrong-type", "", "12.5 ft"),
    ("v1_example", "outlets/0/drop_m", "14 m", "wrong-type", "", "14 m"),
    ("v1_example", "outlets/0/drop_m", "1,300", "wrong-type", "", "1.300 or 1300"),
    ("v1_example", "outlets/0/drop_m", "7,5", "wrong-type", "", "7.5"),
    ("v1_example", "outlets/0/drop_m", 250.0, "looks-like-other-unit", "", "decimal point"),
    ("v1_example", "outlets/0/drop_m", -1.0, "out-of-range", "", "above 0"),
    ("v1_example", "outlets/0/drop_m", float("nan"), "not-finite", "", ""),
    ("v1_example", "outlets/0/drop_m", True, "wrong-type", "", "a number"),
    ("v1_example", "outlets/0/drop_ft", 14.0, "mixed-length-units", "", "m"),
    (
        "walkup_8", "outlets/3",
        {"id": "1B-9", "unit": "1B", "at": "1B", "drop_m": 9.0},
        "mixed-length-units", "outlets/3/drop_m", "ft",
    ),
    ("walkup_8", "outlets/3/drop_m", 14.0, "not-together", "outlets/3/drop_ft", "two lengths"),
    ("v1_example", "outlets/0/unit", 300000, "wrong-type", "", "3E5"),
    ("v1_example", "outlets/0/unit", 101, "wrong-type", "", "leading zeros"),
    ("v1_example", "outlets/0/unit", "2026-01-02T00:00:00", "wrong-form", "", "date"),
    ("v1_example", "outlets/0/unit", "2-Jan", "wrong-form", "", "date"),
    ("v1_example", "closets/0/id", "IDF 3A", "wrong-form", "", "IDF-3A"),
    ("v1_example", "closets/0/floor", 300000.0, "wrong-type", "", "no floor"),
    ("v1_example", "closets/0/floor", "M", "floor-order-unknown", "floors", "lowest up"),
    ("slab_14", "floors/1/labels", "3..12", "wrong-range", "", "3-12"),
    ("slab_14", "floors/1/labels", "12-3", "wrong-range", "", "3-12"),
    ("slab_14", "floors/1/label", "4", "not-together", "floors/1/labels", "labels"),
    ("slab_14", "floors/1/order", 0, "floor-order-unknown", "floors/1", "stand above"),
    ("slab_14", "floors/3", {"label": "5", "floor_type": "typical"}, "duplicate-id", "floors/3/label", ""),
    ("slab_14", "floors/1/floor_type", "Typical", "unknown-type", "", "looks like typical"),
    ("slab_14", "headend/floor", "PH", "unknown-floor", "", "R"),
    ("slab_14", "risers/0/mains_floors", ["13"], "unknown-floor", "", "no such floor"),
    ("slab_14", "risers/0/enters", "R", "riser-skips", "", "pass"),
    ("slab_14", "risers/0/from", "H E", "wrong-form", "", "H-E"),
    ("slab_14", "risers/0/floors", "1-4", "riser-skips", "floor_types/1/units/0/at", "floor 5"),
    ("slab_14", "risers/0/run_m", 0.5, "shorter-than-height", "", "2.90 m"),
    ("slab_14", "floor_types/1/units/0/at", "C", "unknown-place", "", "one of A, B"),
    ("slab_14", "floor_types/1/units/0/unit_type", "4-room", "unknown-type", "", "2-room"),
    ("slab_14", "floor_types/1/units/1/id", "01", "duplicate-id", "floor_types/1/units/1/id", ""),
    ("slab_14", "unit_types/1/id", "studio", "duplicate-id", "", ""),
    ("slab_14", "places", [], "mixed-forms", "", "places and ways"),
    ("slab_14", "mirrored", True, "not-together", "", "same_as"),
    ("slab_14", "same_as", "demo-walkup-8", "unknown-building", "", "portfolio"),
    ("v1_example", "outlets/1/at", "c1 ", "wrong-form", "", "c1"),
    ("v1_example", "outlets/1/at", "C-1", "unknown-place", "", "looks like C1"),
    ("v1_example", "outlets/1/at", "3A-1", "outlet-is-leaf", "", "outlet"),
    ("v1_example", "outlets/1/id", "3A-1", "duplicate-id", "", ""),
    ("v1_example", "closets/2/id", "c-2", "look-alike-id", "", "C2"),
    ("v1_example", "closets/0/from", "C1", "loop", "", "C1, C2, C3"),
    ("v1_example", "closets/0/from", "C3", "loop", "", ""),
    ("v1_example", "closets/0/spaces", ["exit-stair"], "forbidden-space", "", "no cable"),
    ("v1_example", "closets/0/spaces", ["stairwell"], "not-a-choice", "closets/0/spaces/0", "riser"),
    ("v1_example", "closets/0/mains", "maybe", "wrong-type", "", "true or false"),
    ("v1_example", "closets/0/mains", 1, "wrong-type", "", "true or false"),
    ("v1_example", "closets/0/run_m", 2.0, "shorter-than-height", "", "3.00 m"),
    ("v1_example", "closets/0/never", ["tap-9"], "unknown-part", "", ""),
    (
        "v1_example", "closets/0/existing",
        {"fate": "keep", "cable": "rg59"},
        "unknown-cable", "closets/0/existing/cable", "",
    ),
    ("v1_example", "closets/0/existing", {"fate": "keep", "loss_db": 4.0}, "not-together", "", "loss_mhz"),
    ("v1_example", "closets/0/existing", {}, "missing", "closets/0/existing/fate", "keep"),
    ("v1_example", "panels/0/run_m", None, "wrong-type", "", "number"),
    ("v1_example", "panels/0/from", "C9", "unknown-place", "", "C3"),
    (
        "v1_example", "outlets/2",
        {"id": "3B-1", "unit": "3B", "at": "3A", "drop_m": 9.0},
        "flat-through-flat", "outlets/2/at", "3A",
    ),
    (
        "v1_example", "outlets/2",
        {"id": "3A-2", "unit": "3A", "at": "C3", "drop_m": 9.0},
        "mixed-unit-feed", "outlets/2/at", "home",
    ),
    ("v1_example", "outlets/2", {"id": "3A-2", "unit": "3A", "drop_m": 9.0}, "missing", "outlets/2/at", ""),
    ("v1_example", "outlets/2", 7, "wrong-type", "", ""),
    (
        "v1_example", "outlets/0",
        {"id": "3A-1", "unit": "3A", "at": "3A"},
        "missing", "outlets/0/drop_m", "length",
    ),
    ("v1_example", "units", [{"id": "3A", "feed": "home-run"}], "mixed-unit-feed", "units/0/feed", "panel"),
    (
        "v1_example", "units",
        [{"id": "3A", "at": "C3", "run_m": 9.0}],
        "unknown-type", "units/0/unit_type", "row of the flat's panel",
    ),
    (
        "garden_12", "outlets",
        [{"id": "X", "unit": "B01.1A", "at": "B02.R.1", "drop_m": 60.0}],
        "other-block", "outlets/0/at", "B01",
    ),
    ("garden_12", "expected_outlets", 117, "count-differs", "", "288"),
    ("garden_12", "expected_units", 118, "count-differs", "", "144"),
    ("v1_example", "feed/carriers/0/level_dbmv", 105.0, "looks-like-other-unit", "", "dBµV"),
    ("v1_example", "feed/carriers/0/level_dbmv", -60.0, "looks-like-other-unit", "", "dBm"),
    ("v1_example", "feed/carriers/0", {"channel": "14"}, "not-together", "", "level_dbmv"),
    ("v1_example", "feed/carriers/0/channel", "37", "unknown-channel", "", "us-broadcast"),
    ("v1_example", "feed/carriers/0/channel", 14, "wrong-type", "", "text"),
    ("v1_example", "feed/carriers/1/channel", "14", "duplicate-id", "feed/carriers/1", ""),
    (
        "v1_example", "feed/carriers/2",
        {"frequency_mhz": 473000.0, "service": "atsc", "level_dbmv": 1.0},
        "looks-like-other-unit", "feed/carriers/2/frequency_mhz", "kHz",
    ),
    (
        "v1_example", "feed/carriers/2",
        {"frequency_mhz": 1200.0, "service": "dvb-s2", "level_dbmv": 1.0},
        "wrong-band", "feed/carriers/2", "satellite",
    ),
    (
        "v1_example", "feed/carriers/2",
        {"frequency_mhz": 700.0, "service": "isdb-t", "level_dbmv": 1.0},
        "service-without-limit", "feed/carriers/2", "atsc",
    ),
    (
        "v1_example", "feed/carriers/2",
        {"frequency_mhz": 700.0, "service": "atsc-9", "level_dbmv": 1.0},
        "unknown-service", "feed/carriers/2/service", "atsc",
    ),
    ("v1_example", "feed/carriers", [], "no-carriers", "", ""),
    ("v1_example", "feed", 12, "wrong-type", "", ""),
    ("v1_example", "rules/limits", "us-onair", "unknown-limits", "", "us-off-air"),
    ("v1_example", "rules/plan", "us-brodcast", "unknown-plan", "", "us-broadcast"),
    ("v1_example", "rules/codes", "nec-2023", "unknown-codes", "", "us-2023"),
    ("v1_example", "prices", "demo-gbp", "unknown-prices", "", "demo-usd"),
    ("v1_example", "prices", "$ 120", "wrong-form", "", ""),
    ("v1_example", "policy", {"spare_share": 120}, "looks-like-other-unit", "policy/spare_share", "percent"),
    ("v1_example", "policy", {"own_flor": False}, "unknown-field", "policy/own_flor", ""),
    ("v1_example", "wishes/drop_cable", "rg6", "unknown-cable", "", "6-catv"),
    ("slab_1968", "estimate/put_ups/1/cable", "rg6", "unknown-cable", "", "6-catv"),
    ("v1_example", "wishes/outlet_part", "socket", "unknown-part", "", ""),
    ("v1_example", "ends", {"outlet_m": -0.3}, "out-of-range", "ends/outlet_m", "at least 0"),
    ("v1_example", "paper", {"date": "31.3.2025"}, "wrong-form", "paper/date", "year-month-day"),
    ("v1_example", "version", 2, "wrong-document", "", "version 1"),
    ("v1_example", "document", "evendrop/network", "wrong-document", "", "evendrop/building"),
    ("v1_example", "colour", "red", "unknown-field", "", ""),
    ("v1_example", "outlets", [], "empty-building", "", "no outlet"),
    ("graph_two_risers", "ways/0/to", "A6", "unknown-place", "", "A5"),
    ("graph_two_risers", "ways/0/from", "A5", "loop", "", "back"),
    ("graph_two_risers", "ways/1/id", "HE-A", "duplicate-id", "", ""),
    ("graph_two_risers", "places/0/kind", "cupboard", "not-a-choice", "", "closet"),
]  # fmt: skip


def steps(text: str) -> Where:
    """The path of a text such as "closets/0/id"."""
    return tuple(int(step) if step.isdecimal() else step for step in text.split("/"))


@pytest.mark.parametrize(("base", "path", "value", "code", "at", "words"), WRONG)
def test_a_fault_is_told_with_its_code_its_place_and_what_would_be_right(
    read: Read, document: Document, base: str, path: str, value: object, code: str, at: str, words: str
) -> None:
    reading = read(put(document(base), steps(path), value))
    told = (code, steps(at or path))
    assert told in found(reading)
    fault = next(row for row in reading.faults if (row.code, row.path) == told)
    assert words in f"{fault.wrong}; {fault.right}"


def test_complaints_of_every_kind_come_together(read: Read, document: Document) -> None:
    posted = document("v1_example")
    posted["outlets"][0]["drop_m"] = "45'"
    posted["closets"][1]["mains"] = "maybe"
    posted["feed"]["carriers"][0]["level_dbmv"] = 105
    posted["prices"] = "none"
    posted["panels"][0]["from"] = "C33"
    codes = [code for code, _ in found(read(posted))]
    assert sorted(codes) == [
        "looks-like-other-unit",
        "unknown-place",
        "unknown-prices",
        "wrong-type",
        "wrong-type",
    ]


def test_one_wrong_row_brings_no_complaints_that_only_follow_from_it(read: Read, document: Document) -> None:
    posted = document("v1_example")
    posted["closets"][0]["id"] = "C 3"
    assert found(read(posted)) == [("wrong-form", ("closets", 0, "id"))]


def test_an_outlet_that_no_way_reaches_is_named(read: Read, document: Document) -> None:
    posted = document("graph_two_risers")
    posted["ways"] = [row for row in posted["ways"] if row["to"] != "3b"]
    faults = read(posted).faults
    assert [fault.code for fault in faults] == ["unreachable", "unreachable"]
    assert [fault.subject for fault in faults] == ["outlet 3b.1", "outlet 3b.2"]


def test_what_is_missing_is_named(read: Read) -> None:
    reading = read({"document": "evendrop/building", "version": 1, "id": "x"})
    assert found(reading) == [("missing", ("feed",)), ("missing", ("prices",))]


@pytest.mark.parametrize("posted", [None, [], "building", 7, True])
def test_a_document_of_another_json_type_is_refused(read: Read, posted: object) -> None:
    assert found(read(posted)) == [("wrong-type", ())]


def test_more_outlets_than_the_limit_are_refused_before_anything_is_expanded(
    read: Read, document: Document
) -> None:
    posted = document("v1_example")
    posted["outlets"] = [{"id": f"o{n}", "unit": "u", "at": "C1", "drop_m": 5.0} for n in range(20_001)]
    assert found(read(posted)) == [("too-many", ("outlets",))]
    typed = document("slab_14")
    typed["floors"][1]["labels"] = "2-199"
    typed["floors"][1]["missing"] = []
    typed["risers"] = [row | {"floors": "1-199", "enters": "199"} for row in typed["risers"]]
    for unit_type in typed["unit_types"]:
        unit_type["outlets"] = [{"id": f"{n}", "drop_m": 5.0} for n in range(20)]
    assert "too-many" in [code for code, _ in found(read(typed))]


PINS: list[tuple[dict[str, object], str, str]] = [
    ({"id": "A1", "part": "floor-amp", "place": "C2"}, "amplifier-without-mains", "place"),
    ({"id": "A1", "part": "floor-amp", "place": "3A"}, "amplifier-in-flat", "place"),
    ({"id": "T1", "part": "tap-4-17", "place": "C9"}, "unknown-place", "place"),
    ({"id": "T1", "part": "tap-4-17"}, "unknown-place", "place"),
    ({"id": "T1", "part": "tap-4-7", "place": "C2"}, "unknown-part", "part"),
    ({"id": "T1", "part": "tap-4-23", "place": "C3"}, "pin-differs", "part"),
]


@pytest.mark.parametrize(("device", "code", "field"), PINS)
def test_a_pin_that_the_building_contradicts_is_told(
    read: Read, document: Document, device: dict[str, object], code: str, field: str
) -> None:
    posted = document("v1_example")
    posted["closets"][0]["never"] = ["tap-4-23"]
    posted["keep"] = {"devices": [device]}
    assert found(read(posted)) == [(code, ("keep", "devices", 0, field))]


def test_a_kept_run_follows_ways_of_the_building(read: Read, document: Document) -> None:
    posted = document("v1_example")
    run = {"from": "HE:out.1", "to": "T1", "cable": "6-catvr", "length_m": 9.0, "ways": ["C3", "C4"]}
    posted["keep"] = {"devices": [{"id": "T1", "part": "tap-4-17", "place": "C3"}], "runs": [run]}
    assert found(read(posted)) == [("unknown-way", ("keep", "runs", 0, "ways"))]


def test_an_amplifier_may_stand_anywhere_when_the_policy_lets_it(read: Read, document: Document) -> None:
    posted = document("v1_example") | {"policy": {"amplifiers_on_house_power": False}}
    posted["keep"] = {"devices": [{"id": "A1", "part": "floor-amp", "place": "C2"}]}
    assert read(posted).faults == ()


def test_a_flat_may_be_fed_through_another_in_an_old_building(read: Read, document: Document) -> None:
    posted = document("v1_example")
    posted["outlets"].append({"id": "3B-1", "unit": "3B", "at": "3A", "drop_m": 9.0})
    assert [fault.code for fault in read(posted).faults] == ["flat-through-flat"]
    assert read(posted | {"new_build": False}).faults == ()
    assert read(posted | {"policy": {"no_flat_through_flat": False}}).faults == ()


def together(known: Known, *documents: object) -> list[list[tuple[str, Where]]]:
    return [
        [(fault.code, fault.path) for fault in reading.faults]
        for reading in read_buildings(documents, known, TARIFFS)
    ]


def test_a_twin_without_its_building_is_told_and_others_are_read(known: Known, document: Document) -> None:
    lost = document("walkup_8_east") | {"same_as": "demo-walkup-9"}
    assert together(known, lost, document("v1_example")) == [[("unknown-building", ("same_as",))], []]


def test_twins_in_a_circle_are_told(known: Known, document: Document) -> None:
    east = document("walkup_8_east") | {"same_as": "demo-walkup-8-west"}
    west = document("walkup_8_west") | {"same_as": "demo-walkup-8-east"}
    circle = [("same-as-loop", ("same_as",))]
    assert together(known, east, west) == [circle, circle]


def test_a_twin_brings_no_plan_of_its_own(known: Known, document: Document) -> None:
    east = document("walkup_8_east") | {"closets": []}
    assert together(known, document("walkup_8"), east) == [[], [("same-as-plan", ("closets",))]]


def test_a_twin_of_a_wrong_building_points_at_its_reference(known: Known, document: Document) -> None:
    first = put(document("walkup_8"), ("outlets", 0, "drop_ft"), "45'")
    answers = together(known, first, document("walkup_8_east"))
    assert answers[1] == [("unknown-building", ("same_as",))]


def test_a_fault_in_what_a_twin_says_for_itself_stands_there(known: Known, document: Document) -> None:
    west = put(document("walkup_8_west"), ("feed", "carriers", 0, "level_dbmv"), 105)
    answers = together(known, document("walkup_8"), west)
    assert answers[1] == [("looks-like-other-unit", ("feed", "carriers", 0, "level_dbmv"))]


def test_two_buildings_with_one_id_are_told(known: Known, document: Document) -> None:
    answers = together(known, document("walkup_8"), document("walkup_8"))
    assert answers == [[], [("duplicate-id", ("id",))]]


def test_every_fault_of_the_building_validator_has_a_documented_code(read: Read, document: Document) -> None:
    told: set[str] = set()
    for base, path, value, _, _, _ in WRONG:
        faults: tuple[Fault, ...] = read(put(document(base), steps(path), value)).faults
        told |= {fault.code for fault in faults}
    assert told <= set(FAULT_CODES)
