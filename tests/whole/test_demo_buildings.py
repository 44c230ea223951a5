"""Every demo building that can be served is served, and what is said about it is true of its own network."""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest

from service.documents.network import network_document
from service.engine.analysis import analyse
from service.engine.placement.proposal import Design
from service.engine.plant.tariff import WayKind, network_cents
from service.forms.network import read_network

QUICK = (
    "smallest",
    "v1_example",
    "walkup_8",
    "walkup_6_no_closets",
    "townhouse_row",
    "europe_two_stairs",
    "slab_1968",
    "senior_corridors",
    "graph_two_risers",
)
LARGE = ("slab_14", "garden_12", "tower_40")
DEMOS = [*QUICK, *(pytest.param(name, marks=pytest.mark.slow) for name in LARGE)]


@pytest.fixture(params=DEMOS)
def made(request: pytest.FixtureRequest, desk: Any) -> Design:
    return desk.demo(request.param)


def test_every_outlet_of_a_demo_building_is_served_within_its_window(made: Design) -> None:
    chosen = made.chosen
    broken = [finding for finding in chosen.findings if finding.severity == "breaks"]
    assert broken == []
    assert chosen.serves_all
    assert not made.rescues
    assert {served.outlet for served in chosen.network.served} == {
        outlet.id for outlet in made.building.outlets
    }
    assert chosen.margins.worst is not None
    assert chosen.margins.worst.margin_db > -0.02


def test_the_price_of_a_demo_design_is_the_tariff_over_its_network(made: Design, desk: Any) -> None:
    ways = {way.id: WayKind(way=way.id, kind=way.kind, length_m=way.pulled_m) for way in made.building.ways}
    tariff = desk.library.tariffs[made.building.tariff]
    assert network_cents(made.chosen.network, tariff, ways) == made.chosen.cost_cents
    assert made.chosen.certificate.cost_cents == made.chosen.cost_cents


def test_a_certificate_never_claims_more_than_its_bound(made: Design) -> None:
    certificate = made.chosen.certificate
    assert 0 < certificate.bound_cents <= certificate.cost_cents
    assert certificate.proven == (certificate.bound_cents == certificate.cost_cents)
    assert certificate.gap < 0.5


def test_a_network_document_of_a_demo_design_gives_the_same_levels(made: Design, desk: Any) -> None:
    building, network = made.building, made.chosen.network
    document = network_document(network, limits=building.rules.limits, margins=building.policy.margins)
    form, faults = read_network(document, desk.known)
    assert faults == ()
    assert form is not None
    assert form.network == network
    again = analyse(form.network, form.catalogue, form.limits, desk.services, margins=form.margins)
    report = made.chosen.report
    assert [served.outlet for served in again.report.outlets] == [served.outlet for served in report.outlets]
    np.testing.assert_allclose(again.report.outlet_level_dbmv, report.outlet_level_dbmv, rtol=0, atol=1e-9)
    np.testing.assert_allclose(again.report.cni_db, report.cni_db, rtol=0, atol=1e-9)


def test_no_two_devices_share_a_port_and_every_port_is_used_or_closed(made: Design, desk: Any) -> None:
    network = made.chosen.network
    starts = [run.start for run in network.runs]
    used = [*starts, *(served.port for served in network.served), *network.terminated]
    assert len(set(used)) == len(used)
    ports = sum(
        group.count for device in network.devices for group in desk.library.catalogue.part(device.part).groups
    )
    assert len(used) == ports + sum(feed.outputs for feed in network.feeds)


@pytest.mark.parametrize("name", ["smallest", "walkup_8", "graph_two_risers"])
def test_the_same_building_twice_gives_the_same_design(name: str, desk: Any) -> None:
    first, again = desk.demo(name), desk.design(desk.building(desk.document(name)))
    assert again.chosen.network == first.chosen.network
    assert again.chosen.findings == first.chosen.findings


@pytest.mark.parametrize("name", ["smallest", "walkup_8", "townhouse_row"])
def test_the_order_of_rows_never_matters(name: str, desk: Any) -> None:
    document = desk.document(name)
    for rows in (document, document["feed"]):
        for key, value in rows.items():
            if isinstance(value, list) and key != "floors":
                random.Random(key).shuffle(value)
    shuffled = desk.design(desk.building(document))
    assert shuffled.chosen.network.devices == desk.demo(name).chosen.network.devices
    assert shuffled.chosen.network.runs == desk.demo(name).chosen.network.runs
    assert shuffled.chosen.network.served == desk.demo(name).chosen.network.served


@pytest.mark.parametrize("name", ["smallest", "walkup_8", "townhouse_row", "europe_two_stairs"])
def test_designing_a_design_again_changes_nothing(name: str, desk: Any) -> None:
    made = desk.demo(name)
    again = desk.design(made.building, keep=made.chosen.network)
    assert again.chosen.network == made.chosen.network
    assert again.chosen.cost_cents == made.chosen.cost_cents
