"""The main verb: a building in, a design out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from service.engine.analysis import analyse
from service.engine.building.places import Building
from service.engine.findings import Finding, worst_first
from service.engine.placement.certify import certificate_of, released_findings
from service.engine.placement.place import Candidate, place
from service.engine.placement.proposal import Design, Proposal
from service.engine.placement.rescues import try_rescues
from service.engine.placement.site import Site, survey
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Network
from service.engine.plant.tariff import Tariff
from service.engine.propagation.spread import Conditions
from service.engine.routes.candidates import candidate_routes
from service.engine.signal.limits import Limits
from service.engine.signal.spectrum import Service


def design(
    building: Building,
    catalogue: Catalogue,
    tariff: Tariff,
    limits: Limits,
    services: Mapping[str, Service],
    *,
    keep: Network | None = None,
) -> Design:
    """Design the distribution of one valid building: the best network found, its proof and its figures.

    `keep` pins devices and runs of an earlier network. Every candidate route is tried and the cheapest design
    that fits is chosen. A building that can't be served is answered with the closest design and with the
    changes that were tried; nothing is raised for it. Same input, same answer.
    """
    best: tuple[Site, Candidate] | None = None
    for route in candidate_routes(building):
        site = survey(building, route, catalogue, tariff, limits, services, keep)
        placed = place(site)
        if placed is None:
            continue
        key = (not placed.best.fits, placed.best.cost_cents)
        if best is None or key < (not best[1].fits, best[1].cost_cents):
            best = (site, placed.best)
    if best is None:
        raise ValueError(f"building {building.id} holds nothing that could be fed")
    site, found = best
    chosen = propose(site, found)
    rescues = () if chosen.serves_all else try_rescues(site)
    return Design(
        building=building,
        route=site.layout.route,
        chosen=chosen,
        rescues=rescues,
        assumptions=building.assumptions,
    )


def propose(site: Site, found: Candidate) -> Proposal:
    """A candidate with everything that is said about it."""
    building = site.building
    policy = building.policy
    survey_share = 0.03 if all(way.survey == "walked" for way in building.ways) else 0.10
    told = analyse(
        found.solution.network,
        site.catalogue,
        site.limits,
        site.services,
        conditions=Conditions(length_share=survey_share),
        margins=policy.margins,
    )
    findings: tuple[Finding, ...] = worst_first((*told.findings, *released_findings(site, found)))
    return Proposal(
        label="cheapest",
        network=replace(found.solution.network, id=building.id, name=building.name),
        cost_cents=found.cost_cents,
        report=told.report,
        margins=told.margins,
        findings=findings,
        certificate=certificate_of(found),
    )
