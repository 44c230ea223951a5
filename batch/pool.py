"""Work in several processes: the largest job first, results as they come, a killed process is a failure."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool

from service.portfolio import Executor, Job, Line, Work, failed


def own_cores() -> int:
    """How many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def pooled(workers: int) -> Executor:
    """An executor of that many processes; one worker works in this process."""

    def over(work: Work, jobs: Iterable[Job]) -> Iterable[Line]:
        ordered = sorted(jobs, key=lambda job: (-len(job.building.outlets), job.id))
        if workers <= 1 or len(ordered) <= 1:
            return map(work, ordered)
        return _spread(work, ordered, workers)

    return over


def _spread(work: Work, jobs: list[Job], workers: int) -> Iterator[Line]:
    """Lines as they come. A pool breaks when a process is killed: what it left is done one by one."""
    left = {job.id: job for job in jobs}
    with _pool(min(workers, len(jobs))) as pool:
        waiting: dict[Future[Line], Job] = {pool.submit(work, job): job for job in jobs}
        try:
            for future in as_completed(waiting):
                job = waiting[future]
                try:
                    line = future.result()
                except BrokenProcessPool:
                    continue
                del left[job.id]
                yield line
        finally:
            pool.shutdown(wait=True, cancel_futures=True)
    for job in left.values():
        yield _alone(work, job)


def _alone(work: Work, job: Job) -> Line:
    """One job in a process of its own, so that it can take nothing else down."""
    with _pool(1) as pool:
        try:
            return pool.submit(work, job).result()
        except BrokenProcessPool:
            return failed(job, "the process that designed it was killed; it may have run out of memory")


def _pool(workers: int) -> ProcessPoolExecutor:
    """A pool whose processes share what this one has read and compiled, where the system can fork."""
    methods = multiprocessing.get_all_start_methods()
    context = multiprocessing.get_context("fork" if "fork" in methods else None)
    return ProcessPoolExecutor(max_workers=workers, mp_context=context)
