"""Three synthetic buildings whose least cost is proven elsewhere; see `source` and `answer` in each fixture.

The design is read back by a walker that knows only the fixture: real-valued losses, both pilots, every price.
"""

import json
import math
from functools import cache
from pathlib import Path

import pytest

from service.engine.placement.bounds import count_bound, energy_launch_dbmv, kraft_base, kraft_room_steps
from service.engine.placement.effort import place
from service.engine.placement.grove import index
from service.engine.placement.subsets import solve_exactly
from service.engine.placement.task import Choice, PlacementTask, Spot

FOLDER = Path(__file__).parents[2] / "fixtures" / "published" / "placement"
GRID_DB = 0.5


@cache
def _fixture(name):
    return json.loads((FOLDER / f"{name}.json").read_text())


def _levels(fixture, lowered_db=0.0):
    """Level of an undivided feed at every place, both pilots."""
    levels = {}
    for spot in fixture["places"]:
        for pilot in ("lo", "hi"):
            if spot["parent"] is None:
                levels[spot["id"], pilot] = fixture["launch"][pilot] - lowered_db
            else:
                per_m = fixture["cables_db_per_100m"][spot["cable"]][pilot] / 100
                levels[spot["id"], pilot] = levels[spot["parent"], pilot] - spot["len"] * per_m
    return levels


def _task(fixture):
    levels = _levels(fixture)
    low, high = fixture["window"]
    spots = []
    for spot in fixture["places"]:
        window = {}
        if spot["outlet"]:
            both = [levels[spot["id"], pilot] for pilot in ("lo", "hi")]
            window = {
                "a": math.ceil((max(both) - high) / GRID_DB - 1e-9),
                "b": math.floor((min(both) - low) / GRID_DB + 1e-9),
            }
        spots.append(
            Spot(
                id=spot["id"],
                parent=spot["parent"],
                **window,
                edge_cents=round(spot["len"] * fixture["cable_cost_per_m"]),
            )
        )
    menu = tuple(
        Choice(
            id=device["name"],
            cents=device["cost"],
            ports=tuple((round(g["loss_db"] / GRID_DB), g["ports"]) for g in device["port_groups"]),
        )
        for device in fixture["catalogue"]
    )
    steps = max(s.b for s in spots if s.b is not None) + 1
    return PlacementTask(
        spots=tuple(spots), menus=(menu,), terminator_cents=fixture["term_cost"], steps=steps
    )


def _walked_cents(fixture, tree, lowered_db=0.0):
    """Cost of a design; asserts that every outlet is fed once, inside the window at both pilots."""
    spots = {spot["id"]: spot for spot in fixture["places"]}
    devices = {device["name"]: device for device in fixture["catalogue"]}
    levels = _levels(fixture, lowered_db)
    low, high = fixture["window"]
    fed = set()

    def walk(pick, here, loss):
        if pick is None:
            return fixture["term_cost"]
        if pick.outlet is not None:
            assert pick.outlet == here
            assert here not in fed
            for pilot in ("lo", "hi"):
                assert low - 1e-6 <= levels[here, pilot] - loss <= high + 1e-6
            fed.add(here)
            return 0
        if pick.cable_to is not None:
            spot = spots[pick.cable_to]
            assert spot["parent"] == here
            return spot["len"] * fixture["cable_cost_per_m"] + walk(pick.branches[0], pick.cable_to, loss)
        assert pick.at == here
        device = devices[pick.device]
        ports = [g["loss_db"] for g in device["port_groups"] for _ in range(g["ports"])]
        return device["cost"] + sum(
            walk(branch, here, loss + port) for port, branch in zip(ports, pick.branches, strict=True)
        )

    cents = walk(tree, fixture["places"][0]["id"], 0.0)
    assert fed == {spot["id"] for spot in fixture["places"] if spot["outlet"]}
    return cents


@pytest.mark.parametrize("name", ["riser_4_outlets", "floors_12_outlets", "slab_205_outlets"])
def test_the_programme_reaches_the_proven_optimum(name):
    fixture = _fixture(name)
    placed = place(_task(fixture))
    assert placed.cost_cents == fixture["answer"]["min_cost"]
    assert placed.certificate.proven
    assert placed.certificate.gap == 0
    assert _walked_cents(fixture, placed.tree) == pytest.approx(placed.cost_cents, abs=1e-6)


@pytest.mark.parametrize("name", ["riser_4_outlets", "floors_12_outlets"])
def test_the_least_cost_at_every_lowered_launch_level_is_the_proven_one(name):
    fixture = _fixture(name)
    solved = solve_exactly(index(_task(fixture)))
    proven = fixture["answer"]["min_cost_by_launch_high_pilot"]
    for launch, cents in proven.items():
        lowered_db = fixture["launch"]["hi"] - float(launch)
        start = round(lowered_db / GRID_DB)
        assert (solved.curve[start] if start < len(solved.curve) else None) == cents
        if cents is not None:
            tree = solved.tree(start)
            assert _walked_cents(fixture, tree, lowered_db) == pytest.approx(cents, abs=1e-6)


@pytest.mark.parametrize("name", ["riser_4_outlets", "floors_12_outlets", "slab_205_outlets"])
def test_no_bound_lies_above_the_proven_optimum(name):
    fixture = _fixture(name)
    assert count_bound(index(_task(fixture))) <= fixture["answer"]["min_cost"]


def test_the_count_bound_of_the_slab_is_its_optimum_and_of_the_riser_the_printed_one():
    assert count_bound(index(_task(_fixture("slab_205_outlets")))) == 497590
    riser = _fixture("riser_4_outlets")
    assert count_bound(index(_task(riser))) == riser["answer"]["bounds"]["level_free_cost_lb"]


def test_the_launch_bounds_of_the_riser_are_the_printed_ones():
    fixture = _fixture("riser_4_outlets")
    levels, task = _levels(fixture), _task(fixture)
    worst = [min(levels[s.id, pilot] for pilot in ("lo", "hi")) for s in task.spots if s.is_outlet]
    launch = fixture["launch"]["hi"]
    printed = fixture["answer"]["bounds"]
    assert energy_launch_dbmv([launch - w for w in worst], 0.0) == pytest.approx(
        printed["energy_launch"], abs=1e-3
    )
    room = kraft_room_steps([w / GRID_DB for w in worst], kraft_base(task.menus[0]))
    assert launch - room * GRID_DB == pytest.approx(printed["kraft_launch"], abs=1e-3)
