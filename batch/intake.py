"""From a workbook to jobs: what can be designed, and every complaint about the rest."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from batch.desk import Desk
from batch.prices import read_prices
from batch.problems import Problem, Spot, in_order
from batch.workbook import TITLES, Plan, read_workbook
from service.forms.building import BuildingReading
from service.forms.portfolio import read_buildings
from service.portfolio import Job, Line, job_of

#: Complaints that may only follow from a cell that couldn't be read.
_FOLLOWING = frozenset(
    (
        "missing",
        "count-differs",
        "empty-building",
        "no-carriers",
        "unreachable",
        "unknown-place",
        "unknown-type",
        "unknown-building",
        "not-together",
    )
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Intake:
    """What a workbook asks for: jobs, and a line for each building that can't be designed.

    `order` holds every building in the workbook's order.
    """

    name: str
    order: tuple[str, ...]
    jobs: tuple[Job, ...]
    refused: tuple[Line, ...]
    problems: tuple[Problem, ...]


def take_in(path: Path, desk: Desk) -> Intake:
    """Read a workbook and every building in it. Raises UnreadableBook where the file is no workbook."""
    book = read_workbook(path)
    tariffs, price_problems = read_prices(book.prices, desk.tariffs)
    told = {problem.spot for problem in book.problems}
    problems = [*book.problems, *(problem for problem in price_problems if problem.spot not in told)]
    documents = [plan.document for plan in book.plans]
    readings = read_buildings(documents, desk.known, tariffs)
    for plan, reading in zip(book.plans, readings, strict=True):
        problems += _complaints(plan, reading, plan.id in book.stopped, told)
    every = in_order(problems, TITLES, book.name)
    by_id = {plan.id: plan.document for plan in book.plans}
    jobs: list[Job] = []
    refused: list[Line] = []
    for plan, reading in zip(book.plans, readings, strict=True):
        mine = [problem for problem in every if problem.stops and problem.building in plan.concerns]
        if mine or reading.building is None:
            refused.append(_refusal(plan, mine))
            continue
        building = reading.building
        job = job_of(
            plan.document,
            building,
            reading.keep,
            tariff=tariffs[building.tariff],
            limits=desk.known.limits[building.rules.limits],
            terms=desk.terms,
            bases=_bases(plan.document, by_id),
        )
        jobs.append(job)
    order = tuple(plan.id for plan in book.plans)
    return Intake(name=book.name, order=order, jobs=tuple(jobs), refused=tuple(refused), problems=every)


def _complaints(plan: Plan, reading: BuildingReading, stopped: bool, told: set[Spot]) -> list[Problem]:
    """A reading's complaints at their cells, less those at cells that were complained about already."""
    found = []
    for fault in reading.faults:
        problem = plan.origins.problem(fault, plan.id)
        if problem.spot in told or (stopped and fault.code in _FOLLOWING):
            continue
        found.append(problem)
    return found


def _refusal(plan: Plan, problems: list[Problem]) -> Line:
    """The line of a building that wasn't designed."""
    first = f"{problems[0].spot.cell}: {problems[0].looks_like}" if problems else "see the sheet problems"
    text = first if len(problems) < 2 else f"{first} (and {len(problems) - 1} more)"
    return Line(id=plan.id, name=str(plan.document.get("name", "")), status="wrong input", text=text)


def _bases(document: dict[str, Any], by_id: dict[str, dict[str, Any]]) -> list[dict[str, Any]]:
    """The documents a building refers to by `same_as`, one after another."""
    found: list[dict[str, Any]] = []
    while (name := document.get("same_as")) in by_id and by_id[name] not in found:
        document = by_id[name]
        found.append(document)
    return found
