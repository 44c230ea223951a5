"""Back from the tables to what stands where: one visit for each closet that a feed lands in."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from service.engine.errors import TableRangeError
from service.engine.placement.legs import FULL, Programme
from service.engine.placement.menu import Offer
from service.engine.placement.recipes import Recipe
from service.engine.placement.springs import Spring
from service.engine.placement.stages import INF, Stage, Table


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """At `closet` a feed arrives with D = `depth` since `spring` and meets `recipe`.

    `trims` are parts of one port each that the feed passes before the recipe. `starts` says that the spring's
    amplifier (or the launch) stands at this very closet. `onward` are the visits that the recipe's onward feeds go to,
    in port order, each behind its `lead` where it has one: a part where its cable starts.
    """

    closet: int
    spring: Spring
    depth: int
    stage: Stage
    recipe: Recipe
    onward: tuple[Visit, ...]
    starts: bool
    trims: tuple[Offer, ...] = ()
    lead: Offer | None = None


def middle_of_least(costs: Table) -> int:
    """Index in the middle of the longest stretch of least cost: as far from either edge as money allows."""
    flat = np.flatnonzero(costs == costs.min())
    stretches = np.split(flat, np.flatnonzero(np.diff(flat) > 1) + 1)
    longest = max(stretches, key=lambda stretch: (len(stretch), -int(stretch[0])))
    return int(longest[(len(longest) - 1) // 2])


class Tracer:
    """Follows least costs down the tables of one programme."""

    def __init__(self, programme: Programme) -> None:
        self.programme = programme
        self.plan = programme.plan

    def launch(self, spring: Spring, lifts_left: int) -> tuple[int, int, Offer | None] | None:
        """Least cost of serving everything from a launch spring, its D and its pad; None when it can't."""
        places, pads = spring.starts(self.plan.depth)
        cents = np.asarray([pad.cents if pad is not None else 0 for pad in pads], dtype=np.int64)
        table = self.programme.top(spring, lifts_left)[FULL][places] + cents
        if int(table.min()) >= INF:
            return None
        at = middle_of_least(table)
        return int(table[at]) + spring.cents, places[at], pads[at]

    def visit(
        self, index: int, row: int, depth: int, spring: Spring, lifts_left: int, *, starts: bool
    ) -> Visit:
        """The visit behind one cell of a table; raises TableRangeError if no option gives its cost."""
        programme = self.programme
        made = programme.tables(spring, lifts_left)
        cost = int(made[index][row, depth])
        stage = programme.stage(index, spring)
        closet = programme.closets[index]
        forced = index in self.plan.forced and index != spring.closet
        if not forced and closet.items and (row == 0 or (row == FULL and not closet.children)):
            for group in stage.groups(0):
                if int(stage.costs[group, depth]) == cost:
                    return self._made(index, depth, spring, stage, group, (), starts)
        found = None
        if not forced and len(closet.children) == 1:
            found = self._continued(index, row, depth, spring, lifts_left, stage, cost, starts)
        if not forced and found is None and row == FULL and programme.may_split(index, spring):
            found = self._split(index, depth, spring, lifts_left, stage, cost, starts)
        if found is None and lifts_left > 0 and index in self.plan.risers and index != spring.closet:
            found = self._lifted(index, row, depth, spring, lifts_left, cost)
        if found is None:
            raise TableRangeError(f"no option gives {cost} at closet {closet.place.id}, D {depth}")
        return found

    def _made(
        self,
        index: int,
        depth: int,
        spring: Spring,
        stage: Stage,
        group: int,
        onward: tuple[Visit, ...],
        starts: bool,
    ) -> Visit:
        recipe = stage.recipe(group, depth)
        return Visit(
            closet=index, spring=spring, depth=depth, stage=stage, recipe=recipe, onward=onward, starts=starts
        )

    def _continued(
        self,
        index: int,
        row: int,
        depth: int,
        spring: Spring,
        lifts_left: int,
        stage: Stage,
        cost: int,
        starts: bool,
    ) -> Visit | None:
        programme, plan = self.programme, self.plan
        if not programme.closets[index].items and index != spring.closet:
            return None
        if row == FULL and programme.chain(index) > plan.longest_leg:
            return None
        for child, passed in programme.nexts(index):
            below = FULL if row == FULL else row - 1 - passed
            if row != FULL and below < 0:
                continue
            run = plan.path(index, child)
            for group in stage.groups(1):
                arrive = depth + int(stage.book.steps[group]) + plan.landing(index, child)
                if arrive >= plan.depth:
                    continue
                left = cost - int(stage.costs[group, depth]) - run.cents
                onward = self._leg(index, child, below, arrive, spring, lifts_left, left)
                if onward is not None:
                    return self._made(index, depth, spring, stage, group, (onward,), starts)
        return None

    def _split(
        self, index: int, depth: int, spring: Spring, lifts_left: int, stage: Stage, cost: int, starts: bool
    ) -> Visit | None:
        programme = self.programme
        if not programme.closets[index].children:
            return None
        made = programme.tables(spring, lifts_left)
        parts = programme.partition(index, spring, lifts_left, made)
        for feeds in range(1, parts.shape[0]):
            table = parts[feeds, 0]
            for group in stage.groups(feeds):
                arrive = depth + int(stage.book.steps[group])
                if arrive >= self.plan.depth:
                    continue
                if int(table[arrive]) + int(stage.costs[group, depth]) == cost:
                    onward = self._legs(index, feeds, arrive, spring, lifts_left, parts)
                    return self._made(index, depth, spring, stage, group, onward, starts)
        return None

    def _legs(
        self,
        index: int,
        feeds: int,
        depth: int,
        spring: Spring,
        lifts_left: int,
        parts: Table,
    ) -> tuple[Visit, ...]:
        """The legs behind one cell of a partition, in the order of the closets."""
        programme, plan = self.programme, self.plan
        visits: list[Visit] = []
        here, left = index + 1, feeds
        while left:
            at = here - index - 1
            cost = int(parts[left, at, depth])
            if programme.empty(here) and int(parts[left, at + 1, depth]) == cost:
                here += 1
                continue
            arrive = depth + plan.landing(index, here)
            last = programme.closets[here].last
            options = [(FULL, last + 1)]
            options += [(row, here + row + 1) for row in range(plan.longest_leg) if here + row <= last]
            for row, after in options:
                if arrive >= plan.depth:
                    continue
                rest = int(parts[left - 1, after - index - 1, depth])
                own = cost - rest - plan.path(index, here).cents
                found = self._leg(index, here, row, arrive, spring, lifts_left, own)
                if found is not None:
                    visits.append(found)
                    here, left = after, left - 1
                    break
            else:
                raise TableRangeError(f"no leg gives {cost} at closet {programme.closets[here].place.id}")
        return tuple(visits)

    def _leg(
        self, index: int, here: int, row: int, depth: int, spring: Spring, lifts_left: int, cost: int
    ) -> Visit | None:
        """The leg from one closet to another that costs so much, with what stands at its start."""
        programme = self.programme
        made = programme.tables(spring, lifts_left)
        if int(made[here][row, depth]) == cost:
            return self.visit(here, row, depth, spring, lifts_left, starts=False)
        for lead in programme.leads(index, here, lifts_left):
            found = None
            if lead.riser is not None:
                reach = programme.fed(here, spring, lead)
                found = self._risen(here, row, depth, lead.riser, reach, lifts_left, cost - lead.cents)
            elif depth + lead.steps < self.plan.depth:
                after = depth + lead.steps
                if int(made[here][row, after]) + lead.cents == cost:
                    found = self.visit(here, row, after, spring, lifts_left, starts=False)
            if found is not None:
                return replace(found, lead=lead.offer)
        return None

    def _lifted(
        self, index: int, row: int, depth: int, spring: Spring, lifts_left: int, cost: int
    ) -> Visit | None:
        for riser in self.plan.risers.get(index, []):
            reach = self.programme.reach(index, spring, riser)
            found = self._risen(index, row, depth, riser, reach, lifts_left, cost - riser.cents)
            if found is not None:
                return found
        return None

    def _risen(
        self,
        index: int,
        row: int,
        depth: int,
        riser: Spring,
        reach: tuple[int, int, int, int, int] | None,
        lifts_left: int,
        cost: int,
    ) -> Visit | None:
        """What an amplifier's own table gives at that cost, where it can follow a feed of D = `depth` at all."""
        if reach is None or not reach[3] <= depth < reach[4]:
            return None
        low, count, stride = reach[:3]
        places = np.arange(depth + low, depth + low + count * stride, stride)
        places = places[(places >= 0) & (places <= min(riser.deepest, self.plan.depth - 1))]
        if places.size == 0:
            return None
        span = self.programme.top(riser, lifts_left - 1)[row, places]
        if int(span.min()) != cost:
            return None
        after = int(places[middle_of_least(span)])
        return self.visit(index, row, after, riser, lifts_left - 1, starts=True)
