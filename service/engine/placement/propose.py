"""A candidate with everything that is said about it: figures, findings, certificate."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from service.engine.analysis import analyse
from service.engine.building.places import Aim, Building
from service.engine.findings import worst_first
from service.engine.placement.certify import certificate_of, released_findings
from service.engine.placement.explain import explain
from service.engine.placement.place import Candidate
from service.engine.placement.policy import policy_findings, within_policy
from service.engine.placement.proposal import Proposal
from service.engine.placement.site import Site
from service.engine.propagation.spread import Conditions

#: What the chosen design is called, by the aim of the wishes.
LABELS: Mapping[Aim, str] = {"simplest": "simplest", "cheapest": "cheapest", "balanced": "most balanced"}
#: Error of lengths by how a way was surveyed. Common practice.
LENGTH_SHARE = {"walked": 0.03, "drawings": 0.10, "outline": 0.25}


def conditions_of(building: Building) -> Conditions:
    """Tolerances of a building: its worst survey decides."""
    worst = max((LENGTH_SHARE[way.survey] for way in building.ways), default=LENGTH_SHARE["drawings"])
    return Conditions(length_share=worst)


def propose(site: Site, found: Candidate) -> Proposal:
    """Judge a candidate exactly, with tolerances, inside the building's policy."""
    building = site.building
    told = analyse(
        found.solution.network,
        site.catalogue,
        site.limits,
        site.services,
        conditions=conditions_of(building),
        margins=building.policy.margins,
    )
    return Proposal(
        label=LABELS[building.wishes.aim],
        network=replace(found.solution.network, id=building.id, name=building.name),
        cost_cents=found.cost_cents,
        report=told.report,
        margins=told.margins,
        findings=worst_first(
            (
                *within_policy(told.findings, building.policy),
                *policy_findings(site.layout, found.solution.network, site.catalogue),
                *released_findings(site, found),
            )
        ),
        certificate=certificate_of(found),
        reasons=explain(found.solution.network, site.catalogue, told.report, site.target),
    )
