"""When nothing serves all: the smallest changes that might, each tried, not guessed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from service.engine.building.places import Building
from service.engine.placement.place import place
from service.engine.placement.proposal import Rescue
from service.engine.placement.propose import propose
from service.engine.placement.site import Site, survey

#: Closets that a further powered place is tried at, spread over the building.
MOST_POWER_TRIES = 3


def _powered(building: Building, places: frozenset[str]) -> Building:
    """The building with house power at these places too."""
    return replace(
        building,
        places=tuple(replace(row, mains=True) if row.id in places else row for row in building.places),
    )


def changes(site: Site) -> Iterator[tuple[str, Building]]:
    """Changed buildings worth trying, smallest change first."""
    building = site.building
    closets = [closet.place for closet in site.layout.closets]
    if not closets[0].mains:
        yield f"house power at the head-end {closets[0].id}", _powered(building, frozenset({closets[0].id}))
    dark = [place_.id for place_ in closets[1:] if not place_.mains and place_.kind == "closet"]
    for number in range(1, MOST_POWER_TRIES + 1):
        if len(dark) >= MOST_POWER_TRIES:
            chosen = dark[number * len(dark) // (MOST_POWER_TRIES + 1)]
            yield f"house power at {chosen}", _powered(building, frozenset({chosen}))
    if len(dark) >= MOST_POWER_TRIES:
        every = frozenset(dark[:: max(1, len(dark) // 4)])
        yield f"house power at {', '.join(sorted(every))}", _powered(building, every)
    if building.wishes.riser_cable not in ("11", None):
        yield "series 11 in the riser", replace(building, wishes=replace(building.wishes, riser_cable="11"))
    if building.wishes.drop_cable != "11":
        yield (
            "series 11 from closet to outlet",
            replace(building, wishes=replace(building.wishes, drop_cable="11")),
        )
    policy = building.policy
    if policy.margins:
        yield (
            "design margins off (limits themselves)",
            replace(building, policy=replace(policy, margins=False)),
        )
    if policy.fault_domain:
        yield "longer legs allowed", replace(building, policy=replace(policy, fault_domain=False))


def try_rescues(site: Site) -> tuple[Rescue, ...]:
    """Design the building under each change and say what came of it."""
    found = []
    for name, building in changes(site):
        quick = replace(building, wishes=replace(building.wishes, effort="quick"))
        changed = survey(
            quick, site.layout.route, site.catalogue, site.tariff, site.limits, site.services, site.keep
        )
        placed = place(changed)
        if placed is None:
            found.append(Rescue(change=name, works=False, cost_cents=None, note="no network at all"))
            continue
        proposal = propose(changed, placed)
        works = placed.fits and proposal.serves_all
        miss = f"still misses the window by {placed.solution.miss_db:.1f} dB"
        broken = next((row.text for row in proposal.findings if row.severity == "breaks"), miss)
        found.append(
            Rescue(
                change=name,
                works=works,
                cost_cents=proposal.cost_cents if works else None,
                note="serves every outlet" if works else broken,
            )
        )
    return tuple(found)
