"""Reels: every run cut once, from boxes that can stand open together."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.engine.building.rates import PutUp, Rates
from service.engine.works.pulls import pulls_of
from service.engine.works.reels import (
    Cut,
    _best_plan,
    _first_fit,
    _plan,
    reel_of_run,
    reel_plans,
    waste_share_of,
)


@pytest.fixture
def pulls(house):
    return pulls_of(house.building, house.network, house.catalogue, house.tariff)


def test_every_run_is_cut_once_with_its_waste(house, pulls):
    plans = reel_plans(house.building, pulls, house.catalogue)
    cuts = {cut.run: cut.take_m for plan in plans for reel in plan.reels for cut in reel.cuts}
    assert cuts == {
        cable.run.id: pytest.approx(cable.run.length_m * 1.08) for pull in pulls for cable in pull.cables
    }
    assert set(reel_of_run(plans)) == set(cuts)


def test_cables_of_one_pull_come_from_boxes_of_their_own(house, pulls):
    plans = {plan.cable: plan for plan in reel_plans(house.building, pulls, house.catalogue)}
    riser = plans["11-catvr"]
    assert [[cut.run for cut in reel.cuts] for reel in riser.reels] == [["C1.1"], ["C2.1"]]
    assert riser.least_reels == 2


def test_retrofit_wastes_more(house, pulls):
    assert waste_share_of(house.building) == 0.08
    old = replace(house.building, new_build=False)
    plan = next(plan for plan in reel_plans(old, pulls, house.catalogue) if plan.cable == "6-catv")
    assert plan.reels[0].cuts[0].take_m == pytest.approx(11.0 * 1.12)


def test_a_run_longer_than_any_put_up_is_bought_as_a_length_of_its_own():
    cuts = [Cut(pull=1, run="long", take_m=320.0), Cut(pull=2, run="short", take_m=20.0)]
    plan = _plan("c", 305.0, cuts, 315.0, 0.08)
    assert [cut.run for cut in plan.too_long] == ["long"]
    assert plan.bought_m == 625.0


def test_a_short_remnant_is_scrap_and_a_long_one_is_not():
    short = _plan("c", 100.0, [Cut(pull=1, run="a", take_m=90.0)], 90.0, 0.0)
    long = _plan("c", 100.0, [Cut(pull=1, run="a", take_m=50.0)], 50.0, 0.0)
    assert short.reels[0].scrap
    assert not long.reels[0].scrap


def test_boxes_are_cut_in_working_order_where_that_costs_few_more():
    cuts = [Cut(pull=n, run=f"r{n}", take_m=30.0) for n in range(1, 7)]
    plan = _plan("c", 100.0, cuts, 180.0, 0.0)
    assert [[cut.pull for cut in reel.cuts] for reel in plan.reels] == [[1, 2, 3], [4, 5, 6]]


def test_longest_first_is_taken_where_working_order_costs_many_boxes():
    lengths = (40.0, 40.0, 60.0, 60.0)
    cuts = [Cut(pull=n, run=f"r{n}", take_m=length) for n, length in enumerate(lengths, start=1)]
    assert len(_first_fit(cuts, 100.0)) == 3
    assert len(_plan("c", 100.0, cuts, 200.0, 0.0).reels) == 2


@given(st.lists(st.tuples(st.integers(1, 5), st.floats(0.5, 120.0)), min_size=1, max_size=25))
def test_no_plan_overfills_a_reel_or_goes_below_its_own_bound(rows):
    cuts = [Cut(pull=pull, run=f"r{n}", take_m=length) for n, (pull, length) in enumerate(rows)]
    plan = _plan("c", 100.0, cuts, sum(cut.take_m for cut in cuts), 0.0)
    assert len(plan.reels) >= plan.least_reels
    assert sorted(c.run for reel in plan.reels for c in reel.cuts) == sorted(
        cut.run for cut in cuts if cut.take_m <= 100.0
    )
    for reel in plan.reels:
        assert reel.left_m >= -1e-6
        assert len({cut.pull for cut in reel.cuts}) == len(reel.cuts)


def test_put_ups_are_mixed_where_that_buys_less():
    cuts = [Cut(pull=1, run="a", take_m=290.0), Cut(pull=2, run="b", take_m=120.0)]
    plan = _best_plan("c", (152.0, 305.0), cuts, 410.0, 0.0)
    assert plan.put_ups == ((305.0, 1), (152.0, 1))
    assert plan.bought_m == plan.least_m == 457.0


def test_put_ups_that_the_buyer_states_stand_before_the_librarys(house, pulls):
    stated = (PutUp(length_m=100.0), PutUp(length_m=500.0, cable="11-catvr"))
    buyer = replace(house.building, rates=Rates(put_ups=stated))
    plans = reel_plans(buyer, pulls, house.catalogue)
    sizes = {plan.cable: {reel.put_up_m for reel in plan.reels} for plan in plans}
    assert sizes.pop("11-catvr") == {500.0}
    assert sizes
    assert all(found == {100.0} for found in sizes.values())
