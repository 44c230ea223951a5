"""Isolation between users, and how evenly the network passes a band."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from service.engine.checks.case import Case
from service.engine.checks.grouping import SLACK, grouped, shown
from service.engine.findings import Finding


def check_isolation(case: Case) -> Iterator[Finding]:
    """Two users less isolated from each other than the profile asks; a finding names the two outlets."""
    for row in case.report.isolation:
        asked = case.limits.isolation_db(row.frequency_mhz)
        if asked is None or row.isolation_db >= asked.isolation_db - SLACK:
            continue
        figures = f"{shown(row.isolation_db, 'dB')}, limit {shown(asked.isolation_db, 'dB')}"
        yield Finding(
            rule="isolation",
            severity="breaks",
            where=(row.outlet_a, row.outlet_b),
            carrier=row.carrier,
            measured=row.isolation_db,
            limit=asked.isolation_db,
            unit="dB",
            source=asked.source,
            text=f"Too little isolation on carrier {row.carrier}: {row.outlet_a} to {row.outlet_b} {figures}",
        )


def check_response(case: Case) -> Iterator[Finding]:
    """Loss from the head-end to an outlet too uneven over a band, at the carriers in use."""
    feeds: dict[str, int] = {}
    for row, port in enumerate(case.report.ports):
        feeds.setdefault(port.device, row)
    starts = [feeds[case.feed_of[served.port.device]] for served in case.report.outlets]
    if not starts:
        return
    frequency = case.report.frequency_mhz[: len(case.report.carriers)]
    launch = case.report.level_dbmv[starts, : frequency.size]
    for limit in case.limits.response:
        inside = (frequency >= limit.low_mhz) & (frequency <= limit.high_mhz)
        if np.count_nonzero(inside) < 2:
            continue
        loss = launch[:, inside] - case.level_dbmv[:, inside]
        response = np.nan_to_num(np.fmax.reduce(loss, axis=1) - np.fmin.reduce(loss, axis=1), nan=0.0)
        yield from grouped(
            rule="response",
            severity="breaks",
            what=f"Loss too uneven from {limit.low_mhz:g} to {limit.high_mhz:g} MHz",
            missed=[
                (case.outlets[row], float(response[row]), limit.response_db)
                for row in np.flatnonzero(response > limit.response_db + SLACK)
            ],
            unit="dB",
            source=limit.source,
        )
