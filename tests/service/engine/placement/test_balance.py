"""Balance: the curve of cost against spread, its knee, and what a wish for less spread is given."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from service.engine.building.places import Building
from service.engine.design import design
from service.engine.placement.planning import planned_items
from service.engine.placement.proposal import Design
from service.engine.placement.site import survey
from service.engine.placement.units import evener, recipe_spread_db
from service.engine.placement.used import building_spread_db, unit_spreads_db
from service.engine.plant.network import Network
from service.engine.routes.candidates import candidate_routes
from service.forms.building import read_building
from service.forms.known import Known
from service.library import library
from service.library.profiles import load_limits, load_plans, load_services

BUILDINGS = Path(__file__).parents[4] / "fixtures" / "buildings"
NAMES = ("walkup_8", "graph_two_risers")


def read(document: Any) -> Building:
    known = Known(
        catalogue=library().catalogue, limits=load_limits(), plans=load_plans(), services=load_services()
    )
    building = read_building(document, known, library().tariffs).building
    assert building is not None
    return building


def building_of(name: str) -> Building:
    """A demo building with house power at the head-end alone: with amplifiers at hand there is little to balance."""
    document = json.loads((BUILDINGS / f"{name}.json").read_text(encoding="utf-8"))
    for closet in document.get("closets", ()):
        closet["mains"] = False
    return read(document)


@pytest.fixture
def walkup() -> Any:
    return json.loads((BUILDINGS / "walkup_8.json").read_text(encoding="utf-8"))


def designed(building: Building, keep: Network | None = None, **wishes: object) -> Design:
    return design(
        replace(building, wishes=replace(building.wishes, **wishes)),
        library().catalogue,
        library().tariffs[building.tariff],
        load_limits()[building.rules.limits],
        load_services(),
        keep=keep,
    )


def rules_of(answer: Design) -> set[str]:
    return {finding.rule for finding in answer.chosen.findings}


@pytest.fixture(scope="module", params=NAMES)
def answer(request: pytest.FixtureRequest) -> Design:
    return designed(building_of(request.param))


def test_the_curve_falls_in_spread_as_it_rises_in_cost(answer: Design) -> None:
    kept = [point for point in answer.curve if not point.chosen]
    assert len(answer.curve) >= 2
    for before, after in pairwise(kept):
        assert before.cost_cents <= after.cost_cents
        assert before.spread_db > after.spread_db


def test_the_chosen_design_stands_on_the_curve_with_its_own_figures(answer: Design) -> None:
    (point,) = [point for point in answer.curve if point.chosen]
    assert point.cost_cents == answer.chosen.cost_cents
    assert point.spread_db == pytest.approx(building_spread_db(answer.chosen.report), abs=1e-6)
    assert answer.chosen.margins.worst is not None
    assert point.margin_db == pytest.approx(answer.chosen.margins.worst.margin_db, abs=1e-6)


def test_the_knee_has_the_smallest_spread_within_a_hundredth_of_the_cheapest(answer: Design) -> None:
    (knee,) = [point for point in answer.curve if point.knee]
    within = 1.01 * min(point.cost_cents for point in answer.curve)
    assert knee.cost_cents <= within
    assert knee.spread_db == min(point.spread_db for point in answer.curve if point.cost_cents <= within)


@pytest.mark.parametrize("name", NAMES)
def test_balanced_takes_the_knee(name: str) -> None:
    answer = designed(building_of(name), aim="balanced")
    (chosen,) = [point for point in answer.curve if point.chosen]
    assert chosen.knee
    assert answer.chosen.serves_all


def test_nothing_of_the_curve_is_solved_with_quick_effort() -> None:
    answer = designed(building_of("walkup_8"), effort="quick")
    assert all(point.asked_db is None for point in answer.curve)


@pytest.mark.parametrize("spread_db", [2.5, 2.0])
def test_a_wished_spread_is_kept_at_the_least_cost_of_the_curve(spread_db: float) -> None:
    plain = designed(building_of("walkup_8"))
    wished = designed(building_of("walkup_8"), spread_db=spread_db)
    assert building_spread_db(plain.chosen.report) > spread_db
    assert building_spread_db(wished.chosen.report) <= spread_db + 0.05
    assert "policy-spread" not in rules_of(wished)
    assert wished.chosen.serves_all
    assert wished.chosen.cost_cents <= 1.05 * plain.chosen.cost_cents


def test_a_spread_out_of_reach_is_answered_with_the_nearest_and_how_much_it_misses() -> None:
    answer = designed(building_of("walkup_8"), spread_db=0.5)
    (finding,) = [row for row in answer.chosen.findings if row.rule == "policy-spread"]
    assert finding.limit == 0.5
    assert finding.measured == pytest.approx(building_spread_db(answer.chosen.report))
    assert finding.measured < building_spread_db(designed(building_of("walkup_8")).chosen.report)


def test_a_spread_that_the_limits_make_a_rule_is_aimed_at_without_a_wish() -> None:
    building = building_of("graph_two_risers")
    limits = load_limits()[building.rules.limits]
    free = designed(building, aim="cheapest")
    asked = replace(limits, building_spread_db=4.5, spread_source="a rule of the test")
    bound = design(building, library().catalogue, library().tariffs[building.tariff], asked, load_services())
    assert building_spread_db(free.chosen.report) > 4.5
    assert building_spread_db(bound.chosen.report) <= 4.55


def test_a_panel_is_denied_the_parts_that_set_its_outlets_apart(walkup: Any) -> None:
    walkup["outlets"][0]["drop_ft"] = 95
    building = read(walkup)
    site = survey(
        building,
        candidate_routes(building)[0],
        library().catalogue,
        library().tariffs[building.tariff],
        load_limits()[building.rules.limits],
        load_services(),
    )
    barred = {place.id: place.never for place in evener(site, 2.5).places if place.kind == "panel"}
    assert "split-3" in barred["1A"]
    assert "split-3u" not in barred["1A"]
    assert "split-3" not in barred["1D"]
    planned = next(row for rows in planned_items(site) for row in rows if row.item.panel == "1A")
    recipes = {row.parts: row for row in site.kitchen.panel_recipes(3, planned.panel_rules)}
    even = recipe_spread_db(planned, recipes["split-3",], site.reference)
    uneven = recipe_spread_db(planned, recipes["split-3u",], site.reference)
    assert uneven < 2.5 < even
    answer = designed(building, unit_spread_db=2.5)
    parts = {device.part for device in answer.chosen.network.devices if device.place == "1A"}
    assert parts == {"split-3u"}
    assert unit_spreads_db(answer.chosen.report)["1A"] == pytest.approx(uneven, abs=0.5)


def test_a_wish_within_flats_out_of_reach_names_the_flats_and_how_much_they_miss(walkup: Any) -> None:
    answer = designed(read(walkup), unit_spread_db=0.5)
    (finding,) = [row for row in answer.chosen.findings if row.rule == "policy-unit-spread"]
    apart = unit_spreads_db(answer.chosen.report)
    assert finding.limit == 0.5
    assert finding.measured == pytest.approx(max(apart.values()))
    assert set(finding.where) == {unit for unit, spread_db in apart.items() if spread_db > 0.55}


def test_home_runs_of_a_flat_are_held_together(walkup: Any) -> None:
    panels = {panel["id"]: panel for panel in walkup.pop("panels")}
    for outlet in walkup["outlets"]:
        outlet["at"] = panels[outlet["unit"]]["from"]
        outlet["drop_ft"] += panels[outlet["unit"]]["run_ft"]
    for unit in walkup["units"]:
        unit["feed"] = "home-run"
    walkup["outlets"][0]["drop_ft"] = 110
    building = read(walkup)
    plain = designed(building, aim="cheapest")
    wished = designed(building, aim="cheapest", unit_spread_db=2.0)
    assert max(unit_spreads_db(plain.chosen.report).values()) > 2.2
    assert max(unit_spreads_db(wished.chosen.report).values()) <= 2.05
    assert wished.chosen.serves_all


def test_a_wished_spread_keeps_its_own_network() -> None:
    building = building_of("walkup_8")
    first = designed(building, spread_db=4.0)
    again = designed(building, keep=first.chosen.network, spread_db=4.0)
    assert again.chosen.network == first.chosen.network
