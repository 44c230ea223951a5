"""A workbook in, a folder of schedules out: resumed, whatever the number of processes, with exit codes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from batch.cli import main
from batch.desk import compile_kernels

MakeBook = Callable[..., Path]
Rows = dict[str, list[dict[str, Any]]]


@pytest.fixture(autouse=True, scope="module")
def _warm() -> None:
    compile_kernels()


@pytest.fixture
def small(two_buildings: Rows) -> Rows:
    """The example, its mirrored twin, and a building whose line-up is too noisy for anything to help."""
    rows = two_buildings
    for sheet in ("floors", "unit types", "floor types", "closets and panels"):
        rows[sheet] = [row for row in rows[sheet] if row["building"] != "other"]
    rows["buildings"][1] = {"building": "twin", "same_as": "demo-8", "mirrored": True}
    rows["buildings"].append({"building": "noisy", "same_as": "demo-8", "feed": "valley"})
    rows["feeds"].append({"feed": "valley", "channel": "14", "level_dbmv": 10.0, "cn_db": 12.0})
    return rows


def files(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def run(book: Path, out: Path, *more: str) -> int:
    return main(["batch", str(book), "-o", str(out), *more])


def rows_of(path: Path, sheet: str) -> list[dict[str, Any]]:
    book = openpyxl.load_workbook(path)
    lines = [[cell.value for cell in row] for row in book[sheet].iter_rows(min_row=3)]
    book.close()
    return [dict(zip(map(str, lines[0]), line, strict=True)) for line in lines[1:] if line[0] is not None]


def test_the_files_do_not_depend_on_the_number_of_processes(
    make_book: MakeBook, small: Rows, tmp_path: Path
) -> None:
    book = make_book(rows=small)
    assert run(book, tmp_path / "one", "--workers", "1") == 1
    assert run(book, tmp_path / "two", "--workers", "2") == 1
    one = files(tmp_path / "one")
    assert one == files(tmp_path / "two")
    assert {
        "portfolio.xlsx",
        "buildings/demo-8.xlsx",
        "buildings/twin.xlsx",
        "buildings/noisy.xlsx",
    } <= one.keys()
    assert not [name for name in one if "partial" in name]


def test_the_portfolio_has_a_line_for_each_building(make_book: MakeBook, small: Rows, tmp_path: Path) -> None:
    run(make_book(rows=small), tmp_path / "out", "--workers", "1")
    lines = {row["building"]: row for row in rows_of(tmp_path / "out" / "portfolio.xlsx", "Portfolio")}
    assert list(lines) == ["demo-8", "twin", "noisy"]
    assert {name: row["result"] for name, row in lines.items()} == {
        "demo-8": "served",
        "twin": "served",
        "noisy": "not served",
    }
    assert lines["demo-8"]["outlets"] == lines["twin"]["outlets"] == 12
    assert lines["demo-8"]["direct cost"] == lines["twin"]["direct cost"] > 0
    assert "C/(N+I) too low" in lines["noisy"]["first finding or complaint"]


def test_a_rerun_designs_nothing_again_and_writes_the_same_files(
    make_book: MakeBook, small: Rows, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    book, out = make_book(rows=small), tmp_path / "out"
    run(book, out, "--workers", "1")
    before = files(out)
    monkeypatch.setattr("batch.runner.design", None)
    assert run(book, out, "--workers", "1") == 1
    assert files(out) == before


def test_reports_are_written_where_they_are_asked_for_also_for_what_was_designed_before(
    make_book: MakeBook, small: Rows, tmp_path: Path
) -> None:
    book, out = make_book(rows=small), tmp_path / "out"
    run(book, out, "--workers", "1")
    assert not list(out.rglob("*.report.html"))
    run(book, out, "--workers", "1", "--reports")
    names = {path.name for path in (out / "buildings").iterdir()}
    assert {
        f"{name}.report.{kind}" for name in ("demo-8", "twin", "noisy") for kind in ("html", "pdf")
    } <= names
    assert {f"{name}.riser-1.svg" for name in ("demo-8", "twin", "noisy")} <= names
    assert "<strong>No</strong>" in (out / "buildings" / "noisy.report.html").read_text(encoding="utf-8")


def test_only_what_changed_is_designed_again(
    make_book: MakeBook, small: Rows, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    run(make_book(rows=small), out, "--workers", "1")
    small["buildings"][2]["name"] = "Noisy house"
    monkeypatch.setattr("batch.runner.design", None)
    run(make_book(rows=small), out, "--workers", "1")
    results = {row["building"]: row["result"] for row in rows_of(out / "portfolio.xlsx", "Portfolio")}
    assert results == {"demo-8": "served", "twin": "served", "noisy": "failed"}


def test_a_building_with_a_complaint_is_left_out_and_the_others_are_designed(
    make_book: MakeBook, small: Rows, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    small["buildings"].append({"building": "lost", "same_as": "nowhere"})
    out = tmp_path / "out"
    assert run(make_book(rows=small), out, "--workers", "1") == 2
    results = {row["building"]: row["result"] for row in rows_of(out / "portfolio.xlsx", "Portfolio")}
    assert results == {"demo-8": "served", "twin": "served", "noisy": "not served", "lost": "wrong input"}
    problem = rows_of(out / "portfolio.xlsx", "Problems")[0]
    assert (problem["sheet"], problem["row"], problem["header"]) == ("buildings", 5, "same_as")
    assert "nowhere" in capsys.readouterr().err


def test_a_workbook_whose_buildings_are_served_ends_with_zero(
    make_book: MakeBook, small: Rows, tmp_path: Path
) -> None:
    small["buildings"] = small["buildings"][:1]
    assert run(make_book(rows=small), tmp_path / "out") == 0


def test_a_file_that_is_no_workbook_ends_with_two(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "book.xlsx").write_text("no")
    assert run(tmp_path / "book.xlsx", tmp_path / "out") == 2
    assert "no workbook" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("workers", ["0", "-1", "many", "1000"])
def test_a_number_of_workers_that_makes_no_sense_is_refused(tmp_path: Path, workers: str) -> None:
    with pytest.raises(SystemExit) as caught:
        run(tmp_path / "book.xlsx", tmp_path / "out", "--workers", workers)
    assert caught.value.code == 2
