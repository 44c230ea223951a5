"""Spread: fixed draws, exact bounds, and a yield that agrees with a plain count."""

from __future__ import annotations

import numpy as np
import pytest

from service.engine.propagation.climate import AMBIENT_C, loss_share_at
from service.engine.propagation.draws import DRAWS, own_errors, own_orders, shared_shares, triangular
from service.engine.propagation.spread import Conditions, OutletLimits

WIDE_OPEN = OutletLimits(low_dbmv=np.array([-np.inf]), high_dbmv=np.array([np.inf]))
SURE = Conditions(length_share=0.0, cable_share=0.0, off_air_db=0.0, provider_db=0.0)


def limits(low, high):
    return OutletLimits(low_dbmv=np.array([low]), high_dbmv=np.array([high]))


@pytest.fixture
def star(bench):
    bench.feed().cable().part("tap", [("tap", 8, -20.0)]).part("outlet", [("user", 1, -0.5)])
    bench.put("T", "tap", "F:out", "c", 20.0)
    for n in range(1, 9):
        bench.put(f"O{n}", "outlet", f"T:tap.{n}", "c", 6.0 * n).serve(f"u{n}", f"O{n}:user")
    return bench


def test_without_limits_or_when_switched_off_there_is_no_spread(star):
    assert star.report().spread is None
    assert star.report(WIDE_OPEN, Conditions(spread=False)).spread is None


def test_the_same_network_gives_the_same_draws(star):
    first, second = star.report(WIDE_OPEN).spread, star.report(WIDE_OPEN).spread
    assert np.array_equal(first.low_dbmv, second.low_dbmv)
    assert first.draws == 1024
    assert "1024 fixed draws" in first.statement
    assert "±10%" in first.statement


def test_every_draw_passes_open_limits_and_none_passes_closed_ones(star):
    assert star.report(WIDE_OPEN).spread.yield_share == 1.0
    assert star.report(limits(40.0, 50.0)).spread.yield_share == 0.0
    assert star.report(limits(np.nan, np.nan)).spread.yield_share == 1.0


def test_percentiles_stand_on_both_sides_of_the_level(star):
    report = star.report(WIDE_OPEN)
    assert (report.spread.low_dbmv < report.outlet_level_dbmv).all()
    assert (report.spread.high_dbmv > report.outlet_level_dbmv).all()


def test_a_limit_at_the_middle_fails_about_half_the_draws(bench):
    bench.feed(frequencies=(400.0,), level=10.0).part("outlet", [("user", 1, -0.5)])
    bench.put("O", "outlet", "F:out").serve("u", "O:user")
    share = bench.report(limits(9.5, 99.0)).spread.yield_share
    assert share == pytest.approx(0.5, abs=0.03)


def test_the_source_alone_spreads_as_its_two_triangles_do(bench):
    bench.feed(frequencies=(400.0,), level=0.0, kind="provider").serve("u", "F:out")
    report = bench.report(WIDE_OPEN)
    # Sum of two triangles on ±1 dB each: variance 2·(1/6); the 95th percentile stands near 0.955 dB.
    draws = np.add.outer(*[triangular((np.arange(2000) + 0.5) / 2000)] * 2)
    assert report.spread.high_dbmv[0, 0] == pytest.approx(np.quantile(draws, 0.95), abs=0.03)
    assert report.spread.low_dbmv[0, 0] == pytest.approx(np.quantile(draws, 0.05), abs=0.03)


def test_parts_above_500_mhz_have_their_wider_tolerance(bench):
    bench.feed(frequencies=(400.0, 600.0), level=0.0).part("outlet", [("user", 1, 0.0)])
    spread = bench.put("O", "outlet", "F:out").serve("u", "O:user").report(WIDE_OPEN, SURE).spread
    width = spread.high_dbmv - spread.low_dbmv
    assert width[0, 1] == pytest.approx(2.0 * width[0, 0], rel=1e-4)


def test_temperature_ends_are_those_of_the_runs_ambient(bench):
    bench.feed(frequencies=(1000.0,), level=0.0).cable().serve("u1", "O:user").serve("u2", "P:user")
    bench.part("outlet", [("user", 1, 0.0)]).feeds[0] = type(bench.feeds[0])(
        id="F", carriers=bench.feeds[0].carriers, outputs=2
    )
    bench.put("O", "outlet", "F:out.1", "c", 100.0, ambient="outdoors")
    spread = bench.put("P", "outlet", "F:out.2", "c", 50.0, ambient="riser").report(WIDE_OPEN).spread
    cold, hot = AMBIENT_C["outdoors"]
    assert spread.cold_dbmv[0, 0] == pytest.approx(-20.0 * (1 + loss_share_at(cold)))
    assert spread.hot_dbmv[0, 0] == pytest.approx(-20.0 * (1 + loss_share_at(hot)))
    assert spread.hot_dbmv[1, 0] == pytest.approx(-10.0 * (1 + loss_share_at(40.0)))


