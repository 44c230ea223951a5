"""The main verb: pins, existing coax, buildings that can't be served, and what is tried to rescue them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from service.engine.building.places import Building, ExistingCable
from service.engine.placement.certify import certificate_of
from service.engine.placement.least_bill import least_bill
from service.engine.placement.place import Candidate, bounded, place, riser_options
from service.engine.placement.proposal import Design
from service.engine.placement.site import survey
from service.engine.plant.network import Network
from service.engine.plant.tariff import WayKind, legs_of
from service.engine.routes.candidates import candidate_routes
from service.engine.routes.plan import RoutePlan
from service.engine.routes.tree import tree_route


def with_existing(building: Building, way: str, existing: ExistingCable | None) -> Building:
    """The building with coax lying in one way."""
    ways = tuple(replace(row, existing=existing) if row.id == way else row for row in building.ways)
    return replace(building, ways=ways)


def kept(network: Network, places: set[str]) -> Network:
    """Only the devices of a network at some places, as a pin holds them."""
    return replace(
        network,
        devices=tuple(row for row in network.devices if row.place in places),
        runs=(),
        served=(),
        terminated=(),
    )


def placed(desk: Any, building: Building, route: RoutePlan) -> Candidate | None:
    """What placement finds on one route."""
    tariff, limits = desk.library.tariffs[building.tariff], desk.limits[building.rules.limits]
    return place(survey(building, route, desk.library.catalogue, tariff, limits, desk.services))


def swapped(network: Network, part: str, other: str) -> Network:
    """The network with one part in the place of another."""
    return replace(
        network,
        devices=tuple(replace(row, part=other) if row.part == part else row for row in network.devices),
    )


@pytest.fixture(scope="module")
def walkup(desk: Any) -> Design:
    return desk.demo("walkup_8")


def test_a_pinned_tap_value_stays(walkup: Design, desk: Any) -> None:
    stands = next(row for row in walkup.chosen.network.devices if row.place == "C1")
    assert all(row.part != "tap-8-14" for row in walkup.chosen.network.devices)
    pin = swapped(kept(walkup.chosen.network, {"C1"}), stands.part, "tap-8-14")
    pin = replace(pin, devices=tuple(device for device in pin.devices if device.part == "tap-8-14"))
    assert len(pin.devices) == 1
    made = desk.design(walkup.building, keep=pin)
    parts = [row.part for row in made.chosen.network.devices if row.place == "C1"]
    assert [part for part in parts if part.startswith("tap-")] == ["tap-8-14"]
    assert made.chosen.serves_all


def test_a_pinned_amplifier_stays(walkup: Design, desk: Any) -> None:
    amplifier = next(row.part for row in walkup.chosen.network.devices if row.place == "HE")
    assert amplifier != "launch-large"
    pin = swapped(kept(walkup.chosen.network, {"HE"}), amplifier, "launch-large")
    made = desk.design(walkup.building, keep=pin)
    parts = [row.part for row in made.chosen.network.devices if row.place == "HE"]
    assert "launch-large" in parts
    assert amplifier not in parts


def test_a_pinned_plate_stays_at_its_outlet_alone(walkup: Design, desk: Any) -> None:
    pin = swapped(kept(walkup.chosen.network, {"1B-1"}), "outlet-end", "outlet-three-end")
    made = desk.design(walkup.building, keep=pin)
    plates = {row.place: row.part for row in made.chosen.network.devices}
    assert plates["1B-1"] == "outlet-three-end"
    assert plates["1B-2"] == "outlet-end"


def loss_of_run(design: Design, way: str) -> Any:
    """Loss of the one run along a way, at each carrier."""
    run = next(row for row in design.chosen.network.runs if row.ways == (way,))
    report = design.chosen.report
    count = len(report.carriers)
    start = report.level_dbmv[report.ports.index(run.start), :count]
    return start - report.input_dbmv[report.devices.index(run.end), :count]


@pytest.mark.parametrize(
    ("existing", "series", "factor"),
    [
        (ExistingCable(fate="keep"), "59", 1.2),
        (ExistingCable(fate="keep-if-tests-well", cable="59-catv"), "59", 1.0),
        (ExistingCable(fate="keep", cable="6-catv"), "6", 1.0),
        (ExistingCable(fate="keep", cable="6-catv", loss_db=4.0, loss_mhz=600.0), "6", None),
    ],
)
def test_coax_that_stays_costs_nothing_and_loses_what_it_loses(
    existing: ExistingCable, series: str, factor: float | None, walkup: Design, desk: Any
) -> None:
    way = next(row for row in walkup.building.ways if row.end == "1D")
    made = desk.design(with_existing(walkup.building, way.id, existing))
    run = next(row for row in made.chosen.network.runs if row.ways == (way.id,))
    ways = {row.id: WayKind(way=row.id, kind=row.kind, length_m=row.pulled_m) for row in walkup.building.ways}
    assert run.existing
    assert run.id not in legs_of(made.chosen.network, ways)
    assert made.chosen.cost_cents < walkup.chosen.cost_cents
    assert made.chosen.serves_all
    cable = desk.library.catalogue.cable(run.cable)
    assert cable.series == series
    lost = loss_of_run(made, way.id)
    frequency = np.asarray([row.frequency_mhz for row in made.chosen.report.carriers])
    joints = 2 * 0.1 * np.sqrt(frequency / 1000.0)
    table = cable.loss_db_per_100m.at(frequency, "cable") / 100.0 * way.length_m
    if factor is None:
        at_600 = cable.loss_db_per_100m.at_one(600.0) / 100.0 * way.length_m
        factor = 4.0 / at_600
    np.testing.assert_allclose(lost, joints + factor * table, atol=1e-9)


@pytest.mark.parametrize("fate", ["replace", "abandon"])
def test_coax_that_goes_counts_for_nothing(fate: Any, walkup: Design, desk: Any) -> None:
    way = next(row for row in walkup.building.ways if row.end == "1D")
    made = desk.design(with_existing(walkup.building, way.id, ExistingCable(fate=fate)))
    assert made.chosen.cost_cents == walkup.chosen.cost_cents
    assert not any(run.existing for run in made.chosen.network.runs)


def hopeless(desk: Any) -> Building:
    """The walk-up with a weak feed and no house power anywhere."""
    document = desk.document("walkup_8")
    for spot in (document["headend"], *document["closets"]):
        spot["mains"] = False
    for carrier in document["feed"]["carriers"]:
        carrier["level_dbmv"] = 3.0
    return desk.building(document)


@pytest.fixture(scope="module")
def dark(desk: Any) -> Design:
    return desk.design(hopeless(desk))


def test_a_building_that_cannot_be_served_says_who_misses_what(dark: Design) -> None:
    chosen = dark.chosen
    assert not chosen.serves_all
    assert {served.outlet for served in chosen.network.served} == {row.id for row in dark.building.outlets}
    low = [finding for finding in chosen.findings if finding.rule == "level-low"]
    level = chosen.report.outlet_level_dbmv
    names = [served.outlet for served in chosen.report.outlets]
    missing = {name for name, row in zip(names, level, strict=True) if row.min() < -10.0}
    assert missing
    assert {name for finding in low for name in finding.where} == missing
    assert min(finding.measured for finding in low) == pytest.approx(float(level.min()))
    assert "policy-window" in {finding.rule for finding in chosen.findings}
    assert not chosen.certificate.proven


def test_every_rescue_said_to_work_serves_the_building(dark: Design, desk: Any) -> None:
    assert dark.rescues
    working = [rescue for rescue in dark.rescues if rescue.works]
    assert working
    powered = {"house power at the head-end HE": "HE", "house power at C1": "C1"}
    tried = 0
    for rescue in dark.rescues:
        place = powered.get(rescue.change)
        if place is None:
            continue
        tried += 1
        places = tuple(replace(row, mains=True) if row.id == place else row for row in dark.building.places)
        served = desk.design(replace(dark.building, places=places)).chosen
        assert served.serves_all == rescue.works
    assert tried


def test_the_feed_is_raised_by_no_more_decibels_than_needed(dark: Design, desk: Any) -> None:
    (rescue,) = [row for row in dark.rescues if row.change.startswith("a feed ")]
    assert rescue.works
    needed = float(rescue.change.split()[2])

    def served(by_db: float) -> bool:
        feed = dark.building.feed
        lines = tuple(replace(line, level_dbmv=line.level_dbmv + by_db) for line in feed.carriers)
        building = replace(dark.building, feed=replace(feed, carriers=lines))
        return bool(desk.design(building).chosen.serves_all)

    assert served(needed)
    assert not served(needed - 2.0)


def test_rules_of_the_policy_and_larger_cable_are_tried_too(dark: Design) -> None:
    tried = {rescue.change for rescue in dark.rescues}
    assert "series 11 from closet to outlet" in tried
    assert "design margins off (limits themselves)" in tried
    assert "no spare ports and no reserve at flats" in tried
    assert not any(", and " in change for change in tried)


def test_two_changes_together_are_tried_where_none_alone_serves(desk: Any) -> None:
    building = hopeless(desk)
    lines = tuple(replace(line, level_dbmv=-30.0) for line in building.feed.carriers)
    answer = desk.design(replace(building, feed=replace(building.feed, carriers=lines)))
    alone = [rescue for rescue in answer.rescues if ", and " not in rescue.change]
    pairs = [rescue for rescue in answer.rescues if ", and " in rescue.change]
    assert not any(rescue.works for rescue in alone)
    assert [rescue.works for rescue in pairs].count(True) == 1
    assert pairs[-1].works


def test_a_rescue_that_fails_names_no_price(dark: Design) -> None:
    for rescue in dark.rescues:
        assert (rescue.cost_cents is not None) == rescue.works
        assert rescue.note


def test_no_rescue_is_tried_where_everybody_is_served(walkup: Design) -> None:
    assert walkup.chosen.serves_all
    assert walkup.rescues == ()


@pytest.mark.parametrize("level_dbmv", [-17.0, -22.0, -40.0])
def test_a_weak_feed_is_answered_with_an_amplifier_and_a_finding_on_its_input(
    desk: Any, level_dbmv: float
) -> None:
    document = desk.document("smallest")
    for carrier in document["feed"]["carriers"]:
        carrier["level_dbmv"] = level_dbmv
    chosen = desk.design(desk.building(document)).chosen
    parts = {row.id: row for row in desk.library.catalogue.parts}
    assert any(parts[device.part].active is not None for device in chosen.network.devices)
    # −40 dBmV lies 17 dB above thermal noise in 6 MHz (−57.44 dBmV), under the 20 dB that the limits ask for.
    assert chosen.serves_all == (level_dbmv > -30.0)
    rules = {finding.rule for finding in chosen.findings}
    assert ("amplifier-input-low" if chosen.serves_all else "level-low") in rules


def test_a_bound_holds_over_every_route_that_was_tried(desk: Any) -> None:
    made = desk.demo("graph_two_risers")
    building = made.building
    tariff, limits = desk.library.tariffs[building.tariff], desk.limits[building.rules.limits]
    sites = [
        survey(building, route, desk.library.catalogue, tariff, limits, desk.services)
        for route in candidate_routes(building)
    ]
    found = place(next(site for site in sites if site.layout.route.name == made.route.name))
    assert found is not None
    bounds = [least_bill(site, riser_options(site), found.search.plan.target) for site in sites]
    assert len(set(bounds)) > 1
    assert made.chosen.certificate.bound_cents == min(bound for bound in bounds if bound is not None)


def test_every_route_is_told_with_what_came_of_it_and_the_cheapest_is_taken(desk: Any) -> None:
    made = desk.demo("graph_two_risers")
    tried = made.tried_routes
    assert [row.name for row in tried] == [route.name for route in candidate_routes(made.building)]
    taken = [row for row in tried if row.chosen]
    assert [row.name for row in taken] == [made.route.name]
    assert taken[0].cost_cents == made.chosen.cost_cents
    assert taken[0].cost_cents == min(row.cost_cents for row in tried if row.fits)


def test_a_bound_lies_below_the_cost_without_being_cut_to_it(desk: Any) -> None:
    for name in ("walkup_8", "townhouse_row", "walkup_6_no_closets", "europe_two_stairs"):
        building = desk.building(desk.document(name))
        found = placed(desk, building, tree_route(building))
        assert found is not None
        told = bounded(found, [found.search.site])
        assert 0 < told.bound_cents <= found.cost_cents, name


def test_a_kept_network_of_a_kind_the_search_does_not_list_is_not_called_proven(desk: Any) -> None:
    building = desk.building(desk.document("walkup_6_no_closets"))
    found = placed(desk, building, tree_route(building))
    assert found is not None
    found = bounded(found, [found.search.site])
    assert certificate_of(replace(found, bound_cents=found.cost_cents)).proven
    assert "no lower bound is known" in certificate_of(replace(found, bound_cents=0)).statement
    told = certificate_of(replace(found, listed=False, bound_cents=found.cost_cents + 1))
    assert not told.proven
    assert told.bound_cents <= told.cost_cents
