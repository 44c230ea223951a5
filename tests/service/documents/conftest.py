"""Designs made from kept networks, so that drawings and reports are tested apart from the search for them."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pytest

from service.documents.book import imprint_of
from service.documents.report import Trade
from service.documents.table import Imprint
from service.engine.analysis import analyse
from service.engine.placement.proposal import Certificate, Design, Proposal
from service.engine.plant.tariff import WayKind, network_cents
from service.engine.routes.plan import RoutePlan
from service.forms.building import read_building
from service.forms.known import Known
from service.forms.network import read_network
from service.library.contents import library
from service.library.profiles import load_limits, load_plans, load_services

FIXTURES = Path(__file__).parents[3] / "fixtures"


@cache
def known() -> Known:
    return Known(
        catalogue=library().catalogue, limits=load_limits(), plans=load_plans(), services=load_services()
    )


@cache
def kept_design(name: str) -> Design:
    """The demo building of that name with the network that is kept for it, judged as it stands."""
    document = json.loads((FIXTURES / "buildings" / f"{name}.json").read_text(encoding="utf-8"))
    building = read_building(document, known(), library().tariffs).building
    assert building is not None
    kept = json.loads((FIXTURES / "drawings" / f"{name}.network.json").read_text(encoding="utf-8"))
    form, faults = read_network(kept, known())
    assert form is not None, faults
    limits = known().limits[building.rules.limits]
    analysis = analyse(
        form.network, form.catalogue, limits, known().services, margins=building.policy.margins
    )
    ways = {way.id: WayKind(way=way.id, kind=way.kind, length_m=way.pulled_m) for way in building.ways}
    cost = network_cents(form.network, library().tariffs[building.tariff], ways)
    certificate = Certificate(
        cost_cents=cost, bound_cents=0, proven=False, statement="Not proven: kept as it is."
    )
    chosen = Proposal(
        label="kept",
        network=form.network,
        cost_cents=cost,
        report=analysis.report,
        margins=analysis.margins,
        findings=analysis.findings,
        certificate=certificate,
    )
    route = RoutePlan(name="kept", root=building.headend, hops=())
    return Design(building=building, route=route, chosen=chosen, assumptions=building.assumptions)


def trade_of(design: Design) -> Trade:
    packaged = library()
    return Trade(
        catalogue=packaged.catalogue,
        tariff=packaged.tariffs[design.building.tariff],
        limits=known().limits[design.building.rules.limits],
        services=known().services,
        symbols={name: family.symbol for name, family in packaged.families.items()},
        sources=packaged.sources,
    )


class Bench:
    """What the tests of documents work with."""

    design = staticmethod(kept_design)
    trade = staticmethod(trade_of)
    drawings = FIXTURES / "drawings"

    @staticmethod
    def imprint(design: Design) -> Imprint:
        return imprint_of(design, design_id="kept")


@pytest.fixture(scope="session")
def bench() -> Bench:
    return Bench()
