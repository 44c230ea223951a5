"""The Steiner tree: the least total length of ways that reaches every terminal.

Exact by an integer programme on HiGHS while its size stays within a counted limit; beyond it the
approximation of Mehlhorn (1988), at most twice the least length. Source of the model: the multicommodity
formulation of Wong, Mathematical Programming 28, 271-287, 1984 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import networkx as nx
import numpy as np
from networkx.algorithms.approximation import steiner_tree
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from service.engine.routes.graph import Edge, WayGraph
from service.engine.routes.shortest import Tree, pruned, shortest_paths

MOST_TERMINALS = 100
#: Terminals × arcs up to which the programme is solved exactly, and its limit on nodes of the search.
MOST_FLOWS = 40_000
MOST_NODES = 2_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Steiner:
    """A tree and whether its length is proven to be least."""

    tree: Tree
    exact: bool


def steiner_tree_of(graph: WayGraph) -> Steiner:
    """The least tree, exact where the programme is small enough; ties as HiGHS breaks them, the same every
    time.

    Raises UnreachableError when a terminal is out of reach.
    """
    _, before = shortest_paths(graph)
    core, forced = _core(graph)
    if not core.terminals:
        return Steiner(tree=pruned(graph, _before(graph, forced)), exact=True)
    arcs = core.arcs()
    if len(core.terminals) <= MOST_TERMINALS and len(core.terminals) * len(arcs) <= MOST_FLOWS:
        chosen = _programme(core, arcs)
        if chosen is not None:
            return Steiner(tree=pruned(graph, _before(graph, [*forced, *chosen])), exact=True)
    chosen = _mehlhorn(core, {place: before[place] for place in core.leaves if place in before})
    return Steiner(tree=pruned(graph, _before(graph, [*forced, *chosen])), exact=False)


def _core(graph: WayGraph) -> tuple[WayGraph, list[Edge]]:
    """The graph without its dead ends, and the ways to those that must be reached: no choice is lost."""
    edges = {edge.way: edge for edge in graph.edges}
    terminals = set(graph.terminals)
    forced: list[Edge] = []
    beside: dict[str, set[str]] = {}
    for edge in graph.edges:
        beside.setdefault(edge.start, set()).add(edge.way)
        beside.setdefault(edge.end, set()).add(edge.way)
    stack = sorted((place for place, ways in beside.items() if len(ways) == 1), reverse=True)
    while stack:
        place = stack.pop()
        if place == graph.root or len(beside.get(place, ())) != 1:
            continue
        edge = edges[beside.pop(place).pop()]
        other = edge.end if edge.start == place else edge.start
        beside[other].discard(edge.way)
        del edges[edge.way]
        if place in terminals:
            forced.append(edge)
            terminals.discard(place)
            if other != graph.root:
                terminals.add(other)
        if len(beside[other]) == 1:
            stack.append(other)
    kept = tuple(edge for edge in graph.edges if edge.way in edges)
    core = WayGraph(root=graph.root, edges=kept, terminals=tuple(sorted(terminals)), leaves=graph.leaves)
    return core, forced


def _before(graph: WayGraph, edges: list[Edge]) -> dict[str, str]:
    """The place before each place of the tree that these ways make under the root."""
    beside: dict[str, list[str]] = {}
    for edge in edges:
        beside.setdefault(edge.start, []).append(edge.end)
        beside.setdefault(edge.end, []).append(edge.start)
    before: dict[str, str] = {}
    queue = [graph.root]
    for here in queue:
        for place in sorted(beside.get(here, ())):
            if place != graph.root and place not in before:
                before[place] = here
                queue.append(place)
    return before


def _programme(core: WayGraph, arcs: list[tuple[str, str, Edge]]) -> list[Edge] | None:
    """The integer programme: arcs chosen, and one unit of flow to each terminal along chosen arcs.

    Returns None when the search stops before it has proven a tree to be least.
    """
    count = len(arcs)
    constraint = _constraint(core, arcs)
    cost = np.zeros(count * (len(core.terminals) + 1))
    cost[:count] = [edge.length_m for _, _, edge in arcs]
    whole = np.zeros(cost.size, dtype=np.int64)
    whole[:count] = 1
    found = milp(
        cost,
        integrality=whole,
        bounds=Bounds(0.0, 1.0),
        constraints=constraint,
        options={"node_limit": MOST_NODES, "mip_rel_gap": 0.0},
    )
    if found.status != 0 or found.x is None:
        return None
    return [edge for (_, _, edge), used in zip(arcs, found.x[:count], strict=True) if used > 0.5]


def _constraint(core: WayGraph, arcs: list[tuple[str, str, Edge]]) -> LinearConstraint:
    """Rows of the programme over the arcs' columns and then one block of columns for each terminal's flow.

    For each terminal: flow is kept at every place, and runs on chosen arcs only. At the end: one arc into
    each terminal, one at most into any other place.
    """
    count = len(arcs)
    places = sorted({place for tail, head, _ in arcs for place in (tail, head)})
    row_of = {place: row for row, place in enumerate(places)}
    tails = np.array([row_of[tail] for tail, _, _ in arcs])
    heads = np.array([row_of[head] for _, head, _ in arcs])
    arc, ones, size = np.arange(count), np.ones(count), len(places)
    rows, columns, values, low, high = [], [], [], [], []
    for flow, terminal in enumerate(core.terminals):
        top, offset = flow * (size + count), count * (flow + 1)
        want = np.zeros(size)
        want[row_of[terminal]], want[row_of[core.root]] = 1.0, -1.0
        rows += [top + heads, top + tails, top + size + arc, top + size + arc]
        columns += [offset + arc, offset + arc, offset + arc, arc]
        values += [ones, -ones, ones, -ones]
        low += [want, np.full(count, -np.inf)]
        high += [want, np.zeros(count)]
    rows.append(len(core.terminals) * (size + count) + heads)
    columns.append(arc)
    values.append(ones)
    low.append(np.array([1.0 if place in core.terminals else 0.0 for place in places]))
    high.append(np.ones(size))
    entries = (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns)))
    shape = (len(core.terminals) * (size + count) + size, count * (len(core.terminals) + 1))
    return LinearConstraint(
        coo_array(entries, shape=shape).tocsr(), np.concatenate(low), np.concatenate(high)
    )


def _mehlhorn(core: WayGraph, leaf_before: dict[str, str]) -> list[Edge]:
    """The approximation, on the graph in which every panel keeps only the way of its shortest path."""
    made: nx.Graph[str] = nx.Graph()
    for edge in core.edges:
        leaf = next((end for end in (edge.start, edge.end) if end in core.leaves), None)
        other = edge.end if leaf == edge.start else edge.start
        if leaf is None or leaf_before.get(leaf) == other:
            made.add_edge(edge.start, edge.end, weight=edge.length_m, edge=edge)
    tree = steiner_tree(made, [core.root, *core.terminals], method="mehlhorn")
    return sorted((data["edge"] for _, _, data in tree.edges(data=True)), key=lambda edge: edge.way)
