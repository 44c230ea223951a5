"""What one closet costs: tables over D for its own items, by how many feeds go on and at what loss."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.placement.kernels import panel_costs, recipe_groups
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
class Group:
    """Recipes with the same onward loss: their least cost over D and which recipe gives it."""

    steps: int
    cost: Table
    best: Table


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One closet's tables. `groups[k]` are the ways to send k feeds onward, `recipes` what
    their entries point to; `order` how items hang on recipes."""

    order: tuple[int, ...]
    groups: dict[int, tuple[Group, ...]]
    recipes: tuple[Recipe, ...]


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
    """Recipes as arrays for the kernels: the spans of locals they load, their cents, pieces and groups.

    `heads` are the groups: number of onward feeds and the loss before them.
    """

    spans: Table
    heads: tuple[tuple[int, int], ...]
    cents: Table
    pieces: Table
    group_of: Table


def write_book(recipes: tuple[Recipe, ...]) -> Book:
    """Recipes as arrays, in their own order."""
    spans = sorted({(first, past) for recipe in recipes for first, past, _ in recipe.loads})
    heads = sorted({(recipe.onward, recipe.onward_steps) for recipe in recipes})
    span_of = {span: number for number, span in enumerate(spans)}
    head_of = {head: number for number, head in enumerate(heads)}
    width = max((len(recipe.loads) for recipe in recipes), default=0) or 1
    pieces = np.full((len(recipes), width, 2), -1, dtype=np.int64)
    for row, recipe in enumerate(recipes):
        for place, (first, past, lost) in enumerate(recipe.loads):
            pieces[row, place] = (span_of[first, past], lost)
    return Book(
        spans=np.asarray(spans, dtype=np.int64).reshape(-1, 2),
        heads=tuple(heads),
        cents=np.asarray([recipe.cents for recipe in recipes], dtype=np.int64),
        pieces=pieces,
        group_of=np.asarray(
            [head_of[recipe.onward, recipe.onward_steps] for recipe in recipes], dtype=np.int64
        ),
    )


def drop_order(windows: Windows) -> tuple[int, ...]:
    """Order in which an item's drops hang on a recipe: least budget first."""
    return tuple(sorted(range(len(windows)), key=lambda n: (windows[n][1], windows[n][0], n)))


class Kitchen:
    """Evaluates recipes on windows; remembers what it wrote down."""

    def __init__(self, *, depth: int, closet_cook: Cook, panel_cook: Cook) -> None:
        self.depth = depth
        self.closet_cook = closet_cook
        self.panel_cook = panel_cook
        self._written: dict[tuple[int, tuple[int, ...], StageRules], tuple[tuple[Recipe, ...], Book]] = {}
        self._panels: dict[int, tuple[Table, Table]] = {}

    def _panel_arrays(self, drops: int) -> tuple[Table, Table]:
        """Cents and pieces (first drop, past last, steps) of the panel recipes for so many drops."""
        if drops not in self._panels:
            recipes = self.panel_cook.recipes(drops, 0)
            width = max((len(recipe.loads) for recipe in recipes), default=1)
            pieces = np.full((len(recipes), width, 3), -1, dtype=np.int64)
            for row, recipe in enumerate(recipes):
                for place, load in enumerate(recipe.loads):
                    pieces[row, place] = load
            cents = np.asarray([recipe.cents for recipe in recipes], dtype=np.int64)
            if drops == 1:
                cents, pieces = cents[:1], pieces[:1]
            self._panels[drops] = (cents, pieces)
        return self._panels[drops]

    def item_tables(self, windows: tuple[Windows, ...]) -> Table:
        """Cost over D of each item's panel device, items × D: nothing for a straight run inside its window."""
        tables = np.full((len(windows), self.depth), INF, dtype=np.int64)
        by_drops: dict[int, list[int]] = {}
        for number, window in enumerate(windows):
            by_drops.setdefault(len(window), []).append(number)
        for drops, numbers in by_drops.items():
            cents, pieces = self._panel_arrays(drops)
            ordered = [[windows[n][k] for k in drop_order(windows[n])] for n in numbers]
            tables[numbers] = panel_costs(np.asarray(ordered, dtype=np.int64), cents, pieces, self.depth, INF)
        return tables

    def _menu(self, count: int, feeds: tuple[int, ...], rules: StageRules) -> tuple[tuple[Recipe, ...], Book]:
        """The recipes that the rules admit for so many items, and their arrays."""
        key = (count, feeds, rules)
        if key not in self._written:
            recipes = tuple(
                recipe
                for onward in feeds
                for recipe in self.closet_cook.recipes(count, onward)
                if rules.admits(recipe)
            )
            self._written[key] = (recipes, write_book(recipes))
        return self._written[key]

    def stage(self, windows: tuple[Windows, ...], rules: StageRules, feeds: tuple[int, ...]) -> Stage:
        """The tables of one closet with these items, for each number of onward feeds asked."""
        budgets = [min(window[1] for window in item) for item in windows]
        order = tuple(sorted(range(len(windows)), key=lambda n: (budgets[n], n)))
        tables = self.item_tables(tuple(windows[n] for n in order))
        recipes, book = self._menu(len(windows), feeds, rules)
        costs, which = recipe_groups(
            tables, book.spans, book.cents, book.pieces, book.group_of, len(book.heads), INF
        )
        groups: dict[int, list[Group]] = {onward: [] for onward in feeds}
        possible = costs.min(axis=1) < INF if len(book.heads) else ()
        for row, (onward, steps) in enumerate(book.heads):
            if possible[row]:
                groups[onward].append(Group(steps=steps, cost=costs[row], best=which[row]))
        return Stage(
            order=order, groups={onward: tuple(rows) for onward, rows in groups.items()}, recipes=recipes
        )

    def panel_recipe(self, windows: Windows, depth: int) -> Recipe | None:
        """The cheapest panel recipe that keeps every drop inside at D = `depth`; None for a straight run."""
        if len(windows) == 1:
            return None
        ordered = [windows[n] for n in drop_order(windows)]
        fitting = [
            recipe
            for recipe in self.panel_cook.recipes(len(windows), 0)
            if all(
                ordered[n][0] <= depth + steps <= ordered[n][1]
                for first, past, steps in recipe.loads
                for n in range(first, past)
            )
        ]
        return min(fitting, key=lambda recipe: recipe.cents, default=None)
