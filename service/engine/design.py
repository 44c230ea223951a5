"""The main verb: a building in, a design out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from service.engine.building.places import Building
from service.engine.errors import NoNetworkError
from service.engine.placement.alternatives import choice_of, other_designs
from service.engine.placement.balance import balanced, curve_of
from service.engine.placement.place import Candidate, bounded, place, unchanged
from service.engine.placement.price import priced
from service.engine.placement.proposal import Design, Rescue, TriedRoute
from service.engine.placement.propose import propose
from service.engine.placement.rescues import try_rescues
from service.engine.placement.site import Site, survey
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Network
from service.engine.plant.tariff import Tariff
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
    changes that were tried; nothing is raised for it. Where no network can be built at all, because a closet may
    hold too little for what hangs on it or parts have no price, NoNetworkError is raised. But for
    quick effort the answer carries other designs worth a choice. Same input, same answer.
    """
    tried: list[tuple[Site, Candidate | None]] = []
    for route in candidate_routes(building):
        site = survey(building, route, catalogue, tariff, limits, services, keep)
        tried.append((site, place(site)))
    built = [(site, placed) for site, placed in tried if placed is not None]
    if not built:
        raise NoNetworkError(building=building.id)
    site, found = min(built, key=lambda row: (not row[1].fits, row[1].cost_cents))
    balance = balanced(site, priced(site, found))
    # A bound holds for its own route: over all of them the least does.
    found = bounded(balance.candidate, [one for one, _ in built])
    if keep is not None:
        found = unchanged(site, found, keep)
    chosen = propose(site, found)
    routes = tuple(_tried(one, placed, chosen=one is site) for one, placed in tried)
    rescues = () if chosen.serves_all else (*try_rescues(site, found), *_other_routes(routes))
    others = other_designs(site, replace(balance, candidate=found), chosen) if chosen.serves_all else ()
    return Design(
        building=building,
        route=site.layout.route,
        chosen=chosen,
        alternatives=others,
        choices=tuple(
            choice_of(one, catalogue, building.headend, chosen=one is chosen) for one in (chosen, *others)
        ),
        curve=curve_of(balance.steps, found),
        rescues=rescues,
        tried_routes=routes,
        assumptions=building.assumptions,
    )


def _tried(site: Site, placed: Candidate | None, *, chosen: bool) -> TriedRoute:
    """What came of one route."""
    route, ways = site.layout.route, site.ways
    return TriedRoute(
        name=route.name,
        length_m=sum(ways[hop.way].length_m for hop in route.hops),
        cost_cents=None if placed is None else placed.cost_cents,
        fits=placed is not None and placed.fits,
        chosen=chosen,
    )


def _other_routes(routes: tuple[TriedRoute, ...]) -> tuple[Rescue, ...]:
    """Other routes and risers as changes that were tried: had one served, it would have been chosen."""
    return tuple(
        Rescue(
            change=f"the route of {route.name}",
            works=False,
            cost_cents=None,
            note="no network along it" if route.cost_cents is None else "no network along it fits the window",
        )
        for route in routes
        if not route.chosen and not route.fits
    )
