"""The portfolio's tables: a line for each building beside the medians, and every problem with its place."""

from __future__ import annotations

from typing import Any

from batch.intake import Intake
from batch.problems import Problem, Spot
from batch.schedule import portfolio_tables
from service.documents.figures import Figures
from service.documents.table import Table
from service.portfolio import Line


def line(name: str, metres: float, cents: int, currency: str = "USD", **more: Any) -> Line:
    figures = Figures(
        units=5,
        outlets=10,
        worst_margin_db=4.0,
        worst_outlet="1A-1",
        best_margin_db=8.0,
        spread_db=3.0,
        proven=False,
        gap_share=0.05,
        certificate="at most 5 % above",
        cost_cents=cents * 10,
        currency=currency,
        cable_m=metres * 10,
        breaks=0,
        warns=0,
        notes=0,
    )
    return Line(**({"id": name, "name": name.upper(), "status": "served", "figures": figures} | more))


def intake(*problems: Problem) -> Intake:
    return Intake(name="book.xlsx", order=(), jobs=(), refused=(), problems=problems)


def cells(table: Table, row: int) -> dict[str, Any]:
    return dict(zip((column.title for column in table.columns), table.rows[row], strict=True))


LINES = (
    line("a", 20.0, 10_000),
    line("b", 21.0, 11_000),
    line("c", 19.0, 9_000),
    line("far", 41.0, 12_000),
    line("euro", 20.0, 900, "EUR"),
)


def test_a_building_with_twice_the_cable_stands_out() -> None:
    table = portfolio_tables(intake(), LINES)[0]
    assert cells(table, 3)["stands out"] == "cable high: 2.0 × median"
    assert (3, "look") in table.marks
    assert cells(table, 0)["stands out"] == ""


def test_prices_are_compared_within_their_currency() -> None:
    assert cells(portfolio_tables(intake(), LINES)[0], 4)["stands out"] == ""


def test_a_building_that_was_not_designed_says_why_and_has_no_figures() -> None:
    lines = (*LINES, Line(id="z", name="Z", status="wrong input", text="outlets!E2: 45 ft"))
    table = portfolio_tables(intake(), lines)[0]
    assert cells(table, 5)["first finding or complaint"] == "outlets!E2: 45 ft"
    assert cells(table, 5)["outlets"] is None
    assert (5, "bad") in table.marks
    assert table.note.startswith("5 of 6 buildings served")


def test_a_problem_has_every_part_of_its_place() -> None:
    problem = Problem(
        code="unit-in-cell",
        spot=Spot(sheet="outlets", row=2, column="E", header="drop_m"),
        building="z",
        value="45'",
        looks_like="45 ft",
        right="13.72",
        workbook="book.xlsx",
    )
    row = portfolio_tables(intake(problem), ())[1].rows[0]
    expected = ("book.xlsx", "outlets", 2, "E", "drop_m", "z", "not designed", "45'", "45 ft", "13.72")
    assert row[:10] == expected
