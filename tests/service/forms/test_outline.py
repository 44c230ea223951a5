"""A building document in outline form: what it becomes, and what is wrong with one."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from service.engine.building.places import Building
from service.engine.routes.tree import is_tree
from service.forms.building import BuildingReading
from service.forms.known import Known
from service.forms.portfolio import read_buildings
from service.library.contents import library

Read = Callable[[object], BuildingReading]
Made = Callable[[object], Building]
OUTLINE = Path(__file__).parents[3] / "fixtures" / "outlines" / "block_10.json"


@pytest.fixture
def outline() -> Any:
    return json.loads(OUTLINE.read_text(encoding="utf-8"))


def places(reading: BuildingReading) -> list[tuple[str, tuple[str | int, ...]]]:
    return [(fault.code, fault.path) for fault in reading.faults]


def test_an_outline_becomes_flats_and_outlets_with_ways(building: Made, outline: Any) -> None:
    made = building(outline)
    assert (len(made.units), len(made.outlets)) == (80, 180)
    assert is_tree(made)
    assert {way.survey for way in made.ways} == {"outline"}
    assert made.length_unit == "ft"
    assert [floor.label for floor in made.floors] == [*(str(number) for number in range(1, 11)), "R"]
    assert "outline" in {row.field for row in made.assumptions}
    powered = [place.floor for place in made.places if place.kind == "closet" and place.mains]
    assert powered == ["5", "10"]


def test_home_runs_can_be_asked_of_an_outline(building: Made, outline: Any) -> None:
    outline["outline"]["feed"] = "home-run"
    made = building(outline)
    assert {unit.feed for unit in made.units} == {"home-run"}
    assert all(place.kind != "panel" for place in made.places)


def test_an_outline_beside_rows_is_two_forms(read: Read, outline: Any) -> None:
    reading = read(outline | {"floors": [{"label": "1"}]})
    assert ("mixed-forms", ("outline",)) in places(reading)


@pytest.mark.parametrize(
    ("change", "code", "field"),
    [
        ({"floors": 0}, "out-of-range", "floors"),
        ({"floors": "ten"}, "wrong-type", "floors"),
        ({"outlets_per_unit": 0.5}, "out-of-range", "outlets_per_unit"),
        ({"plate_width_ft": 11.0}, "out-of-range", "plate_width_ft"),
        ({"plate_width_m": 18.0}, "not-together", "plate_width_ft"),
        ({"storeys": 3}, "unknown-field", "storeys"),
    ],
)
def test_a_wrong_outline_is_told_at_its_field(
    read: Read, outline: Any, change: dict[str, Any], code: str, field: str
) -> None:
    outline["outline"] |= change
    assert (code, ("outline", field)) in places(read(outline))


@pytest.mark.parametrize("field", ["floors", "units_per_floor", "outlets_per_unit"])
def test_counts_of_an_outline_must_be_there(read: Read, outline: Any, field: str) -> None:
    del outline["outline"][field]
    assert places(read(outline)) == [("missing", ("outline", field))]


def test_both_sides_of_the_plate_must_be_there(read: Read, outline: Any) -> None:
    del outline["outline"]["plate_width_ft"]
    assert places(read(outline)) == [("missing", ("outline", "plate_width_m"))]


def test_an_outline_is_never_called_better_known_than_it_is(read: Read, outline: Any) -> None:
    assert places(read(outline | {"survey": "walked"})) == [("not-together", ("survey",))]


def test_counts_that_differ_from_the_outline_are_told(read: Read, outline: Any) -> None:
    assert places(read(outline | {"expected_outlets": 181})) == [("count-differs", ("expected_outlets",))]


def test_a_portfolio_may_mix_outlines_and_buildings_that_follow_them(
    known: Known, outline: Any, document: Callable[[str], Any]
) -> None:
    twin = {name: outline[name] for name in ("document", "version", "feed", "prices")}
    twin |= {"id": "twin", "same_as": outline["id"], "mirrored": True}
    readings = read_buildings([outline, document("smallest"), twin], known, library().tariffs)
    assert [len(reading.building.outlets) if reading.building else 0 for reading in readings] == [180, 4, 180]
