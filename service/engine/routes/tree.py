"""The tree of a building whose ways form one: every place's way toward the head-end."""

from __future__ import annotations

from service.engine.building.places import Building
from service.engine.routes.plan import Hop, RoutePlan


def is_tree(building: Building) -> bool:
    """True when the ways leave no choice: one fewer than places, none between the same two places twice."""
    pairs = {frozenset((way.start, way.end)) for way in building.ways}
    return len(pairs) == len(building.ways) == len(building.places) - 1


def hops_under(root: str, ways: list[tuple[str, str, str]]) -> tuple[Hop, ...]:
    """Hops of a tree given by its ways (id, one end, other end), parents first, children by id.

    Ways that hang on nothing under `root` are left out.
    """
    beside: dict[str, list[tuple[str, str]]] = {}
    for way, start, end in ways:
        beside.setdefault(start, []).append((end, way))
        beside.setdefault(end, []).append((start, way))
    hops: list[Hop] = []
    seen = {root}
    queue = [root]
    for here in queue:
        for place, way in sorted(beside.get(here, ())):
            if place not in seen:
                seen.add(place)
                queue.append(place)
                hops.append(Hop(place=place, parent=here, way=way))
    return tuple(hops)


def tree_route(building: Building) -> RoutePlan:
    """The one route of a building whose ways form a tree (`is_tree`); hops stand parents first."""
    ways = [(way.id, way.start, way.end) for way in building.ways]
    return RoutePlan(name="as drawn", root=building.headend, hops=hops_under(building.headend, ways))
