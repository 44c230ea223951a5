"""What one closet costs: tables over D for its own items, by how many feeds go on and at what loss."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from service.engine.placement.heads import heads_of
from service.engine.placement.kernels import item_tables, recipe_groups
from service.engine.placement.patterns import Cook
from service.engine.placement.pins import holds
from service.engine.placement.recipes import ANY_VALUE, Recipe

Table = NDArray[np.int64]

#: No design reaches this cost in cents; sums of a few thousand of them still fit 64 bits.
INF = 1 << 40

#: Cents that another pattern than the favoured one counts dearer in a closet.
OTHER_PATTERN_CENTS = 20_000
#: Spare ports of one closet or panel beyond which more are worth nothing.
MOST_SPARE = 16

Windows = tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One closet's tables. `costs[g, D]` is the least cost of group g, `which` the recipe that gives it.

    Groups stand by number of onward feeds, then by the loss before them, as `book` says. `order` is how items
    hang on recipes.
    """

    order: Table
    costs: Table
    which: Table
    book: Book

    def groups(self, feeds: int) -> range:
        """The groups with so many onward feeds."""
        rows = self.book.rows.get(feeds, slice(0, 0))
        return range(rows.start, rows.stop)

    def recipe(self, group: int, depth: int) -> Recipe:
        """The recipe behind one cell."""
        return self.book.recipes[int(self.which[group, depth])]


@dataclass(frozen=True, slots=True, kw_only=True)
class SparePrice:
    """What a spare port is counted worth while the building must have a `share` of them.

    Every port owes its share, and a spare one pays a whole: so the cheapest ports to keep free are found wherever
    they are. Charges are never below nothing.
    """

    cents: int = 0
    share: float = 0.0

    def charge(self, recipe: Recipe) -> int:
        """Cents that a recipe is held dearer than its price."""
        if not self.cents:
            return 0
        owed = self.share * recipe.ports - recipe.spare + (MOST_SPARE if recipe.loads else 0)
        return round(self.cents * max(owed, 0.0))


NO_PRICE = SparePrice()


@dataclass(frozen=True, slots=True, kw_only=True)
class StageRules:
    """What binds the recipes of a closet besides levels. `patterns` None leaves every pattern open.

    `favoured` is a pattern that others cost more than; "" for none. The first value of a way of through ports is at
    most `most_value`, and the last that a feed goes on from at least `least_value`. `required` parts are pinned.
    `ends_leg_spare` asks for a free port (a test point) where nothing goes on. `straight` lets a local hang with no
    device between: only where something stands already, as an amplifier does.
    """

    patterns: frozenset[str] | None = None
    favoured: str = ""
    barred: frozenset[str] = frozenset()
    most_devices: int | None = None
    most_ports: int | None = None
    ends_leg_spare: bool = True
    least_value: int = 0
    most_value: int = ANY_VALUE
    required: tuple[str, ...] = ()
    straight: bool = True
    price: SparePrice = NO_PRICE

    @property
    def order(self) -> tuple[object, ...]:
        """What rules are put in order by, the same on every run."""
        bounds = (self.most_devices or 0, self.most_ports or 0, self.ends_leg_spare)
        return (self.required, sorted(self.barred), sorted(self.patterns or ()), bounds)

    def admits(self, recipe: Recipe) -> bool:
        """True when the recipe keeps every rule."""
        if self.patterns is not None and recipe.pattern not in self.patterns and recipe.devices:
            return False
        if recipe.loads and not recipe.devices and not self.straight:
            return False
        if self.barred.intersection(recipe.parts) or not holds(recipe.parts, self.required):
            return False
        if self.most_devices is not None and recipe.devices > self.most_devices:
            return False
        if self.most_ports is not None and recipe.ports > self.most_ports:
            return False
        if recipe.falls and recipe.falls[0] > self.most_value:
            return False
        if recipe.runs_on and recipe.falls[-1] < self.least_value:
            return False
        return not (self.ends_leg_spare and recipe.onward == 0 and recipe.spare < 1)

    def charge(self, recipe: Recipe) -> int:
        """Cents that a recipe is held dearer than its price."""
        other = self.favoured and recipe.devices and recipe.loads and recipe.pattern != self.favoured
        return self.price.charge(recipe) + (OTHER_PATTERN_CENTS if other else 0)


