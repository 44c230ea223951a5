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
from service.engine.placement.task import Choice


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
