"""Other designs worth a person's choice: each the best at something, none worse than another at everything.

Cheapest and most balanced come from the curve of the search that is done already. The others are solved on its plan,
with few tables: amplifiers made so dear that as few as possible stand, the launch set as low as three per cent more
money allows, few kinds of part. Thorough effort searches anew for each aim.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from service.engine.placement.balance import Balanced, Step, balanced, step_of
from service.engine.placement.place import Candidate, bounded, place
from service.engine.placement.proposal import Choice, Proposal
from service.engine.placement.propose import LABELS, propose
from service.engine.placement.search import allowance
from service.engine.placement.site import Site, survey
from service.engine.placement.tightening import SIMPLER_SHARE
from service.engine.placement.used import building_spread_db, kinds_of
from service.engine.placement.variants import CHOICE_SOLVES, fewest_amplifiers, fewest_kinds, lowest_launch
from service.engine.plant.catalogue import Catalogue

#: Designs shown beside the chosen one, at most.
MOST_ALTERNATIVES = 4
#: What a label's own merit must win over the chosen design to be worth a choice: cents, dB, dB, kinds, places, dB.
WORTH = {
    "cheapest": 1.0,
    "most balanced": 0.5,
    "simplest": 1.0,
    "fewest powered places": 1.0,
    "lowest launch": 1.0,
}
_MERIT = {"cheapest": 0, "most balanced": 2, "simplest": 3, "fewest powered places": 4, "lowest launch": 5}


def choice_of(proposal: Proposal, catalogue: Catalogue, headend: str, *, chosen: bool) -> Choice:
    """A design in the figures that a person weighs."""
    report, network = proposal.report, proposal.network
    worst = proposal.margins.worst
    powered = {
        device.place for device in network.devices if catalogue.part(device.part).power.supply == "mains"
    }
    here = {device.id for device in network.devices if device.place == headend}
    here |= {feed.id for feed in network.feeds}
    rows = [row for row, port in enumerate(report.ports) if port.device in here]
    launched = report.level_dbmv[rows][:, : len(report.carriers)]
    return Choice(
        label=proposal.label,
        cost_cents=proposal.cost_cents,
        margin_db=worst.margin_db if worst is not None else 0.0,
        spread_db=building_spread_db(report),
        kinds=len(kinds_of(network)),
        powered_places=len(powered),
        launch_dbmv=float(np.nanmax(launched)),
        serves_all=proposal.serves_all,
        chosen=chosen,
        recommended=proposal.label == "simplest",
    )


def merits(choice: Choice) -> tuple[float, ...]:
    """What a person weighs, less is better: cost, margin missing, spread, kinds, powered places, launch."""
    return (
        float(choice.cost_cents),
        -round(choice.margin_db, 2),
        round(choice.spread_db, 2),
        float(choice.kinds),
        float(choice.powered_places),
        round(choice.launch_dbmv, 1),
    )


def other_designs(site: Site, balance: Balanced, chosen: Proposal) -> tuple[Proposal, ...]:
    """Designs that serve all, each clearly best at what its label says, none beaten by another in every merit."""
    headend = site.building.headend

    def weighed(proposal: Proposal) -> tuple[float, ...]:
        return merits(choice_of(proposal, site.catalogue, headend, chosen=False))

    kept = [(weighed(chosen), chosen)]
    for label, candidate in _candidates(site, balance):
        if not candidate.fits or label == chosen.label:
            continue
        proposal = replace(propose(site, candidate), label=label)
        merit = weighed(proposal)
        better = kept[0][0][_MERIT[label]] - merit[_MERIT[label]]
        if not proposal.serves_all or better < WORTH[label] - 1e-9:
            continue
        if any(_beats(before, merit) for before, _ in kept):
            continue
        kept = [row for row in kept if row[1] is chosen or not _beats(merit, row[0])]
        kept = [row for row in kept if row[1].label != label or row[1] is chosen] + [(merit, proposal)]
    others = sorted((row for row in kept if row[1] is not chosen), key=lambda row: row[0])
    return tuple(proposal for _, proposal in others[:MOST_ALTERNATIVES])


def _beats(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    """True when one is nowhere worse than the other: it makes the other pointless."""
    return all(a <= b for a, b in zip(one, other, strict=True))


def _candidates(site: Site, balance: Balanced) -> Iterator[tuple[str, Candidate]]:
    """Candidates by the label that they may carry."""
    found, search = balance.candidate, balance.candidate.search
    if site.building.wishes.effort == "thorough":
        yield from _searched(site)
    if not balance.steps or search.cheapest is None:
        return
    least = balance.steps[0]
    yield "cheapest", _as_candidate(found, least)
    within = least.cost_cents * (1.0 + SIMPLER_SHARE)
    even = min((step for step in balance.steps if step.cost_cents <= within), key=lambda step: step.spread_db)
    yield "most balanced", _as_candidate(found, even)
    solves = allowance(CHOICE_SOLVES, site)
    for label, solve in (
        ("fewest powered places", fewest_amplifiers),
        ("lowest launch", lowest_launch),
        ("simplest", fewest_kinds),
    ):
        if solves <= 0:
            return
        if label == LABELS[site.building.wishes.aim]:
            continue
        solution, used = solve(search, least.solution, solves)
        solves -= used
        if solution is not None:
            yield label, _as_candidate(found, step_of(search, None, solution))


def _as_candidate(found: Candidate, step: Step) -> Candidate:
    """The candidate with another design of the same search. What its rules cost was told of the first one."""
    return replace(
        found,
        solution=step.solution,
        cost_cents=step.cost_cents,
        bound_cents=found.bound_cents if found.bound_cents <= step.cost_cents else 0,
        prices=(),
        unpriced=(),
        free_cents=None,
    )


def _searched(site: Site) -> Iterator[tuple[str, Candidate]]:
    """A whole search for each aim."""
    for aim, label in LABELS.items():
        wishes = replace(site.building.wishes, effort="normal", aim=aim)
        other = survey(
            replace(site.building, wishes=wishes),
            site.layout.route,
            site.catalogue,
            site.tariff,
            site.limits,
            site.services,
            site.keep,
        )
        placed = place(other)
        if placed is not None:
            yield label, bounded(balanced(other, placed).candidate, [other])
