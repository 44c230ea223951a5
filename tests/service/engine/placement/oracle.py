"""Independent judges of the placement programme: a plain subset programme, a mixed-integer model, a walker.

Nothing here uses the engine beyond its input and output types. Written from the statement of the problem:
every subset at every place, costs local to the place, no short cuts.
"""

from __future__ import annotations

import random

import numpy as np
from scipy.optimize import LinearConstraint, milp
from scipy.sparse import csr_array

from service.engine.placement.task import Choice, Pick, PlacementTask, Spot

BIG = 1 << 40


def random_menu(rng: random.Random, size: int) -> tuple[Choice, ...]:
    """Splitters, taps, pads, and now and then a device with two uneven or three different groups."""
    pool = [
        Choice(id="S2", cents=1200, ports=((7, 2),)),
        Choice(id="S3", cents=1300, ports=((11, 3),)),
        Choice(id="S4", cents=1500, ports=((14, 4),)),
        Choice(id="S8", cents=2000, ports=((21, 8),)),
        Choice(id="T1a", cents=1300, ports=((4, 1), (12, 1))),
        Choice(id="T1b", cents=1310, ports=((2, 1), (18, 1))),
        Choice(id="T2", cents=1500, ports=((4, 1), (18, 2))),
        Choice(id="T4", cents=1800, ports=((4, 1), (24, 4))),
        Choice(id="U3", cents=1250, ports=((8, 1), (13, 2))),
        Choice(id="U4", cents=1450, ports=((10, 2), (15, 2))),
        Choice(id="V3", cents=1400, ports=((6, 1), (9, 1), (14, 1))),
        Choice(id="P1", cents=300, ports=((2, 1),)),
        Choice(id="P3", cents=310, ports=((6, 1),)),
        Choice(id="P6", cents=290, ports=((12, 1),)),
    ]
    return tuple(sorted(rng.sample(pool, size), key=lambda c: c.id))


def random_task(seed: int, most_outlets: int, *, devices: int = 9, most_b: int = 44) -> PlacementTask:
    """A riser with closets, panels on most floors, windows of 4 to 24 steps; seeded."""
    rng = random.Random(seed)
    spots = [Spot(id="H", parent=None)]
    wanted = rng.randint(2, most_outlets)
    floor, made, above = 0, 0, "H"
    while made < wanted:
        floor += 1
        closet = f"C{floor}"
        spots.append(
            Spot(
                id=closet,
                parent=above if rng.random() < 0.8 else "H",
                edge_cents=rng.choice((0, 390, 1040, 2470)),
                first_cents=rng.choice((0, 0, 70)),
            )
        )
        above = closet
        for unit in range(rng.randint(1, 3)):
            if made == wanted:
                break
            at = closet
            if rng.random() < 0.6:
                at = f"U{floor}.{unit}"
                spots.append(Spot(id=at, parent=closet, edge_cents=130 * rng.randint(1, 12)))
            for _ in range(min(rng.randint(1, 3), wanted - made)):
                made += 1
                b = rng.randint(most_b - 20, most_b)
                spots.append(
                    Spot(
                        id=f"O{made:02d}",
                        parent=at,
                        edge_cents=130 * rng.randint(1, 14),
                        a=b - rng.randint(4, 24),
                        b=b,
                    )
                )
    return PlacementTask(
        spots=tuple(spots), menus=(random_menu(rng, devices),), terminator_cents=100, steps=most_b + 1
    )


