"""Reading building documents: forms that expand, complaints with their places."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from service.engine.building.places import Building
from service.engine.routes.tree import is_tree, tree_route
from service.forms.building import BuildingReading, read_building
from service.forms.known import Known
from service.library.contents import library
from service.library.profiles import load_limits, load_plans, load_services

BUILDINGS = Path(__file__).parents[3] / "fixtures" / "buildings"
KNOWN = Known(
    catalogue=library().catalogue, limits=load_limits(), plans=load_plans(), services=load_services()
)


def document(name: str) -> Any:
    return json.loads((BUILDINGS / f"{name}.json").read_text(encoding="utf-8"))


def read(posted: object) -> BuildingReading:
    return read_building(posted, KNOWN, library().tariffs)


def building(posted: object) -> Building:
    reading = read(posted)
    assert reading.faults == ()
    assert reading.building is not None
    return reading.building


def test_the_first_version_is_read_forever() -> None:
    made = building(document("v1_example"))
    assert [place.id for place in made.places] == ["HE", "C3", "C2", "C1", "3A", "3A-1", "1B-1"]
    assert {way.id: way.length_m for way in made.ways} == {
        "C3": 8.0,
        "C2": 3.0,
        "C1": 3.0,
        "3A": 6.0,
        "3A-1": 4.0,
        "1B-1": 13.0,
    }
    assert [(unit.id, unit.floor, unit.feed, unit.user) for unit in made.units] == [
        ("3A", "3", "panel", "3A"),
        ("1B", "1", "home-run", "1B"),
    ]


def test_a_way_that_nobody_walked_gets_a_tenth_longer() -> None:
    made = building(document("v1_example"))
    assert {round(way.pulled_m / way.length_m, 9) for way in made.ways} == {1.1}
    walked = building(document("v1_example") | {"survey": "walked"})
    assert all(way.pulled_m == way.length_m for way in walked.ways)


@pytest.mark.parametrize(
    ("name", "units", "outlets"),
    [("walkup_8", 8, 20), ("slab_14", 161, 348)],
)
def test_every_demo_building_is_read_without_a_complaint(name: str, units: int, outlets: int) -> None:
    made = building(document(name))
    assert (len(made.units), len(made.outlets)) == (units, outlets)
    assert is_tree(made)
    assert len(tree_route(made).hops) == len(made.places) - 1
    assert "invented" in made.name
    assert "Invented" in made.note
