"""The choice of a route in words and as a table."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from service.documents.measures import Measures
from service.documents.route_choice import route_sentence, route_table
from service.engine.placement.proposal import Design, TriedRoute


def tried(name: str, length_m: float, cost_cents: int | None, fits: bool, chosen: bool = False) -> TriedRoute:
    return TriedRoute(name=name, length_m=length_m, cost_cents=cost_cents, fits=fits, chosen=chosen)


@pytest.fixture(scope="module")
def smallest(bench: Any) -> Design:
    made: Design = bench.design("smallest")
    return made


def test_where_there_is_no_choice_only_the_route_is_named(smallest: Design) -> None:
    one = replace(smallest, tried_routes=(tried("kept", 10.0, 100, True, chosen=True),))
    assert route_sentence(one) == "kept"
    assert route_table(one, Measures.of(one.building), "USD").rows == ()


def test_the_sentence_says_why_a_route_was_taken(smallest: Design) -> None:
    long = tried("shortest paths", 50.0, 300, True)
    dear = tried("least length", 40.0, 280, True)
    short = tried("riser of A only", 40.0, 250, True, chosen=True)
    cheapest = replace(smallest, tried_routes=(long, dear, short))
    assert route_sentence(cheapest) == (
        "riser of A only: of 3 routes 3 fit, and this one costs least, also the shortest in ways"
    )
    only = replace(smallest, tried_routes=(replace(long, fits=False), replace(dear, fits=False), short))
    assert "the only one along which every outlet fits" in route_sentence(only)
    none = replace(smallest, tried_routes=(replace(long, fits=False), replace(short, fits=False)))
    assert "along none of 2 routes every outlet fits" in route_sentence(none)


def test_the_table_has_every_route_in_the_units_of_the_building(smallest: Design) -> None:
    rows = (
        tried("shortest paths", 30.48, None, False),
        tried("least length", 3.048, 12345, True, chosen=True),
    )
    feet = replace(smallest, building=replace(smallest.building, length_unit="ft"), tried_routes=rows)
    table = route_table(feet, Measures.of(feet.building), "USD")
    assert [row[0] for row in table.rows] == ["shortest paths", "least length"]
    assert table.rows[0][1] == pytest.approx(100.0)
    assert table.rows[0][2] is None
    assert str(table.rows[1][2]) == "123.45"
    assert [row[4] for row in table.rows] == ["", "taken"]
