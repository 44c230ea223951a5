"""Other designs worth a person's choice: each best at something, none worse than another at everything."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from service.engine.building.places import Building
from service.engine.placement.balance import balanced
from service.engine.placement.place import bounded, place
from service.engine.placement.proposal import Proposal
from service.engine.placement.propose import propose
from service.engine.placement.site import Site, survey
from service.engine.placement.used import building_spread_db
from service.engine.plant.catalogue import Catalogue

#: Designs shown beside the chosen one, at most.
MOST_ALTERNATIVES = 4


def _wishes(building: Building) -> Iterator[tuple[str, Building]]:
    """What else to aim at, by the label that the design would carry."""
    plain = replace(building.wishes, effort="normal")
    yield "cheapest", replace(building, wishes=replace(plain, aim="cheapest"))
    yield "simplest", replace(building, wishes=replace(plain, aim="simplest"))
    yield "most balanced", replace(building, wishes=replace(plain, aim="balanced"))
    one = replace(building.policy, most_amplifiers_in_series=0)
    yield "fewest powered places", replace(building, wishes=plain, policy=one)


def merits(proposal: Proposal, catalogue: Catalogue) -> tuple[float, ...]:
    """What a person weighs, less is better: cost, margin missing, spread, kinds of parts, powered places."""
    margin = proposal.margins.worst.margin_db if proposal.margins.worst is not None else 0.0
    parts = {device.part for device in proposal.network.devices}
    powered = {
        device.place
        for device in proposal.network.devices
        if catalogue.part(device.part).power.supply == "mains"
    }
    return (
        float(proposal.cost_cents),
        -round(margin, 2),
        round(building_spread_db(proposal.report), 2),
        float(len(parts)),
        float(len(powered)),
    )


def other_designs(site: Site, chosen: Proposal) -> tuple[Proposal, ...]:
    """Designs with other aims that serve all and that neither the chosen one nor each other beats in every merit."""
    kept: list[tuple[tuple[float, ...], Proposal]] = [(merits(chosen, site.catalogue), chosen)]
    for label, building in _wishes(site.building):
        other = survey(
            building, site.layout.route, site.catalogue, site.tariff, site.limits, site.services, site.keep
        )
        placed = place(other)
        if placed is None or not placed.fits:
            continue
        found = bounded(balanced(other, placed).candidate, [other])
        proposal = replace(propose(other, found), label=label)
        merit = merits(proposal, site.catalogue)
        if proposal.serves_all and not any(_beats(before, merit) for before, _ in kept):
            kept = [row for row in kept if row[1] is chosen or not _beats(merit, row[0])]
            kept.append((merit, proposal))
    others = sorted((row for row in kept if row[1] is not chosen), key=lambda row: row[0])
    return tuple(proposal for _, proposal in others[:MOST_ALTERNATIVES])


def _beats(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    """True when one is nowhere worse than the other: it makes the other pointless."""
    return all(a <= b for a, b in zip(one, other, strict=True))
