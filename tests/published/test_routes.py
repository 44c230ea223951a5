"""Least trees of small graphs against figures from outside.

Source of the grids: the Dreyfus-Wagner recursion (Networks 1, 195-207, 1971), computed apart from
this project: exact, no tolerance. Of the routing instance: an integer programme on HiGHS, proven least.
"""

from __future__ import annotations

import json
from pathlib import Path

import networkx as nx
import pytest
from networkx.algorithms.approximation import steiner_tree

from service.engine.routes.graph import Edge, WayGraph
from service.engine.routes.light import light_tree
from service.engine.routes.shortest import Tree, length_m, shortest_path_tree, shortest_paths
from service.engine.routes.steiner import steiner_tree_of

PUBLISHED = Path(__file__).parents[2] / "fixtures" / "published" / "placement"
FLOOR_M, BAY_M = 3.0, 6.0


def graph(edges: list[tuple[str, str, float]], root: str, terminals: list[str]) -> WayGraph:
    rows = tuple(Edge(way=f"{a}-{b}", start=a, end=b, length_m=length) for a, b, length in sorted(edges))
    return WayGraph(root=root, edges=rows, terminals=tuple(sorted(terminals)))


def letters() -> WayGraph:
    text = "a-b7 a-f6 b-c1 b-f5 c-d1 c-e3 d-e1 d-f4 e-f10"
    edges = [(row[0], row[2], float(row[3:])) for row in text.split()]
    return graph(edges, "a", ["c", "e", "f"])


def grid(
    floors: int, bays: int, risers: set[int], root: tuple[int, int], ends: list[tuple[int, int]]
) -> WayGraph:
    """Places (floor, bay): corridors along every floor, risers at the listed bays only."""

    def name(floor: int, bay: int) -> str:
        return f"{floor}.{bay}"

    edges = [(name(f, b), name(f, b + 1), BAY_M) for f in range(floors) for b in range(bays - 1)]
    edges += [(name(f, b), name(f + 1, b), FLOOR_M) for f in range(floors - 1) for b in sorted(risers)]
    return graph(edges, name(*root), [name(*end) for end in ends])


SIX_BY_FIVE = grid(6, 5, {0, 2, 4}, (5, 0), [(5, 3), (2, 2), (4, 4), (2, 3), (0, 1), (1, 3), (3, 1)])
EIGHT_BY_SIX = grid(8, 6, {0, 3, 5}, (7, 0), [(0, 3), (0, 5), (7, 4), (3, 5), (1, 4), (3, 1), (2, 4), (6, 2)])


def routing_16() -> tuple[WayGraph, dict[str, float]]:
    case = json.loads((PUBLISHED / "routing_16_units.json").read_text(encoding="utf-8"))
    edges = [(str(a), str(b), float(length)) for a, b, length in case["edges"]]
    return graph(edges, case["root"], case["terminals"]), case["answer"]


def reaches(case: WayGraph, tree: Tree) -> bool:
    made: nx.Graph[str] = nx.Graph([(edge.start, edge.end) for edge in tree.values()])
    return nx.is_tree(made) and {case.root, *case.terminals} <= set(made)


@pytest.mark.parametrize(("case", "least_m"), [(letters(), 12.0), (SIX_BY_FIVE, 66.0), (EIGHT_BY_SIX, 87.0)])
def test_the_least_tree_has_the_published_length(case: WayGraph, least_m: float) -> None:
    found = steiner_tree_of(case)
    assert found.exact
    assert length_m(found.tree) == pytest.approx(least_m)
    assert reaches(case, found.tree)


@pytest.mark.parametrize("method", ["mehlhorn", "kou"])
def test_both_approximations_stay_above_the_least_tree_of_the_eight_by_six_grid(method: str) -> None:
    case = EIGHT_BY_SIX
    made: nx.Graph[str] = nx.Graph()
    made.add_weighted_edges_from((edge.start, edge.end, edge.length_m) for edge in case.edges)
    approximate = steiner_tree(made, [case.root, *case.terminals], method=method)
    assert approximate.size(weight="weight") == pytest.approx(93.0)


def test_the_routing_instance_has_its_published_lengths() -> None:
    case, answer = routing_16()
    found = steiner_tree_of(case)
    assert found.exact
    assert length_m(found.tree) == pytest.approx(answer["steiner_min_metres"])


def test_every_path_of_the_shortest_path_tree_is_a_shortest_one() -> None:
    """Paths of equal length leave a choice: the published tree has 148 m, ours takes ties by id."""
    case, answer = routing_16()
    tree = shortest_path_tree(case)
    shortest, _ = shortest_paths(case)
    made: nx.Graph[str] = nx.Graph()
    made.add_weighted_edges_from((edge.start, edge.end, edge.length_m) for edge in tree.values())
    paths = nx.single_source_dijkstra_path_length(made, case.root)
    assert {end: paths[end] for end in case.terminals} == {end: shortest[end] for end in case.terminals}
    assert answer["steiner_min_metres"] < length_m(tree) <= answer["shortest_path_tree_metres"]


@pytest.mark.parametrize("alpha", [1.2, 1.5])
@pytest.mark.parametrize("case", [letters(), SIX_BY_FIVE, EIGHT_BY_SIX, routing_16()[0]])
def test_a_light_tree_keeps_its_promise_on_every_path(case: WayGraph, alpha: float) -> None:
    """Khuller, Raghavachari, Young, Algorithmica 14, 1995: no path above alpha times the shortest."""
    shortest, _ = shortest_paths(case)
    tree = light_tree(case, steiner_tree_of(case).tree, alpha)
    assert reaches(case, tree)
    made: nx.Graph[str] = nx.Graph()
    made.add_weighted_edges_from((edge.start, edge.end, edge.length_m) for edge in tree.values())
    paths = nx.single_source_dijkstra_path_length(made, case.root)
    assert all(paths[end] <= alpha * shortest[end] + 1e-6 for end in case.terminals)
    least_m = length_m(steiner_tree_of(case).tree)
    assert least_m - 1e-6 <= length_m(tree) <= length_m(shortest_path_tree(case)) * (1 + 2 / (alpha - 1))
