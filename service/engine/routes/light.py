"""Light approximate shortest-path trees: little longer than the least tree, no path much longer than the
shortest.

Source: Khuller, Raghavachari, Young, "Balancing minimum spanning trees and shortest-path trees", Algorithmica
14, 305-321, 1995: a path is at most alpha times the shortest, and from a minimum spanning tree the total at
most 1 + 2/(alpha - 1) times it.
"""

from __future__ import annotations

from service.engine.routes.graph import WayGraph
from service.engine.routes.shortest import Tree, pruned, shortest_paths


def light_tree(graph: WayGraph, start: Tree, alpha: float) -> Tree:
    """Walk the tree `start`; wherever a path exceeds alpha times the shortest, take the shortest from there.

    Every path of the result is at most `alpha` times as long as the shortest one; `alpha` is above 1.
    """
    shortest, before = shortest_paths(graph)
    edges = {frozenset((edge.start, edge.end)): edge.length_m for edge in graph.edges}
    below: dict[str, list[str]] = {}
    for place, edge in sorted(start.items()):
        below.setdefault(edge.start if edge.end == place else edge.end, []).append(place)
    reached = {graph.root: 0.0}
    parent: dict[str, str] = {}

    def relax(tail: str, head: str) -> None:
        length = reached[tail] + edges[frozenset((tail, head))]
        if head != graph.root and length < reached.get(head, float("inf")) - 1e-9:
            reached[head], parent[head] = length, tail

    def take_shortest(place: str) -> None:
        path = [place]
        while path[-1] != graph.root:
            path.append(before[path[-1]])
        for tail, head in zip(reversed(path[1:]), reversed(path[:-1]), strict=True):
            relax(tail, head)

    stack = [(graph.root, iter(below.get(graph.root, ())))]
    while stack:
        here, children = stack[-1]
        child = next(children, None)
        if child is None:
            stack.pop()
            if stack and here not in graph.leaves:
                relax(here, stack[-1][0])
            continue
        relax(here, child)
        if reached[child] > alpha * shortest[child] + 1e-9:
            take_shortest(child)
        stack.append((child, iter(below.get(child, ()))))
    return pruned(graph, parent)
