"""The head-end's output: the highest level allowed, what a feed can give, like carriers alike."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from service.engine.checks.case import Case
from service.engine.checks.grouping import SLACK, grouped, grouped_by_carrier
from service.engine.findings import Finding

Floats = NDArray[np.float64]


def check_feed_level(case: Case) -> Iterator[Finding]:
    """Feeds asked for more than they can give."""
    for feed in sorted(case.network.feeds, key=lambda feed: feed.id):
        if feed.max_level_dbmv is None:
            continue
        rows = [
            (f"{feed.id}:{line.carrier.id}", line.level_dbmv, feed.max_level_dbmv)
            for line in feed.carriers
            if line.level_dbmv > feed.max_level_dbmv + SLACK
        ]
        what = f"Feed {feed.id} can't give so much"
        yield from grouped(
            rule="feed-level",
            severity="breaks",
            what=what,
            missed=rows,
            unit="dBmV",
            level_unit=case.level_unit,
        )


def check_head_end_level(case: Case) -> Iterator[Finding]:
    """The head-end's output above the profile's maximum: of first amplifiers, or of a feed without."""
    limit = np.array([_head_end_max(case, at) for at in range(len(case.asked))], dtype=np.float64)
    names, level = head_end_outputs(case)
    yield from grouped_by_carrier(
        rule="head-end-level",
        severity="breaks",
        what="Level too high behind the head-end",
        noun="output",
        ids=names,
        carriers=[carrier.id for carrier in case.report.carriers],
        measured=level,
        limit=limit,
        least=False,
        unit="dBmV",
        sources=[case.limits.head_end_source or case.limits.source] * limit.size,
        level_unit=case.level_unit,
    )


def _head_end_max(case: Case, at: int) -> float:
    row = case.asked[at]
    own = None if row is None else row.head_end_max_dbmv
    value = case.limits.head_end_max_dbmv if own is None else own
    return float("nan") if value is None else value


def check_head_end_spread(case: Case) -> Iterator[Finding]:
    """Carriers of one service too far apart at the head-end's output; a finding names the weakest."""
    limit = case.limits.head_end_spread_db
    if limit is None:
        return
    carriers = case.report.carriers
    names, level = head_end_outputs(case)
    for service in sorted({carrier.service for carrier in carriers}):
        columns = [at for at, carrier in enumerate(carriers) if carrier.service == service]
        rows: list[tuple[str, float, float]] = []
        weakest: dict[str, str] = {}
        for name, row in zip(names, level[:, columns], strict=True):
            there = row[~np.isnan(row)]
            if there.size and float(there.max() - there.min()) > limit + SLACK:
                rows.append((name, float(there.max() - there.min()), limit))
                weakest[name] = carriers[columns[int(np.nanargmin(row))]].id
        worst = max(rows, key=lambda row: row[1], default=None)
        yield from grouped(
            rule="head-end-spread",
            severity="breaks",
            what=f"{service} carriers too far apart behind the head-end",
            missed=rows,
            unit="dB",
            source=case.limits.head_end_source or case.limits.source,
            carrier=weakest[worst[0]] if worst else None,
        )


def head_end_outputs(case: Case) -> tuple[list[str], Floats]:
    """Outputs of the head-end and their levels, outputs × carriers.

    A feed with amplifiers below puts out through the first of them, any other feed through its own ports.
    """
    count = len(case.report.carriers)
    first = case.first_amplifiers()
    reports = {row.device: row for row in case.report.amplifiers}
    amplified = {case.feed_of[name] for name in first}
    names = list(first)
    rows = [reports[name].output_dbmv for name in first]
    row_of: dict[str, int] = {}
    for row, port in enumerate(case.report.ports):
        row_of.setdefault(port.device, row)
    for feed in sorted(case.network.feeds, key=lambda feed: feed.id):
        if feed.id not in amplified and feed.id in row_of:
            names.append(feed.id)
            rows.append(case.report.level_dbmv[row_of[feed.id], :count])
    return names, np.array(rows, dtype=np.float64).reshape(len(names), count)
