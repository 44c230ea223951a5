"""The price of the policy: what a rule saves when it is off is what a design without it really costs less."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from service.engine.building.places import Building
from service.engine.design import design
from service.engine.placement.proposal import Design
from service.forms.building import read_building
from service.forms.known import Known
from service.library import library
from service.library.profiles import load_limits, load_plans, load_services

BUILDINGS = Path(__file__).parents[4] / "fixtures" / "buildings"


def building_of(name: str, *, powered: bool = False) -> Building:
    known = Known(
        catalogue=library().catalogue, limits=load_limits(), plans=load_plans(), services=load_services()
    )
    document = json.loads((BUILDINGS / f"{name}.json").read_text(encoding="utf-8"))
    for closet in document.get("closets", ()):
        # House power at the head-end alone: what rules cost is then not blurred by amplifiers that come and go.
        closet["mains"] = powered and closet.get("mains", False)
    building = read_building(document, known, library().tariffs).building
    assert building is not None
    return building


@cache
def designed(name: str, effort: str = "normal", off: str = "", *, powered: bool = False) -> Design:
    building = building_of(name, powered=powered)
    policy = replace(building.policy, **{off: False}) if off else building.policy
    building = replace(
        building, policy=policy, wishes=replace(building.wishes, effort=effort, aim="cheapest")
    )
    return design(
        building,
        library().catalogue,
        library().tariffs[building.tariff],
        load_limits()[building.rules.limits],
        load_services(),
    )


@pytest.mark.parametrize("rule", ["spare", "margins"])
def test_a_rule_saves_no_less_than_a_design_without_it(rule: str) -> None:
    held = designed("walkup_8")
    saved = held.chosen.cost_cents - designed("walkup_8", off=rule).chosen.cost_cents
    price = dict(held.chosen.certificate.policy_price)[rule]
    assert price > 0
    assert price >= 0.9 * saved


def test_a_rule_that_binds_nothing_has_no_price() -> None:
    certificate = designed("walkup_8").chosen.certificate
    told = {rule for rule, _ in certificate.policy_price}
    assert not told & {"fault_domain", "box_size", "accessible_places", "amplifiers_on_house_power"}
    assert certificate.unpriced == ()
    assert all(cents > 0 for _, cents in certificate.policy_price)


def test_the_policy_stands_against_free() -> None:
    certificate = designed("walkup_8").chosen.certificate
    assert certificate.free_cents is not None
    assert certificate.free_cents < certificate.cost_cents
    assert certificate.policy_cents == certificate.cost_cents - certificate.free_cents
    assert certificate.policy_cents >= max(cents for _, cents in certificate.policy_price)


def test_quick_effort_says_that_nothing_was_tried() -> None:
    certificate = designed("walkup_8", effort="quick").chosen.certificate
    assert certificate.free_cents is None
    assert certificate.policy_cents is None
    assert {"spare", "margins"} <= set(certificate.unpriced)


def test_a_simpler_design_tells_what_it_costs_over_the_cheapest() -> None:
    building = building_of("europe_two_stairs")
    simplest = design(
        replace(building, wishes=replace(building.wishes, aim="simplest", effort="quick")),
        library().catalogue,
        library().tariffs[building.tariff],
        load_limits()[building.rules.limits],
        load_services(),
    )
    price = dict(simplest.chosen.certificate.policy_price).get("aim", 0)
    assert price == simplest.chosen.cost_cents - min(point.cost_cents for point in simplest.curve)


@pytest.mark.parametrize("name", ["walkup_8", "townhouse_row", "slab_1968"])
def test_no_rule_costs_more_than_the_whole_policy(name: str) -> None:
    held = designed(name, powered=True).chosen.certificate
    assert held.free_cents is not None
    assert held.free_cents <= held.cost_cents
    assert all(0 < cents <= held.cost_cents - held.free_cents for _, cents in held.policy_price)
