"""One building or many: what goes in, what comes out, and that one failure never stops the rest.

A `Job` is one building that was read without a complaint. `run` takes the work, a map-shaped executor (`map`,
a pool's, a scheduler's) and a shelf of what was done before; it knows none of them.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass
from functools import partial
from statistics import median
from typing import Any, Literal, Protocol

from service.documents.faces import as_json
from service.documents.figures import Figures, figures_of
from service.documents.network import network_document
from service.engine.building.places import Building
from service.engine.placement.proposal import Design
from service.engine.plant.network import Network
from service.engine.plant.tariff import Tariff
from service.engine.signal.limits import Limits
from service.engine.works.revision import Issued
from service.forms.known import Known

Status = Literal["served", "not served", "wrong input", "failed"]

#: A building's metres or price an outlet beyond this multiple of the portfolio's median, or below its
#: inverse, are flagged. Common practice, from memory.
OUTLIER = 1.5
#: So much of a digest is the id of a design.
ID_DIGITS = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One building to design. `digest` names everything that decides the answer.

    `since` is a design that was issued before, for the sheet of changes alone.
    """

    id: str
    name: str
    digest: str
    building: Building
    tariff: Tariff
    limits: Limits
    keep: Network | None = None
    since: Issued | None = None

    @property
    def issued(self) -> Issued | None:
        """The design to show changes against: the one named, or a whole network that the building keeps."""
        if self.since is not None or self.keep is None or not self.keep.served:
            return self.since
        return Issued(building=self.building, network=self.keep)


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


def design_summary(design: Design, line: Line) -> dict[str, Any]:
    """What the search said of a design, as JSON values, unrounded: what can't be computed again."""
    chosen, route = design.chosen, design.route
    return {
        "line": line.as_json(),
        "label": chosen.label,
        "certificate": asdict(chosen.certificate),
        "findings": [asdict(finding) for finding in chosen.findings],
        "reasons": chosen.reasons,
        "assumptions": [asdict(assumption) for assumption in design.assumptions],
        "rescues": [asdict(rescue) for rescue in design.rescues],
        "choices": [asdict(choice) for choice in design.choices],
        "curve": [asdict(point) for point in design.curve],
        "tried_routes": [asdict(tried) for tried in design.tried_routes],
        "route": {"name": route.name, "root": route.root, "hops": [asdict(hop) for hop in route.hops]},
    }


def design_document(
    summary: Mapping[str, Any],
    *,
    id: str,
    created: str,
    building: Mapping[str, Any],
    network: Mapping[str, Any],
    tables: Mapping[str, str],
    papers: Mapping[str, str],
) -> dict[str, Any]:
    """A design as a document, version 1, from its summary, the building as posted and its network document.

    Figures are rounded; the network stays as it is, so that it can be posted for analysis. `tables` says
    where its tables are, `papers` where its report, book, drawing and charts.
    """
    line = summary["line"]
    told = {name: summary[name] for name in ("certificate", "findings", "rescues", "assumptions")}
    told |= {name: summary.get(name, []) for name in ("tried_routes", "choices", "curve")}
    head = {
        "document": "evendrop/design",
        "version": 1,
        "id": id,
        "created": created,
        "building_id": line["id"],
    }
    named = {name: line[name] for name in ("name", "status", "figures")}
    face: dict[str, Any] = as_json(head | named | told | {"tables": tables, "papers": papers})
    return face | {"building": dict(building), "network": dict(network)}


def network_of(job: Job, design: Design) -> dict[str, Any]:
    """The network of a design as a document that can be posted for analysis."""
    return network_document(design.chosen.network, limits=job.limits.id, margins=job.building.policy.margins)


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