def test_with_all_else_sure_levels_move_with_temperature_only(bench):
    bench.feed(frequencies=(1000.0,), level=0.0).cable()
    bench.part("outlet", [("user", 1, 0.0)], tolerance_db=0.0, tolerance_high_db=0.0)
    report = (
        bench.put("O", "outlet", "F:out", "c", 100.0, ambient="attic")
        .serve("u", "O:user")
        .report(WIDE_OPEN, SURE)
    )
    spread = report.spread
    width = spread.cold_dbmv[0, 0] - spread.hot_dbmv[0, 0]
    assert spread.high_dbmv[0, 0] - spread.low_dbmv[0, 0] == pytest.approx(0.9 * width, rel=0.01)


def test_common_errors_move_alike_parts_together(star):
    """Eight outlets behind one type of part fail together far more often than eight strangers would."""
    level = star.report().outlet_level_dbmv
    one = star.report(limits(float(level.min()) - 1.0, 99.0)).spread.yield_share
    assert 0.5 < one < 1.0


def test_pruned_pairs_change_no_yield(star):
    """Limits that most pairs can't miss give what counting every pair gives: only the worst pair matters."""
    report = star.report()
    level = report.outlet_level_dbmv
    low = np.full(level.shape, -99.0)
    low[7, 2] = level[7, 2] - 1.5
    pruned = star.report(OutletLimits(low_dbmv=low, high_dbmv=np.full(level.shape, 99.0))).spread.yield_share
    star.served = [served for served in star.served if served.outlet == "u8"]
    alone = OutletLimits(low_dbmv=low[7:8], high_dbmv=np.full((1, 3), 99.0))
    assert star.report(alone).spread.yield_share == pruned


def test_a_level_at_the_limit_exactly_and_nothing_uncertain_passes(bench):
    bench.feed(frequencies=(400.0,), level=5.0).serve("u", "F:out")
    assert bench.report(limits(5.0, 5.0), SURE).spread.yield_share == 1.0


def test_absent_carriers_fail_nothing_and_stay_nan(bench):
    bench.feed(name="A", frequencies=(100.0,)).feed(name="B", frequencies=(300.0,))
    bench.serve("u1", "A:out").serve("u2", "B:out")
    spread = bench.report(limits(0.0, 20.0)).spread
    assert spread.yield_share == 1.0
    assert np.isnan(spread.low_dbmv).tolist() == [[False, True], [True, False]]


def test_many_outlets_in_several_stretches_spread_as_each_alone(bench):
    bench.feed(frequencies=(400.0,)).cable().part("wide", [("out", 1300, -40.0)]).put("W", "wide", "F:out")
    bench.part("outlet", [("user", 1, 0.0)])
    for n in range(1, 1301):
        bench.put(f"O{n:04}", "outlet", f"W:out.{n}", "c", 20.0).serve(f"u{n:04}", f"O{n:04}:user")
    spread = bench.report(WIDE_OPEN).spread
    width = (spread.high_dbmv - spread.low_dbmv)[:, 0]
    assert not np.isnan(width).any()
    assert width.std() < 0.06 * width.mean()


def test_every_own_order_is_a_permutation():
    orders = own_orders(np.arange(300))
    assert (np.sort(orders, axis=1) == np.arange(DRAWS)).all()


def test_own_errors_of_two_variables_are_unrelated():
    errors = own_errors(np.arange(400))
    related = np.corrcoef(errors)[np.triu_indices(400, k=1)]
    assert abs(related.mean()) < 0.002
    assert related.std() < 0.04
    assert np.abs(related).max() < 0.35


def test_own_errors_are_triangular():
    errors = own_errors(np.arange(3))
    assert errors.mean(axis=1) == pytest.approx(0.0, abs=1e-6)
    assert errors.var(axis=1) == pytest.approx(1.0 / 6.0, abs=1e-3)


def test_shared_shares_fill_each_direction_evenly():
    shares = shared_shares(40)
    assert shares.shape == (40, DRAWS)
    for line in shares:
        counts, _ = np.histogram(line, bins=16, range=(0.0, 1.0))
        assert counts.min() > 0.75 * DRAWS / 16
        assert counts.max() < 1.25 * DRAWS / 16


