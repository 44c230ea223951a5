"""Which service may be judged by which limits: a limit holds for the service it was written for, no other."""

from __future__ import annotations

from service.engine.signal.limits import Limits
from service.engine.signal.spectrum import Service


def pairing_problem(service: Service, limits: Limits) -> str | None:
    """Say what is wrong with judging a service by a profile, or None where the pair is right.

    Wrong are a service of a band the profile was not written for (a satellite service under terrestrial
    limits) and a service the profile has no figure for. A profile with empty `bands` leaves the band open.
    """
    if limits.bands and service.band not in limits.bands:
        bands = " and ".join(limits.bands)
        written_for = f"limits {limits.id} are written for {bands} services"
        return f"{service.id} is a {service.band} service, and {written_for}"
    if limits.service(service.id) is None:
        written_for = ", ".join(limit.service for limit in limits.services) or "no service"
        return f"limits {limits.id} have no figure for {service.id}; they are written for {written_for}"
    return None
