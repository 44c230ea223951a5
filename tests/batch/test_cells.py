"""A cell is read as its column wants, or says what it looks like."""

from __future__ import annotations

import datetime

import pytest

from batch.cells import Cell, Kind, read_cell

DAY = datetime.datetime(2026, 1, 2)


@pytest.mark.parametrize(
    ("value", "kind", "expected"),
    [
        ("IDF-2A ", "id", "IDF-2A"),
        (101, "id", "101"),
        (12.0, "id", "12"),
        (14, "number", 14),
        (14.25, "number", 14.25),
        ("14.5", "number", 14.5),
        (3, "whole", 3),
        ("Yes", "flag", True),
        ("n", "flag", False),
        (True, "flag", True),
        ("Panel", "choice", "panel"),
        ("G; 2,3", "list", ["G", "2", "3"]),
        (12.5, "money", "12.50"),
        (0.0375, "money", "0.0375"),
    ],
)
def test_a_clean_cell_reads_as_its_value(value: object, kind: Kind, expected: object) -> None:
    assert read_cell(Cell(value=value), kind, choices=("panel", "home-run")) == (expected, None)


@pytest.mark.parametrize(
    ("value", "kind", "unit", "code", "looks_like", "right"),
    [
        (DAY, "id", "", "date", "1-2 that", "type 1-2 again"),
        (DAY, "number", "m", "date", "a date", "as a number"),
        (300000, "id", "", "turned-into-number", "3E5", "type 3E5"),
        (3.5, "id", "", "not-text", "fraction", "text"),
        ("45'", "number", "m", "unit-in-cell", "45 ft", "13.72, the column is in metres"),
        ("12'6\"", "number", "m", "unit-in-cell", "12.5 ft", "3.81"),
        ("12'6\"", "number", "ft", "unit-in-cell", "12.5 ft", "12.5 alone"),
        ("14 m", "number", "m", "unit-in-cell", "14 m", "14 alone"),
        ("14 m", "number", "ft", "unit-in-cell", "14 m", "45.9, the column is in feet"),
        ("1,300", "number", "m", "comma", "1300, or 1.300", "1300 or 1.300"),
        ("12,5", "number", "m", "comma", "12.5 with a decimal comma", "12.5 as a number"),
        ("11 dBmV", "number", "dBmV", "unit-in-cell", "11 dBmV", "11 alone"),
        ("maybe", "flag", "", "not-yes-or-no", "neither", "yes or no"),
        ("attic", "choice", "", "not-a-choice", "none", "one of panel, home-run"),
        ("$12.50", "money", "", "currency-sign", "currency", "12.50 as a number"),
        ("12,50 EUR", "money", "", "currency-sign", "currency", "12,50"),
        ("120 %", "number", "dB", "percent", "per cent", "dB"),
        ("#REF!", "number", "m", "formula-error", "failed", "value"),
        ("about ten", "number", "m", "not-a-number", "text", "a number in m"),
        (2.5, "whole", "", "not-whole", "fraction", "whole"),
        (float("nan"), "number", "m", "not-a-number", "finite", "number"),
        (True, "number", "m", "not-a-number", "truth", "number"),
    ],
)
def test_a_wrong_cell_says_what_it_looks_like_and_what_would_be_right(
    value: object, kind: Kind, unit: str, code: str, looks_like: str, right: str
) -> None:
    read, mark = read_cell(Cell(value=value), kind, unit=unit, choices=("panel", "home-run"))
    assert read is None
    assert mark is not None
    assert mark.code == code
    assert looks_like in mark.looks_like
    assert right in mark.right


def test_a_formula_without_a_saved_result_is_told_apart_from_a_blank() -> None:
    cell = Cell(value=None, formula="=B2*2")
    assert not cell.blank
    _, mark = read_cell(cell, "number", unit="m")
    assert mark is not None
    assert mark.code == "formula-without-value"


def test_a_formula_with_a_saved_result_reads_as_the_result() -> None:
    assert read_cell(Cell(value=12.5, formula="=B2*2"), "number", unit="m") == (12.5, None)


def test_a_number_shown_with_zeros_has_lost_them() -> None:
    _, mark = read_cell(Cell(value=101, number_format="0000"), "id")
    assert mark is not None
    assert (mark.code, "0101" in mark.looks_like) == ("lost-zeros", True)


def test_a_number_shown_as_power_of_ten_was_a_name() -> None:
    _, mark = read_cell(Cell(value=3000.0, number_format="0.00E+00"), "id")
    assert mark is not None
    assert "3E3" in mark.looks_like


def test_a_percent_cell_says_how_it_is_held() -> None:
    _, mark = read_cell(Cell(value=1.2, number_format="0%"), "number", unit="dB")
    assert mark is not None
    assert "120%" in mark.looks_like