def test_a_path_spreads_as_plain_random_draws_do(bench):
    """Cable out of doors, two parts and a source against 200,000 independent draws of the same law."""
    bench.feed(frequencies=(600.0,), level=0.0).cable().part("pad", [("out", 1, -6.0)])
    bench.part("outlet", [("user", 1, 0.0)]).put("P", "pad", "F:out", "c", 40.0, ambient="outdoors")
    bench.put("O", "outlet", "P:out", "c", 30.0).serve("u", "O:user")
    report = bench.report(limits(-22.0, -14.0))
    random = np.random.default_rng(7)

    def halves(bound, common):
        return bound * 0.5 * (common + random.triangular(-1.0, 0.0, 1.0, 200_000))

    def common():
        return random.triangular(-1.0, 0.0, 1.0, 200_000)

    length, cable = common(), common()
    warm = [0.0011 * 1.8 * (random.uniform(*ends, 200_000) - 20.0) for ends in ((-20.0, 65.0), (15.0, 35.0))]
    per_m = bench.cables[0].loss_db_per_100m.at_one(600.0) / 100.0
    level = -6.0 + halves(3.0, common()) + halves(1.0, common()) + halves(1.0, common())
    for metres, warmth in zip((40.0, 30.0), warm, strict=True):
        level -= metres * per_m * (1.0 + halves(0.10, length) + halves(0.05, cable) + warmth)
    assert report.spread.low_dbmv[0, 0] == pytest.approx(np.quantile(level, 0.05), abs=0.1)
    assert report.spread.high_dbmv[0, 0] == pytest.approx(np.quantile(level, 0.95), abs=0.1)
    passing = np.mean((level >= -22.0) & (level <= -14.0))
    assert report.spread.yield_share == pytest.approx(passing, abs=0.02)


def test_outlets_of_one_riser_share_the_errors_ahead_of_them(bench):
    """Two outlets behind one doubtful part fail in the same draws; behind two, in different ones as well."""
    sure = {"tolerance_db": 0.0, "tolerance_high_db": 0.0}
    bench.part("doubtful", [("out", 2, 0.0)], tolerance_db=6.0).part("outlet", [("user", 1, 0.0)], **sure)
    bench.feed(frequencies=(400.0,), level=0.0, outputs=2).put("A", "doubtful", "F:out.1")
    bench.put("O", "outlet", "A:out.1").serve("u1", "O:user").serve("u2", "A:out.2")
    one = bench.report(limits(-1.0, 99.0), SURE).spread.yield_share
    bench.served = [served for served in bench.served if served.outlet == "u1"]
    assert bench.report(limits(-1.0, 99.0), SURE).spread.yield_share == one
    two = bench.put("B", "doubtful", "F:out.2").serve("u2", "B:out.1").report(limits(-1.0, 99.0), SURE)
    assert two.spread.yield_share < one - 0.05


def test_cable_loss_errs_half_by_its_type_and_half_by_each_run(bench):
    """One run of 20 dB, ±50 %: two triangles on ±5 dB each, around its loss at the middle temperature."""
    bench.feed(frequencies=(1000.0,), level=0.0).cable()
    bench.part("outlet", [("user", 1, 0.0)], tolerance_db=0.0, tolerance_high_db=0.0)
    bench.put("O", "outlet", "F:out", "c", 100.0, ambient="riser").serve("u", "O:user")
    sure = Conditions(length_share=0.0, cable_share=0.5, off_air_db=0.0)
    found = bench.report(WIDE_OPEN, sure).spread
    draws = 5.0 * np.add.outer(*[triangular((np.arange(2000) + 0.5) / 2000)] * 2)
    middle = -20.0 * (1.0 + loss_share_at(27.5))
    assert found.high_dbmv[0, 0] == pytest.approx(middle + np.quantile(draws, 0.95), abs=0.3)
    assert found.low_dbmv[0, 0] == pytest.approx(middle + np.quantile(draws, 0.05), abs=0.3)


def test_too_much_level_fails_as_too_little_does(bench):
    bench.feed(frequencies=(400.0,), level=10.0).serve("u", "F:out")
    low, high = limits(9.0, 99.0), limits(-99.0, 11.0)
    assert bench.report(low).spread.yield_share == pytest.approx(
        bench.report(high).spread.yield_share, abs=0.02
    )
    assert bench.report(high).spread.yield_share < 0.9