class SubsetProgramme:
    """Least cost for every subset at every place and every D, over all subsets, in plain numpy."""

    def __init__(self, task: PlacementTask) -> None:
        self.task = task
        self.outlets = sorted(s.id for s in task.spots if s.b is not None)
        self.bit = {o: 1 << i for i, o in enumerate(self.outlets)}
        self.steps = task.steps
        self.most = max(n for menu in task.menus for c in menu for _, n in c.ports)

    def curve(self) -> list[int | None]:
        root = next(s for s in self.task.spots if s.parent is None)
        extras = sum(s.first_cents for s in self.task.spots if self._mask(s.id))
        whole = self._place(root)[(1 << len(self.outlets)) - 1]
        return [None if c >= BIG else int(c) + extras for c in whole]

    def _children(self, spot: str) -> list[Spot]:
        return [s for s in self.task.spots if s.parent == spot]

    def _mask(self, spot: str) -> int:
        return self.bit.get(spot, 0) | sum(self._mask(c.id) for c in self._children(spot))

    def _shift(self, table: np.ndarray, s: int) -> np.ndarray:
        out = np.full_like(table, BIG)
        if s < self.steps:
            out[..., : self.steps - s] = table[..., s:]
        return out

    def _place(self, spot: Spot) -> np.ndarray:
        size = 1 << len(self.outlets)
        base = np.full((size, self.steps), BIG, dtype=np.int64)
        if spot.b is not None:
            base[self.bit[spot.id], max(spot.a, 0) : spot.b + 1] = 0
            return base
        mine = self._mask(spot.id)
        for child in self._children(spot.id):
            np.minimum(base, self._place(child) + child.edge_cents, out=base)
        return self._devices(np.minimum(base, BIG), mine, self.task.menus[spot.menu])

    def _devices(self, base: np.ndarray, mine: int, menu: tuple[Choice, ...]) -> np.ndarray:
        term, steps = self.task.terminator_cents, self.steps
        feeds = np.full((self.most + 1, *base.shape), BIG, dtype=np.int64)  # feeds[n, S]: n ports serve S
        for n in range(self.most + 1):
            feeds[n, 0] = n * term
        one = feeds[1]
        pairs: dict[tuple, np.ndarray] = {}
        masks = [m for m in range(1, mine + 1) if m & mine == m]
        for whole in masks:
            parts = np.array([p for p in range(1, whole) if p & whole == p], dtype=np.int64)
            proper = np.full((self.most + 1, steps), BIG, dtype=np.int64)
            best = base[whole].copy()
            if parts.size:
                for n in range(2, self.most + 1):
                    proper[n] = np.minimum(
                        (one[parts] + feeds[n - 1, whole ^ parts]).min(axis=0), proper[n - 1] + term
                    )
                for choice in menu:
                    best = np.minimum(
                        best, choice.cents + self._several(feeds, pairs, choice.ports, whole, parts)
                    )
            for d in range(steps - 1, -1, -1):
                for choice in menu:
                    ports = sum(n for _, n in choice.ports)
                    for loss, n in choice.ports:
                        if d + loss < steps:
                            best[d] = min(
                                best[d], choice.cents + (ports - n) * term + feeds[n, whole, d + loss]
                            )
                one[whole, d] = best[d]
                for n in range(2, self.most + 1):
                    feeds[n, whole, d] = min(proper[n, d], best[d] + (n - 1) * term)
        return np.minimum(one, BIG)

    def _several(
        self, feeds: np.ndarray, pairs: dict, groups: tuple, whole: int, parts: np.ndarray
    ) -> np.ndarray:
        """At least two of the groups serve something; every port of the groups is paid or terminated."""
        if len(groups) < 2:
            return np.full(self.steps, BIG, dtype=np.int64)
        (loss, n), rest = groups[0], groups[1:]
        others = sum(count for _, count in rest)
        first = self._shift(feeds[n][parts], loss)
        if len(rest) == 1:
            out = (first + self._shift(feeds[rest[0][1]][whole ^ parts], rest[0][0])).min(axis=0)
        else:
            single = np.full((len(parts), self.steps), BIG, dtype=np.int64)
            for r, m in rest:
                single = np.minimum(single, self._shift(feeds[m][whole ^ parts], r) + (others - m) * 100)
            table = pairs.setdefault(rest, np.full(feeds[0].shape, BIG, dtype=np.int64))
            table[whole] = self._several(feeds, pairs, rest, whole, parts)
            out = np.minimum(
                (first + np.minimum(single, table[whole ^ parts])).min(axis=0),
                table[whole] + n * self.task.terminator_cents,
            )
        return np.minimum(out, BIG)


