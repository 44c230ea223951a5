"""Margins: how many decibels each outlet has left at each edge on each carrier."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.checks.case import windows_of
from service.engine.propagation.report import SignalReport
from service.engine.signal.limits import Limits

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """One outlet at the carrier and edge where it has least left; `margin_db` is negative outside limits."""

    outlet: str
    carrier: str
    edge: str
    margin_db: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OutletMargins:
    """Margins in dB, arrays of outlets × carriers: positive inside, NaN without limit or signal.

    `low_db` and `high_db` are what is left to the limits, `design_low_db` and `design_high_db` to the design
    window. `worst` is the outlet with the least left to the limits, `best` the one whose least is largest;
    None where nothing can be judged.
    """

    outlets: tuple[str, ...]
    carriers: tuple[str, ...]
    low_db: Floats
    high_db: Floats
    design_low_db: Floats
    design_high_db: Floats
    worst: Edge | None
    best: Edge | None

    @property
    def least_db(self) -> Floats:
        """Least margin to the limits of each outlet; infinite where nothing can be judged."""
        least = np.fmin.reduce(np.fmin(self.low_db, self.high_db), axis=1, initial=np.inf)
        return np.asarray(least, dtype=np.float64)


def outlet_margins(report: SignalReport, limits: Limits, *, margins: bool = True) -> OutletMargins:
    """Margins of every outlet on every carrier. With `margins` off the design window is the limits."""
    windows = windows_of(tuple(limits.service(c.service) for c in report.carriers), margins=margins)
    level = report.outlet_level_dbmv
    names = tuple(served.outlet for served in report.outlets)
    carriers = tuple(carrier.id for carrier in report.carriers)
    low, high = level - windows.low_dbmv, windows.high_dbmv - level
    least = np.fmin.reduce(np.fmin(low, high), axis=1, initial=np.inf)
    judged = np.flatnonzero(np.isfinite(least))
    ends: list[Edge] = []
    for pick in (np.argmin, np.argmax) if judged.size else ():
        row = int(judged[pick(least[judged])])
        ends.append(_edge(names[row], carriers, low[row], high[row]))
    return OutletMargins(
        outlets=names,
        carriers=carriers,
        low_db=low,
        high_db=high,
        design_low_db=level - windows.design_low_dbmv,
        design_high_db=windows.design_high_dbmv - level,
        worst=ends[0] if ends else None,
        best=ends[1] if ends else None,
    )


def _edge(outlet: str, carriers: tuple[str, ...], low_db: Floats, high_db: Floats) -> Edge:
    least = np.fmin(low_db, high_db)
    at = int(np.nanargmin(least))
    edge = "low" if low_db[at] <= high_db[at] else "high"
    return Edge(outlet=outlet, carrier=carriers[at], edge=edge, margin_db=float(least[at]))
