"""What one closet costs: tables over D for its own items, by how many feeds go on and at what loss."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.placement.kernels import recipe_groups
from service.engine.placement.patterns import Cook, Recipe

Table = NDArray[np.int64]

#: No design reaches this cost in cents; sums of a few thousand of them still fit 64 bits.
INF = 1 << 40

Windows = tuple[tuple[int, int], ...]


def shifted(table: Table, steps: int) -> Table:
    """The table read `steps` further along D (the last axis): what a feed costs that loses so much first."""
    if steps == 0:
        return table
    moved = np.full_like(table, INF)
    if steps < table.shape[-1]:
        moved[..., : table.shape[-1] - steps] = table[..., steps:]
    return moved


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemTable:
    """Cost over D of one item's panel device, and the order in which its drops hang on the recipe."""

    cost: Table
    order: tuple[int, ...]
    budget: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Recipes with the same onward loss: their least cost over D and which recipe gives it."""

    steps: int
    cost: Table
    best: Table


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One closet's tables. `groups[k]` are the ways to send k feeds onward; `order` how items hang on recipes."""

    order: tuple[int, ...]
    items: tuple[ItemTable, ...]
    groups: dict[int, tuple[Group, ...]]
    recipes: dict[int, tuple[Recipe, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class StageRules:
    """What binds the recipes of a closet besides levels. `patterns` None leaves every pattern open.

    `ends_leg_spare` asks for a free port (a test point) where nothing goes on.
    """

    patterns: frozenset[str] | None = None
    barred: frozenset[str] = frozenset()
    most_devices: int | None = None
    most_ports: int | None = None
    ends_leg_spare: bool = True
    least_spare: int = 0

    def admits(self, recipe: Recipe) -> bool:
        """True when the recipe keeps every rule."""
        if self.patterns is not None and recipe.pattern not in self.patterns and recipe.devices:
            return False
        if self.barred & recipe.parts:
            return False
        if self.most_devices is not None and recipe.devices > self.most_devices:
            return False
        if self.most_ports is not None and recipe.ports > self.most_ports:
            return False
        if recipe.devices and recipe.loads and recipe.spare < self.least_spare:
            return False
        return not (self.ends_leg_spare and recipe.onward == 0 and recipe.spare < 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Book:
    """Recipes as arrays for the kernel: the spans of locals they load, their cents, pieces and groups.

    `steps` are the onward losses of the groups.
    """

    spans: tuple[tuple[int, int], ...]
    steps: tuple[int, ...]
    cents: Table
    pieces: Table
    group_of: Table


def write_book(recipes: tuple[Recipe, ...]) -> Book:
    """Recipes as arrays, in their own order."""
    spans = sorted({(first, past) for recipe in recipes for first, past, _ in recipe.loads})
    steps = sorted({recipe.onward_steps for recipe in recipes})
    width = max((len(recipe.loads) for recipe in recipes), default=0) or 1
    pieces = np.full((len(recipes), width, 2), -1, dtype=np.int64)
    for row, recipe in enumerate(recipes):
        for place, (first, past, lost) in enumerate(recipe.loads):
            pieces[row, place] = (spans.index((first, past)), lost)
    return Book(
        spans=tuple(spans),
        steps=tuple(steps),
        cents=np.asarray([recipe.cents for recipe in recipes], dtype=np.int64),
        pieces=pieces,
        group_of=np.asarray([steps.index(recipe.onward_steps) for recipe in recipes], dtype=np.int64),
    )


class Kitchen:
    """Evaluates recipes on windows; remembers panels and closets it has seen."""

    def __init__(self, *, depth: int, closet_cook: Cook, panel_cook: Cook) -> None:
        self.depth = depth
        self.closet_cook = closet_cook
        self.panel_cook = panel_cook
        self._items: dict[Windows, ItemTable] = {}
        self._stages: dict[tuple[object, ...], Stage] = {}
        self._allowed: dict[tuple[int, int, StageRules], tuple[Recipe, ...]] = {}
        self._books: dict[int, tuple[tuple[Recipe, ...], Book]] = {}

    def inside(self, window: tuple[int, int]) -> Table:
        """Zero where D is in the window, INF elsewhere."""
        table = np.full(self.depth, INF, dtype=np.int64)
        first, past = max(window[0], 0), min(window[1] + 1, self.depth)
        if first < past:
            table[first:past] = 0
        return table

    def item(self, windows: Windows) -> ItemTable:
        """The table of one item from the windows of its drops."""
        if windows not in self._items:
            order = tuple(sorted(range(len(windows)), key=lambda n: (windows[n][1], windows[n][0], n)))
            tables = [self.inside(windows[n]) for n in order]
            if len(tables) == 1:
                cost = tables[0]
            else:
                groups = self._grouped(self.panel_cook.recipes(len(tables), 0), tables)
                cost = groups[0].cost if groups else np.full(self.depth, INF, dtype=np.int64)
            budget = min(window[1] for window in windows)
            self._items[windows] = ItemTable(cost=np.minimum(cost, INF), order=order, budget=budget)
        return self._items[windows]

    def _grouped(self, recipes: tuple[Recipe, ...], tables: list[Table]) -> tuple[Group, ...]:
        """Least cost over D of the recipes, by their onward loss."""
        if not recipes:
            return ()
        book = self._book(recipes)
        loads = np.empty((max(len(book.spans), 1), self.depth), dtype=np.int64)
        for row, (first, past) in enumerate(book.spans):
            loads[row] = np.minimum(np.sum(tables[first:past], axis=0), INF)
        costs, which = recipe_groups(loads, book.cents, book.pieces, book.group_of, len(book.steps), INF)
        return tuple(
            Group(steps=steps, cost=costs[row], best=which[row])
            for row, steps in enumerate(book.steps)
            if int(costs[row].min()) < INF
        )

    def _book(self, recipes: tuple[Recipe, ...]) -> Book:
        """The recipes as arrays, written once for each tuple of recipes."""
        key = id(recipes)
        if key not in self._books:
            self._books[key] = (recipes, write_book(recipes))
        return self._books[key][1]

    def _admitted(self, count: int, onward: int, rules: StageRules) -> tuple[Recipe, ...]:
        """The recipes that the rules admit, the same tuple each time."""
        key = (count, onward, rules)
        if key not in self._allowed:
            self._allowed[key] = tuple(r for r in self.closet_cook.recipes(count, onward) if rules.admits(r))
        return self._allowed[key]

    def stage(self, windows: tuple[Windows, ...], rules: StageRules, feeds: tuple[int, ...]) -> Stage:
        """The tables of one closet with these items, for each number of onward feeds asked."""
        key = (windows, rules, feeds)
        if key not in self._stages:
            items = tuple(self.item(window) for window in windows)
            order = tuple(sorted(range(len(items)), key=lambda n: (items[n].budget, n)))
            tables = [items[n].cost for n in order]
            admitted = {onward: self._admitted(len(items), onward, rules) for onward in feeds}
            groups = {onward: self._grouped(recipes, tables) for onward, recipes in admitted.items()}
            self._stages[key] = Stage(order=order, items=items, groups=groups, recipes=admitted)
        return self._stages[key]

    def panel_recipe(self, windows: Windows, depth: int) -> Recipe | None:
        """The panel's recipe that gives the item's cost at D = `depth`; None for a straight run."""
        if len(windows) == 1:
            return None
        recipes = self.panel_cook.recipes(len(windows), 0)
        groups = self._grouped(recipes, [self.inside(windows[n]) for n in self.item(windows).order])
        return recipes[int(groups[0].best[depth])] if groups else None
