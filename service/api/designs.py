"""`/v1/designs`: a building in, a design out; kept, listed, read again, deleted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from flask import Response, request
from flask_smorest import Blueprint

from service.api.bodies import posted_json
from service.api.drawer import drawer
from service.api.operations import operation
from service.api.problems import problem, wrong_input
from service.api.recall import design_id, stored_of
from service.api.shapes import shape_of
from service.api.shelf import answer, shelf
from service.api.tables import SOMETIMES, TABLES
from service.documents.faces import as_json
from service.documents.figures import Figures
from service.engine.building.places import Assumption
from service.engine.design import design
from service.engine.errors import NoNetworkError
from service.engine.findings import Fault, Finding
from service.engine.placement.proposal import Certificate, Choice, CurvePoint, Rescue, TriedRoute
from service.forms.building import BuildingReading, read_building
from service.forms.building_schema import BuildingDocument
from service.portfolio import Job, design_document, job_of, line_of
from service.store.designs import StoredDesign

MOST_LINES = 100

blueprint = Blueprint("designs", __name__, url_prefix="/v1/designs", description="Designs of buildings.")


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignFace:
    """A kept design: what it comes to, what is wrong, its proof, where its tables and papers are, the building as
    posted, its network."""

    document: str
    version: int
    id: str
    created: str
    building_id: str
    name: str
    status: str
    figures: Figures
    certificate: Certificate
    findings: tuple[Finding, ...]
    rescues: tuple[Rescue, ...]
    choices: tuple[Choice, ...]
    curve: tuple[CurvePoint, ...]
    tried_routes: tuple[TriedRoute, ...]
    assumptions: tuple[Assumption, ...]
    tables: Mapping[str, str]
    papers: Mapping[str, str]
    building: Mapping[str, Any]
    network: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignLineFace:
    """A kept design in the list."""

    id: str
    created: str
    building_id: str
    name: str
    status: str
    figures: Figures


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignsFace:
    """Kept designs, the newest first; `after` is where the next page begins, null on the last one."""

    designs: tuple[DesignLineFace, ...]
    after: str | None


@operation(
    blueprint,
    "",
    answers=shape_of(DesignFace),
    takes=BuildingDocument,
    refuses=(400, 413, 415, 422),
    status=201,
)
def create() -> Response:
    """Design a building and keep the design. The same document gives the same design, with the same id."""
    document = posted_json()
    if isinstance(document, Response):
        return document
    reading = read_building(document, shelf().known, drawer().tariffs)
    if reading.building is None or not isinstance(document, dict):
        return wrong_input(reading.faults)
    try:
        kept = _kept(_job(document, reading), document)
    except NoNetworkError as error:
        return wrong_input((_no_network(error),))
    response = answer(_face(kept))
    response.status_code = 201
    response.headers["Location"] = f"/v1/designs/{kept.id}"
    return response


@operation(blueprint, "", answers=shape_of(DesignsFace), refuses=(404,))
def every() -> Response:
    """List kept designs, the newest first, a hundred at a time; `?after=<id>` reads on."""
    after = request.args.get("after", "")
    if after and drawer().store.get(after) is None:
        return _unknown(after)
    found = drawer().store.lines(most=MOST_LINES + 1, after=after)
    lines = [
        {"id": line.id, "created": line.created, **_line(line.summary["line"])} for line in found[:MOST_LINES]
    ]
    more = lines[-1]["id"] if len(found) > MOST_LINES else None
    return answer(as_json({"designs": lines, "after": more}))


@operation(blueprint, "/<name>", answers=shape_of(DesignFace), refuses=(404,))
def one(name: str) -> Response:
    """Read a kept design."""
    kept = drawer().store.get(name)
    return _unknown(name) if kept is None else answer(_face(kept))


@operation(blueprint, "/<name>", answers=None, refuses=(404,), status=204, method="DELETE")
def delete(name: str) -> Response:
    """Delete a kept design."""
    return Response(status=204) if drawer().store.delete(name) else _unknown(name)


#: What is made from a design to be read by people, and where it lies.
PAPERS = {
    "report": "report.html",
    "report_pdf": "report.pdf",
    "book": "book.xlsx",
    "drawing": "drawing",
    "charts": "charts",
}


def _no_network(error: NoNetworkError) -> Fault:
    """The complaint about a building that no network fits."""
    return Fault(
        code="no-network",
        path=("closets",),
        subject=f"building {error.building}",
        field="closets",
        value="",
        wrong="no network can be built, whatever the levels",
        right="room for the devices (most_devices, most_ports), fewer parts in never and keep, a price for each part",
    )


def _unknown(name: str) -> Response:
    return problem(404, f"there is no design {name!r}")


def _job(document: dict[str, Any], reading: BuildingReading) -> Job:
    building = reading.building
    assert building is not None
    return job_of(
        document,
        building,
        reading.keep,
        tariff=drawer().tariffs[building.tariff],
        limits=shelf().known.limits[building.rules.limits],
        terms=drawer().terms,
    )


def _kept(job: Job, document: dict[str, Any]) -> StoredDesign:
    """The design of a job: the one that was kept, or a new one."""
    kept = drawer().store.get(design_id(job))
    if kept is not None:
        return kept
    drawer().warm()
    known = shelf().known
    made = design(job.building, known.catalogue, job.tariff, job.limits, known.services, keep=job.keep)
    record = stored_of(job, document, drawer().terms, made, line_of(job, made), known)
    return drawer().store.put(record)


def _line(line: Mapping[str, Any]) -> dict[str, Any]:
    """A stored line as the list shows it."""
    return {"building_id": line["id"]} | {name: line[name] for name in ("name", "status", "figures")}


def _face(kept: StoredDesign) -> dict[str, Any]:
    """A kept design as it is answered."""
    return design_document(
        kept.summary,
        id=kept.id,
        created=kept.created,
        building=kept.building,
        network=kept.network,
        tables={name: f"/v1/designs/{kept.id}/{name}" for name in TABLES if name not in SOMETIMES},
        papers={name: f"/v1/designs/{kept.id}/{file}" for name, file in PAPERS.items()},
    )
