"""Candidate routes over the ways of a building."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from service.engine.building.places import Building, Floor, Outlet, Place, PlaceKind, Policy, Rules, Unit, Way
from service.engine.routes.candidates import candidate_routes
from service.engine.routes.graph import UnreachableError, way_graph
from service.engine.routes.plan import RoutePlan
from service.engine.routes.steiner import steiner_tree_of
from service.engine.routes.tree import is_tree
from service.engine.signal.spectrum import Feed
from service.forms.building import read_building
from service.forms.known import Known
from service.library.contents import library
from service.library.profiles import load_limits, load_plans, load_services

BUILDINGS = Path(__file__).parents[4] / "fixtures" / "buildings"


@pytest.fixture(scope="module")
def building() -> Callable[[str], Building]:
    known = Known(
        catalogue=library().catalogue, limits=load_limits(), plans=load_plans(), services=load_services()
    )

    def made(name: str) -> Building:
        posted = json.loads((BUILDINGS / f"{name}.json").read_text(encoding="utf-8"))
        reading = read_building(posted, known, library().tariffs)
        assert reading.building is not None
        return reading.building

    return made


def square(through_panel: bool) -> Building:
    """Two panels: b is near to a, and far from the head-end."""
    rows = [("ha", "H", "a", 10.0), ("hb", "H", "b", 30.0), ("ab", "a", "b", 4.0)]
    rows += [("a1", "a", "a1", 3.0), ("b1", "b", "b1", 3.0)]
    kinds: dict[str, PlaceKind] = {"H": "headend", "a": "panel", "b": "panel", "a1": "outlet", "b1": "outlet"}
    ways = tuple(
        Way(id=way, start=a, end=b, length_m=m, pulled_m=m, kind="ceiling", spaces=("general",))
        for way, a, b, m in rows
    )
    places = tuple(Place(id=name, kind=kind, floor="1", unit=name[0]) for name, kind in kinds.items())
    return Building(
        id="square",
        name="",
        headend="H",
        floors=(Floor(label="1", order=0, elevation_m=0.0),),
        places=places,
        ways=ways,
        units=(Unit(id="a", floor="1"), Unit(id="b", floor="1")),
        outlets=(Outlet(id="a1", unit="a", user="a"), Outlet(id="b1", unit="b", user="b")),
        feed=Feed(id="H", carriers=()),
        rules=Rules(limits="us-off-air", plan="us-broadcast", codes="us-2023"),
        tariff="demo-usd",
        policy=Policy(no_flat_through_flat=not through_panel),
    )


def total_m(made: Building, plan: RoutePlan) -> float:
    ways = {way.id: way.pulled_m for way in made.ways}
    return sum(ways[hop.way] for hop in plan.hops)


def is_sound(made: Building, plan: RoutePlan) -> bool:
    """Parents stand first, every outlet is reached once, and nothing is fed from an outlet."""
    outlets = {outlet.id for outlet in made.outlets}
    seen = {plan.root}
    for hop in plan.hops:
        if hop.parent not in seen or hop.place in seen or hop.parent in outlets:
            return False
        seen.add(hop.place)
    return outlets <= seen


def test_a_tree_has_one_route(building: Callable[[str], Building]) -> None:
    made = building("slab_14")
    (plan,) = candidate_routes(made)
    assert (plan.name, plan.root) == ("as drawn", "HE")
    assert is_sound(made, plan)


def test_a_graph_has_several_sound_routes_and_each_once(building: Callable[[str], Building]) -> None:
    made = building("graph_two_risers")
    assert not is_tree(made)
    plans = candidate_routes(made)
    assert [plan.name for plan in plans][:2] == ["shortest paths", "least length"]
    assert {"riser of A1 only", "riser of B1 only"} <= {plan.name for plan in plans}
    assert all(is_sound(made, plan) for plan in plans)
    assert len({frozenset(hop.way for hop in plan.hops) for plan in plans}) == len(plans)
    lengths = {plan.name: total_m(made, plan) for plan in plans}
    assert min(lengths.values()) == lengths["least length"]


def test_routes_do_not_depend_on_the_order_of_ways(building: Callable[[str], Building]) -> None:
    made = building("graph_two_risers")
    turned = replace(made, ways=tuple(reversed(made.ways)), places=tuple(reversed(made.places)))
    assert candidate_routes(turned) == candidate_routes(made)


def test_no_route_leads_through_a_panel_in_new_work() -> None:
    for plan in candidate_routes(square(through_panel=False)):
        assert {hop.place: hop.parent for hop in plan.hops}["b"] == "H"


def test_a_route_may_lead_through_a_panel_where_the_policy_lets_it() -> None:
    made = square(through_panel=True)
    for plan in candidate_routes(made):
        assert {hop.place: hop.parent for hop in plan.hops}["b"] == "a"


def test_of_two_ways_between_two_places_the_shorter_one_is_taken() -> None:
    made = square(through_panel=False)
    second = Way(
        id="z", start="b", end="H", length_m=20.0, pulled_m=20.0, kind="ceiling", spaces=("general",)
    )
    plans = candidate_routes(replace(made, ways=(*made.ways, second)))
    assert {hop.place: hop.way for hop in plans[0].hops}["b"] == "z"


def test_a_place_out_of_reach_is_named() -> None:
    made = square(through_panel=False)
    cut = replace(made, ways=tuple(way for way in made.ways if way.id not in ("hb", "ab")))
    with pytest.raises(UnreachableError) as caught:
        candidate_routes(cut)
    assert caught.value.places == ("b",)


def test_beyond_the_counted_limit_the_tree_is_near_least_and_says_so(
    building: Callable[[str], Building], monkeypatch: pytest.MonkeyPatch
) -> None:
    made = building("graph_two_risers")
    exact = steiner_tree_of(way_graph(made))
    monkeypatch.setattr("service.engine.routes.steiner.MOST_TERMINALS", 1)
    near = steiner_tree_of(way_graph(made))
    assert (exact.exact, near.exact) == (True, False)
    plans = candidate_routes(made)
    assert all(is_sound(made, plan) for plan in plans)
    least, approximate = (sum(edge.length_m for edge in row.tree.values()) for row in (exact, near))
    assert least <= approximate <= 2.0 * least
