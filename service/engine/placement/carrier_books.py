"""Recipes as one carrier meets them: exact losses on a fine grid, and tables that no design of a closet can beat.

The tables leave open which local hangs on which port of a recipe. With one or two different losses the cheapest way
is counted; with more, two neighbouring losses at a time count as one that is as good as either. So nothing is dearer
than the cheapest way to hang them.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from service.engine.placement.heads import Heads, heads_of
from service.engine.placement.kernels import Longs, compiled
from service.engine.placement.patterns import Cook
from service.engine.placement.recipes import Pick, Recipe
from service.engine.placement.stages import INF, Book, Kitchen, PanelClass, Panels, Stage, StageRules, Table

Ports = tuple[tuple[int, int], ...]

#: Grid of losses at one carrier: half of the search's, since roundings add up along a leg.
STEP_DB = 0.05


@compiled
def _all_fit(windows: Longs, first: int, past: int, losses: Longs, slots: Longs, lost: int) -> bool:
    """True when each drop finds a port inside its window, and the ports of a loss that alone fits suffice."""
    ports = losses.shape[0]
    alone = np.zeros(ports, dtype=np.int64)
    for drop in range(first, past):
        fitting, which = 0, 0
        for port in range(ports):
            if losses[port] >= 0 and windows[drop, 0] <= lost + losses[port] <= windows[drop, 1]:
                fitting += 1
                which = port
        if fitting == 0:
            return False
        if fitting == 1:
            alone[which] += 1
            if alone[which] > slots[which]:
                return False
    return True


@compiled
def local_tables(
    windows: Longs,
    bounds: Longs,
    kinds: Longs,
    cents: Longs,
    losses: Longs,
    slots: Longs,
    firsts: Longs,
    depth: int,
    none: int,
) -> Longs:
    """Least cost over D of each local's panel, each drop on whichever port of a recipe suits it.

    `windows[w]` are the least and largest D of a drop; local i has the drops bounds[i] … bounds[i + 1] and the
    recipes firsts[kinds[i]] … firsts[kinds[i] + 1]: their `cents`, the `losses` before their ports in steps (−1 where
    there is none) and how many ports stand behind each (`slots`).
    """
    count = bounds.shape[0] - 1
    tables = np.full((count, depth), none, dtype=np.int64)
    for local in range(count):
        first, past = bounds[local], bounds[local + 1]
        for recipe in range(firsts[kinds[local]], firsts[kinds[local] + 1]):
            low = max(0, int(np.max(windows[first:past, 0])) - int(np.max(losses[recipe])))
            high = min(depth - 1, int(np.min(windows[first:past, 1])))
            for lost in range(low, high + 1):
                if cents[recipe] < tables[local, lost] and _all_fit(
                    windows, first, past, losses[recipe], slots[recipe], lost
                ):
                    tables[local, lost] = cents[recipe]
    return tables


@compiled
def _two_ways(better: Longs, other: Longs, slots: int, saved: Longs) -> int:
    """Least sum when so many locals take `better` and the rest `other`; `saved` is room to sort in."""
    count = better.shape[0]
    total = 0
    for local in range(count):
        total += other[local]
        one = better[local] - other[local]
        at = local
        while at > 0 and saved[at - 1] > one:
            saved[at] = saved[at - 1]
            at -= 1
        saved[at] = one
    for at in range(slots):
        total += saved[at]
    return int(total)


@compiled
def port_sums(tables: Longs, losses: Longs, slots: Longs, none: int) -> Longs:
    """Lower bound over D, for each set of ports, of what all locals cost behind it.

    `losses[s]` are the steps before the ports of set s by rising loss, −1 where there is none, `slots[s]` how many
    ports have each. Each local takes its cheapest loss; and for each cut between two losses, no more locals lie on
    either side than there are ports.
    """
    count, depth = tables.shape
    first = np.full(count, depth, dtype=np.int64)
    last = np.full(count, -1, dtype=np.int64)
    for local in range(count):
        for lost in range(depth):
            if tables[local, lost] < none:
                first[local] = min(first[local], lost)
                last[local] = lost
    near, far = np.empty(count, dtype=np.int64), np.empty(count, dtype=np.int64)
    saved = np.empty(count, dtype=np.int64)
    sums = np.full((losses.shape[0], depth), none, dtype=np.int64)
    for row in range(losses.shape[0]):
        ports = int(np.sum(losses[row] >= 0))
        if ports == 0:
            sums[row] = 0
            continue
        low, high = 0, depth - 1
        for local in range(count):
            low = max(low, first[local] - losses[row, ports - 1])
            high = min(high, last[local] - losses[row, 0])
        for lost in range(low, high + 1):
            most, before = 0, 0
            for cut in range(min(1, ports - 1), ports):
                before += slots[row, cut - 1] if cut else 0
                for local in range(count):
                    near[local], far[local] = none, none
                    for port in range(ports):
                        at = lost + losses[row, port]
                        cents = tables[local, at] if at < depth else none
                        if port < cut:
                            near[local] = min(near[local], cents)
                        else:
                            far[local] = min(far[local], cents)
                most = max(most, _two_ways(near, far, before, saved))
            sums[row, lost] = min(most, none)
    return sums


@compiled
def group_tables(sums: Longs, cents: Longs, set_of: Longs, group_of: Longs, groups: int, none: int) -> Longs:
    """Least cost over D for each group of recipes: its price and what its set of ports costs at least."""
    depth = sums.shape[1]
    best = np.full((groups, depth), none, dtype=np.int64)
    for recipe in range(cents.shape[0]):
        group, row = group_of[recipe], set_of[recipe]
        for lost in range(depth):
            total = cents[recipe] + sums[row, lost]
            if total < best[group, lost]:
                best[group, lost] = total
    return best


def lost_at(recipe: Recipe, carrier: int, joint_db: float) -> tuple[tuple[float, ...], float]:
    """Loss at one carrier before each local of a recipe, and before what goes on, joints between devices included.

    A joint behind one of several outputs is left out, as it is behind the one output of another start.
    """
    locals_db: dict[int, float] = {}
    onward_db = [0.0]

    def walk(thing: int | str | Pick | None, lost_db: float) -> None:
        if isinstance(thing, int):
            locals_db[thing] = lost_db
        elif thing == "onward":
            onward_db[0] = lost_db
        elif isinstance(thing, Pick):
            for arm, hung in zip(thing.offer.arms, thing.arms, strict=True):
                own = float(arm.loss_db[carrier]) if thing.offer.part else 0.0
                for below in hung:
                    joint = joint_db if isinstance(below, Pick) and thing.offer.part else 0.0
                    walk(below, lost_db + own + joint)

    walk(recipe.pick if recipe.pick is not None else (0 if recipe.loads else "onward"), 0.0)
    return tuple(locals_db[position] for position in sorted(locals_db)), onward_db[0]


def steps_of(loss_db: float) -> int:
    """A loss in steps, the nearest."""
    return max(0, round(loss_db / STEP_DB))


@lru_cache(maxsize=256)
def read_recipes(
    heads: Heads, outputs: int, locals_: int, onward: int, carrier: int, joint_db: float
) -> tuple[tuple[Recipe, Ports, int], ...]:
    """Recipes of a list with their ports (different losses, how many have each) and what goes on behind, in steps."""
    rows = []
    for recipe in heads.recipes(outputs, locals_, onward):
        before, onward_db = lost_at(recipe, carrier, joint_db)
        ports = Counter(steps_of(loss) for loss in before)
        rows.append((recipe, tuple(sorted(ports.items())), steps_of(onward_db) if onward else 0))
    return tuple(rows)


def _rows(recipes: list[Ports]) -> Table:
    """Losses and counts of each recipe as an array (recipes × losses × 2), padded with −1."""
    width = max((len(ports) for ports in recipes), default=0) or 1
    rows = np.full((len(recipes), width, 2), -1, dtype=np.int64)
    for row, ports in enumerate(recipes):
        for place, port in enumerate(ports):
            rows[row, place] = port
    return rows


@dataclass(frozen=True, slots=True, kw_only=True)
class CarrierBook(Book):
    """Recipes whose `pieces` are the different sets of ports; `set_of` says which one a recipe has."""

    set_of: Table


class CarrierKitchen(Kitchen):
    """A kitchen whose recipes have the losses of one carrier, and whose stages are lower bounds.

    Built over the recipe lists of another kitchen, so that both know the same recipes.
    """

    def __init__(
        self,
        closet_cook: Cook,
        panel_cook: Cook,
        classes: tuple[PanelClass, ...],
        *,
        depth: int,
        carrier: int,
        joint_db: float,
    ) -> None:
        self.carrier = carrier
        self.joint_db = joint_db
        super().__init__(depth=depth, closet_cook=closet_cook, panel_cook=panel_cook, classes=classes)

    def _write_panels(self, classes: tuple[PanelClass, ...]) -> Panels:
        cents: list[int] = []
        ports: list[Ports] = []
        firsts = [0]
        panels = heads_of(self.panel_cook)
        for drops, rules in classes:
            admitted = {id(recipe) for recipe in self.panel_recipes(drops, rules)}
            for recipe, own, _ in read_recipes(panels, 1, drops, 0, self.carrier, self.joint_db):
                if id(recipe) in admitted:
                    cents.append(recipe.cents)
                    ports.append(own)
            firsts.append(len(cents))
        return Panels(
            classes={kind: number for number, kind in enumerate(classes)},
            cents=np.asarray(cents, dtype=np.int64),
            pieces=_rows(ports),
            firsts=np.asarray(firsts, dtype=np.int64),
        )

    def book(self, count: int, feeds: tuple[int, ...], rules: StageRules, outputs: int = 1) -> Book:
        """The recipes that the rules admit, those alike at this carrier once, at the least price."""
        key = (count, feeds, rules, outputs)
        if key not in self._books:
            least: dict[tuple[int, int, Ports], Recipe] = {}
            for onward in feeds:
                for recipe, ports, steps in read_recipes(
                    self.heads, outputs, count, onward, self.carrier, self.joint_db
                ):
                    row = (onward, steps, ports)
                    if (row not in least or recipe.cents < least[row].cents) and rules.admits(recipe):
                        least[row] = recipe
            self._books[key] = _write(least)
        return self._books[key]

    def stage(self, windows: Table, bounds: Table, kinds: Table, book: Book) -> Stage:
        """What no way to feed a closet's items can cost less than, over D."""
        panels = self.panels
        tables = local_tables(
            windows,
            bounds,
            kinds,
            panels.cents,
            panels.pieces[:, :, 0],
            panels.pieces[:, :, 1],
            panels.firsts,
            self.depth,
            INF,
        )
        assert isinstance(book, CarrierBook)
        sums = port_sums(tables, book.pieces[:, :, 0], book.pieces[:, :, 1], INF)
        costs = group_tables(sums, book.cents, book.set_of, book.group_of, len(book.steps), INF)
        return Stage(order=bounds, costs=costs, which=bounds, book=book)


def _write(least: dict[tuple[int, int, Ports], Recipe]) -> CarrierBook:
    """Recipes by feeds, loss before them and losses before locals, as arrays."""
    rows = sorted(least)
    heads = sorted({row[:2] for row in rows})
    sets = sorted({row[2] for row in rows})
    head_of = {head: number for number, head in enumerate(heads)}
    set_of = {ports: number for number, ports in enumerate(sets)}
    feeds = [onward for onward, _ in heads]
    return CarrierBook(
        recipes=tuple(least[row] for row in rows),
        spans=np.zeros((0, 2), dtype=np.int64),
        cents=np.asarray([least[row].cents for row in rows], dtype=np.int64),
        pieces=_rows(sets),
        set_of=np.asarray([set_of[row[2]] for row in rows], dtype=np.int64),
        group_of=np.asarray([head_of[row[:2]] for row in rows], dtype=np.int64),
        steps=np.asarray([steps for _, steps in heads], dtype=np.int64),
        rows={k: slice(feeds.index(k), feeds.index(k) + feeds.count(k)) for k in sorted(set(feeds))},
    )
