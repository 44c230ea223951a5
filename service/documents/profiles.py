"""Limits and channel plans as they are listed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from service.engine.signal.limits import Limits
from service.engine.signal.spectrum import ChannelPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitsLine:
    """A profile of limits in the list; `services` are those it has figures for."""

    id: str
    name: str
    region: str
    services: tuple[str, ...]
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitsFace:
    """Every profile, by id."""

    limits: tuple[LimitsLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanLine:
    """A channel plan in the list; `service` is what its channels carry unless a feed says otherwise."""

    id: str
    name: str
    service: str
    channels: int
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlansFace:
    """Every channel plan, by id."""

    plans: tuple[PlanLine, ...]


def limits_face(profiles: Iterable[Limits]) -> LimitsFace:
    """The list of profiles, by id."""
    lines = (
        LimitsLine(
            id=row.id,
            name=row.name,
            region=row.region,
            services=tuple(limit.service for limit in row.services),
            source=row.source,
        )
        for row in profiles
    )
    return LimitsFace(limits=tuple(sorted(lines, key=lambda line: line.id)))


def plans_face(plans: Iterable[ChannelPlan]) -> PlansFace:
    """The list of channel plans, by id."""
    lines = (
        PlanLine(id=row.id, name=row.name, service=row.service, channels=len(row.channels), source=row.source)
        for row in plans
    )
    return PlansFace(plans=tuple(sorted(lines, key=lambda line: line.id)))
