"""Reading building documents: every form expands to one kind of graph, every default is written down."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from service.documents.network import network_document
from service.engine.building.places import Building
from service.engine.routes.tree import is_tree, tree_route
from service.forms.building import BuildingReading
from service.forms.known import Known
from service.forms.portfolio import read_buildings

Document = Callable[[str], Any]
Read = Callable[[object], BuildingReading]
Made = Callable[[object], Building]
TARIFFS = ("demo-usd", "demo-eur")


def test_the_first_version_is_read_forever(building: Made, document: Document) -> None:
    made = building(document("v1_example"))
    assert [place.id for place in made.places] == ["HE", "1B-1", "3A", "3A-1", "C1", "C2", "C3"]
    assert {way.id: way.length_m for way in made.ways} == {
        "C3": 8.0,
        "C2": 3.0,
        "C1": 3.0,
        "3A": 6.0,
        "3A-1": 4.0,
        "1B-1": 13.0,
    }
    assert [(unit.id, unit.floor, unit.feed, unit.user) for unit in made.units] == [
        ("1B", "1", "home-run", "1B"),
        ("3A", "3", "panel", "3A"),
    ]


@pytest.mark.parametrize(
    ("name", "units", "outlets"),
    [
        ("walkup_8", 8, 20),
        ("slab_14", 161, 348),
        ("tower_40", 309, 778),
        ("garden_12", 144, 288),
        ("walkup_6_no_closets", 12, 24),
        ("slab_1968", 72, 90),
        ("senior_corridors", 75, 147),
        ("europe_two_stairs", 24, 72),
        ("townhouse_row", 8, 24),
        ("smallest", 4, 4),
    ],
)
def test_every_demo_building_is_read_without_a_complaint(
    building: Made, document: Document, name: str, units: int, outlets: int
) -> None:
    made = building(document(name))
    assert (len(made.units), len(made.outlets)) == (units, outlets)
    assert is_tree(made)
    assert len(tree_route(made).hops) == len(made.places) - 1
    assert "invented" in made.name
    assert "Invented" in made.note


def test_a_way_that_nobody_walked_gets_a_tenth_longer(building: Made, document: Document) -> None:
    made = building(document("v1_example"))
    assert {round(way.pulled_m / way.length_m, 9) for way in made.ways} == {1.1}
    walked = building(document("v1_example") | {"survey": "walked"})
    assert all(way.pulled_m == way.length_m for way in walked.ways)


def test_typical_floors_expand_and_label_13_is_left_out(building: Made, document: Document) -> None:
    made = building(document("slab_14"))
    assert [floor.label for floor in made.floors] == [
        *(str(n) for n in (1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 14, 15)),
        "R",
    ]
    floor = {row.label: row for row in made.floors}
    assert (floor["14"].order, floor["12"].order) == (12, 11)
    assert floor["14"].elevation_m == pytest.approx(3.6 + 11 * 2.9)
    assert {row.floor_type for row in made.floors} == {"podium", "typical", "roof"}
    powered = [place.id for place in made.places if place.mains and place.kind == "closet"]
    assert powered == ["A.4", "A.8", "A.12", "B.4", "B.8", "B.12"]
    assert [unit.id for unit in made.units if unit.user == "common"] == ["101"]


def test_a_riser_is_entered_where_it_says_and_runs_both_ways_from_there(
    building: Made, document: Document
) -> None:
    posted = document("slab_14")
    posted["risers"][0]["enters"] = "8"
    posted["risers"][0]["run_m"] = 40.0
    above = {way.id: way.start for way in building(posted).ways}
    assert (above["A.8"], above["A.9"], above["A.7"]) == ("HE", "A.8", "A.8")
    assert (above["A.14"], above["A.1"]) == ("A.12", "A.2")


def test_a_run_left_out_inside_one_riser_is_floors_times_floor_height(
    building: Made, document: Document
) -> None:
    made = {way.id: way.length_m for way in building(document("slab_14")).ways}
    assert made["A.5"] == pytest.approx(2.9)
    assert made["A.1"] == pytest.approx(3.6)
    assert made["A.15"] == 14.0


def test_feet_and_metres_describe_the_same_building(building: Made, document: Document) -> None:
    posted = document("v1_example")
    feet = posted | {
        "floor_height_ft": 3.0 / 0.3048,
        "closets": [
            {key: value for key, value in row.items() if key != "run_m"}
            | ({"run_ft": row["run_m"] / 0.3048} if "run_m" in row else {})
            for row in posted["closets"]
        ],
        "panels": [{"id": "3A", "unit": "3A", "from": "C3", "run_ft": 6.0 / 0.3048}],
        "outlets": [
            {"id": "3A-1", "unit": "3A", "at": "3A", "drop_ft": 4.0 / 0.3048},
            {"id": "1B-1", "unit": "1B", "at": "C1", "drop_ft": 13.0 / 0.3048},
        ],
    }
    del feet["floor_height_m"]
    metric, imperial = building(posted), building(feet)
    assert imperial.length_unit == "ft"
    assert [way.length_m for way in imperial.ways] == pytest.approx([way.length_m for way in metric.ways])


def test_a_home_run_goes_through_the_door_to_the_outlet(building: Made, document: Document) -> None:
    made = {way.id: way for way in building(document("slab_1968")).ways}
    assert made["101.2"].start == "E.1"
    assert made["101.2"].length_m == pytest.approx(11.0 + 10.5)
    assert made["101.2"].kind == "fished"
    assert made["101.1"].existing is not None
    assert made["101.1"].existing.fate == "abandon"


def test_blocks_keep_their_floors_closets_and_flats_apart(building: Made, document: Document) -> None:
    made = building(document("garden_12"))
    assert {floor.block for floor in made.floors} == {f"B{n:02d}" for n in range(1, 13)}
    ways = {way.id: way for way in made.ways}
    assert (ways["B06.R.1"].start, ways["B06.R.1"].kind, ways["B06.R.1"].spaces) == (
        "B02.R.1",
        "buried",
        ("buried",),
    )
    assert ways["B06.2A"].start == "B06.R.2"


def test_every_default_that_was_used_is_written_down(building: Made, document: Document) -> None:
    made = building(document("smallest"))
    fields = {row.field for row in made.assumptions}
    assert fields >= {
        "headend",
        "headend.mains",
        "closet.mains",
        "floors",
        "floor_height_m",
        "rules.limits",
        "rules.plan",
        "rules.codes",
        "survey",
        "route_factor",
        "new_build",
        "ways.kind",
        "ways.spaces",
        "ways.run_m",
        "ways.firestops",
        "feed.carriers.cn_db",
    }
    assert all(row.value and row.why for row in made.assumptions)


def test_what_is_unknown_counts_as_the_strictest(building: Made, document: Document) -> None:
    ways = {way.id: way for way in building(document("smallest")).ways}
    assert ways["C2"].spaces == ("unknown-vertical",)
    assert ways["1A-1"].spaces == ("unknown-ceiling", "unit")


def test_the_order_of_rows_means_nothing(building: Made, document: Document) -> None:
    posted = document("townhouse_row")
    turned = posted | {
        name: list(reversed(posted[name])) for name in ("closets", "panels", "units", "outlets")
    }
    turned["feed"] = posted["feed"] | {"carriers": list(reversed(posted["feed"]["carriers"]))}
    assert building(turned) == building(posted)


def test_a_level_may_be_given_in_three_units(building: Made, document: Document) -> None:
    posted = document("smallest")
    posted["feed"]["carriers"] = [
        {"channel": "14", "level_dbmv": 9.0},
        {"channel": "20", "level_dbuv": 69.0},
        {"channel": "36", "level_dbm": -39.7506},
    ]
    levels = [row.level_dbmv for row in building(posted).feed.carriers]
    assert levels == pytest.approx([9.0, 9.0, 9.0], abs=1e-4)


def test_a_carrier_may_be_given_by_its_frequency(building: Made, document: Document) -> None:
    posted = document("smallest")
    posted["feed"]["carriers"].append({"frequency_mhz": 195.0, "service": "atsc", "level_dbmv": 8.0})
    row = building(posted).feed.carriers[0]
    assert (row.carrier.id, row.carrier.frequency_mhz, row.carrier.service) == ("195", 195.0, "atsc")


def test_a_building_may_be_the_same_as_another_with_its_own_feed(known: Known, document: Document) -> None:
    first, west = read_buildings([document("walkup_8"), document("walkup_8_west")], known, TARIFFS)
    assert first.building is not None
    assert west.building is not None
    assert west.faults == ()
    assert (west.building.id, west.building.ways) == ("demo-walkup-8-west", first.building.ways)
    assert west.building.feed.carriers[0].level_dbmv == first.building.feed.carriers[0].level_dbmv - 3.0


def test_a_mirrored_twin_changes_labels_and_order_only(known: Known, document: Document) -> None:
    first, east = read_buildings([document("walkup_8"), document("walkup_8_east")], known, TARIFFS)
    assert first.building is not None
    assert east.building is not None
    before = {way.id: way.length_m for way in first.building.ways}
    after = {way.id: way.length_m for way in east.building.ways}
    assert (after["1A"], after["1B"], after["1D"]) == (before["1D"], before["1C"], before["1A"])
    assert after["2C-1"] == before["2B-1"]
    assert sorted(after.values()) == sorted(before.values())
    assert {row.id for row in east.building.outlets} == {row.id for row in first.building.outlets}


def test_pins_are_read_beside_the_building(read: Read, document: Document) -> None:
    posted = document("walkup_8")
    posted["keep"] = {"devices": [{"id": "T1", "part": "tap-8-17", "place": "C1"}]}
    reading = read(posted)
    assert reading.faults == ()
    assert reading.keep is not None
    assert [(row.id, row.part, row.place) for row in reading.keep.devices] == [("T1", "tap-8-17", "C1")]
    assert [feed.id for feed in reading.keep.feeds] == ["HE"]


def test_a_kept_network_written_out_and_put_back_is_the_same(read: Read, document: Document) -> None:
    posted = document("v1_example")
    posted["keep"] = {
        "devices": [
            {"id": "T3", "part": "tap-4-17", "place": "C3"},
            {"id": "O1", "part": "outlet-end", "place": "1B-1"},
        ],
        "runs": [
            {"from": "HE:out.1", "to": "T3", "cable": "6-catvr", "length_m": 13.8, "ways": ["C3"]},
            {
                "from": "T3:tap.1",
                "to": "O1",
                "cable": "6-catvp",
                "length_m": 23.2,
                "ways": ["C2", "C1", "1B-1"],
            },
        ],
        "served": [{"outlet": "1B-1", "at": "O1:user.1", "user": "1B", "unit": "1B", "floor": "1"}],
        "terminated": ["T3:tap.2", "T3:tap.3", "T3:tap.4"],
    }
    first = read(posted)
    assert first.faults == ()
    assert first.keep is not None
    written = network_document(first.keep, limits="us-off-air")
    second = read(posted | {"keep": json.loads(json.dumps(written))})
    assert second.faults == ()
    assert second.keep == first.keep
