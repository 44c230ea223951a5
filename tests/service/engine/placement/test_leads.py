"""Pads ahead of legs: only where a leg gets too much, at the price of the pad."""

from __future__ import annotations

from typing import Any

import numpy as np

from service.engine.placement.heads import heads_of
from service.engine.placement.kernels import pad_legs
from service.engine.placement.stages import INF
from service.engine.placement.stock import cooks_for


def padded(row: list[int], pads: list[tuple[int, int]]) -> list[int]:
    steps, cents = (np.asarray(column, dtype=np.int64) for column in zip(*pads, strict=True))
    legs = pad_legs(np.asarray([row], dtype=np.int64), steps, cents, INF)
    return [int(cost) for cost in legs[0]]


def test_a_pad_lets_a_leg_stand_where_it_got_too_much() -> None:
    assert padded([INF, INF, 100, 90], [(1, 7), (2, 9)]) == [109, 99, 100, 90]


def test_the_cheaper_of_two_pads_that_do_is_taken() -> None:
    assert padded([INF, 100, 80], [(1, 30), (2, 5)]) == [85, 100, 80]


def test_a_leg_that_nothing_serves_stays_so() -> None:
    assert padded([INF, INF], [(1, 7)]) == [INF, INF]


def test_every_recipe_over_several_outputs_serves_all_and_closes_the_rest(desk: Any) -> None:
    _, cook, _ = cooks_for(
        desk.library.catalogue,
        desk.library.tariffs["demo-usd"],
        (183.0, 605.0),
        frozenset(),
        trim_free=True,
    )
    for count, onward in ((0, 2), (3, 1), (5, 0), (2, 6)):
        recipes = heads_of(cook).recipes(4, count, onward)
        assert recipes
        for recipe in recipes:
            fed = sorted(at for first, past, _ in recipe.loads for at in range(first, past))
            assert fed == list(range(count))
            assert recipe.onward == onward
            assert recipe.pick is not None
            assert len(recipe.pick.arms[0]) == 4
    own = min(heads_of(cook).recipes(4, 2, 1), key=lambda recipe: recipe.cents)
    assert own.devices == 0
    assert own.onward_steps == 0
