"""The ways of a building as a graph to find trees in: places, the shortest way between two, what must be
reached.
"""

from __future__ import annotations

from dataclasses import dataclass

from service.engine.building.places import Building
from service.engine.errors import EngineError


class UnreachableError(EngineError):
    """A route was asked for in a graph that does not connect what it must reach."""

    def __init__(self, *, places: tuple[str, ...]) -> None:
        self.places = places
        super().__init__(f"no way leads to {', '.join(places)}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """A way between two places, with its length as pulled."""

    way: str
    start: str
    end: str
    length_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WayGraph:
    """Places without outlets, the shortest way between any two, and the places that outlets hang on.

    `leaves` are panels: a route may end there and never leads on through them. Sorted throughout.
    """

    root: str
    edges: tuple[Edge, ...]
    terminals: tuple[str, ...]
    leaves: frozenset[str] = frozenset()

    def arcs(self) -> list[tuple[str, str, Edge]]:
        """Each way in the directions a route may take it, away from the root."""
        arcs = []
        for edge in self.edges:
            for tail, head in ((edge.start, edge.end), (edge.end, edge.start)):
                if head != self.root and (tail not in self.leaves or tail == self.root):
                    arcs.append((tail, head, edge))
        return arcs

    def without(self, ways: frozenset[str]) -> WayGraph:
        """The graph less some ways."""
        kept = tuple(edge for edge in self.edges if edge.way not in ways)
        return WayGraph(root=self.root, edges=kept, terminals=self.terminals, leaves=self.leaves)


def way_graph(building: Building) -> WayGraph:
    """The graph of a building. Outlets are left out: each is a leaf with one way, the place it hangs on is
    reached.

    In new work a panel is a leaf; in a building where flats may be fed through flats, it may lead on.
    """
    outlets = {outlet.id for outlet in building.outlets}
    shortest: dict[frozenset[str], Edge] = {}
    terminals: set[str] = set()
    for way in sorted(building.ways, key=lambda row: row.id):
        if way.start in outlets or way.end in outlets:
            terminals.add(way.end if way.start in outlets else way.start)
            continue
        edge = Edge(way=way.id, start=way.start, end=way.end, length_m=way.pulled_m)
        pair = frozenset((way.start, way.end))
        if pair not in shortest or edge.length_m < shortest[pair].length_m:
            shortest[pair] = edge
    through = not building.policy.no_flat_through_flat or not building.new_build
    panels = frozenset(place.id for place in building.places if place.kind == "panel")
    return WayGraph(
        root=building.headend,
        edges=tuple(sorted(shortest.values(), key=lambda edge: edge.way)),
        terminals=tuple(sorted(terminals - {building.headend})),
        leaves=frozenset() if through else panels,
    )
