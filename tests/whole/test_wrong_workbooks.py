"""Every fault of a workbook is found at its cell, says what it looks like, and stops nobody else."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

from batch.desk import desk
from batch.intake import take_in


def _maker() -> ModuleType:
    path = Path(__file__).with_name("wrong_workbooks.py")
    spec = importlib.util.spec_from_file_location("wrong_workbooks", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["wrong_workbooks"] = module
    spec.loader.exec_module(module)
    return module


MAKER = _maker()


def test_the_two_buildings_without_a_fault_are_taken_in(tmp_path: Path) -> None:
    MAKER.write_book(tmp_path / "base.xlsx", MAKER.base(), desk().lists)
    intake = take_in(tmp_path / "base.xlsx", desk())
    assert intake.problems == ()
    assert [job.id for job in intake.jobs] == ["demo-8", "rows-4"]


@pytest.mark.parametrize("name", sorted(MAKER.FAULTS))
def test_a_fault_is_found_at_its_cell_and_stops_nobody_else(name: str) -> None:
    fault = MAKER.FAULTS[name]
    intake = take_in(MAKER.WORKBOOKS / f"wrong_{name}.xlsx", desk())
    found = [problem for problem in intake.problems if problem.code == fault.code]
    assert found, [problem.text for problem in intake.problems]
    problem = found[0]
    assert problem.workbook == f"wrong_{name}.xlsx"
    if fault.cell:
        assert problem.spot.cell == fault.cell
    assert fault.says in problem.looks_like
    assert problem.right
    assert fault.right in problem.right
    assert {line.id for line in intake.refused} == fault.stopped
    assert {job.id for job in intake.jobs} == MAKER.BOTH - fault.stopped


def test_the_files_are_what_their_maker_makes(tmp_path: Path) -> None:
    kept = sorted(path.name for path in MAKER.WORKBOOKS.glob("wrong_*.xlsx"))
    assert kept == sorted(f"wrong_{name}.xlsx" for name in MAKER.FAULTS)
    for name in ("merged_cells", "level_in_dbuv"):
        MAKER.make(name, tmp_path / "made.xlsx")
        file = MAKER.WORKBOOKS / f"wrong_{name}.xlsx"
        assert MAKER.contents(file) == MAKER.contents(tmp_path / "made.xlsx"), name
