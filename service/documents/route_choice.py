"""Which tree of ways the cables follow, which others were tried, and why this one was taken."""

from __future__ import annotations

from service.documents.measures import Measures
from service.documents.table import Column, Table, Value, money
from service.engine.placement.proposal import Design, TriedRoute


def route_sentence(design: Design) -> str:
    """The choice in words; the name of the route alone where the ways leave no choice."""
    tried = design.tried_routes
    chosen = next((row for row in tried if row.chosen), None)
    if chosen is None or len(tried) < 2:
        return design.route.name
    fitting = sum(row.fits for row in tried)
    if not chosen.fits:
        return f"{chosen.name}: along none of {len(tried)} routes every outlet fits; this one costs least of them"
    if fitting == 1:
        return f"{chosen.name}: of {len(tried)} routes the only one along which every outlet fits"
    least_m = min(row.length_m for row in tried)
    length = (
        "also the shortest in ways"
        if chosen.length_m <= least_m + 1e-6
        else "though not the shortest in ways"
    )
    return f"{chosen.name}: of {len(tried)} routes {fitting} fit, and this one costs least, {length}"


def route_table(design: Design, measures: Measures, currency: str) -> Table:
    """Every route that was tried; no rows where there was only one."""
    tried = design.tried_routes if len(design.tried_routes) > 1 else ()
    columns = (
        Column(name="route", kind="wide", width=26),
        Column(name="ways, each once", unit=measures.length_unit, kind="number"),
        Column(name="direct cost", unit=currency, kind="money"),
        Column(name="every outlet fits", width=14),
        Column(name="taken", width=8),
    )
    return Table(
        id="routes",
        title="Routes that were tried",
        columns=columns,
        rows=tuple(_row(row, measures) for row in tried),
        note="A design was made along each tree of ways; the cheapest of those that fit is taken.",
        portrait=True,
    )


def _row(row: TriedRoute, measures: Measures) -> tuple[Value, ...]:
    return (
        row.name,
        measures.length(row.length_m),
        None if row.cost_cents is None else money(row.cost_cents),
        "yes" if row.fits else "no",
        "taken" if row.chosen else "",
    )
