"""Cutting stock, against an integer programme of its own for small lists, and by what must always hold."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from service.engine.works.cutting import Length, cutting_plan, least_bought_m


def rows_of(lengths: list[float], pulls: list[int] | None = None) -> list[Length]:
    pulls = pulls or list(range(len(lengths)))
    return [
        Length(name=f"R{n:02d}", pull=pull, length_m=length)
        for n, (length, pull) in enumerate(zip(lengths, pulls, strict=True))
    ]


def fewest_metres(rows: list[Length], sizes: list[float]) -> float:
    """The same question as an integer programme: x[i, j] puts length i on reel j, y[j, k] buys it in size k."""
    count, reels, kinds = len(rows), len(rows), len(sizes)
    width = count * reels + reels * kinds

    def x(i: int, j: int) -> int:
        return i * reels + j

    def y(j: int, k: int) -> int:
        return count * reels + j * kinds + k

    matrix, low, high = [], [], []

    def say(entries: dict[int, float], least: float, most: float) -> None:
        line = np.zeros(width)
        for at, value in entries.items():
            line[at] = value
        matrix.append(line)
        low.append(least)
        high.append(most)

    for i in range(count):
        say({x(i, j): 1.0 for j in range(reels)}, 1.0, 1.0)
    pulls = {row.pull for row in rows}
    for j in range(reels):
        room = {y(j, k): -sizes[k] for k in range(kinds)}
        say({x(i, j): rows[i].length_m for i in range(count)} | room, -np.inf, 0.0)
        say({y(j, k): 1.0 for k in range(kinds)}, 0.0, 1.0)
        for pull in pulls:
            say({x(i, j): 1.0 for i in range(count) if rows[i].pull == pull}, 0.0, 1.0)
    cost = np.zeros(width)
    for j in range(reels):
        for k in range(kinds):
            cost[y(j, k)] = sizes[k]
    done = milp(
        cost,
        constraints=LinearConstraint(np.array(matrix), low, high),
        bounds=Bounds(0, 1),
        integrality=np.ones(width),
    )
    assert done.success
    return float(done.fun)


SMALL = st.lists(st.integers(5, 100).map(float), min_size=1, max_size=7)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(SMALL, st.integers(1, 4), st.sampled_from([[100.0], [100.0, 250.0], [76.0, 152.0], [110.0, 120.0]]))
def test_small_lists_are_cut_from_as_few_metres_as_an_integer_programme_finds(
    lengths: list[float], bundle: int, sizes: list[float]
) -> None:
    rows = rows_of(lengths, [n // bundle for n in range(len(lengths))])
    plan = cutting_plan(rows, sizes) if max(lengths) <= max(sizes) else None
    assert plan is not None
    assert plan.exact
    assert plan.bought_m == pytest.approx(fewest_metres(rows, sizes), abs=1e-6)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.lists(st.floats(0.5, 300.0), min_size=1, max_size=80), st.integers(1, 8))
def test_every_plan_can_be_pulled_and_keeps_above_its_bound(lengths: list[float], bundle: int) -> None:
    rows = rows_of(lengths, [n // bundle for n in range(len(lengths))])
    plan = cutting_plan(rows, (76.0, 152.0, 305.0))
    cut = [row for stock in plan.stocks for row in stock.lengths]
    assert Counter(row.name for row in cut) == Counter(row.name for row in rows)
    for stock in plan.stocks:
        assert sum(row.length_m for row in stock.lengths) <= stock.put_up_m + 1e-6
        assert max(Counter(row.pull for row in stock.lengths).values()) == 1
    assert plan.bought_m >= plan.bound_m - 1e-6
    assert plan.bought_m >= least_bought_m(rows, (76.0, 152.0, 305.0)) - 1e-6


def test_a_list_that_simple_orders_cut_badly_is_cut_exactly() -> None:
    # Longest first opens a fourth reel for the last 6; 44 + 17, 24 + 24 + 6 + 6 and 22 + 21 + 8 + 8 need three.
    rows = rows_of([44.0, 24.0, 24.0, 22.0, 21.0, 17.0, 8.0, 8.0, 6.0, 6.0])
    plan = cutting_plan(rows, (61.0,))
    assert plan.exact
    assert plan.bought_m == 3 * 61.0


def test_cables_of_one_pull_come_from_reels_of_their_own() -> None:
    plan = cutting_plan(rows_of([10.0, 10.0, 10.0], [1, 1, 1]), (305.0, 152.0))
    assert [stock.put_up_m for stock in plan.stocks] == [152.0, 152.0, 152.0]


def test_put_ups_may_be_mixed_where_that_buys_less() -> None:
    plan = cutting_plan(rows_of([300.0, 100.0]), (152.0, 305.0))
    assert sorted(stock.put_up_m for stock in plan.stocks) == [152.0, 305.0]
    assert plan.exact


def test_a_length_that_no_put_up_holds_is_refused() -> None:
    with pytest.raises(ValueError, match="no put-up"):
        cutting_plan(rows_of([306.0]), (305.0,))
