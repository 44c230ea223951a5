"""The folder a batch writes into: files that are whole or not there, and what was done in an earlier run."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable
from pathlib import Path
from urllib.parse import quote

from service.portfolio import Job, Line, line_from_json

PORTFOLIO = "portfolio.xlsx"
BOOKS = "buildings"
REPORTS = ("report.html", "report.pdf")
_STATE = ".evendrop"
_BESIDE = ".partial"


def file_name(name: str) -> str:
    """An id as a file's name; two ids never share one.

    >>> file_name("east/A-1")
    'east%2FA-1'
    """
    return quote(name, safe="")


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

    With `reports` every building has reports beside its book, and a line without them doesn't count.
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
            same = same and (not self.reports or all(path.is_file() for path in self._reports(job.id)))
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
                for name in (f"{state.stem}.xlsx", *(f"{state.stem}.{page}" for page in REPORTS)):
                    (self.path / BOOKS / name).unlink(missing_ok=True)
                state.unlink()

    def _reports(self, name: str) -> tuple[Path, ...]:
        """Where the reports of a building go."""
        return tuple(self.path / BOOKS / f"{file_name(name)}.{page}" for page in REPORTS)

    def _state(self, name: str) -> Path:
        return self.path / _STATE / f"{file_name(name)}.json"


def _sha(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def _write_text(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")
