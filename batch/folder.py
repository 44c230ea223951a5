"""The folder a batch writes into: files that are whole or not there, and what was done in an earlier run."""

from __future__ import annotations

import glob
import hashlib
import json
import os
import re
from collections.abc import Callable
from pathlib import Path
from urllib.parse import quote

from service.portfolio import Job, Line, line_from_json

PORTFOLIO = "portfolio.xlsx"
BOOKS = "buildings"
REPORTS = ("report.html", "report.pdf")
_SHEET = re.compile(r"riser-\d+\.svg")
_STATE = ".evendrop"
_BESIDE = ".partial"


def file_name(name: str) -> str:
    """An id as a file's name; two ids never share one.

    >>> file_name("east/A-1")
    'east%2FA-1'
    """
    return quote(name, safe="")


def is_paper(page: str) -> bool:
    """Whether a page of a design is written where reports are wanted: the report and the riser drawing."""
    return page in REPORTS or _SHEET.fullmatch(page) is not None


def write_whole(path: Path, write: Callable[[Path], None]) -> None:
    """Write a file beside its place, then rename it: whoever looks sees the old one or the new one, whole."""
    beside = path.with_name(f".{path.name}.{os.getpid()}{_BESIDE}")
    try:
        write(beside)
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


class Folder:
    """An output folder. It is a shelf: lines of earlier runs whose book is still there, unchanged.

    With `reports` every building has its report and its drawing beside its book, and a line without them doesn't
    count.
    """

    def __init__(self, path: Path, *, fresh: bool = False, reports: bool = False) -> None:
        """Make the folder and clear away what an interrupted run left; with `fresh` forget earlier runs."""
        self.path, self.reports = path, reports
        for inner in (path, path / BOOKS, path / _STATE):
            inner.mkdir(parents=True, exist_ok=True)
        for inner in (path, path / BOOKS, path / _STATE):
            for left in sorted(inner.glob(f".*{_BESIDE}")):
                left.unlink(missing_ok=True)
        if fresh:
            for state in sorted((path / _STATE).glob("*.json")):
                state.unlink()

    @property
    def portfolio(self) -> Path:
        """Where the portfolio's workbook goes."""
        return self.path / PORTFOLIO

    def book(self, name: str) -> Path:
        """Where the book of a building goes."""
        return self.path / BOOKS / f"{file_name(name)}.xlsx"

    def load(self, job: Job) -> Line | None:
        """The job's line of an earlier run with the same digest whose book is as it was written, or None."""
        try:
            kept = json.loads(self._state(job.id).read_text(encoding="utf-8"))
            line = line_from_json(kept["line"])
            same = line.digest == job.digest and kept["book"] == _sha(self.book(job.id))
            same = same and (not self.reports or self._has_papers(job.id))
        except (OSError, ValueError, KeyError, TypeError):
            return None
        return line if same else None

    def save(self, job: Job, line: Line) -> None:
        """Keep a line, and what its book looks like."""
        kept = {"line": line.as_json(), "book": _sha(self.book(job.id))}
        text = json.dumps(kept, ensure_ascii=False, indent=1)
        write_whole(self._state(job.id), lambda path: _write_text(path, text))

    def drop_others(self, designed: set[str]) -> None:
        """Remove books of buildings that this run didn't design: they would pass for current."""
        keep = {file_name(name) for name in designed}
        for state in sorted((self.path / _STATE).glob("*.json")):
            if state.stem not in keep:
                (self.path / BOOKS / f"{state.stem}.xlsx").unlink(missing_ok=True)
                self._drop_papers(state.stem)
                state.unlink()

    def drop_papers(self, name: str) -> None:
        """Remove the report and the drawing of a building: a new drawing may have fewer sheets."""
        self._drop_papers(file_name(name))

    def _drop_papers(self, stem: str) -> None:
        for path in self._papers(stem):
            path.unlink(missing_ok=True)

    def _has_papers(self, name: str) -> bool:
        """Whether a building has its report as a page and as PDF, and a drawing."""
        stem = file_name(name)
        there = {path.name.removeprefix(f"{stem}.") for path in self._papers(stem)}
        return set(REPORTS) < there

    def _papers(self, stem: str) -> list[Path]:
        """The report and the sheets of the drawing that lie in the folder."""
        found = sorted((self.path / BOOKS).glob(f"{glob.escape(stem)}.*"))
        return [path for path in found if is_paper(path.name.removeprefix(f"{stem}."))]

    def _state(self, name: str) -> Path:
        return self.path / _STATE / f"{file_name(name)}.json"


def _sha(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _write_text(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")
