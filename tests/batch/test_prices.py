"""A workbook's own prices lie over those of the library."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from batch.prices import read_prices
from batch.workbook import read_workbook
from service.engine.plant.tariff import Tariff
from service.library import library

MakeBook = Callable[..., Path]
Rows = dict[str, list[dict[str, Any]]]
TARIFFS = library().tariffs


def read(make_book: MakeBook, rows: Rows, **row: Any) -> tuple[dict[str, Tariff], list[str]]:
    rows["prices"] = [{"prices": "mine", "based_on": "demo-usd"} | row]
    book = read_workbook(make_book(rows=rows))
    tariffs, problems = read_prices(book.prices, TARIFFS)
    return tariffs, [f"{problem.spot.header} {problem.code}" for problem in (*book.problems, *problems)]


def test_a_part_gets_its_own_price_and_keeps_its_hours(make_book: MakeBook, two_buildings: Rows) -> None:
    tariffs, complaints = read(make_book, two_buildings, what="part", id="split-2", price=7.25)
    old = next(row for row in TARIFFS["demo-usd"].parts if row.part == "split-2")
    new = next(row for row in tariffs["mine"].parts if row.part == "split-2")
    assert complaints == []
    assert (new.price_cents, new.labour_h, new.source) == (725, old.labour_h, "own")
    assert tariffs["demo-usd"] == TARIFFS["demo-usd"]


def test_a_cable_is_priced_by_the_metre(make_book: MakeBook, two_buildings: Rows) -> None:
    tariffs, complaints = read(make_book, two_buildings, what="cable", id="6-catvr", price=0.315)
    row = next(row for row in tariffs["mine"].cables if row.cable == "6-catvr")
    assert complaints == []
    assert row.cents_per_m == 31.5


def test_a_person_hour_can_be_priced(make_book: MakeBook, two_buildings: Rows) -> None:
    tariffs, _ = read(make_book, two_buildings, what="hour", price=64)
    assert tariffs["mine"].labour_cents_per_h == 6400


@pytest.mark.parametrize(
    ("row", "complaint"),
    [
        ({"what": "part", "id": "no-such", "price": 1}, "id unknown-part"),
        ({"what": "cable", "id": "no-such", "price": 1}, "id unknown-cable"),
        ({"what": "part", "id": "split-2", "price": "$7.25"}, "price currency-sign"),
        ({"what": "part", "id": "split-2", "price": -3}, "price out-of-range"),
        ({"what": "part", "id": "split-2", "price": 1, "based_on": "none"}, "based_on unknown-prices"),
        ({"what": "part", "id": "split-2", "price": 1, "prices": "demo-usd"}, "prices duplicate-id"),
        ({"what": "roof", "price": 1}, "what not-a-choice"),
    ],
)
def test_a_wrong_price_is_a_complaint(
    make_book: MakeBook, two_buildings: Rows, row: dict[str, Any], complaint: str
) -> None:
    _, complaints = read(make_book, two_buildings, **row)
    assert complaint in complaints
