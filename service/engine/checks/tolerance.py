"""What heat, cold and tolerances leave of a design."""

from __future__ import annotations

from collections.abc import Iterator

from service.engine.checks.case import Case, Floats
from service.engine.checks.grouping import SLACK, grouped_by_carrier
from service.engine.findings import Finding

#: Share of draws in which every outlet should pass: assumed.
YIELD_SHARE = 0.95


def check_yield(case: Case) -> Iterator[Finding]:
    """Share of tolerance draws in which every outlet passes, too small."""
    spread = case.report.spread
    if spread is not None and spread.yield_share < YIELD_SHARE:
        yield Finding(
            rule="yield",
            severity="warns",
            where=(case.network.id,),
            measured=100.0 * spread.yield_share,
            limit=100.0 * YIELD_SHARE,
            unit="%",
            source="assumed",
            text=f"Every outlet passes in {spread.yield_share:.1%} of {spread.draws} draws, "
            f"aim {YIELD_SHARE:.0%}",
        )


def check_hot(case: Case) -> Iterator[Finding]:
    """Outlets inside the lower limit at 20 °C and below it when the cables are hot."""
    if case.report.spread is not None:
        yield from _at_end(
            case, "level-low-hot", "Level too low when hot", case.report.spread.hot_dbmv, least=True
        )


def check_cold(case: Case) -> Iterator[Finding]:
    """Outlets inside the upper limit at 20 °C and above it when the cables are cold."""
    if case.report.spread is not None:
        what = "Level too high when cold"
        yield from _at_end(case, "level-high-cold", what, case.report.spread.cold_dbmv, least=False)


def _at_end(case: Case, rule: str, what: str, level_dbmv: Floats, *, least: bool) -> Iterator[Finding]:
    limit = case.windows.low_dbmv if least else case.windows.high_dbmv
    yield from grouped_by_carrier(
        rule=rule,
        severity="warns",
        what=what,
        noun="outlet",
        ids=case.outlets,
        carriers=[carrier.id for carrier in case.report.carriers],
        measured=level_dbmv,
        limit=limit,
        least=least,
        unit="dBmV",
        sources=["" if row is None else row.level_source or row.source for row in case.asked],
        level_unit=case.level_unit,
        apart_from=(limit - case.level_dbmv if least else case.level_dbmv - limit) > SLACK,
    )
