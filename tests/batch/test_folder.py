"""What a batch writes is whole or not there, and what an earlier run did is found again."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any, cast

import pytest

from batch.folder import Folder, file_name, write_whole
from service.portfolio import Job, Line


def make_job(name: str, digest: str = "d1") -> Job:
    nothing = cast(Any, None)
    return Job(id=name, name=name, digest=digest, building=nothing, tariff=nothing, limits=nothing)


def done(folder: Folder, job: Job) -> Line:
    folder.book(job.id).write_bytes(b"a book")
    line = Line(id=job.id, name=job.name, status="served", digest=job.digest)
    folder.save(job, line)
    return line


def test_a_line_of_an_earlier_run_is_found_by_its_digest(tmp_path: Path) -> None:
    line = done(Folder(tmp_path), make_job("a"))
    assert Folder(tmp_path).load(make_job("a")) == line
    assert Folder(tmp_path).load(make_job("a", digest="d2")) is None
    assert Folder(tmp_path).load(make_job("b")) is None


def test_a_book_that_was_changed_or_removed_is_made_again(tmp_path: Path) -> None:
    folder = Folder(tmp_path)
    done(folder, make_job("a"))
    folder.book("a").write_bytes(b"edited")
    assert folder.load(make_job("a")) is None
    folder.book("a").unlink()
    assert folder.load(make_job("a")) is None


def test_a_damaged_state_is_no_state(tmp_path: Path) -> None:
    folder = Folder(tmp_path)
    done(folder, make_job("a"))
    next((tmp_path / ".evendrop").glob("*.json")).write_text('{"line": {"id"')
    assert folder.load(make_job("a")) is None


def test_a_fresh_run_forgets_earlier_ones(tmp_path: Path) -> None:
    done(Folder(tmp_path), make_job("a"))
    assert Folder(tmp_path, fresh=True).load(make_job("a")) is None


def test_books_of_buildings_that_are_gone_are_removed(tmp_path: Path) -> None:
    folder = Folder(tmp_path)
    done(folder, make_job("a"))
    done(folder, make_job("b"))
    (tmp_path / "buildings" / "mine.xlsx").write_bytes(b"somebody's own file")
    folder.drop_others({"a"})
    assert sorted(path.name for path in (tmp_path / "buildings").iterdir()) == ["a.xlsx", "mine.xlsx"]


def test_papers_of_a_building_go_with_it_and_those_of_a_like_named_one_stay(tmp_path: Path) -> None:
    folder, books = Folder(tmp_path, reports=True), tmp_path / "buildings"
    pages = ("report.html", "report.pdf", "riser-1.svg", "riser-12.svg")
    for name in ("a", "a.riser-1", "ab"):
        folder.save(make_job(name), done(folder, make_job(name)))
        assert folder.load(make_job(name)) is None
        for page in pages:
            (books / f"{name}.{page}").write_text("x")
        assert folder.load(make_job(name)) is not None
    (books / "a.notes.txt").write_text("mine")
    folder.drop_papers("a")
    left = {path.name for path in books.iterdir()}
    assert not left & {f"a.{page}" for page in pages}
    assert {"a.xlsx", "a.notes.txt", "ab.report.pdf", "a.riser-1.riser-12.svg"} <= left
    folder.drop_others({"a", "ab"})
    assert not [path for path in books.iterdir() if path.name.startswith("a.riser-1")]


def test_a_write_that_breaks_off_leaves_the_old_file_and_nothing_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "portfolio.xlsx"
    path.write_text("old")

    def write(beside: Path) -> None:
        beside.write_text("half")
        raise OSError("disk full")

    with pytest.raises(OSError, match="disk full"):
        write_whole(path, write)
    assert path.read_text() == "old"
    assert [found.name for found in tmp_path.iterdir()] == ["portfolio.xlsx"]


def test_what_a_killed_run_left_beside_is_cleared_away(tmp_path: Path) -> None:
    Folder(tmp_path)
    (tmp_path / "buildings" / ".a.xlsx.123.partial").write_text("half")
    Folder(tmp_path)
    assert list((tmp_path / "buildings").iterdir()) == []


def test_two_ids_never_share_a_file_name() -> None:
    names = {file_name(name) for name in ("a/b", "a_b", "a-b", "a%2Fb", "a.b")}
    assert len(names) == 5
    assert all("/" not in name for name in names)


def test_a_line_with_another_status_reads_back_as_it_was(tmp_path: Path) -> None:
    folder, job = Folder(tmp_path), make_job("a")
    line = replace(done(folder, job), status="not served", text="three outlets too low")
    folder.save(job, line)
    assert folder.load(job) == line
