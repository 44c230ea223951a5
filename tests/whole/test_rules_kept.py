"""Rules of the policy on the finished networks of the demo buildings: kept, or named as given up, with the reason."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import pytest

from service.engine.placement.proposal import Design
from service.engine.plant.network import Network

QUICK = ("walkup_8", "townhouse_row", "europe_two_stairs", "slab_1968", "graph_two_risers")
LARGE = ("senior_corridors", "slab_14")
#: Findings of checks that a switch of the policy governs, by the id under which the rule is given up.
RULES = {
    "falling-values": "policy-falling-values",
    "spare-ports": "policy-spare-ports",
    "tap-variety": "policy-tap-variety",
}


@pytest.fixture(
    params=[*QUICK, *(pytest.param(name, marks=pytest.mark.slow) for name in LARGE)], scope="module"
)
def made(request: pytest.FixtureRequest, desk: Any) -> Design:
    return desk.demo(request.param)


def told(design: Design) -> set[str]:
    return {finding.rule for finding in design.chosen.findings}


def test_no_rule_is_broken_unless_it_is_named_as_given_up(made: Design) -> None:
    rules = told(made)
    for rule, given_up in RULES.items():
        assert rule not in rules or given_up in rules


def test_demo_designs_keep_values_falling_few_and_ports_spare(made: Design) -> None:
    broken = told(made).intersection([*RULES, *RULES.values()])
    # Within its effort the search finds no design of the fourteen-storey demo whose values fall everywhere.
    allowed = {"falling-values", "policy-falling-values"} if made.building.id == "demo-slab-14" else set()
    assert broken <= allowed


def test_alike_floors_of_a_demo_have_the_same_sizes_of_device(made: Design, desk: Any) -> None:
    if "policy-one-pattern" in told(made):
        pytest.fail("no demo needs to give up the one pattern")
    building, network = made.building, made.chosen.network
    types = {(floor.block, floor.label): floor.floor_type for floor in building.floors}
    served = flats_of(network, building.outlets)
    sizes: dict[tuple[str, tuple[tuple[str, int], ...]], set[tuple[int, ...]]] = defaultdict(set)
    for place in building.places:
        floor_type = types.get((place.block, place.floor), "")
        if floor_type and served[place.id]:
            sizes[floor_type, served[place.id]].add(local_ports(network, place.id, desk.library.catalogue))
    assert all(len(found) == 1 for found in sizes.values())


def flats_of(network: Network, outlets: Any) -> dict[str, tuple[tuple[str, int], ...]]:
    """By place, the flats that its devices feed by cable: unit types are told apart by their number of outlets."""
    places = {device.id: device.place for device in network.devices}
    above = {run.end: run.start.device for run in network.runs}
    units = {outlet.id: outlet.unit for outlet in outlets}
    found: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    homes = {places[served.port.device]: units[served.outlet] for served in network.served}
    for served in network.served:
        here: str | None = served.port.device
        unit = units[served.outlet]
        while here is not None and (places.get(here) == unit or homes.get(places.get(here, "")) == unit):
            here = above.get(here)
        if here in places:
            found[places[here]][unit] += 1
    rows: dict[str, tuple[tuple[str, int], ...]] = defaultdict(tuple)
    for place, flats in found.items():
        counts = sorted(flats.values())
        rows[place] = tuple((str(count), counts.count(count)) for count in sorted(set(counts)))
    return rows


def local_ports(network: Network, place: str, catalogue: Any) -> tuple[int, ...]:
    """Port counts of the passive devices at a place, groups that go on left out."""
    return tuple(
        sorted(
            group.count
            for device in network.devices
            if device.place == place and catalogue.part(device.part).active is None
            for group in catalogue.part(device.part).groups
            if group.name != "through" and group.count > 1
        )
    )
