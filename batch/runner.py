"""`evendrop batch`: a workbook of buildings in, a folder of schedules out.

Every building is designed on its own, in several processes. What an earlier run did isn't done again unless
something changed. One failure never stops the rest. The files don't depend on the number of processes.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable
from functools import partial
from pathlib import Path
from typing import Any

import tqdm

from batch.desk import compile_kernels, desk
from batch.exit_codes import INPUT_WRONG, NOT_SERVED, SERVED
from batch.folder import Folder, is_paper, write_whole
from batch.intake import Intake, take_in
from batch.pool import own_cores, pooled
from batch.schedule import tables_of, write_building, write_pages, write_portfolio
from batch.workbook import UnreadableBook
from service.engine.design import design
from service.portfolio import Job, Line, line_of
from service.portfolio import run as run_jobs

MOST_WORKERS = 64
_EPILOG = (
    "Exit codes: 0 every outlet of every building is served; 1 some are not, or a building failed; "
    "2 the workbook or a building in it is wrong (the others are designed all the same)."
)


def add_verb(verbs: Any) -> None:
    """Add this verb to the command."""
    verb = verbs.add_parser(
        "batch",
        help="design every building of a workbook",
        description="Design every building of a workbook; write a portfolio and a book of schedules each.",
        epilog=_EPILOG,
    )
    verb.add_argument("book", metavar="BOOK.xlsx", type=Path, help="a workbook like the template")
    verb.add_argument("-o", "--out", metavar="DIR", type=Path, required=True, help="folder to write to")
    verb.add_argument(
        "--workers", type=_workers, default=own_cores(), metavar="N", help="processes (%(default)s)"
    )
    verb.add_argument(
        "--reports", action="store_true", help="write report and riser drawing of every building too"
    )
    verb.add_argument("--fresh", action="store_true", help="design everything again, whatever is there")
    verb.set_defaults(run=run)


def _workers(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= MOST_WORKERS:
        raise argparse.ArgumentTypeError(f"a whole number from 1 to {MOST_WORKERS}")
    return int(text)


def run(chosen: argparse.Namespace) -> int:
    """Read, design, write; what a script needs is in the exit code."""
    try:
        intake = take_in(chosen.book, desk())
    except UnreadableBook as error:
        sys.stderr.write(f"{chosen.book}: {error}\n")
        return INPUT_WRONG
    try:
        folder = Folder(chosen.out, fresh=chosen.fresh, reports=chosen.reports)
        lines = design_all(intake, folder, workers=chosen.workers)
        write_whole(folder.portfolio, partial(write_portfolio, intake=intake, lines=lines))
    except OSError as error:
        sys.stderr.write(f"{chosen.out}: {error.strerror or error}\n")
        return INPUT_WRONG
    _tell(intake, lines, folder)
    return exit_code(intake, lines)


def design_all(intake: Intake, folder: Folder, *, workers: int) -> tuple[Line, ...]:
    """A line for every building of the workbook, in its order; books and lines are kept in the folder."""
    # What is compiled and read before the processes part is shared by all of them.
    compile_kernels()
    work = partial(design_one, folder=folder)
    coming = run_jobs(intake.jobs, work, over=pooled(workers), shelf=folder)
    bar = tqdm.tqdm(
        coming, total=len(intake.jobs), unit="building", file=sys.stderr, disable=not sys.stderr.isatty()
    )
    lines = {line.id: line for line in (*intake.refused, *bar)}
    folder.drop_others({line.id for line in lines.values() if line.figures is not None})
    return tuple(lines[name] for name in intake.order)


def design_one(job: Job, *, folder: Folder) -> Line:
    """Design one building and write its book, and its report and drawing where the folder wants reports."""
    known = desk().known
    answer = design(job.building, known.catalogue, job.tariff, job.limits, known.services, keep=job.keep)
    line = line_of(job, answer)
    tables = tables_of(job, answer)
    write_whole(folder.book(job.id), partial(write_building, job=job, design=answer, tables=tables))
    if folder.reports:
        book = folder.book(job.id)
        folder.drop_papers(job.id)
        write_pages(book.parent, book.stem, job, answer, wanted=is_paper)
    return line


def exit_code(intake: Intake, lines: Iterable[Line]) -> int:
    """2 when anything in the workbook stops a building, 1 when a building isn't served, else 0."""
    if any(problem.stops for problem in intake.problems) or not intake.order:
        return INPUT_WRONG
    return SERVED if all(line.status == "served" for line in lines) else NOT_SERVED


def _tell(intake: Intake, lines: tuple[Line, ...], folder: Folder) -> None:
    """What came out, for people; complaints go to standard error."""
    for problem in intake.problems:
        sys.stderr.write(("" if problem.stops else "note: ") + problem.text + "\n")
    if not intake.order:
        sys.stderr.write(f"{intake.name} holds no building\n")
    wide = max((len(line.id) for line in lines), default=0)
    for line in lines:
        print(f"{line.id:{wide}}  {line.status:11}  {_words(line)}")
    served = sum(line.status == "served" for line in lines)
    print(f"{served} of {len(lines)} buildings served; see {folder.portfolio}")


def _words(line: Line) -> str:
    figures = line.figures
    if figures is None:
        return line.text
    margin = "" if figures.worst_margin_db is None else f", worst margin {figures.worst_margin_db:.1f} dB"
    cost = f"{figures.cost_cents / 100:,.2f} {figures.currency}"
    return f"{figures.outlets} outlets, {cost}{margin}" + (f"; {line.text}" if line.text else "")
