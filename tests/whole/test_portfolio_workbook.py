"""The demo workbooks: what a document says, a workbook says too; the portfolio is what its maker makes."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

from batch.desk import desk
from batch.template import write_book
from batch.workbook import read_workbook
from service.forms.portfolio import read_buildings


@pytest.fixture(scope="module")
def maker() -> ModuleType:
    path = Path(__file__).with_name("portfolio_maker.py")
    spec = importlib.util.spec_from_file_location("portfolio_maker", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["portfolio_maker"] = module
    spec.loader.exec_module(module)
    return module


def test_every_demo_building_says_the_same_in_a_workbook(maker: ModuleType, tmp_path: Path) -> None:
    names = sorted(path.stem for path in (maker.FIXTURES / "buildings").glob("*.json"))
    documents = [maker.building(name) for name in names]
    write_book(tmp_path / "demo.xlsx", maker.rows_of(documents), desk().lists)
    book = read_workbook(tmp_path / "demo.xlsx")
    assert book.problems == ()
    known, tariffs = desk().known, desk().tariffs
    posted = read_buildings(documents, known, tariffs)
    typed = read_buildings([plan.document for plan in book.plans], known, tariffs)
    assert len(typed) == len(names) >= 12
    for name, one, other in zip(names, posted, typed, strict=True):
        assert one.building is not None, (name, one.faults)
        assert other.building == one.building, name


def test_the_portfolio_has_twenty_five_buildings_without_a_complaint(
    maker: ModuleType, tmp_path: Path
) -> None:
    write_book(tmp_path / "portfolio.xlsx", maker.portfolio(), desk().lists)
    book = read_workbook(tmp_path / "portfolio.xlsx")
    readings = read_buildings([plan.document for plan in book.plans], desk().known, desk().tariffs)
    assert book.problems == ()
    assert len(readings) == 25
    assert [reading.faults for reading in readings if reading.faults] == []


def test_the_committed_portfolio_is_what_its_maker_makes(maker: ModuleType, tmp_path: Path) -> None:
    write_book(tmp_path / "portfolio.xlsx", maker.portfolio(), desk().lists)
    made = read_workbook(tmp_path / "portfolio.xlsx")
    kept = read_workbook(maker.WORKBOOKS / "demo_portfolio.xlsx")
    assert [plan.document for plan in kept.plans] == [plan.document for plan in made.plans]
