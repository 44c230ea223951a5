"""Ranking: the designs behind one set of tables that cost less than the best so far, each measured exactly.

The tables know one loss for each design state, so a design that they refuse may fit, and the first that fits need not
be the cheapest. In a small building every design that tables with opened windows allow for less money is followed
down, its levels carried along carrier by carrier. Amplifiers further down are not ranked.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import product

import numpy as np

from service.engine.placement.legs import FULL, Plan, Programme
from service.engine.placement.menu import GRID_DB, Offer
from service.engine.placement.recipes import Pick, Recipe
from service.engine.placement.rounds import Judge, Solution, enough_power, evaluate
from service.engine.placement.springs import Floats, Spring
from service.engine.placement.stages import INF, Stage, Table, drop_order
from service.engine.placement.trace import Visit
from service.engine.placement.windows import Bias

#: How far windows are opened: more than grid, joints between parts and lean of a few parts take together.
OPENED_DB = 0.8
#: Levels carried along may be off by so little: settings come in steps. Exact evaluation decides.
CARRIED_DB = 0.3
#: What measuring a design counts, in cells.
MEASURED = 5

Panels = dict[int, Recipe]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """A feed that arrives at a closet: how much of what lies below it serves, D and the level at each carrier."""

    closet: int
    row: int
    depth: int
    level_dbmv: Floats
    starts: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """What was taken at one cell: the recipe, the panels' recipes by item, how many feeds go on from it."""

    cell: Cell
    stage: Stage
    recipe: Recipe
    panels: Panels
    feeds: int


