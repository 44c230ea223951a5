"""Levels at the outlets against limits and design window; outlets without signal, carriers without limit."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from service.engine.checks.case import Case
from service.engine.checks.grouping import SLACK, counted, grouped_by_carrier
from service.engine.findings import Finding, Severity
from service.engine.signal.pairing import pairing_problem


def check_level_low(case: Case) -> Iterator[Finding]:
    """Outlets below the lower limit."""
    yield from _against(case, "level-low", "breaks", "Level too low", least=True)


def check_level_high(case: Case) -> Iterator[Finding]:
    """Outlets above the upper limit."""
    yield from _against(case, "level-high", "breaks", "Level too high", least=False)


def check_design_level_low(case: Case) -> Iterator[Finding]:
    """Outlets inside the limits and below the design window."""
    if case.margins:
        yield from _against(case, "design-level-low", "warns", "Level below the design window", least=True)


def check_design_level_high(case: Case) -> Iterator[Finding]:
    """Outlets inside the limits and above the design window."""
    if case.margins:
        yield from _against(case, "design-level-high", "warns", "Level above the design window", least=False)


def _against(case: Case, rule: str, severity: Severity, what: str, *, least: bool) -> Iterator[Finding]:
    windows = case.windows
    hard = windows.low_dbmv if least else windows.high_dbmv
    limit, apart = hard, None
    sources = ["" if row is None else row.level_source or row.source for row in case.asked]
    if severity == "warns":
        limit = windows.design_low_dbmv if least else windows.design_high_dbmv
        apart = (hard - case.level_dbmv if least else case.level_dbmv - hard) > SLACK
        sources = ["" if row is None else row.design_source or "common practice" for row in case.asked]
    yield from grouped_by_carrier(
        rule=rule,
        severity=severity,
        what=what,
        noun="outlet",
        ids=case.outlets,
        carriers=[carrier.id for carrier in case.report.carriers],
        measured=case.level_dbmv,
        limit=limit,
        least=least,
        unit="dBmV",
        sources=sources,
        level_unit=case.level_unit,
        apart_from=apart,
    )


def check_outlet_without_signal(case: Case) -> Iterator[Finding]:
    """Outlets that no carrier reaches."""
    dark = np.isnan(case.level_dbmv).all(axis=1)
    if dark.any():
        names = tuple(case.outlets[row] for row in np.flatnonzero(dark))
        text = f"No carrier reaches {counted(len(names), 'outlet')}"
        yield Finding(rule="outlet-without-signal", severity="breaks", where=names, text=text)


def check_service_without_limit(case: Case) -> Iterator[Finding]:
    """Carriers whose service the profile was not written for: nothing tells whether they are served."""
    problems: dict[str, str] = {}
    for carrier in case.report.carriers:
        problem = pairing_problem(case.services[carrier.service], case.limits)
        if problem is not None:
            problems[carrier.id] = problem
    if problems:
        yield Finding(
            rule="service-without-limit",
            severity="breaks",
            where=tuple(problems),
            source=case.limits.source,
            text=f"No limit for {counted(len(problems), 'carrier')}: {next(iter(problems.values()))}",
        )
