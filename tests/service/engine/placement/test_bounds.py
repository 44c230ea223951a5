"""Bounds on cost, launch level and spread. Figures: the closed forms named at each test."""

import math

import pytest

from service.engine.placement.bounds import (
    count_bound,
    energy_launch_dbmv,
    extra_feed_prices,
    kraft_base,
    kraft_room_steps,
    spread_bound_db,
)
from service.engine.placement.grove import index
from service.engine.placement.levels_bound import level_bounds
from service.engine.placement.subsets import solve_exactly
from service.engine.placement.task import Choice, PlacementTask, Spot


def test_the_kraft_base_of_a_lossless_two_way_splitter_is_one_doubling_per_its_loss():
    ideal = Choice(id="S", cents=1, ports=((6, 2),))
    assert kraft_base([ideal]) == pytest.approx(2 ** (1 / 6))


def test_the_kraft_base_of_a_three_way_splitter_of_five_and_a_half_decibels():
    """3·β^−11 = 1 in half decibels; 1.22109 per decibel."""
    base = kraft_base([Choice(id="S", cents=1, ports=((11, 3),)), Choice(id="P", cents=1, ports=((2, 1),))])
    assert base**2 == pytest.approx(1.22109, abs=1e-5)


def test_the_kraft_base_of_an_eight_port_tap_is_found_from_both_losses():
    """2 dB through and 15 dB at eight ports: 1.23365 per decibel."""
    assert kraft_base([Choice(id="T", cents=1, ports=((4, 1), (30, 8)))]) ** 2 == pytest.approx(
        1.23365, abs=1e-5
    )


@pytest.mark.parametrize("seed", range(12))
def test_no_design_starts_with_more_loss_than_the_kraft_bound_leaves(oracle, seed):
    task = oracle.random_task(seed, 6)
    room = kraft_room_steps([s.b for s in task.spots if s.is_outlet], kraft_base(task.menus[0]))
    curve = oracle.SubsetProgramme(task).curve()
    assert all(cents is None for start, cents in enumerate(curve) if start > room + 1e-9)


def test_dividing_without_loss_leaves_the_launch_unbounded():
    assert kraft_base([Choice(id="S", cents=1, ports=((0, 2),))]) == math.inf
    assert kraft_room_steps([1.0], math.inf) == math.inf


def test_energy_asks_three_decibels_per_doubling():
    assert energy_launch_dbmv([0.0] * 4, 1.0) == pytest.approx(1.0 + 10 * math.log10(4))


def test_the_spread_cannot_be_below_half_the_range_of_the_tilts():
    assert spread_bound_db([2.0, 5.0, 9.0]) == 3.5


def test_an_extra_feed_costs_the_cheapest_device_with_its_spare_ports_terminated():
    menu = (Choice(id="S2", cents=1200, ports=((7, 2),)), Choice(id="S4", cents=1250, ports=((14, 4),)))
    assert extra_feed_prices(menu, 100) == [1200, 1350, 1250]


@pytest.mark.parametrize("seed", range(40, 52))
def test_no_bound_lies_above_the_true_optimum(oracle, seed):
    task = oracle.random_task(seed, 6)
    bound = count_bound(index(task))
    assert all(cents is None or cents >= bound for cents in oracle.SubsetProgramme(task).curve())


@pytest.mark.parametrize("seed", range(60, 80))
def test_the_bound_that_knows_levels_lies_between_the_count_bound_and_the_optimum_at_every_start(
    oracle, seed
):
    grove = index(oracle.random_task(seed, 9))
    lowest = level_bounds(grove)
    assert lowest[0] >= count_bound(grove)
    for start, cents in enumerate(solve_exactly(grove).curve):
        assert cents is None or lowest[start] <= cents


def test_the_bound_that_knows_levels_sees_what_the_count_bound_cannot():
    """A cheap splitter that no window bears: counts alone would use it."""
    menu = (Choice(id="S4", cents=100, ports=((20, 4),)), Choice(id="S2", cents=900, ports=((4, 2),)))
    spots = (
        Spot(id="H", parent=None),
        *(Spot(id=f"O{n}", parent="H", edge_cents=130, a=0, b=9) for n in range(4)),
    )
    grove = index(PlacementTask(spots=spots, menus=(menu,), terminator_cents=100, steps=10))
    assert count_bound(grove) == 4 * 130 + 100
    assert level_bounds(grove)[0] == 4 * 130 + 3 * 900 == solve_exactly(grove).curve[0]
