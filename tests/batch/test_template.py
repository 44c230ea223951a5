"""The template can be opened, explains itself, and its example is a building without a complaint."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from batch.sheets import SHEETS
from batch.template import write_template
from batch.workbook import read_workbook
from service.forms.building import read_building
from service.forms.known import Known
from service.library import library
from service.library.profiles import load_limits, load_plans, load_services

LISTS = {"limits": ["us-off-air"], "plans": ["us-broadcast"], "tariffs": ["demo-usd"], "services": ["8vsb"]}


@pytest.fixture
def template(tmp_path: Path) -> Path:
    path = tmp_path / "template.xlsx"
    write_template(path, LISTS)
    return path


def test_the_template_has_every_sheet_behind_its_instructions(template: Path) -> None:
    book = openpyxl.load_workbook(template)
    assert book.sheetnames == ["instructions", *(sheet.title for sheet in SHEETS), "lists"]
    assert book["lists"].sheet_state == "hidden"
    book.close()


def test_every_header_has_a_note_with_its_unit(template: Path) -> None:
    book = openpyxl.load_workbook(template)
    for sheet in SHEETS:
        for column, cell in zip(sheet.columns, book[sheet.title][1], strict=True):
            assert cell.value == column.name
            assert cell.comment is not None
            if column.unit:
                assert f"Unit: {column.unit}." in cell.comment.text
    book.close()


def test_every_choice_can_be_picked(template: Path) -> None:
    book = openpyxl.load_workbook(template)
    for sheet in SHEETS:
        validated = {
            str(area).split(":")[0]
            for rule in book[sheet.title].data_validations.dataValidation
            for area in rule.sqref.ranges
        }
        for position, column in enumerate(sheet.columns, start=1):
            if column.kind in ("choice", "flag"):
                assert f"{openpyxl.utils.get_column_letter(position)}2" in validated, (
                    sheet.title,
                    column.name,
                )
    book.close()


def test_names_are_formatted_as_text_so_that_no_sheet_turns_them_into_dates(template: Path) -> None:
    book = openpyxl.load_workbook(template)
    assert book["outlets"].column_dimensions["B"].width > 5
    assert book["floor types"]["C2"].number_format == "@"
    book.close()


def test_the_example_is_a_building_without_a_complaint(template: Path) -> None:
    shelf = library()
    known = Known(
        catalogue=shelf.catalogue, limits=load_limits(), plans=load_plans(), services=load_services()
    )
    book = read_workbook(template)
    assert book.problems == ()
    reading = read_building(book.plans[0].document, known, shelf.tariffs)
    assert reading.faults == ()
    assert reading.building is not None
    assert len(reading.building.outlets) == 12


def test_a_template_in_feet_asks_for_feet(tmp_path: Path) -> None:
    write_template(tmp_path / "metres.xlsx", LISTS)
    write_template(tmp_path / "feet.xlsx", LISTS, feet=True)
    book = openpyxl.load_workbook(tmp_path / "feet.xlsx")
    headers = [cell.value for cell in book["outlets"][1]]
    assert "drop_ft" in headers
    assert "drop_m" not in headers
    book.close()


def test_the_same_template_has_the_same_bytes(tmp_path: Path) -> None:
    write_template(tmp_path / "one.xlsx", LISTS)
    write_template(tmp_path / "two.xlsx", LISTS)
    assert (tmp_path / "one.xlsx").read_bytes() == (tmp_path / "two.xlsx").read_bytes()
