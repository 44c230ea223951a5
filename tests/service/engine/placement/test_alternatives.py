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


def read(document: object) -> Building:
    known = Known(
        catalogue=library().catalogue, limits=load_limits(), plans=load_plans(), services=load_services()
    )
    building = read_building(document, known, library().tariffs).building
    assert building is not None
    return building


@pytest.fixture(scope="module")
def walkup() -> Building:
    return read(json.loads((BUILDINGS / "walkup_8.json").read_text(encoding="utf-8")))


def designed(building: Building) -> Design:
    return design(
        building,
        library().catalogue,
        library().tariffs[building.tariff],
        load_limits()[building.rules.limits],
        load_services(),
    )


@pytest.mark.parametrize("effort", ["normal", "thorough"])
def test_no_design_to_choose_from_is_beaten_in_every_merit(effort: str) -> None:
    stairs = read(json.loads((BUILDINGS / "europe_two_stairs.json").read_text(encoding="utf-8")))
    answer = designed(replace(stairs, wishes=replace(stairs.wishes, effort=effort)))
    rows = [merits(choice) for choice in answer.choices]
    assert 1 < len(rows) <= 5
    assert all(choice.serves_all for choice in answer.choices)
    for at, row in enumerate(rows):
        assert not any(
            all(a <= b for a, b in zip(other, row, strict=True))
            for position, other in enumerate(rows)
            if position != at
        )


def test_every_alternative_is_clearly_best_at_what_its_label_says() -> None:
    document = json.loads((BUILDINGS / "slab_1968.json").read_text(encoding="utf-8"))
    chosen, *others = designed(read(document)).choices
    assert chosen.chosen
    by_label = {choice.label: choice for choice in others}
    assert len(by_label) == len(others)
    assert {"most balanced", "lowest launch"} <= set(by_label)
    assert by_label["most balanced"].spread_db <= chosen.spread_db - 0.5
    assert by_label["lowest launch"].launch_dbmv <= chosen.launch_dbmv - 1.0
    assert all(choice.cost_cents <= 1.031 * chosen.cost_cents for choice in others)


def test_the_simplest_is_recommended_and_chosen_by_default(walkup: Building) -> None:
    chosen, *others = designed(walkup).choices
    assert chosen.label == "simplest"
    assert chosen.recommended
    assert not any(choice.recommended for choice in others)


def test_another_aim_still_recommends_the_simplest(walkup: Building) -> None:
    building = replace(walkup, wishes=replace(walkup.wishes, aim="cheapest", effort="thorough"))
    chosen, *others = designed(building).choices
    assert chosen.label == "cheapest"
    simplest = [choice for choice in others if choice.recommended]
    assert all(choice.kinds < chosen.kinds for choice in simplest)


def test_fewer_powered_places_are_offered_where_amplifiers_stand_along_the_riser() -> None:
    document = json.loads((BUILDINGS / "senior_corridors.json").read_text(encoding="utf-8"))
    answer = designed(read(document))
    chosen, *others = answer.choices
    fewest = [choice for choice in others if choice.label == "fewest powered places"]
    assert chosen.powered_places > 1
    assert all(choice.powered_places < chosen.powered_places for choice in fewest)


def test_nothing_else_is_looked_for_with_quick_effort(walkup: Building) -> None:
    answer = designed(replace(walkup, wishes=replace(walkup.wishes, effort="quick")))
    assert {choice.label for choice in answer.choices} <= {"simplest", "cheapest", "most balanced"}
