"""One building or many: digests, resuming, and failures that stay alone."""

from __future__ import annotations

import copy
from collections.abc import Iterable, Mapping
from typing import Any

import pytest

from service.documents.figures import Figures
from service.engine.building.places import Building
from service.forms.building import read_building
from service.forms.known import Known
from service.library import library
from service.library.profiles import load_limits, load_plans, load_services
from service.portfolio import Job, Line, digest_of, job_of, line_from_json, run, standings

DOCUMENT: dict[str, Any] = {
    "document": "evendrop/building",
    "version": 1,
    "id": "house",
    "prices": "demo-usd",
    "headend": {"id": "HE", "floor": "2", "mains": True},
    "closets": [{"id": "C1", "floor": "1", "from": "HE", "run_m": 5.0}],
    "outlets": [{"id": "1A-1", "unit": "1A", "at": "C1", "drop_m": 9.0}],
    "feed": {"carriers": [{"channel": "14", "level_dbmv": 12.0}]},
}


@pytest.fixture(scope="module")
def building() -> Building:
    shelf = library()
    known = Known(
        catalogue=shelf.catalogue, limits=load_limits(), plans=load_plans(), services=load_services()
    )
    reading = read_building(DOCUMENT, known, shelf.tariffs)
    assert reading.building is not None, reading.faults
    return reading.building


def make_job(building: Building, name: str, **changes: Any) -> Job:
    document = copy.deepcopy(DOCUMENT) | {"id": name} | changes
    limits = load_limits()["us-off-air"]
    tariff = library().tariffs["demo-usd"]
    job = job_of(document, building, None, tariff=tariff, limits=limits, terms="t")
    return Job(
        id=name, name=name, digest=job.digest, building=building, tariff=tariff, limits=limits, keep=None
    )


class Memory:
    """A shelf in memory."""

    def __init__(self) -> None:
        self.kept: dict[str, Line] = {}

    def load(self, job: Job) -> Line | None:
        return self.kept.get(job.digest)

    def save(self, job: Job, line: Line) -> None:
        self.kept[job.digest] = line


def served(job: Job) -> Line:
    return Line(id=job.id, name=job.name, status="served", digest=job.digest)


def test_a_digest_depends_on_values_and_not_on_the_order_of_keys() -> None:
    assert digest_of({"a": 1, "b": [1.5]}) == digest_of({"b": [1.5], "a": 1})
    assert digest_of({"a": 1}) != digest_of({"a": 2})
    assert digest_of("ab", "c") != digest_of("a", "bc")


def test_a_changed_document_changes_the_digest(building: Building) -> None:
    assert make_job(building, "a").digest == make_job(building, "a").digest
    assert make_job(building, "a").digest != make_job(building, "a", occupied=True).digest


def test_a_changed_base_or_price_or_program_changes_the_digest(building: Building) -> None:
    def digest(terms: str = "t", bases: Iterable[Mapping[str, Any]] = (), tariff: str = "demo-usd") -> str:
        limits, prices = load_limits()["us-off-air"], library().tariffs[tariff]
        return job_of(DOCUMENT, building, None, tariff=prices, limits=limits, terms=terms, bases=bases).digest

    digests = {digest(), digest(terms="u"), digest(bases=[{"id": "x"}]), digest(tariff="demo-eur")}
    assert len(digests) == 4


def test_one_failure_never_stops_the_rest(building: Building) -> None:
    def work(job: Job) -> Line:
        if job.id == "b":
            raise RuntimeError("the roof is gone")
        return served(job)

    jobs = [make_job(building, name) for name in "abc"]
    lines = {line.id: line for line in run(jobs, work, over=map, shelf=Memory())}
    assert [lines[name].status for name in "abc"] == ["served", "failed", "served"]
    assert lines["b"].text == "RuntimeError: the roof is gone"


def test_a_rerun_takes_what_is_on_the_shelf_and_tries_failures_again(building: Building) -> None:
    shelf, done, broken = Memory(), [], {"b"}

    def work(job: Job) -> Line:
        done.append(job.id)
        if job.id in broken:
            raise RuntimeError
        return served(job)

    jobs = [make_job(building, name) for name in "abc"]
    list(run(jobs, work, over=map, shelf=shelf))
    broken.clear()
    lines = list(run(jobs, work, over=map, shelf=shelf))
    assert done == ["a", "b", "c", "b"]
    assert {line.status for line in lines} == {"served"}


def test_the_executor_may_answer_in_any_order(building: Building) -> None:
    jobs = [make_job(building, name) for name in "abc"]
    lines = list(run(jobs, served, over=lambda work, all_: map(work, reversed(list(all_))), shelf=Memory()))
    assert sorted(line.id for line in lines) == ["a", "b", "c"]


def test_a_line_reads_back_from_json() -> None:
    figures = Figures(
        units=2,
        outlets=4,
        worst_margin_db=1.25,
        worst_outlet="1A-1",
        best_margin_db=5.5,
        spread_db=4.0,
        proven=True,
        gap_share=0.0,
        certificate="proven",
        cost_cents=123_456,
        currency="USD",
        cable_m=80.0,
        breaks=0,
        warns=1,
        notes=2,
    )
    line = Line(id="a", name="A", status="served", digest="d", figures=figures)
    assert line_from_json(line.as_json()) == line
    assert figures.metres_per_outlet == 20.0
    assert figures.cents_per_outlet == 30_864.0


def test_a_figure_of_twice_the_median_is_flagged() -> None:
    found = standings({"a": 20.0, "b": 21.0, "c": 19.0, "d": 40.0, "e": 10.0, "f": None})
    assert found["a"].median == 20.0
    assert {name: row.flag for name, row in found.items()} == {
        "a": "",
        "b": "",
        "c": "",
        "d": "high",
        "e": "low",
    }
    assert found["d"].ratio == 2.0


def test_no_figures_give_no_median() -> None:
    assert standings({"a": None}) == {}
