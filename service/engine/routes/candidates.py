"""Candidate trees for a building whose ways form a graph; the design is made on each and the best kept."""

from __future__ import annotations

from service.engine.building.places import Building
from service.engine.routes.graph import UnreachableError, WayGraph, way_graph
from service.engine.routes.light import light_tree
from service.engine.routes.plan import RoutePlan
from service.engine.routes.shortest import Tree, shortest_path_tree
from service.engine.routes.steiner import steiner_tree_of
from service.engine.routes.tree import hops_under, is_tree, tree_route

LIGHT_ALPHAS = (1.2, 1.5)
MOST_RISERS = 6


def candidate_routes(building: Building) -> tuple[RoutePlan, ...]:
    """The only route of a tree, or several of a graph: shortest paths, least length, between both, one riser
    only.

    Alike trees are returned once, under the first name. Every outlet is a leaf on its own way. Raises
    UnreachableError when the ways do not reach a place that outlets hang on: the validator of buildings has
    said so before.
    """
    if is_tree(building):
        return (tree_route(building),)
    graph = way_graph(building)
    least = steiner_tree_of(graph)
    trees: list[tuple[str, Tree]] = [
        ("shortest paths", shortest_path_tree(graph)),
        ("least length" if least.exact else "near least length", least.tree),
    ]
    trees += [(f"paths within {alpha:g}", light_tree(graph, least.tree, alpha)) for alpha in LIGHT_ALPHAS]
    for riser, other_ways in _risers(building, graph):
        try:
            trees.append((f"riser of {riser} only", steiner_tree_of(graph.without(other_ways)).tree))
        except UnreachableError:
            continue
    plans: dict[frozenset[str], RoutePlan] = {}
    for name, tree in trees:
        plan = _plan(building, name, tree)
        plans.setdefault(frozenset(hop.way for hop in plan.hops), plan)
    return tuple(plans.values())


def _plan(building: Building, name: str, tree: Tree) -> RoutePlan:
    """A tree of places with every outlet on its own way."""
    outlets = {outlet.id for outlet in building.outlets}
    ways = [(edge.way, edge.start, edge.end) for edge in tree.values()]
    ways += [
        (way.id, way.start, way.end) for way in building.ways if way.start in outlets or way.end in outlets
    ]
    return RoutePlan(name=name, root=building.headend, hops=hops_under(building.headend, ways))


def _risers(building: Building, graph: WayGraph) -> list[tuple[str, frozenset[str]]]:
    """Each riser's least place, and the ways of all other risers of its block.

    A riser is a set of closets and junctions joined by ways between floors; the head-end belongs to none.
    """
    places = {place.id: place for place in building.places}
    vertical = [
        edge
        for edge in graph.edges
        if building.headend not in (edge.start, edge.end)
        and places[edge.start].block == places[edge.end].block
        and places[edge.start].floor != places[edge.end].floor
        and "panel" not in (places[edge.start].kind, places[edge.end].kind)
    ]
    group = {end: end for edge in vertical for end in (edge.start, edge.end)}

    def top(place: str) -> str:
        while group[place] != place:
            place = group[place]
        return place

    for edge in vertical:
        first, second = sorted((top(edge.start), top(edge.end)))
        group[second] = first
    names = sorted({top(place) for place in group})
    if not 1 < len(names) <= MOST_RISERS:
        return []
    ways = {name: frozenset(edge.way for edge in vertical if top(edge.start) == name) for name in names}
    return [
        (
            name,
            frozenset(
                way
                for other in names
                if other != name and places[other].block == places[name].block
                for way in ways[other]
            ),
        )
        for name in names
    ]
