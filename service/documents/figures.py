"""A design in one line of figures: what it comes to, how good it is."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np

from service.engine.findings import worst_first
from service.engine.placement.proposal import Design
from service.engine.works.estimate import survey_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """What a design comes to, in one line.

    An outlet's margin is the decibels to the nearer edge of the limits, over all carriers. `spread_db` is the
    highest less the lowest outlet, on the carrier where they lie furthest apart. `cable_m` is the new cable,
    as pulled. Cost is the direct cost. `survey` says how well the building is known: walked, drawings or outline.
    """

    units: int
    outlets: int
    worst_margin_db: float | None
    worst_outlet: str
    best_margin_db: float | None
    spread_db: float | None
    proven: bool
    gap_share: float
    certificate: str
    cost_cents: int
    currency: str
    cable_m: float
    breaks: int
    warns: int
    notes: int
    worst_finding: str = ""
    survey: str = ""

    @property
    def metres_per_outlet(self) -> float | None:
        """New cable for each outlet, in metres."""
        return self.cable_m / self.outlets if self.outlets else None

    @property
    def cents_per_outlet(self) -> float | None:
        """Direct cost for each outlet, in cents."""
        return self.cost_cents / self.outlets if self.outlets else None


def figures_of(design: Design, currency: str) -> Figures:
    """What a design comes to."""
    chosen = design.chosen
    worst, best = chosen.margins.worst, chosen.margins.best
    level = chosen.report.outlet_level_dbmv
    spread = np.fmax.reduce(level, axis=0) - np.fmin.reduce(level, axis=0) if level.size else np.zeros(0)
    findings = worst_first(chosen.findings)
    count = Counter(finding.severity for finding in findings)
    cabled = [run for run in chosen.network.runs if run.cable is not None and not run.existing]
    return Figures(
        units=len(design.building.units),
        outlets=len(design.building.outlets),
        worst_margin_db=None if worst is None else worst.margin_db,
        worst_outlet="" if worst is None else worst.outlet,
        best_margin_db=None if best is None else best.margin_db,
        spread_db=float(np.nanmax(spread)) if np.isfinite(spread).any() else None,
        proven=chosen.certificate.proven,
        gap_share=chosen.certificate.gap,
        certificate=chosen.certificate.statement,
        cost_cents=chosen.cost_cents,
        currency=currency,
        cable_m=sum(run.length_m for run in cabled),
        breaks=count["breaks"],
        warns=count["warns"],
        notes=count["notes"],
        worst_finding=(findings[0].text or findings[0].rule) if findings else "",
        survey=survey_of(design.building, chosen.network),
    )
