"""Carrier to noise, to intermodulation and to both at the outlets, against limit and design aim."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

from service.engine.checks.case import Case
from service.engine.checks.grouping import SLACK, counted, grouped_by_carrier
from service.engine.findings import Finding
from service.engine.signal.limits import ServiceLimit

Floats = NDArray[np.float64]


def check_noise(case: Case) -> Iterator[Finding]:
    """Carrier to noise, where the limit on noise with intermodulation doesn't say as much already."""
    yield from _against(case, "carrier-to-noise", "C/N too low", case.report.cn_db, _cn_db, _cn_design_db)


def check_noise_and_intermodulation(case: Case) -> Iterator[Finding]:
    """Carrier to noise and intermodulation together."""
    yield from _against(
        case,
        "carrier-to-noise-and-intermodulation",
        "C/(N+I) too low",
        case.report.cni_db,
        lambda row: row.cni_db,
        lambda row: row.cni_design_db,
    )


def check_intermodulation(case: Case) -> Iterator[Finding]:
    """Carrier to third-order intermodulation."""
    yield from _against(
        case,
        "carrier-to-intermodulation",
        "C/I too low",
        case.report.ci_db,
        lambda row: row.ci_db,
        lambda _: None,
    )


def check_feed_noise_known(case: Case) -> Iterator[Finding]:
    """Feeds that don't state the noise they bring: it counts as none."""
    silent = tuple(
        f"{feed.id}:{line.carrier.id}"
        for feed in sorted(case.network.feeds, key=lambda feed: feed.id)
        for line in feed.carriers
        if line.cn_db is None
    )
    if silent:
        text = f"The feed's own C/N is not known for {counted(len(silent), 'carrier')} and counts as no noise"
        yield Finding(rule="feed-noise-unknown", severity="notes", where=silent, text=text)


def _cn_db(row: ServiceLimit) -> float | None:
    """The limit on noise alone; None where that on both together is as strict and so implies it."""
    implied = row.cni_db is not None and row.cn_db is not None and row.cni_db >= row.cn_db
    return None if implied else row.cn_db


def _cn_design_db(row: ServiceLimit) -> float | None:
    both, alone = row.cni_design_db, row.cn_design_db
    return None if both is not None and alone is not None and both >= alone else alone


def _against(
    case: Case,
    rule: str,
    what: str,
    ratio_db: Floats,
    limit_of: Callable[[ServiceLimit], float | None],
    design_of: Callable[[ServiceLimit], float | None],
) -> Iterator[Finding]:
    limit = _asked_db(case, limit_of)
    design = _asked_db(case, design_of)
    measured = ratio_db[case.report.outlet_rows]
    carriers = [carrier.id for carrier in case.report.carriers]
    sources = ["" if row is None else row.cn_source or row.source for row in case.asked]
    yield from grouped_by_carrier(
        rule=rule,
        severity="breaks",
        what=what,
        noun="outlet",
        ids=case.outlets,
        carriers=carriers,
        measured=measured,
        limit=limit,
        least=True,
        unit="dB",
        sources=sources,
    )
    if case.margins:
        yield from grouped_by_carrier(
            rule=f"design-{rule}",
            severity="warns",
            what=f"{what} for a design",
            noun="outlet",
            ids=case.outlets,
            carriers=carriers,
            measured=measured,
            limit=design,
            least=True,
            unit="dB",
            sources=["common practice"] * len(carriers),
            apart_from=limit - measured > SLACK,
        )


def _asked_db(case: Case, figure: Callable[[ServiceLimit], float | None]) -> Floats:
    values = [None if row is None else figure(row) for row in case.asked]
    return np.array([np.nan if value is None else value for value in values], dtype=np.float64)