UNBOUND = StageRules()

PanelClass = tuple[int, StageRules]


@dataclass(frozen=True, slots=True, kw_only=True)
class Book:
    """Recipes as arrays for the kernels: the spans of locals they load, their cents, pieces and groups.

    `steps[g]` is the onward loss of group g; the groups with k onward feeds are those of `rows[k]`. `cents` are what
    the `rules` hold the recipes worth.
    """

    recipes: tuple[Recipe, ...]
    spans: Table
    cents: Table
    pieces: Table
    group_of: Table
    steps: Table
    rows: dict[int, slice]
    rules: StageRules = UNBOUND


def write_book(recipes: tuple[Recipe, ...], rules: StageRules = UNBOUND) -> Book:
    """Recipes as arrays, in their own order, at what the rules hold them worth."""
    spans = sorted({(first, past) for recipe in recipes for first, past, _ in recipe.loads})
    heads = sorted({(recipe.onward, recipe.onward_steps) for recipe in recipes})
    span_of = {span: number for number, span in enumerate(spans)}
    head_of = {head: number for number, head in enumerate(heads)}
    width = max((len(recipe.loads) for recipe in recipes), default=0) or 1
    pieces = np.full((len(recipes), width, 2), -1, dtype=np.int64)
    for row, recipe in enumerate(recipes):
        for place, (first, past, lost) in enumerate(recipe.loads):
            pieces[row, place] = (span_of[first, past], lost)
    feeds = [onward for onward, _ in heads]
    return Book(
        rules=rules,
        recipes=recipes,
        spans=np.asarray(spans, dtype=np.int64).reshape(-1, 2),
        cents=np.asarray([recipe.cents + rules.charge(recipe) for recipe in recipes], dtype=np.int64),
        pieces=pieces,
        group_of=np.asarray(
            [head_of[recipe.onward, recipe.onward_steps] for recipe in recipes], dtype=np.int64
        ),
        steps=np.asarray([steps for _, steps in heads], dtype=np.int64),
        rows={k: slice(feeds.index(k), feeds.index(k) + feeds.count(k)) for k in sorted(set(feeds))},
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Panels:
    """The panel recipes of every class of item, as arrays too: those of class c from firsts[c] to firsts[c + 1].

    A class is a number of drops and what the panel holds, bars or has room for.
    """

    classes: dict[PanelClass, int]
    cents: Table
    pieces: Table
    firsts: Table
    recipes: tuple[Recipe, ...] = ()


def drop_order(windows: Windows) -> tuple[int, ...]:
    """Order in which an item's drops hang on a recipe: least budget first."""
    return tuple(sorted(range(len(windows)), key=lambda n: (windows[n][1], windows[n][0], n)))


def lossless(recipes: tuple[Recipe, ...]) -> tuple[Recipe, ...]:
    """The cheapest recipe for each number of onward feeds, as if its parts lost nothing."""
    least: dict[int, Recipe] = {}
    for recipe in recipes:
        if recipe.onward not in least or recipe.cents < least[recipe.onward].cents:
            least[recipe.onward] = recipe
    return tuple(
        replace(recipe, loads=tuple((a, b, 0) for a, b, _ in recipe.loads), onward_steps=0)
        for _, recipe in sorted(least.items())
    )


class Kitchen:
    """Evaluates recipes on windows; remembers what it wrote down.

    `level_free` leaves losses out: of recipes that feed the same, only the cheapest is kept.
    """

    def __init__(
        self,
        *,
        depth: int,
        closet_cook: Cook,
        panel_cook: Cook,
        classes: tuple[PanelClass, ...],
        level_free: bool = False,
    ) -> None:
        self.depth = depth
        self.level_free = level_free
        self.heads = heads_of(closet_cook)
        self.closet_cook = closet_cook
        self.panel_cook = panel_cook
        self.classes = classes
        self.panels = self._write_panels(classes)
        self._books: dict[tuple[int, tuple[int, ...], StageRules, int], Book] = {}
        self._panel_cents: dict[SparePrice, Table] = {}

    def without_levels(self) -> Kitchen:
        """The same kitchen with losses left out."""
        return Kitchen(
            depth=1,
            closet_cook=self.closet_cook,
            panel_cook=self.panel_cook,
            classes=self.classes,
            level_free=True,
        )

    def panel_recipes(self, drops: int, rules: StageRules) -> tuple[Recipe, ...]:
        """Recipes for so many drops behind one cable; a single drop goes straight through unless a part is pinned."""
        recipes = self.panel_cook.recipes(drops, 0)
        if drops == 1 and not rules.required:
            return tuple(recipe for recipe in recipes if not recipe.devices)
        return tuple(recipe for recipe in recipes if rules.admits(recipe))

    def _write_panels(self, classes: tuple[PanelClass, ...]) -> Panels:
        listed = [self._kept(self.panel_recipes(drops, rules)) for drops, rules in classes]
        recipes = [recipe for rows in listed for recipe in rows]
        width = max((len(recipe.loads) for recipe in recipes), default=0) or 1
        pieces = np.full((len(recipes), width, 3), -1, dtype=np.int64)
        for row, recipe in enumerate(recipes):
            for place, load in enumerate(recipe.loads):
                pieces[row, place] = load
        firsts = np.cumsum([0, *(len(rows) for rows in listed)])
        return Panels(
            classes={kind: number for number, kind in enumerate(classes)},
            cents=np.asarray([recipe.cents for recipe in recipes], dtype=np.int64),
            pieces=pieces,
            firsts=np.asarray(firsts, dtype=np.int64),
            recipes=tuple(recipes),
        )

    def panel_cents(self, price: SparePrice) -> Table:
        """What every panel recipe is held worth."""
        if price not in self._panel_cents:
            charged = [price.charge(recipe) for recipe in self.panels.recipes]
            self._panel_cents[price] = self.panels.cents + np.asarray(charged, dtype=np.int64)
        return self._panel_cents[price]

    def _kept(self, recipes: tuple[Recipe, ...]) -> tuple[Recipe, ...]:
        """All recipes; without levels the cheapest for each number of onward feeds, its losses left out."""
        return lossless(recipes) if self.level_free else recipes

    def lifted_book(
        self,
        count: int,
        feeds: tuple[int, ...],
        rules: StageRules,
        lifts: tuple[tuple[int, int, tuple[int, ...]], ...],
    ) -> Book:
        """Without levels, what a closet may hold with no amplifier or with one: (outputs, cents, feeds) each."""
        plain = self.book(count, feeds, replace(rules, straight=False)).recipes
        dearer = [
            replace(recipe, cents=recipe.cents + cents)
            for outputs, cents, onward in lifts
            for recipe in self.book(count, onward, replace(rules, straight=True), outputs).recipes
        ]
        return write_book(lossless((*plain, *dearer)))

    def book(self, count: int, feeds: tuple[int, ...], rules: StageRules, outputs: int = 1) -> Book:
        """The recipes that the rules admit for so many items behind so many outputs, and their arrays."""
        key = (count, feeds, rules, outputs)
        if key not in self._books:
            admitted = tuple(
                recipe
                for onward in feeds
                for recipe in self.heads.recipes(outputs, count, onward)
                if rules.admits(recipe)
            )
            self._books[key] = write_book(self._kept(admitted), rules)
        return self._books[key]

    def stage(self, windows: Table, bounds: Table, kinds: Table, book: Book) -> Stage:
        """The tables of one closet: `windows` of its drops, `bounds` and classes of its items, its recipes."""
        panels, cents = self.panels, self.panel_cents(book.rules.price)
        tables, order = item_tables(
            windows, bounds, kinds, cents, panels.pieces, panels.firsts, self.depth, INF
        )
        costs, which = recipe_groups(
            tables, book.spans, book.cents, book.pieces, book.group_of, len(book.steps), INF
        )
        return Stage(order=order, costs=costs, which=which, book=book)

    def panel_recipe(
        self, windows: Windows, rules: StageRules, depth: int, price: SparePrice
    ) -> Recipe | None:
        """The panel recipe held cheapest that keeps every drop inside at D = `depth`; None where none does."""
        ordered = [windows[n] for n in drop_order(windows)]
        fitting = [
            recipe
            for recipe in self.panel_recipes(len(windows), rules)
            if all(
                ordered[n][0] <= depth + steps <= ordered[n][1]
                for first, past, steps in recipe.loads
                for n in range(first, past)
            )
        ]
        return min(fitting, key=lambda recipe: recipe.cents + price.charge(recipe), default=None)
