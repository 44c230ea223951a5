"""One building or many: what goes in, what comes out, and that one failure never stops the rest.

A `Job` is one building that was read without a complaint. `run` takes the work, a map-shaped executor (`map`,
a pool's, a scheduler's) and a shelf of what was done before; it knows none of them.
"""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass
from functools import partial
from statistics import median
from typing import Any, Literal, Protocol

import numpy as np

from service.engine.building.places import Building
from service.engine.findings import worst_first
from service.engine.placement.proposal import Design
from service.engine.plant.network import Network
from service.engine.plant.tariff import Tariff
from service.engine.signal.limits import Limits
from service.forms.known import Known

Status = Literal["served", "not served", "wrong input", "failed"]

#: A building's metres or price an outlet beyond this multiple of the portfolio's median, or below its
#: inverse, are flagged. Common practice, from memory.
OUTLIER = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One building to design. `digest` names everything that decides the answer."""

    id: str
    name: str
    digest: str
    building: Building
    tariff: Tariff
    limits: Limits
    keep: Network | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """What a design comes to, in one line.

    An outlet's margin is the decibels to the nearer edge of the limits, over all carriers. `spread_db` is the
    highest less the lowest outlet, on the carrier where they lie furthest apart. `cable_m` is the new cable,
    as pulled. Cost is the direct cost.
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

    @property
    def metres_per_outlet(self) -> float | None:
        """New cable for each outlet, in metres."""
        return self.cable_m / self.outlets if self.outlets else None

    @property
    def cents_per_outlet(self) -> float | None:
        """Direct cost for each outlet, in cents."""
        return self.cost_cents / self.outlets if self.outlets else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One building's result: `figures` when it was designed, `text` where something is wrong."""

    id: str
    name: str
    status: Status
    digest: str = ""
    figures: Figures | None = None
    text: str = ""

    def as_json(self) -> dict[str, Any]:
        """The line as JSON values."""
        return asdict(self)


def line_from_json(document: Mapping[str, Any]) -> Line:
    """The line that `Line.as_json` wrote; raises TypeError or KeyError for anything else."""
    figures = document["figures"]
    return Line(**(dict(document) | {"figures": None if figures is None else Figures(**figures)}))


class Shelf(Protocol):
    """What was done before, found by digest."""

    def load(self, job: Job) -> Line | None:
        """The line of an earlier run with the job's digest whose files are all there, or None."""

    def save(self, job: Job, line: Line) -> None:
        """Keep a line that was just made."""


Work = Callable[[Job], Line]
Executor = Callable[[Work, Iterable[Job]], Iterable[Line]]


def digest_of(*values: object) -> str:
    """A digest of JSON values and engine values: same input, same digest, on every machine.

    >>> digest_of({"a": 1, "b": 2}) == digest_of({"b": 2, "a": 1})
    True
    """
    total = hashlib.sha256()
    for value in values:
        if isinstance(value, (Mapping, list, str, int, float)) or value is None:
            text = json.dumps(value, sort_keys=True, ensure_ascii=False)
        else:
            text = repr(value)
        total.update(len(text).to_bytes(8, "big") + text.encode("utf-8", "surrogatepass"))
    return total.hexdigest()


def terms_digest(known: Known, version: str) -> str:
    """A digest of everything beside a building that decides its design, prices and limits apart."""
    services = tuple(known.services[name] for name in sorted(known.services))
    plans = tuple(known.plans[name] for name in sorted(known.plans))
    return digest_of(version, known.catalogue, services, plans)


def job_of(
    document: Mapping[str, Any],
    building: Building,
    keep: Network | None,
    *,
    tariff: Tariff,
    limits: Limits,
    terms: str,
    bases: Iterable[Mapping[str, Any]] = (),
) -> Job:
    """The job of a building document that was read without a complaint.

    `bases` are the documents that it refers to by `same_as`, in order; `terms` is a digest of everything
    else that decides the answer, by `terms_digest`.
    """
    digest = digest_of(terms, dict(document), [dict(base) for base in bases], tariff, limits)
    return Job(
        id=building.id,
        name=building.name,
        digest=digest,
        building=building,
        tariff=tariff,
        limits=limits,
        keep=keep,
    )


def run(jobs: Iterable[Job], work: Work, *, over: Executor, shelf: Shelf) -> Iterator[Line]:
    """Every job's line as it comes: first those on the shelf, then the rest in the executor's order."""
    waiting: dict[str, Job] = {}
    for job in jobs:
        kept = shelf.load(job)
        if kept is None:
            waiting[job.id] = job
        else:
            yield kept
    for line in over(partial(_guarded, work), tuple(waiting.values())):
        if line.status in ("served", "not served"):
            shelf.save(waiting[line.id], line)
        yield line


def _guarded(work: Work, job: Job) -> Line:
    """The job's line, whatever happens inside."""
    try:
        return work(job)
    except Exception as error:
        return failed(job, f"{type(error).__name__}: {error}")


def failed(job: Job, text: str) -> Line:
    """The line of a job that broke down."""
    return Line(id=job.id, name=job.name, status="failed", digest=job.digest, text=text)


def line_of(job: Job, design: Design) -> Line:
    """The line of a design."""
    figures = figures_of(design, job.tariff.currency)
    status: Status = "served" if design.chosen.serves_all else "not served"
    text = "" if status == "served" else figures.worst_finding
    return Line(id=job.id, name=job.name, status=status, digest=job.digest, figures=figures, text=text)


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
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """A building's figure beside the portfolio's median: their ratio, and a word where it is far off."""

    median: float
    ratio: float
    flag: str


def standings(values: Mapping[str, float | None]) -> dict[str, Standing]:
    """Every building's figure beside the median of all that have one."""
    known = {key: value for key, value in values.items() if value is not None}
    if not known:
        return {}
    middle = median(known.values())
    rows = {}
    for key, value in known.items():
        ratio = value / middle if middle else 1.0
        flag = "high" if ratio > OUTLIER else ("low" if ratio < 1.0 / OUTLIER else "")
        rows[key] = Standing(median=middle, ratio=ratio, flag=flag)
    return rows
