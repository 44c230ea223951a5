"""Alternatives serve all, and each is better than the others at something."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from service.engine.building.places import Building
from service.engine.design import design
from service.engine.placement.alternatives import merits
from service.engine.placement.proposal import Design
from service.forms.building import read_building
from service.forms.known import Known
from service.library import library
from service.library.profiles import load_limits, load_plans, load_services

BUILDINGS = Path(__file__).parents[4] / "fixtures" / "buildings"


def building_of(name: str) -> Building:
    known = Known(
        catalogue=library().catalogue, limits=load_limits(), plans=load_plans(), services=load_services()
    )
    document = json.loads((BUILDINGS / f"{name}.json").read_text(encoding="utf-8"))
    building = read_building(document, known, library().tariffs).building
    assert building is not None
    return building


@pytest.fixture(scope="module")
def walkup() -> Building:
    return building_of("walkup_8")


def designed(building: Building) -> Design:
    return design(
        building,
        library().catalogue,
        library().tariffs[building.tariff],
        load_limits()[building.rules.limits],
        load_services(),
    )


def test_no_alternative_is_beaten_in_every_merit() -> None:
    building = building_of("europe_two_stairs")
    answer = designed(replace(building, wishes=replace(building.wishes, effort="thorough")))
    rows = [merits(one, library().catalogue) for one in (answer.chosen, *answer.alternatives)]
    assert len(rows) > 1
    assert all(one.serves_all for one in answer.alternatives)
    for at, row in enumerate(rows):
        assert not any(
            all(a <= b for a, b in zip(other, row, strict=True))
            for position, other in enumerate(rows)
            if position != at
        )


def test_alternatives_are_looked_for_with_thorough_effort_alone(walkup: Building) -> None:
    assert designed(walkup).alternatives == ()