class IntegerModel:
    """Level-expanded integer flow: tokens at (place, D), with at least one cable on every way."""

    def __init__(self, task: PlacementTask) -> None:
        self.task = task
        self.cost: list[float] = []
        self.rows: dict[tuple, dict[int, float]] = {}
        self.right: dict[tuple, float] = {}

    def _variable(self, cost: float, entries: list[tuple[tuple, float]]) -> None:
        for row, value in entries:
            line = self.rows.setdefault(row, {})
            line[len(self.cost)] = line.get(len(self.cost), 0.0) + value
        self.cost.append(cost)

    def matrix(self) -> tuple[np.ndarray, csr_array, np.ndarray, np.ndarray, int]:
        """Cost of each whole variable, rows with their least and most, and the cents that no choice changes."""
        task = self.task
        serving = {s.id for s in task.spots if s.b is not None}
        parents = {s.id: s.parent for s in task.spots}
        for outlet in list(serving):
            up = parents[outlet]
            while up is not None:
                serving.add(up)
                up = parents[up]
        spots = [s for s in task.spots if s.id in serving]
        for spot in spots:
            for d in range(task.steps):
                self._tokens(spot, d)
        root = next(s for s in spots if s.parent is None)
        self.right[("balance", root.id, 0)] = -1.0
        keys = list(self.rows)
        at = {key: i for i, key in enumerate(keys)}
        data = [(at[key], col, value) for key, line in self.rows.items() for col, value in line.items()]
        i, j, x = zip(*data, strict=True)
        low = np.array([1.0 if key[0] in ("cut", "served") else self.right.get(key, 0.0) for key in keys])
        high = np.array([np.inf if key[0] == "cut" else value for key, value in zip(keys, low, strict=True)])
        rows = csr_array((x, (i, j)), shape=(len(keys), len(self.cost)))
        return np.array(self.cost), rows, low, high, sum(s.first_cents for s in spots)

    def solve(self, limit_s: float = 60.0) -> int | str:
        """The optimum in cents, "impossible" where that is proven, "open" where the solver does not close."""
        cost, rows, low, high, fixed_cents = self.matrix()
        answer = milp(
            cost,
            integrality=np.ones(len(cost)),
            constraints=LinearConstraint(rows, low, high),
            options={"time_limit": limit_s, "mip_rel_gap": 0.0},
        )
        if answer.status != 0:
            return "impossible" if answer.status == 2 else "open"
        return round(answer.fun) + fixed_cents

    def _tokens(self, spot: Spot, d: int) -> None:
        here = ("balance", spot.id, d)
        self.rows.setdefault(here, {})
        self._variable(self.task.terminator_cents, [(here, -1.0)])
        if spot.parent is not None:
            self._variable(
                spot.edge_cents, [(here, 1.0), (("balance", spot.parent, d), -1.0), (("cut", spot.id), 1.0)]
            )
        if spot.b is not None:
            if spot.a <= d <= spot.b:
                self._variable(0.0, [(here, -1.0), (("served", spot.id), 1.0)])
            return
        for choice in self.task.menus[spot.menu]:
            if all(d + loss < self.task.steps for loss, _ in choice.ports):
                ports = [(("balance", spot.id, d + loss), float(n)) for loss, n in choice.ports]
                self._variable(choice.cents, [(here, -1.0), *ports])
            elif any(d + loss < self.task.steps for loss, _ in choice.ports):
                ports = [
                    (("balance", spot.id, d + loss), float(n))
                    for loss, n in choice.ports
                    if d + loss < self.task.steps
                ]
                over = sum(n for loss, n in choice.ports if d + loss >= self.task.steps)
                self._variable(choice.cents + over * self.task.terminator_cents, [(here, -1.0), *ports])


def walk(task: PlacementTask, tree: Pick, start: int = 0) -> tuple[int, dict[str, int]]:
    """Re-add the cost of a design and the device loss of every outlet; raises AssertionError on any
    contradiction.
    """
    spots = {s.id: s for s in task.spots}
    served: dict[str, int] = {}
    cents = 0
    used: set[str] = set()
    stack: list[tuple[Pick, str, int]] = [(tree, next(s.id for s in task.spots if s.parent is None), start)]
    while stack:
        pick, here, d = stack.pop()
        if pick.outlet is not None:
            assert pick.outlet == here
            assert here not in served
            served[here] = d
        elif pick.cable_to is not None:
            assert spots[pick.cable_to].parent == here
            cents += spots[pick.cable_to].edge_cents
            if pick.cable_to not in used:
                cents += spots[pick.cable_to].first_cents
                used.add(pick.cable_to)
            stack.append((pick.branches[0], pick.cable_to, d))
        else:
            assert pick.at == here
            choice = next(c for c in task.menus[spots[here].menu] if c.id == pick.device)
            losses = [loss for loss, n in choice.ports for _ in range(n)]
            assert len(losses) == len(pick.branches)
            cents += choice.cents
            for loss, branch in zip(losses, pick.branches, strict=True):
                if branch is None:
                    cents += task.terminator_cents
                else:
                    stack.append((branch, here, d + loss))
    for spot in task.spots:
        if spot.b is not None:
            assert spot.a <= served.pop(spot.id) <= spot.b
    assert not served
    return cents, served
