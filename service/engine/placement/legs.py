"""The programme over closets: legs of daisy-chained closets, express feeds to them, amplifiers between.

State of a feed is D, the device loss since its spring. A leg starts at a closet and covers closets in depth-first
order: so many in a row, or all below. `rows[n-1]` of a closet's table is the cost of covering n closets, the last
row of covering everything below it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from dataclasses import field as made_field

import numpy as np

from service.engine.placement.cabling import Cabling, Laid
from service.engine.placement.kernels import continue_legs, lift_legs, pad_legs, share_legs, split_legs
from service.engine.placement.layout import Layout
from service.engine.placement.leads import Lead, carries
from service.engine.placement.menu import GRID_DB, Inserter, Offer
from service.engine.placement.springs import FIXED_NEAR_DB, Floats, Spring
from service.engine.placement.stages import INF, Book, Kitchen, Stage, StageRules, Table
from service.engine.placement.windows import Bands, Bias, Field, Planned, Target, Tilt, window_rows

MOST_FEEDS = 8
#: Onward feeds from a closet of a chain and from an amplifier on it. The head-end, and a place where ways part,
#: give up to `MOST_FEEDS`, or one to each way where more ways start there.
CHAIN_FEEDS = (0, 1)
SPRING_FEEDS = (0, 1, 2, 3)
FULL = -1


@dataclass(slots=True, kw_only=True)
class Plan:
    """Everything the programme reads: layout, runs, items, springs, rules.

    `risers` are springs on house power, `line` those of amplifiers that live on the line, fed from a `powered` closet
    through one of the `inserters`. `pads` may stand ahead of legs. `lifted` stands for the springs where levels are
    left out: by closet the outputs, cents and onward feeds of each amplifier that may stand there.
    """

    layout: Layout
    cabling: Cabling
    riser_series: str
    planned: tuple[tuple[Planned, ...], ...]
    field: Field
    tilt: Tilt
    above_db: Floats
    target: Target
    bias: Bias
    rules: tuple[StageRules, ...]
    kitchen: Kitchen
    depth: int
    longest_leg: int
    reference: int
    bands: Bands | None = None
    floor_cents: int = 0
    forced: frozenset[int] = frozenset()
    risers: dict[int, list[Spring]] = made_field(default_factory=dict)
    line: dict[int, list[Spring]] = made_field(default_factory=dict)
    powered: frozenset[int] = frozenset()
    pads: tuple[Offer, ...] = ()
    inserters: tuple[Inserter, ...] = ()
    lifted: Mapping[int, tuple[tuple[int, int, tuple[int, ...]], ...]] = made_field(default_factory=dict)
    _paths: dict[tuple[int, int], Laid] = made_field(default_factory=dict)

    def above(self, spring: Spring) -> Floats:
        """Loss from a spring to each closet besides D: the ways, and how device loss leans (closets × frequencies)."""
        lost = self.above_db - self.above_db[spring.closet] + self.tilt.below(spring.closet)
        return np.asarray(lost, dtype=np.float64)

    def path(self, start: int, end: int) -> Laid:
        """The run from one closet to another below it."""
        key = (start, end)
        if key not in self._paths:
            ways = self.layout.path(start, end)
            closets = self.layout.closets
            self._paths[key] = self.cabling.lay(
                ways, closets[start].place.id, closets[end].place.id, self.riser_series
            )
        return self._paths[key]

    @property
    def runs(self) -> tuple[Laid, ...]:
        """Every run between closets that was looked at so far."""
        return tuple(self._paths.values())

    def landing(self, start: int, end: int) -> int:
        """Steps that the lengths left and the joints of such a run take."""
        if self.kitchen.level_free:
            return 0
        return round(float(self.path(start, end).ends_db[self.reference]) / GRID_DB)


class Programme:
    """Tables of one plan, made from the bottom up.

    What is remembered is small: the table at a spring's own closet, and all tables of the springs that a trace
    follows.
    """

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.closets = plan.layout.closets
        self._pads = tuple(Lead(offer=pad) for pad in plan.pads)
        self._pad_rows = (
            np.asarray([lead.steps for lead in self._pads], dtype=np.int64),
            np.asarray([lead.cents for lead in self._pads], dtype=np.int64),
        )
        self._tops: dict[tuple[int, float, str, int], Table] = {}
        self._traced: dict[tuple[int, float, str, int], dict[int, Table]] = {}
        self._arriving: dict[tuple[int, float, str], list[list[float]]] = {}
        self._books: dict[tuple[int, tuple[int, ...], int], Book] = {}
        self._kinds: dict[int, Table] = {}
        self._chains: dict[int, int] = {}
        self._windows: dict[tuple[int, float, str], Table] = {}

    # -- tables ------------------------------------------------------------------------------------------

    def _key(self, spring: Spring) -> tuple[int, float, str]:
        return (spring.closet, spring.slope_db, spring.name)

    def feeds(self, index: int, spring: Spring) -> tuple[int, ...]:
        """How many feeds may go on from a closet: several where levels start or ways part."""
        ways = len(self.closets[index].children)
        if ways > 1 or (index == spring.closet == 0):
            return tuple(range(max(MOST_FEEDS, ways) + 1))
        return SPRING_FEEDS if index == spring.closet else CHAIN_FEEDS

    def may_split(self, index: int, spring: Spring) -> bool:
        """True where several feeds may go on: at a spring, where ways part, or where an amplifier is priced in."""
        return index == spring.closet or len(self.closets[index].children) > 1 or index in self.plan.lifted

    def stage(self, index: int, spring: Spring) -> Stage:
        """The closet's own tables under a spring."""
        plan = self.plan
        feeds = self.feeds(index, spring)
        outputs = spring.outputs if index == spring.closet else 0
        key = (index, feeds, outputs)
        if key not in self._books:
            count, rules = len(self.closets[index].items), plan.rules[index]
            if outputs:
                self._books[key] = plan.kitchen.book(count, feeds, rules, outputs)
            elif index in plan.lifted:
                self._books[key] = plan.kitchen.lifted_book(count, feeds, rules, plan.lifted[index])
            else:
                # A feed that arrives by cable needs a device to end in.
                self._books[key] = plan.kitchen.book(count, feeds, replace(rules, straight=False))
        if index not in self._kinds:
            classes = plan.kitchen.panels.classes
            kinds = [classes[planned.panel_class] for planned in plan.planned[index]]
            self._kinds[index] = np.asarray(kinds, dtype=np.int64)
        return plan.kitchen.stage(
            self.windows_of(index, spring), plan.field.bounds[index], self._kinds[index], self._books[key]
        )

    def windows_of(self, index: int, spring: Spring) -> Table:
        """The windows of one closet's outlets under a spring."""
        field = self.plan.field
        return self.windows(spring)[field.firsts[index] : field.firsts[index + 1]]

    def windows(self, spring: Spring) -> Table:
        """The window of every outlet under a spring."""
        key = self._key(spring)
        if key not in self._windows:
            plan = self.plan
            above = plan.above(spring)
            self._windows[key] = window_rows(
                plan.field, above, spring.top_dbmv, plan.target, plan.bias, plan.bands
            )
        return self._windows[key]

    def empty(self, index: int) -> bool:
        """A closet without items and with one way on: a feed passes it unless it amplifies there."""
        return not self.closets[index].items and len(self.closets[index].children) == 1

    def top(self, spring: Spring, lifts_left: int) -> Table:
        """The table at the spring's own closet."""
        key = (*self._key(spring), lifts_left)
        if key not in self._tops:
            self._tops[key] = self._made(spring, lifts_left)[spring.closet]
        return self._tops[key]

    def tables(self, spring: Spring, lifts_left: int) -> dict[int, Table]:
        """Tables of every closet from the spring's own down, kept for a trace."""
        key = (*self._key(spring), lifts_left)
        if key not in self._traced:
            self._traced[key] = self._made(spring, lifts_left)
        return self._traced[key]

    def _made(self, spring: Spring, lifts_left: int) -> dict[int, Table]:
        made: dict[int, Table] = {}
        for index in range(self.closets[spring.closet].last, spring.closet - 1, -1):
            made[index] = self._closet_table(index, spring, lifts_left, made)
        return made

    def _closet_table(self, index: int, spring: Spring, lifts_left: int, made: dict[int, Table]) -> Table:
        plan, closet = self.plan, self.closets[index]
        rows = np.full((plan.longest_leg + 1, plan.depth), INF, dtype=np.int64)
        if index not in plan.forced or index == spring.closet:
            stage = self.stage(index, spring)
            if closet.items:
                if 0 in stage.book.rows:
                    rows[0] = stage.costs[stage.book.rows[0]].min(axis=0)
                if not closet.children:
                    rows[FULL] = rows[0]
            if len(closet.children) == 1:
                self._continue(index, spring, lifts_left, stage, rows, made)
            if self.may_split(index, spring):
                self._split(index, spring, lifts_left, stage, rows, made)
        if lifts_left > 0 and index in self.plan.risers and index != spring.closet:
            for riser in plan.risers.get(index, []):
                reach = self.reach(index, spring, riser)
                if reach is None:
                    continue
                table = self.top(riser, lifts_left - 1)
                lift_legs(rows, table, riser.cents, riser.deepest, *reach)
        return np.minimum(rows, INF)

    def nexts(self, index: int) -> list[tuple[int, int]]:
        """Closets that the one onward feed may go to, with how many empty closets it passes on the way."""
        found = []
        here, passed = self.closets[index].children[0], 0
        while True:
            found.append((here, passed))
            if not self.empty(here):
                return found
            here, passed = self.closets[here].children[0], passed + 1

    def padded(self, index: int) -> bool:
        """True where legs may have a pad ahead: at the head-end, and where ways part."""
        return bool(self._pads) and (index == 0 or len(self.closets[index].children) > 1)

    def leads(self, index: int, here: int, lifts_left: int) -> list[Lead]:
        """What may stand at one closet ahead of a leg to another: pads where ways part, a supply for its amplifier."""
        plan = self.plan
        found = list(self._pads) if self.padded(index) else []
        if lifts_left == 0 or index not in plan.powered or not plan.line.get(here):
            return found
        laid = plan.path(index, here)
        ohm = plan.cabling.catalogue.cable(laid.cable).loop_resistance_ohm_per_km
        for riser in plan.line.get(here, []):
            assert riser.lift is not None
            for inserter in plan.inserters:
                if carries(inserter, riser.lift, laid, ohm):
                    found.append(Lead(offer=inserter.offer, riser=riser))
                    break
        return found

    def behind_pads(self, index: int, legs: Table) -> Table:
        """Legs from a closet, behind a pad where they get too much without."""
        return pad_legs(legs, *self._pad_rows, INF) if self.padded(index) else legs

    def led(self, index: int, here: int, spring: Spring, lifts_left: int, legs: Table) -> Table:
        """Legs to a closet with whatever may stand at their start."""
        rows = self.behind_pads(index, legs)
        if lifts_left == 0 or index not in self.plan.powered or not self.plan.line.get(here):
            return rows
        rows = rows.copy()
        for lead in self.leads(index, here, lifts_left):
            reach = self.fed(here, spring, lead) if lead.riser is not None else None
            if lead.riser is not None and reach is not None:
                table = self.top(lead.riser, lifts_left - 1)
                lift_legs(rows, table, lead.cents, lead.riser.deepest, *reach)
        return rows

    def fed(self, here: int, spring: Spring, lead: Lead) -> tuple[int, int, int, int, int] | None:
        """How a line-powered amplifier may move the D that its leg has ahead of the supply."""
        assert lead.riser is not None
        reach = self.reach(here, spring, lead.riser)
        if reach is None:
            return None
        low, count, stride, first, past = reach
        first, past = max(0, first - lead.steps), past - lead.steps
        return (low + lead.steps, count, stride, first, past) if past > first else None

    def _continue(
        self,
        index: int,
        spring: Spring,
        lifts_left: int,
        stage: Stage,
        rows: Table,
        made: dict[int, Table],
    ) -> None:
        """One feed goes on to the next closet: rows grow by this closet (and by empty ones it passes)."""
        if not self.closets[index].items and index != spring.closet:
            return
        if 1 not in stage.book.rows:
            return
        groups = stage.book.rows[1]
        whole = self.chain(index) <= self.plan.longest_leg
        for child, passed in self.nexts(index):
            run = self.plan.path(index, child)
            steps = stage.book.steps[groups] + self.plan.landing(index, child)
            below = self.led(index, child, spring, lifts_left, made[child])
            continue_legs(rows, stage.costs[groups], steps, below, run.cents, 1 + passed, whole, INF)

    def chain(self, index: int) -> int:
        """Closets with items from here to the end of the chain, a split or house power."""
        if index not in self._chains:
            self._chains[index] = self._chain(index)
        return self._chains[index]

    def _chain(self, index: int) -> int:
        count, here = 0, index
        while True:
            count += bool(self.closets[here].items)
            children = self.closets[here].children
            powered = self.plan.risers or self.plan.lifted
            if len(children) != 1 or children[0] in powered:
                return count
            here = children[0]

    def partition(self, index: int, spring: Spring, lifts_left: int, made: dict[int, Table]) -> Table:
        """`[k, x, D]` → cost of serving closets index + 1 + x … last by k feeds that all start at `index`."""
        first, last, ways = index + 1, self.closets[index].last, len(self.closets[index].children)
        below = range(first, last + 1)
        return share_legs(
            np.stack([self.led(index, here, spring, lifts_left, made[here]) for here in below]),
            np.asarray([self.plan.landing(index, here) for here in below], dtype=np.int64),
            np.asarray([self.plan.path(index, here).cents for here in below], dtype=np.int64),
            np.asarray([self.closets[here].last - first for here in below], dtype=np.int64),
            np.asarray([self.empty(here) for here in below], dtype=np.int64),
            max(MOST_FEEDS, ways) if index == 0 or ways > 1 else SPRING_FEEDS[-1],
            INF,
        )

    def _split(
        self,
        index: int,
        spring: Spring,
        lifts_left: int,
        stage: Stage,
        rows: Table,
        made: dict[int, Table],
    ) -> None:
        """Several feeds go on from one closet; together they serve everything below."""
        if not self.closets[index].children:
            return
        cost = self.partition(index, spring, lifts_left, made)
        for feeds, groups in stage.book.rows.items():
            if feeds > 0:
                split_legs(rows[FULL], stage.costs[groups], stage.book.steps[groups], cost[feeds, 0], INF)

    def reach(self, index: int, spring: Spring, riser: Spring) -> tuple[int, int, int, int, int] | None:
        """How an amplifier at a closet may move D: (offset of the least new D, settings, steps each, first, past D).

        None when it can't follow that spring at all: input too low or too high, or too much slope asked.
        """
        key = self._key(spring)
        if key not in self._arriving:
            plan = self.plan
            arriving = spring.top_dbmv - plan.above(spring)
            self._arriving[key] = np.stack(
                (arriving[:, plan.reference], arriving.min(axis=1), arriving.max(axis=1), arriving[:, 0]),
                axis=1,
            ).tolist()
        arrives, weakest, strongest, lowest = self._arriving[key][index]
        lift = riser.lift
        assert lift is not None
        span = lift.share_low
        asked = (lowest - arrives) - (riser.top_low_dbmv - riser.top_reference_dbmv)
        slope = asked / span if span > 0 else 0.0
        if slope > (FIXED_NEAR_DB if lift.fixed else lift.most_slope_db + 0.5) or slope < -FIXED_NEAR_DB:
            return None
        gain = lift.gain_reference_db - max(slope, 0.0) * lift.share_reference
        base = riser.top_reference_dbmv - arrives
        stride = max(1, round(lift.step_db / GRID_DB))
        low = round((base - (gain - lift.reserve_db)) / GRID_DB)
        count = math.floor((lift.reduction_db - lift.reserve_db) / (stride * GRID_DB) + 1e-6) + 1
        first, past = 0, self.plan.depth
        if lift.input_low_dbmv is not None:
            past = min(past, math.floor((weakest - lift.input_low_dbmv) / GRID_DB) + 1)
        if lift.input_high_dbmv is not None:
            first = max(first, math.ceil((strongest - lift.input_high_dbmv) / GRID_DB))
        return (low, count, stride, first, past) if past > first and count > 0 else None
