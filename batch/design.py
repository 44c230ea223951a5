"""`evendrop design`: one building document, its design as text or JSON, and its papers."""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from batch.desk import Desk, compile_kernels, desk
from batch.exit_codes import INPUT_WRONG, NOT_SERVED, SERVED
from batch.folder import file_name, write_whole
from batch.schedule import tables_of, write_building, write_pages, write_papers
from batch.since import UnreadableIssue, read_issued, revision_text
from batch.summary import design_text
from service.documents.design import design_sections
from service.documents.faults_text import faults_text
from service.engine.design import design
from service.engine.errors import NoNetworkError
from service.engine.placement.proposal import Design
from service.engine.works.revision import Issued, revision_of
from service.forms.building import BuildingReading, read_building
from service.forms.reading import UnreadableDocument, read_json
from service.portfolio import (
    ID_DIGITS,
    Job,
    Line,
    design_document,
    design_summary,
    job_of,
    line_of,
    network_of,
)


def add_verb(verbs: Any) -> None:
    """Add this verb to the command."""
    verb = verbs.add_parser(
        "design",
        help="design one building",
        description="Design the distribution of one building and print what it comes to.",
        epilog="Exit codes: 0 every outlet is served, 1 some are not, 2 the input is wrong.",
    )
    verb.add_argument("building", metavar="FILE.json", help="a building document; - reads standard input")
    verb.add_argument(
        "-o",
        "--out",
        metavar="DIR",
        type=Path,
        help="folder for its book, its JSON document, its CSV files, its report and its drawings",
    )
    verb.add_argument(
        "--since",
        metavar="OLD_DESIGN.json",
        type=Path,
        help="a design document written earlier: adds a sheet of changed pulls, devices and money",
    )
    verb.add_argument("--json", action="store_true", help="print the design as JSON")
    verb.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> int:
    """Read, design, print, write; complaints go to standard error."""
    try:
        raw = sys.stdin.buffer.read() if chosen.building == "-" else Path(chosen.building).read_bytes()
        document = read_json(raw)
    except OSError as error:
        return _refuse(f"{chosen.building}: {error.strerror or error}\n")
    except UnreadableDocument as error:
        return _refuse(f"{chosen.building}: {error.wrong}; what is wanted: {error.right}\n")
    reading = read_building(document, desk().known, desk().tariffs)
    if reading.building is None or not isinstance(document, dict):
        return _refuse(faults_text(chosen.building, reading.faults))
    job = job_from(document, reading, desk())
    try:
        job = job if chosen.since is None else replace(job, since=read_issued(chosen.since, desk()))
    except UnreadableIssue as error:
        return _refuse(str(error))
    known = desk().known
    compile_kernels()
    try:
        answer = design(job.building, known.catalogue, job.tariff, job.limits, known.services, keep=job.keep)
    except NoNetworkError as error:
        return _refuse(f"{chosen.building}: {error}\n")
    line = line_of(job, answer)
    if chosen.json:
        print(_json(document, job, answer, line))
    elif line.figures is not None:
        print(design_text(answer, line.figures) + _changes(job, answer), end="")
    if chosen.out is not None:
        try:
            _write(chosen.out, job, answer, _json(document, job, answer, line))
        except OSError as error:
            return _refuse(f"{chosen.out}: {error.strerror or error}\n")
    return SERVED if line.status == "served" else NOT_SERVED


def _changes(job: Job, answer: Design) -> str:
    """What changed since an earlier design, in a line; nothing where there is none."""
    if job.issued is None:
        return ""
    now = Issued(building=job.building, network=answer.chosen.network)
    return "\n" + revision_text(revision_of(job.issued, now, desk().known.catalogue, job.tariff))


def job_from(document: dict[str, Any], reading: BuildingReading, tools: Desk) -> Job:
    """The job of a document that was read without a complaint."""
    building = reading.building
    assert building is not None
    tariff, limits = tools.tariffs[building.tariff], tools.known.limits[building.rules.limits]
    return job_of(document, building, reading.keep, tariff=tariff, limits=limits, terms=tools.terms)


def _json(document: dict[str, Any], job: Job, answer: Design, line: Line) -> str:
    """The design as a document."""
    made = design_document(
        design_summary(answer, line),
        id=job.digest[:ID_DIGITS],
        created="",
        building=document,
        network=network_of(job, answer),
        tables={},
        papers={},
    )
    made |= design_sections(answer, desk().known.catalogue, job.tariff)
    return json.dumps(made, ensure_ascii=False, allow_nan=False, indent=1)


def _write(out: Path, job: Job, answer: Design, text: str) -> None:
    """Book, JSON document, CSV files, report and drawings, each written beside and renamed."""
    out.mkdir(parents=True, exist_ok=True)
    name = file_name(job.id)
    tables = tables_of(job, answer)
    write_whole(out / f"{name}.xlsx", partial(write_building, job=job, design=answer, tables=tables))
    write_whole(out / f"{name}.json", lambda path: _write_text(path, text + "\n"))
    write_papers(out, name, tables)
    write_pages(out, name, job, answer)
    sys.stderr.write(f"wrote {out / name}.xlsx, .json, CSV files, .report.html, .report.pdf and drawings\n")


def _write_text(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")


def _refuse(text: str) -> int:
    sys.stderr.write(text)
    return INPUT_WRONG
