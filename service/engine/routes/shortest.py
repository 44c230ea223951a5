"""The shortest-path tree: every place on its shortest way from the head-end."""

from __future__ import annotations

import networkx as nx

from service.engine.routes.graph import Edge, UnreachableError, WayGraph

Tree = dict[str, Edge]


def digraph(graph: WayGraph) -> nx.DiGraph[str]:
    """The graph as networkx takes it, arcs in a fixed order."""
    made: nx.DiGraph[str] = nx.DiGraph()
    made.add_node(graph.root)
    for tail, head, edge in graph.arcs():
        made.add_edge(tail, head, length=edge.length_m, edge=edge)
    return made


def shortest_paths(graph: WayGraph) -> tuple[dict[str, float], dict[str, str]]:
    """Length of the shortest way to every place in reach, and the place before it; ties by id.

    Raises UnreachableError when a terminal is out of reach.
    """
    made = digraph(graph)
    length: dict[str, float] = nx.single_source_dijkstra_path_length(made, graph.root, weight="length")
    lost = tuple(place for place in graph.terminals if place not in length)
    if lost:
        raise UnreachableError(places=lost)
    before: dict[str, str] = {}
    for place in sorted(length):
        if place != graph.root:
            steps = [
                (length[tail] + data["length"], tail)
                for tail, _, data in made.in_edges(place, data=True)
                if tail in length and (length[tail], tail) < (length[place], place)
            ]
            before[place] = min((round(total, 6), tail) for total, tail in steps)[1]
    return length, before


def pruned(graph: WayGraph, before: dict[str, str]) -> Tree:
    """The part of a tree (each place with the one before it) that leads to terminals: way into each place."""
    edges = {frozenset((edge.start, edge.end)): edge for edge in graph.edges}
    tree: Tree = {}
    for terminal in graph.terminals:
        here = terminal
        while here != graph.root and here not in tree:
            tree[here] = edges[frozenset((here, before[here]))]
            here = before[here]
    return tree


def shortest_path_tree(graph: WayGraph) -> Tree:
    """The way into each place of the tree of shortest paths to all terminals."""
    return pruned(graph, shortest_paths(graph)[1])


def length_m(tree: Tree) -> float:
    """Total length of the ways of a tree, each counted once."""
    return sum(edge.length_m for _, edge in sorted(tree.items()))
