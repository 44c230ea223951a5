"""One carrier alone: what no design costs less than whose level at that carrier is right at every outlet.

Every other carrier is left out, amplifiers may take any input and give any output that leaves their reserves, and
every rounding widens the windows: so each design that is right at all carriers is in here, at no more than its own
cost.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

import numpy as np

from service.engine.placement.carrier_books import STEP_DB, CarrierKitchen
from service.engine.placement.legs import FULL, Plan, Programme
from service.engine.placement.rounds import SLACK_DB
from service.engine.placement.site import Site
from service.engine.placement.springs import Floats, Spring
from service.engine.placement.stages import INF, Stage, Table
from service.engine.placement.starts import Freedom, Start, joint_db, launches, risers
from service.engine.placement.windows import Target

#: Room in the tables for what rounding widens, and more device loss than any amplifier makes up for.
ROUNDED_DB = 5.0
MOST_DB = 120.0


@dataclass(slots=True, kw_only=True)
class CarrierPlan(Plan):
    """A plan read at one carrier: `reference` is that carrier, D counts in steps of `STEP_DB`."""

    def landing(self, start: int, end: int) -> int:
        """Steps of a run beyond what the ways between the closets lose one by one."""
        return max(0, round(self.beyond_db(start, end) / STEP_DB))

    def beyond_db(self, start: int, end: int) -> float:
        """The same in dB: joints and lengths left; negative where the run as a whole takes a better cable."""
        at = self.reference
        ways = float(self.above_db[end, at] - self.above_db[start, at])
        return float(self.path(start, end).loss_db[at]) - ways


class Reading:
    """A site read at one carrier: how levels may start at each closet, and what recipes lose there.

    `tops` is the highest output of any start of a closet, from which all of them count D.
    """

    def __init__(self, site: Site, target: Target, carrier: int, freedom: Freedom) -> None:
        self.site = site
        self.carrier = carrier
        self.joint_db = joint_db(site, carrier)
        self.launches = launches(site, carrier, freedom)
        found = {
            closet.index: risers(site, closet.index, carrier, freedom) for closet in site.layout.closets[1:]
        }
        self.starts = {index: starts for index, starts in found.items() if starts}
        self.tops = {index: max(one.most_dbmv for one in starts) for index, starts in self.starts.items()}
        self.tops[0] = max((one.most_dbmv for one in self.launches), default=0.0)
        room = max(self.tops.values()) - float(target.low_dbmv[carrier]) - target.reserve_db
        self.kitchen = CarrierKitchen(
            site.kitchen.closet_cook,
            site.kitchen.panel_cook,
            tuple(site.kitchen.panels.classes),
            # Steps of D at which somebody may still be served, what was rounded included.
            depth=math.ceil(min(max(room + ROUNDED_DB, 1.0), MOST_DB) / STEP_DB),
            carrier=carrier,
            joint_db=self.joint_db,
        )


class CarrierProgramme(Programme):
    """The programme over closets at one carrier. All amplifiers of a closet share one table: levels below depend on
    the level that leaves alone."""

    def __init__(self, reading: Reading, plan: Plan) -> None:
        own = {row.name: getattr(plan, row.name) for row in fields(plan) if row.init}
        bare = own | {
            "reference": reading.carrier,
            "kitchen": reading.kitchen,
            "depth": reading.kitchen.depth,
        }
        self.read = mine = CarrierPlan(**bare | {"risers": {}, "line": {}})
        super().__init__(mine)
        self.carrier, self.joint_db = reading.carrier, reading.joint_db
        self.launches, self.starts, self.tops = reading.launches, reading.starts, reading.tops
        self._stages: dict[tuple[int, int, int], Stage] = {}
        self.hops, self.deficit_db = self._count_hops(), self._worst_deficit()
        mine.risers = {
            index: [self._spring(index, one) for one in starts] for index, starts in self.starts.items()
        }

    def _spring(self, closet: int, start: Start) -> Spring:
        """All starts of a closet share the top, the highest output of any, and tables where outputs are as many."""
        top = np.full_like(self.plan.target.low_dbmv, self.tops[closet])
        return Spring(
            closet=closet,
            lift=start.lift,
            slope_db=0.0,
            top_dbmv=top,
            deepest=1 << 40,
            reference=self.carrier,
            outputs=start.outputs,
        )

    def _count_hops(self) -> Table:
        """By closet, how many closets stand above it and how many of them part the ways."""
        rows = np.zeros((len(self.closets), 2), dtype=np.int64)
        for closet in self.closets[1:]:
            parts = len(self.closets[closet.parent].children) > 1
            rows[closet.index] = rows[closet.parent] + np.asarray([1, int(parts)])
        return rows

    def _worst_deficit(self) -> float:
        """The most by which a run as a whole loses less than its ways one by one, in dB; mostly nothing."""
        worst = 0.0
        for closet in self.closets:
            if not closet.children:
                continue
            many = closet.index == 0 or len(closet.children) > 1 or closet.index in self.starts
            ends = (
                range(closet.index + 1, closet.last + 1)
                if many
                else [here for here, _ in self.nexts(closet.index)]
            )
            worst = max(worst, *(-self.read.beyond_db(closet.index, end) for end in ends))
        return worst

    def leeway_db(self, spring_closet: int) -> Floats:
        """How far D in the tables may lie off the exact loss at each closet under a spring, to either side.

        Each hop rounds a recipe and a landing; at the end a recipe and a panel are rounded, at the start a level.
        """
        hops = self.hops - self.hops[spring_closet]
        legs = 1 + hops[:, 1]
        most = np.minimum(hops[:, 0], self.plan.longest_leg * legs)
        return np.asarray((most + 1.5) * STEP_DB + legs * self.deficit_db, dtype=np.float64)

    def _key(self, spring: Spring) -> tuple[int, float, str]:
        return (spring.closet, 0.0, str(spring.outputs))

    def stage(self, index: int, spring: Spring) -> Stage:
        """The closet's own tables under a spring, kept for every count of amplifiers left."""
        key = (index, spring.closet, spring.outputs)
        if key not in self._stages:
            self._stages[key] = super().stage(index, spring)
        return self._stages[key]

    def windows(self, spring: Spring) -> Table:
        """The window of every outlet at the one carrier, widened by all that was rounded or left open."""
        if self._key(spring) not in self._windows:
            plan, at = self.plan, self.carrier
            rows = plan.field.closet_of
            leeway = self.leeway_db(spring.closet)[rows] + SLACK_DB
            above = plan.above_db[rows, at] - plan.above_db[spring.closet, at]
            level = self.tops[spring.closet] - above - plan.field.fixed_db[:, at]
            least = level - plan.target.high_dbmv[at] - leeway - self.joint_db
            most = level - plan.target.low_dbmv[at] - plan.target.reserve_db + leeway
            window = np.stack((np.ceil(least / STEP_DB - 1e-6), np.floor(most / STEP_DB + 1e-6)), axis=1)
            self._windows[self._key(spring)] = np.clip(window, -1e9, 1e9).astype(np.int64)
        return self._windows[self._key(spring)]

    def _start(self, spring: Spring) -> Start:
        """The start behind the spring of a closet further down."""
        return next(one for one in self.starts[spring.closet] if one.lift is spring.lift)

    def _least_lost(self, spring: Spring, most_dbmv: float) -> int:
        """Least D that an output of so much at most gives under the closet's shared top."""
        return max(0, math.floor((self.tops[spring.closet] - most_dbmv) / STEP_DB))

    def top(self, spring: Spring, lifts_left: int) -> Table:
        """The table at the spring's own closet, from the D on that its amplifier can give."""
        table = super().top(spring, lifts_left)
        lost = 0 if spring.closet == 0 else self._least_lost(spring, self._start(spring).most_dbmv)
        if lost == 0:
            return table
        moved = np.full_like(table, INF)
        moved[:, : table.shape[1] - lost] = table[:, lost:]
        return moved

    def behind_pads(self, index: int, legs: Table) -> Table:
        """Legs with a pad of any loss ahead, at the least price of one."""
        if not self.padded(index):
            return legs
        least = np.minimum.accumulate(legs[:, ::-1], axis=1)[:, ::-1]
        cents = min(pad.cents for pad in self.plan.pads)
        return np.asarray(np.minimum(legs, least + cents), dtype=np.int64)

    def reach(self, index: int, spring: Spring, riser: Spring) -> tuple[int, int, int, int, int] | None:
        """How an amplifier may move D: up to its full gain and its rating, at any input and any reduction."""
        plan, start = self.plan, self._start(riser)
        above = float(plan.above_db[index, self.carrier] - plan.above_db[spring.closet, self.carrier])
        arrives = self.tops[spring.closet] - above + float(self.leeway_db(spring.closet)[index])
        low = math.floor((self.tops[index] - arrives - start.gain_db) / STEP_DB)
        low -= self._least_lost(riser, start.most_dbmv)
        return low, plan.depth + abs(low) + 1, 1, 0, plan.depth

    def least_cents(self, lifts: int) -> int | None:
        """Least cost of devices and runs with so many amplifiers in a row; None where nothing serves everybody."""
        if not self.launches:
            return None
        found = []
        for start in self.launches:
            spring = self._spring(0, start)
            table = self.top(spring, lifts if self.starts else 0)[FULL]
            lost = self._least_lost(spring, start.most_dbmv)
            cells = table[lost : lost + 2] if start.fixed else table[lost:]
            found.append(start.cents + int(cells.min(initial=INF)))
        least = min(found)
        return least if least < INF else None
