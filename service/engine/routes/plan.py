"""The tree of ways that cables follow: every place's parent and the way between."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Hop:
    """A place's way toward the head-end."""

    place: str
    parent: str
    way: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RoutePlan:
    """A tree over the places under `root`; hops stand parents first. `name` says how it was found."""

    name: str
    root: str
    hops: tuple[Hop, ...]
