"""The tree of a task, indexed once: children, outlets below, cable cents from the root."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from service.engine.errors import TableRangeError
from service.engine.placement.kernels import INF
from service.engine.placement.task import MalformedTaskError, PlacementTask, Spot


@dataclass(frozen=True, slots=True, kw_only=True)
class Grove:
    """Index of a task: all tuples run over `spots`, which are sorted so that parents come before children.

    `rooted[i]` is the cable cost of one feed from the root to spot i in cents, `below[i]` the number of
    outlets under it, `always` the cents every design pays (the first-cable extras of all ways that serve an
    outlet).
    """

    task: PlacementTask
    spots: tuple[Spot, ...]
    parent: tuple[int, ...]
    children: tuple[tuple[int, ...], ...]
    below: tuple[int, ...]
    rooted: tuple[int, ...]
    always: int

    @property
    def nested(self) -> bool:
        """True where every place allows all that the place above it allows.

        Only then a device loses nothing by standing as low as it can, which the programme takes for granted.
        """
        menus = self.task.menus
        return all(
            set(menus[self.spots[above].menu]) <= set(menus[spot.menu])
            for spot, above in zip(self.spots, self.parent, strict=True)
            if above >= 0 and not spot.is_outlet
        )

    def from_leaves(self) -> Iterator[int]:
        """Spots so that children come before their parents."""
        return iter(range(len(self.spots) - 1, -1, -1))

    def way(self, top: int, bottom: int) -> tuple[int, ...]:
        """Spots passed from `top` (left out) down to `bottom`."""
        steps: list[int] = []
        while bottom != top:
            steps.append(bottom)
            bottom = self.parent[bottom]
        return tuple(reversed(steps))


def _in_order(task: PlacementTask) -> list[Spot]:
    by_parent: dict[str | None, list[Spot]] = {}
    ids = {spot.id for spot in task.spots}
    if len(ids) != len(task.spots):
        raise MalformedTaskError(what="two spots share an id")
    for spot in sorted(task.spots, key=lambda s: s.id):
        if spot.parent is not None and spot.parent not in ids:
            raise MalformedTaskError(what=f"{spot.id} hangs on {spot.parent}, which is not there")
        by_parent.setdefault(spot.parent, []).append(spot)
    if len(by_parent.get(None, [])) != 1:
        raise MalformedTaskError(what="a task needs exactly one root")
    order = list(by_parent[None])
    for spot in order:
        order.extend(by_parent.get(spot.id, []))
    if len(order) != len(task.spots):
        raise MalformedTaskError(what="some spots hang in a loop")
    return order


def _check(spot: Spot, children: list[int], task: PlacementTask) -> None:
    if spot.is_outlet and (children or spot.a is None):
        raise MalformedTaskError(what=f"{spot.id} is an outlet: it needs a window and no children")
    if not 0 <= spot.menu < len(task.menus):
        raise MalformedTaskError(what=f"{spot.id} asks for menu {spot.menu}, which is not there")
    if spot.edge_cents < 0 or spot.first_cents < 0:
        raise TableRangeError(f"{spot.id}: a way cannot cost less than nothing")


def index(task: PlacementTask) -> Grove:
    """Index a task; spots without an outlet below are left out.

    Raises MalformedTaskError where the spots are no tree under one root, TableRangeError where the whole cost
    could leave the 32-bit tables.
    """
    order = _in_order(task)
    place = {spot.id: i for i, spot in enumerate(order)}
    children: list[list[int]] = [[] for _ in order]
    below = [0] * len(order)
    for i in range(len(order) - 1, -1, -1):
        spot = order[i]
        _check(spot, children[i], task)
        below[i] += spot.is_outlet
        if spot.parent is not None:
            children[place[spot.parent]].append(i)
            below[place[spot.parent]] += below[i]
    if below[0] == 0:
        raise MalformedTaskError(what="a task needs at least one outlet")
    kept = [i for i in range(len(order)) if below[i]]
    new = {old: i for i, old in enumerate(kept)}
    parent = tuple(-1 if i == 0 else new[place[order[i].parent or ""]] for i in kept)
    rooted: list[int] = []
    for n, i in enumerate(kept):
        rooted.append(order[i].edge_cents + (rooted[parent[n]] if n else 0))
    dearest = max(
        (c.cents + sum(n for _, n in c.ports) * task.terminator_cents for menu in task.menus for c in menu),
        default=0,
    )
    whole = sum(rooted[new[i]] + 2 * dearest for i in kept if order[i].is_outlet)
    if whole >= INF:
        raise TableRangeError(f"a design could cost {whole} cents; the tables hold {INF}")
    return Grove(
        task=task,
        spots=tuple(order[i] for i in kept),
        parent=parent,
        children=tuple(tuple(sorted(new[c] for c in children[i] if below[c])) for i in kept),
        below=tuple(below[i] for i in kept),
        rooted=tuple(rooted),
        always=sum(order[i].first_cents for i in kept),
    )
