"""The least bill is below every design: of seeded buildings at every aim, and of every way to hang locals on ports."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import permutations
from typing import Any

import numpy as np
import pytest

from service.engine.placement.carrier_books import STEP_DB, lost_at, port_sums
from service.engine.placement.floor import level_free
from service.engine.placement.least_bill import always_cents, freedoms, least_bill
from service.engine.placement.menu import GRID_DB
from service.engine.placement.place import bounded, place, riser_options
from service.engine.placement.planning import make_plan
from service.engine.placement.site import Site, survey
from service.engine.placement.starts import SET_UP_DB, freedom_taken, highest_output, most_gain_db
from service.engine.placement.windows import Target
from service.engine.routes.tree import tree_route

NONE = 1 << 40


def site_of(desk: Any, document: Any, catalogue: Any = None, **wishes: Any) -> Site:
    building = desk.building(document, wishes=wishes)
    return survey(
        building,
        tree_route(building),
        catalogue or desk.library.catalogue,
        desk.library.tariffs[building.tariff],
        desk.limits[building.rules.limits],
        desk.services,
    )


def house(seed: int) -> dict[str, Any]:
    """One to five closets, one below the other or beside it, with flats by panel and outlets run home."""
    draw = random.Random(seed)
    count = draw.randint(1, 5)
    document: dict[str, Any] = {
        "document": "evendrop/building",
        "version": 1,
        "id": f"house-{seed}",
        "name": "Invented",
        "headend": {"id": "HE", "floor": count + 1, "mains": draw.random() < 0.7},
        "closets": [],
        "panels": [],
        "outlets": [],
        "prices": "demo-usd",
        "policy": {
            "spare": draw.random() < 0.4,
            "one_pattern": draw.random() < 0.5,
            "parts_variety": draw.random() < 0.4,
            "isolation": False,
        },
    }
    level, slope = draw.uniform(0.0, 35.0), draw.uniform(-4.0, 4.0)
    document["feed"] = {
        "carriers": [
            {"channel": name, "level_dbmv": round(level + slope * at, 1), "cn_db": 40.0}
            for at, name in enumerate(("8", "22", "36"))
        ]
    }
    for number in range(count):
        above = 0 if number == 0 or draw.random() < 0.2 else number
        row = {"id": f"C{number}", "floor": count - number, "from": f"C{above - 1}" if above else "HE"}
        row |= {"run_m": 4.0 * (number + 1) + draw.uniform(0.0, 40.0), "mains": draw.random() < 0.4}
        document["closets"].append(row | {"spaces": ["riser"]})
        for flat in range(draw.randint(number == count - 1, 3)):
            unit, drops = f"{number}-{flat}", draw.randint(1, 4)
            place = row["id"]
            if drops > 1 and draw.random() < 0.7:
                place = unit
                panel = {"id": unit, "unit": unit, "from": row["id"], "run_m": draw.uniform(5.0, 40.0)}
                document["panels"].append(panel)
            document["outlets"] += [
                {"id": f"{unit}.{n}", "unit": unit, "at": place, "drop_m": draw.uniform(3.0, 40.0)}
                for n in range(drops)
            ]
    return document


def some_parts(desk: Any, seed: int) -> Any:
    """A catalogue of every third passive part or so, so that designs are pressed against their windows."""
    draw = random.Random(seed)
    everything = desk.library.catalogue
    kept = ("outlet-end", "terminator", "connector")
    parts = [
        part for part in everything.parts if part.active or part.id.startswith(kept) or draw.random() < 0.4
    ]
    return replace(everything, parts=tuple(parts))


@pytest.mark.parametrize("seed", range(24))
def test_no_design_at_any_aim_is_below_the_least_bill(desk: Any, seed: int) -> None:
    document = house(seed)
    catalogue = some_parts(desk, seed) if seed % 2 else None
    sites = [site_of(desk, document, catalogue, aim=aim) for aim in ("cheapest", "simplest", "balanced")]
    for site in sites:
        found = place(site)
        if found is None or not found.fits:
            continue
        free = freedoms(site, found.solution.network, found.solution.report)
        least = least_bill(site, riser_options(site), found.search.plan.target, free)
        assert least is not None
        assert least <= found.cost_cents
        assert bounded(found, [site]).bound_cents == least


@pytest.mark.parametrize("name", ["walkup_8", "europe_two_stairs", "townhouse_row"])
def test_counting_levels_lifts_the_bound_and_narrowing_for_margin_does_not(desk: Any, name: str) -> None:
    site = site_of(desk, desk.document(name), aim="cheapest")
    found = place(site)
    assert found is not None
    told = bounded(found, [site])
    plan = make_plan(site, found.riser_series, found.search.plan.target)
    without = [level_free(site, series) for series in riser_options(site)]
    assert told.bound_cents > min(without) + found.cost_cents - found.solution.cents
    narrowed = replace(found.search.plan.target, shrink_db=2.0)
    assert least_bill(site, riser_options(site), narrowed) == least_bill(
        site, riser_options(site), plan.target
    )


@pytest.mark.parametrize("name", ["walkup_8", "europe_two_stairs", "slab_1968"])
def test_what_always_comes_on_top_of_the_tables_is_what_the_network_costs_beyond_them(
    desk: Any, name: str
) -> None:
    site = site_of(desk, desk.document(name), aim="cheapest")
    found = place(site)
    assert found is not None
    plan = make_plan(site, found.riser_series, found.search.plan.target)
    for start in range(len(site.layout.closets)):
        for end in range(start + 1, site.layout.closets[start].last + 1):
            plan.path(start, end)
    assert always_cents(site, plan) == found.cost_cents - found.solution.cents


def test_a_feed_too_weak_for_all_without_an_amplifier_is_charged_one(desk: Any) -> None:
    document = desk.document("walkup_6_no_closets")
    weak = site_of(desk, document, aim="cheapest")
    for carrier in document["feed"]["carriers"]:
        carrier["level_dbmv"] += 25.0
    strong = site_of(desk, document, aim="cheapest")
    cheapest = min(lift.cents for lift in weak.menu.lifts)
    target = weak.target
    needed = least_bill(weak, riser_options(weak), target)
    spared = least_bill(strong, riser_options(strong), target)
    assert needed is not None
    assert spared is not None
    assert needed - spared >= cheapest - max(pad.cents for pad in weak.menu.pads)


def test_where_no_level_can_be_right_there_is_no_least_bill(desk: Any) -> None:
    site = site_of(desk, desk.document("walkup_8"))
    high = np.full_like(site.feed_dbmv, 200.0)
    assert least_bill(site, riser_options(site), Target(low_dbmv=high, high_dbmv=high + 10.0)) is None


def test_an_amplifier_beyond_its_reserves_takes_a_freedom_and_one_within_them_none(desk: Any) -> None:
    made = desk.demo("walkup_8")
    site = site_of(desk, desk.document("walkup_8"))
    lifts = {lift.part.id: lift for lift in site.all_lifts}
    own = {row.id: lifts[row.part] for row in made.chosen.network.devices if row.part in lifts}
    report, carrier = made.chosen.report, site.reference
    assert own
    assert freedom_taken(site, report, own, carrier).gain_db == 0.0
    row = report.amplifiers[0]
    lift = own[row.device]
    ceiling = highest_output(site, lift, carrier)
    loud = replace(row, output_dbmv=np.full_like(row.output_dbmv, ceiling + 1.5))
    free = freedom_taken(site, replace(report, amplifiers=(loud,)), own, carrier)
    assert free.output_db == pytest.approx(1.5)
    # Full gain less 3 dB in reserve where it can be set, but for half a step of the settings.
    assert (lift.reserve_db == 3.0) == (lift.part.active.gain_db.high > lift.part.active.gain_db.low)
    kept = lift.gain_reference_db - lift.reserve_db + SET_UP_DB
    assert most_gain_db(lift, carrier, free) - free.gain_db == pytest.approx(kept)


def brute(tables: Any, losses: list[int], slots: list[int], at: int) -> int:
    """Least sum over every way to hang the locals on the ports."""
    ports = [loss for loss, count in zip(losses, slots, strict=True) for _ in range(count)]
    return min(
        sum(int(tables[local, at + loss]) for local, loss in enumerate(order))
        for order in permutations(ports)
    )


@pytest.mark.parametrize("seed", range(20))
def test_sums_over_ports_are_never_above_the_cheapest_way_to_hang_the_locals(seed: int) -> None:
    draw = random.Random(seed)
    count, depth = draw.randint(2, 5), 16
    tables = np.full((count, depth), NONE, dtype=np.int64)
    for local in range(count):
        first = draw.randint(0, 8)
        for lost in range(first, draw.randint(first + 1, depth)):
            tables[local, lost] = draw.choice((0, 3, 7))
    kinds = draw.randint(1, min(3, count))
    losses = sorted(draw.sample(range(6), kinds))
    slots = [1] * kinds
    for _ in range(count - kinds):
        slots[draw.randrange(kinds)] += 1
    rows = np.asarray([[*losses, *[-1] * (3 - kinds)]], dtype=np.int64)
    counts = np.asarray([[*slots, *[-1] * (3 - kinds)]], dtype=np.int64)
    sums = port_sums(tables, rows, counts, NONE)[0]
    for at in range(depth - 6):
        least = min(brute(tables, losses, slots, at), NONE)
        assert sums[at] <= least
        if kinds < 3:
            assert sums[at] == least


def test_recipes_lose_at_the_reference_what_the_search_counts_and_their_joints(desk: Any) -> None:
    site = site_of(desk, desk.document("walkup_8"))
    assert STEP_DB < GRID_DB
    joint = 0.08
    for recipe in site.kitchen.closet_cook.recipes(3, 1):
        before, onward = lost_at(recipe, site.reference, joint)
        listed = sorted(steps * GRID_DB for first, past, steps in recipe.loads for _ in range(first, past))
        # Each of up to three devices on the way is rounded by half a step, and has a joint before it but the first.
        assert np.all(np.abs(np.sort(before) - listed) <= 3 * (GRID_DB / 2) + 2 * joint + 1e-9)
        assert abs(onward - recipe.onward_steps * GRID_DB) <= 3 * (GRID_DB / 2) + 2 * joint + 1e-9
