"""A lower bound that knows levels: feed counts together with the loss of the best feed and of the others.

A state is (k, d1, d2): k feeds stand at a place, the best has lost d1 or more, every other one d2 or more.
Each real design can be followed through such states: a device on a feed, and a feed sent into a child, lead
to states that are nowhere above the real losses. So the least cost over states is below every design. What
is given away: which of the other feeds is which, losses within light children fed by several feeds, and pads.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Any

import numpy as np

from service.engine.placement import level_states
from service.engine.placement.bounds import feed_counts
from service.engine.placement.grove import Grove
from service.engine.placement.kernels import INF
from service.engine.placement.task import Choice

Ints = np.ndarray[Any, np.dtype[np.int32]]

RISER_FEEDS = 10
"""Parallel feeds up to which levels are followed along a riser; beyond, counts alone."""


def _entries(menu: Sequence[Choice], terminator_cents: int) -> Ints:
    """Devices as (extra feeds, least loss, next loss, cents), the dominated ones left out."""
    found: set[tuple[int, int, int, int]] = set()
    for choice in menu:
        ports = sum(n for _, n in choice.ports)
        groups = sorted(choice.ports)
        for use in itertools.product(*(range(n + 1) for _, n in groups)):
            used = sum(use)
            if used > 1:
                losses = [loss for (loss, _), n in zip(groups, use, strict=True) for _ in range(min(n, 2))]
                found.add((used - 1, losses[0], losses[1], choice.cents + (ports - used) * terminator_cents))
    kept = [
        e
        for e in sorted(found)
        if not any(o != e and o[0] == e[0] and o[1] <= e[1] and o[2] <= e[2] and o[3] <= e[3] for o in found)
    ]
    return np.array(kept, dtype=np.int32).reshape(len(kept), 4)


class _Bound:
    def __init__(self, grove: Grove, steps: int) -> None:
        self.grove = grove
        self.steps = steps
        self.free = {spot: np.minimum(f, INF).astype(np.int32) for spot, f in feed_counts(grove).items()}
        term = grove.task.terminator_cents
        self.entries = [_entries(menu, term) for menu in grove.task.menus]

    def children(self, spot: int) -> list[int]:
        """Children with places at no cable cost and the same menu merged into their parent."""
        out: list[int] = []
        for child in self.grove.children[spot]:
            mine, other = self.grove.spots[child], self.grove.spots[spot]
            if mine.is_outlet or mine.edge_cents or mine.menu != other.menu:
                out.append(child)
            else:
                out.extend(self.children(child))
        return out

    def light(self, spot: int, states: dict[int, Ints]) -> Ints:
        """[j, d]: least cost of a child, cable included, when j feeds of loss d or more enter it."""
        grove, window = self.grove, self.grove.spots[spot]
        edge = window.edge_cents
        free = self.free[spot]
        out = np.full((len(free), self.steps), INF, dtype=np.int32)
        if window.b is not None:
            out[1, : max(0, window.b + 1)] = edge
            return out
        state = states[spot]
        lasts = [s.b for s in (grove.spots[i] for i in self.outlets(spot)) if s.b is not None]
        for j in range(1, len(free)):
            out[j, : max(lasts) + 1] = min(int(free[j]) + j * edge, INF)
            if j < len(state):
                out[j] = np.minimum(np.maximum(out[j], np.diagonal(state[j]) + j * edge), INF)
        return out

    def outlets(self, spot: int) -> list[int]:
        if self.grove.spots[spot].is_outlet:
            return [spot]
        return [o for c in self.grove.children[spot] for o in self.outlets(c)]

    def solve(self, spot: int, states: dict[int, Ints]) -> None:
        grove = self.grove
        children = self.children(spot)
        ways = [c for c in children if not grove.spots[c].is_outlet and grove.below[c] > 8]
        heavy = max(ways, key=lambda c: (grove.below[c], c)) if ways else -1
        lights = [self.light(c, states) for c in children if c != heavy]
        taken = max((len(light) for light in lights), default=1)
        stacked = np.full((len(lights), taken, self.steps), INF, dtype=np.int32)
        for n, light in enumerate(lights):
            stacked[n, : len(light)] = light
        none = np.empty((0, self.steps, self.steps), dtype=np.int32)
        most = min(len(self.free[spot]) - 1, len(lights) + RISER_FEEDS)
        states[spot] = level_states.level_counts(
            stacked,
            states[heavy] if heavy >= 0 else none,
            grove.spots[heavy].edge_cents if heavy >= 0 else 0,
            self.free[heavy] if heavy >= 0 else np.zeros(1, dtype=np.int32),
            self.free[spot],
            self.entries[grove.spots[spot].menu],
            most,
        )[: RISER_FEEDS + 1]
        for child in children:
            states.pop(child, None)


def level_bounds(grove: Grove) -> tuple[int, ...]:
    """Cents that no design can be below, for every starting loss from 0; INF where none exists."""
    most = max(spot.b for spot in grove.spots if spot.b is not None) + 1
    bound = _Bound(grove, most)
    states: dict[int, Ints] = {}
    merged = {c for i in range(len(grove.spots)) for c in grove.children[i]} - {
        c for i in range(len(grove.spots)) for c in bound.children(i)
    }
    for spot in grove.from_leaves():
        if not grove.spots[spot].is_outlet and spot not in merged:
            bound.solve(spot, states)
    return tuple(int(c) + grove.always for c in np.diagonal(states[0][1]))