@dataclass(slots=True, kw_only=True)
class Ranking:
    """Looks for a cheaper design than `cap_cents` that `keeps` the rules; `work` counts down the cells to follow."""

    plan: Plan
    judge: Judge
    keeps: Callable[[Visit], bool]
    cap_cents: int
    work: int
    best: Solution | None = None
    programme: Programme = field(init=False)
    spring: Spring = field(init=False)
    made: dict[int, Table] = field(init=False, default_factory=dict)
    stages: dict[int, Stage] = field(init=False, default_factory=dict)
    loads: dict[int, Table] = field(init=False, default_factory=dict)
    joint_db: Floats = field(init=False)
    trims: tuple[Offer, ...] = ()

    def run(self, springs: list[Spring]) -> Solution | None:
        """The cheapest design under the cap that fits and keeps the rules; None where the tables hold none."""
        plan = self.plan
        asked = plan.bias
        opened = np.full_like(plan.field.fixed_db, OPENED_DB)
        plan.bias = Bias(low=opened, high=-opened, known=False)
        cabling = plan.cabling
        self.joint_db = cabling.joint_loss_db_at_1ghz * np.sqrt(cabling.frequency_mhz / 1000.0)
        self.programme = Programme(plan)
        for spring in sorted(springs, key=lambda row: row.cents):
            if plan.floor_cents + spring.cents >= self.cap_cents:
                break
            if spring.outputs == 1 and enough_power(plan, spring):
                self.launch(spring)
        plan.bias = asked
        return self.best

    def launch(self, spring: Spring) -> None:
        """Follow every setting of one launch, the cheapest first."""
        self.spring, self.stages, self.loads = spring, {}, {}
        self.made = self.programme.tables(spring, 0)
        table = self.made[0][FULL]
        places, pads = spring.starts(self.plan.depth)
        rows = [
            (int(table[at]) + spring.cents + (pad.cents if pad else 0), at, pad)
            for at, pad in zip(places, pads, strict=True)
        ]
        open_rows = [at for cents, at, _ in rows if cents < self.cap_cents]
        middle = sum(open_rows) / len(open_rows) if open_rows else 0.0
        for cents, depth, pad in sorted(rows, key=lambda row: (row[0], abs(row[1] - middle), row[1])):
            if cents >= self.cap_cents:
                break
            self.trims = tuple(offer for offer in (spring.equaliser, pad) if offer is not None)
            held = len(self.trims) + (spring.lift is not None)
            level = spring.top_dbmv - depth * GRID_DB - held * self.joint_db
            cell = Cell(closet=0, row=FULL, depth=depth, level_dbmv=level, starts=True)
            self.follow((cell,), cents - int(table[depth]), ())

    def follow(self, open_cells: tuple[Cell, ...], spent: int, steps: tuple[Step, ...]) -> None:
        """Take every option of the first open cell that the cap allows."""
        if not open_cells:
            self.finish(steps, spent)
            return
        cell, rest = open_cells[0], open_cells[1:]
        later = sum(int(self.made[one.closet][one.row, one.depth]) for one in rest)
        self.work -= 1
        for recipe, cells, cents in self.options(cell, spent + later):
            if self.work <= 0:
                return
            for panels, items in self.panels(cell, recipe):
                total = spent + cents + recipe.cents + items
                below = sum(int(self.made[one.closet][one.row, one.depth]) for one in cells)
                if total + below + later < self.cap_cents:
                    step = Step(
                        cell=cell,
                        stage=self.stage(cell.closet),
                        recipe=recipe,
                        panels=panels,
                        feeds=len(cells),
                    )
                    self.follow((*cells, *rest), total, (*steps, step))

    def stage(self, index: int) -> Stage:
        """The tables of one closet under the spring that is followed."""
        if index not in self.stages:
            stage = self.programme.stage(index, self.spring)
            tables, _ = self.programme.items(index, self.spring)
            spans = stage.book.spans
            self.loads[index] = np.stack(
                [np.minimum(tables[first:past].sum(axis=0), INF) for first, past in spans.tolist()]
                or [np.zeros(self.plan.depth, dtype=np.int64)]
            )
            self.stages[index] = stage
        return self.stages[index]

    def totals(self, index: int, depth: int) -> Table:
        """Cost in the tables of every recipe of a closet at one D."""
        stage = self.stage(index)
        book, loads = stage.book, self.loads[index]
        spans, steps = book.pieces[:, :, 0], book.pieces[:, :, 1]
        at = depth + steps
        found = np.where(at < self.plan.depth, loads[spans, np.minimum(at, self.plan.depth - 1)], INF)
        return np.asarray(book.cents + np.where(spans >= 0, found, 0).sum(axis=1), dtype=np.int64)

    def options(self, cell: Cell, spent: int) -> Iterator[tuple[Recipe, tuple[Cell, ...], int]]:
        """Recipes for a cell with where their feeds go on, and what the runs there cost."""
        index, programme = cell.closet, self.programme
        closet = programme.closets[index]
        stage = self.stage(index)
        totals = self.totals(index, cell.depth)
        allowed = self.cap_cents - spent
        for row in np.argsort(totals, kind="stable").tolist():
            cents = int(totals[row])
            if cents >= allowed:
                return
            recipe = stage.book.recipes[row]
            if recipe.onward == 0:
                if closet.items and (cell.row == 0 or (cell.row == FULL and not closet.children)):
                    yield recipe, (), 0
                continue
            for reached, runs in self.reached(cell, recipe):
                arrive = [
                    cell.depth
                    + recipe.onward_steps
                    + (recipe.onward_more if port else 0)
                    + self.plan.landing(index, child)
                    for port, (child, _) in enumerate(reached)
                ]
                if max(arrive) >= self.plan.depth:
                    continue
                below = sum(
                    int(self.made[child][part, at]) for (child, part), at in zip(reached, arrive, strict=True)
                )
                if cents + runs + below < allowed:
                    yield recipe, self.landed(cell, recipe, reached, arrive), runs

    def reached(self, cell: Cell, recipe: Recipe) -> Iterator[tuple[tuple[tuple[int, int], ...], int]]:
        """Where a recipe's feeds may go on to from a cell, (closet, row) each in port order, and what the runs cost."""
        feeds = recipe.onward
        index, programme, plan = cell.closet, self.programme, self.plan
        closet = programme.closets[index]
        if not closet.children:
            return
        if cell.row != FULL:
            if feeds == 1 and len(closet.children) == 1 and closet.items:
                for child, passed in programme.nexts(index):
                    if cell.row - 1 - passed >= 0:
                        yield ((child, cell.row - 1 - passed),), plan.path(index, child).cents
            return
        if index == self.spring.closet or len(closet.children) > 1:
            for found, cents in self.shared(index, index + 1, feeds):
                yield found, cents
                if recipe.onward_more:
                    yield found[::-1], cents
        elif feeds == 1 and closet.items and programme.chain(index) <= plan.longest_leg:
            for child, _ in programme.nexts(index):
                yield ((child, FULL),), plan.path(index, child).cents

    def shared(self, index: int, here: int, feeds: int) -> Iterator[tuple[tuple[tuple[int, int], ...], int]]:
        """Every way for so many legs to serve the closets from `here` to the last below `index`."""
        programme, plan = self.programme, self.plan
        last = programme.closets[index].last
        if here > last:
            if feeds == 0:
                yield (), 0
            return
        if programme.empty(here):
            yield from self.shared(index, here + 1, feeds)
        if feeds == 0:
            return
        end = programme.closets[here].last
        options = [
            (FULL, end + 1),
            *((row, here + row + 1) for row in range(plan.longest_leg) if here + row <= end),
        ]
        cents = plan.path(index, here).cents
        for row, after in options:
            for more, runs in self.shared(index, after, feeds - 1):
                yield ((here, row), *more), runs + cents

    def landed(
        self, cell: Cell, recipe: Recipe, reached: tuple[tuple[int, int], ...], arrive: list[int]
    ) -> tuple[Cell, ...]:
        """The cells that the onward feeds of a recipe open, in port order."""
        ports = [level for thing, level in self.hung(cell, recipe) if thing == "onward"]
        return tuple(
            Cell(
                closet=child,
                row=row,
                depth=depth,
                level_dbmv=level - self.plan.path(cell.closet, child).loss_db,
                starts=False,
            )
            for (child, row), depth, level in zip(reached, arrive, ports, strict=True)
        )

    def hung(self, cell: Cell, recipe: Recipe) -> list[tuple[int | str, Floats]]:
        """Each local and onward feed of a recipe with the level at its port."""
        if recipe.pick is None:
            return [(0 if recipe.loads else "onward", cell.level_dbmv)]
        level = cell.level_dbmv - (self.joint_db if cell.starts else 0.0)
        return self.behind(recipe.pick, level)

    def behind(self, pick: Pick, level_dbmv: Floats) -> list[tuple[int | str, Floats]]:
        """Each local and onward feed behind a device with the level at its port."""
        found: list[tuple[int | str, Floats]] = []
        for arm, things in zip(pick.offer.arms, pick.arms, strict=True):
            for thing in things:
                if isinstance(thing, Pick):
                    found += self.behind(thing, level_dbmv - arm.loss_db - self.joint_db)
                elif thing is not None:
                    found.append((thing, level_dbmv - arm.loss_db))
        return found

    def panels(self, cell: Cell, recipe: Recipe) -> Iterator[tuple[Panels, int]]:
        """Choices of panel recipes that keep every outlet of a closet inside, with their cost: for each flat the
        cheapest, and the cheapest with each larger count of spare ports."""
        order = self.stage(cell.closet).order
        numbers, options = [], []
        for thing, level in self.hung(cell, recipe):
            if isinstance(thing, int):
                numbers.append(int(order[thing]))
                options.append(self.fitting(cell.closet, numbers[-1], level))
        for picked in product(*options):
            yield dict(zip(numbers, picked, strict=True)), sum(one.cents for one in picked)

    def fitting(self, index: int, number: int, level_dbmv: Floats) -> list[Recipe]:
        """Panel recipes for one flat at the level of its port, those that cost more without more spare ports out."""
        plan = self.plan
        planned = plan.planned[index][number]
        first = plan.field.firsts[index] + int(plan.field.bounds[index][number])
        past = plan.field.firsts[index] + int(plan.field.bounds[index][number + 1])
        windows = self.programme.windows(self.spring)[first:past]
        order = drop_order(tuple((least, most) for least, most in windows.tolist()))
        low = plan.target.low_dbmv + plan.target.shrink_db + plan.target.reserve_db - CARRIED_DB
        high = plan.target.high_dbmv - plan.target.shrink_db + CARRIED_DB
        arriving = level_dbmv - planned.fixed_db
        best: dict[int, Recipe] = {}
        for recipe in plan.kitchen.panel_recipes(len(planned.drops), planned.panel_rules):
            levels = (
                [(0, np.zeros_like(level_dbmv))]
                if recipe.pick is None
                else self.behind(recipe.pick, np.zeros_like(level_dbmv))
            )
            inside = all(
                bool(np.all((low <= arriving[order[thing]] + lost) & (arriving[order[thing]] + lost <= high)))
                for thing, lost in levels
                if isinstance(thing, int)
            )
            if inside and (recipe.spare not in best or recipe.cents < best[recipe.spare].cents):
                best[recipe.spare] = recipe
        return [
            recipe
            for spare, recipe in sorted(best.items())
            if not any(one.cents <= recipe.cents for other, one in best.items() if other > spare)
        ]

    def finish(self, steps: tuple[Step, ...], spent: int) -> None:
        """Build and measure a design; keep it where it fits and keeps the rules."""
        left = list(steps)

        def visit() -> Visit:
            step = left.pop(0)
            return Visit(
                closet=step.cell.closet,
                spring=self.spring,
                depth=step.cell.depth,
                stage=step.stage,
                recipe=step.recipe,
                onward=tuple(visit() for _ in range(step.feeds)),
                starts=step.cell.starts,
                panels=step.panels,
                trims=self.trims if step.cell.starts else (),
            )

        root = visit()
        if not self.keeps(root):
            return
        self.work -= MEASURED
        solution, _ = evaluate(self.plan, root, spent, self.judge)
        if solution.fits:
            self.best, self.cap_cents = solution, spent
