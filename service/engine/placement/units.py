"""Spread within a unit: panels and closets held to what was wished for, or to the nearest that parts allow.

A flat behind one cable has the spread of its panel's device and its drops, whatever the level: parts that would put
its outlets too far apart are barred there. Outlets that run home one by one are held in a band around their middle.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from service.engine.building.places import Building
from service.engine.placement.binding import Binding
from service.engine.placement.menu import GRID_DB
from service.engine.placement.place import Candidate, place
from service.engine.placement.planning import planned_items
from service.engine.placement.recipes import Recipe
from service.engine.placement.search import Search
from service.engine.placement.site import Site, survey
from service.engine.placement.tightening import finish
from service.engine.placement.used import SLACK_DB, unit_spreads_db
from service.engine.placement.windows import Bands, Planned
from service.engine.propagation.report import SignalReport

#: Tables solved for each try to hold home-runs together, at least.
BAND_SOLVES = 6
#: Where a band hangs, in turn: 0 on the unit's highest outlet, 1 on its lowest.
SHIFTS = (0.5, 0.0, 1.0)


def over_spread(report: SignalReport, spread_db: float) -> tuple[str, ...]:
    """Units whose outlets lie further apart than that, the worst first."""
    over = {unit: apart for unit, apart in unit_spreads_db(report).items() if apart > spread_db + SLACK_DB}
    return tuple(sorted(over, key=lambda unit: (-over[unit], unit)))


def excess_db(report: SignalReport, spread_db: float) -> float:
    """By how much units lie further apart than that, all together."""
    return sum(max(0.0, apart - spread_db) for apart in unit_spreads_db(report).values())


def within_units(site: Site, found: Candidate) -> Candidate:
    """The candidate with no unit's outlets further apart than was wished, or as near to it as could be had."""
    wish_db = site.building.wishes.unit_spread_db
    if wish_db is None or not over_spread(found.solution.report, wish_db):
        return found
    even = evener(site, wish_db)
    if even != site.building:
        again = place(
            survey(
                even, site.layout.route, site.catalogue, site.tariff, site.limits, site.services, site.keep
            )
        )
        if again is not None and again.fits and _nearer(again, found, wish_db):
            found = replace(again, bound_cents=found.bound_cents)
    return banded(found, wish_db)


def _nearer(one: Candidate, other: Candidate, spread_db: float) -> bool:
    """True when units lie nearer to what was wished for in one candidate than in the other."""
    left = excess_db(other.solution.report, spread_db)
    return excess_db(one.solution.report, spread_db) < left - SLACK_DB


# -- panels --------------------------------------------------------------------------------------------


def evener(site: Site, spread_db: float) -> Building:
    """The building with parts barred from each panel that would put its outlets further apart than need be."""
    barred: dict[str, frozenset[str]] = {}
    for items in planned_items(site):
        for planned in items:
            recipes = site.kitchen.panel_recipes(len(planned.drops), planned.panel_rules)
            if planned.item.panel and len(planned.drops) > 1 and recipes:
                barred[planned.item.panel] = uneven_parts(planned, recipes, site.reference, spread_db)
    return replace(
        site.building,
        places=tuple(
            replace(row, never=tuple(sorted({*row.never, *barred.get(row.id, frozenset())})))
            for row in site.building.places
        ),
    )


def uneven_parts(
    planned: Planned, recipes: tuple[Recipe, ...], reference: int, spread_db: float
) -> frozenset[str]:
    """Parts that stand only in panel recipes that miss the spread, or the least that any recipe reaches."""
    apart = [recipe_spread_db(planned, recipe, reference) for recipe in recipes]
    most = max(spread_db, min(apart) + SLACK_DB)
    good = {part for recipe, one in zip(recipes, apart, strict=True) if one <= most for part in recipe.parts}
    return frozenset(part for recipe in recipes for part in recipe.parts) - good


def recipe_spread_db(planned: Planned, recipe: Recipe, reference: int) -> float:
    """How far the outlets of an item lie apart behind a panel recipe, on the carrier where that is most.

    The longest drop gets the port with least loss, as in the tables.
    """
    order = np.argsort(-planned.fixed_db[:, reference], kind="stable")
    lost = planned.fixed_db[order].copy()
    for first, past, steps in recipe.loads:
        lost[first:past] += steps * GRID_DB
    return float(np.max(lost.max(axis=0) - lost.min(axis=0)))


# -- home-runs -----------------------------------------------------------------------------------------


def banded(found: Candidate, spread_db: float) -> Candidate:
    """The candidate with units of home-runs held in a band of that spread, where a design does it."""
    search, best = found.search, found
    homes = {unit.id for unit in search.site.building.units if unit.feed == "home-run"}
    for shift in SHIFTS:
        over = [unit for unit in over_spread(best.solution.report, spread_db) if unit in homes]
        if not over:
            break
        search.plan.bands = bands_of(search, best.solution.report, frozenset(over), spread_db, shift)
        search.left = max(search.left, BAND_SOLVES)
        search.binding = Binding()
        search.bind(search.binding)
        if not search.start():
            continue
        solution, released = finish(search)
        tried = replace(
            found,
            solution=solution,
            cost_cents=search.direct_cents(solution),
            released=(*(row for row in found.released if row[0] != "one-pattern"), *released),
        )
        if solution.fits and _nearer(tried, best, spread_db):
            best = tried
    return best


def bands_of(
    search: Search, report: SignalReport, units: frozenset[str], spread_db: float, shift: float
) -> Bands:
    """A band for each outlet of these units, somewhere between the unit's lowest and highest outlet."""
    field = search.plan.field
    low = np.full(field.fixed_db.shape, -np.inf)
    high = np.full(field.fixed_db.shape, np.inf)
    rows: dict[str, list[int]] = {}
    for at, served in enumerate(report.outlets):
        rows.setdefault(served.unit, []).append(at)
    number = {outlet: row for row, outlet in enumerate(field.outlets)}
    for unit in sorted(units):
        level = report.outlet_level_dbmv[rows[unit]]
        room = np.maximum(level.max(axis=0) - level.min(axis=0) - spread_db, 0.0)
        first = level.min(axis=0) + room * (1.0 - shift)
        for at in rows[unit]:
            row = number[report.outlets[at].outlet]
            low[row], high[row] = first, first + spread_db
    return Bands(low_dbmv=low, high_dbmv=high)
