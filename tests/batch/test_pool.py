"""Work in several processes gives the same lines, and a killed process takes nothing else down."""

from __future__ import annotations

import os
import signal
from types import SimpleNamespace
from typing import Any, cast

from batch.pool import own_cores, pooled
from service.portfolio import Job, Line


def make_job(name: str, outlets: int) -> Job:
    building = cast(Any, SimpleNamespace(outlets=tuple(range(outlets))))
    nothing = cast(Any, None)
    return Job(id=name, name=name, digest=name, building=building, tariff=nothing, limits=nothing)


JOBS = [make_job("a", 3), make_job("b", 9), make_job("c", 5), make_job("d", 9)]


def served(job: Job) -> Line:
    return Line(id=job.id, name=job.name, status="served", digest=job.digest)


def killed_at_b(job: Job) -> Line:
    if job.id == "b":
        os.kill(os.getpid(), signal.SIGKILL)
    return served(job)


def test_one_worker_takes_the_largest_job_first() -> None:
    assert [line.id for line in pooled(1)(served, JOBS)] == ["b", "d", "c", "a"]


def test_several_workers_give_the_same_lines_as_one() -> None:
    one = {line.id: line for line in pooled(1)(served, JOBS)}
    assert {line.id: line for line in pooled(2)(served, JOBS)} == one


def test_a_killed_process_is_one_failed_line() -> None:
    lines = {line.id: line for line in pooled(2)(killed_at_b, JOBS)}
    assert {name: line.status for name, line in lines.items()} == {
        "a": "served",
        "b": "failed",
        "c": "served",
        "d": "served",
    }
    assert "killed" in lines["b"].text


def test_there_is_at_least_one_core() -> None:
    assert own_cores() >= 1
