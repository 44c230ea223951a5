"""Levels: gains add, cables and joints lose by length and frequency, settings take what they should."""

from __future__ import annotations

import numpy as np
import pytest

from service.engine.errors import OutsideTableError
from service.engine.propagation.levels import root_law_loss_db, slope_db
from service.engine.propagation.spread import OutletLimits
from service.engine.signal.curves import Curve


def test_levels_are_the_feed_less_cable_and_part(bench, at):
    bench.feed(frequencies=(5.0, 1000.0)).cable().part("outlet", [("user", 1, -0.5)])
    report = bench.put("O", "outlet", "F:out", "c", 50.0).serve("u", "O:user").report()
    assert at(report, "O:user")[:2] == pytest.approx([10 - 1 - 0.5, 10 - 10 - 0.5])
    assert report.input_dbmv[0, :2] == pytest.approx([9.0, 0.0])
    assert report.outlet_level_dbmv == pytest.approx(np.array([[8.5, -0.5]]))


def test_joints_lose_by_the_root_of_frequency(bench, at):
    bench.joint_loss_db_at_1ghz = 0.1
    bench.feed(frequencies=(250.0, 1000.0)).part("barrel", [("out", 1, 0.0)])
    report = bench.put("B", "barrel", "F:out", joints=2).report()
    assert at(report, "B:out")[:2] == pytest.approx([10 - 0.1, 10 - 0.2])


def test_an_amplifier_as_set_loses_pad_gain_slope_and_equaliser(bench, at):
    bench.feed(frequencies=(100.0, 400.0, 900.0)).amplifier(gain=20.0)
    bench.put("A", "amp", "F:out", gain_db=17.0, slope_db=6.0, input_pad_db=2.0, input_equaliser_db=3.0)
    report = bench.report()
    # On the root of frequency 400 MHz (20) stands half-way between 100 (10) and 900 (30).
    assert at(report, "A:out")[:3] == pytest.approx([25 - 9.0, 25 - 4.5, 25.0])


def test_beyond_its_ends_a_slope_stays_as_it_is_there(bench, at):
    bench.feed(frequencies=(60.0, 950.0)).amplifier(gain=20.0)
    report = bench.put("A", "amp", "F:out", slope_db=6.0).report()
    assert at(report, "A:out")[:2] == pytest.approx([24.0, 30.0])


def test_gain_none_is_full_gain(bench, at):
    report = bench.feed().amplifier(gain=20.0).put("A", "amp", "F:out").report()
    assert at(report, "A:out")[:3] == pytest.approx(30.0)


def test_carriers_of_two_feeds_are_joined_and_nan_where_a_feed_lacks_one(bench, at):
    bench.feed(name="A", frequencies=(100.0, 500.0)).feed(name="B", frequencies=(300.0, 500.0))
    report = bench.report()
    assert [carrier.frequency_mhz for carrier in report.carriers] == [100.0, 300.0, 500.0]
    assert np.isnan(at(report, "A:out")[:3]).tolist() == [False, True, False]
    assert np.isnan(at(report, "B:out")[:3]).tolist() == [True, False, False]
    assert np.isnan(report.cn_db).tolist() == [[False, True, False], [True, False, False]]
    assert report.slope_db == pytest.approx([0.0, 0.0])


def test_the_passband_edges_stand_behind_the_carriers(bench, at):
    bench.feed(frequencies=(100.0, 400.0)).cable().part("outlet", [("user", 1, 0.0)])
    report = bench.put("O", "outlet", "F:out", "c", 100.0).report(passband=(5.0, 1000.0))
    assert report.frequency_mhz.tolist() == [100.0, 400.0, 5.0, 1000.0]
    assert at(report, "O:user")[2:] == pytest.approx([8.0, -10.0])


def test_an_edge_beyond_a_table_is_drawn_in_and_shown(bench):
    curve = Curve(frequency_mhz=(88.0, 900.0), value=(-1.0, -1.0))
    bench.feed().cable().part("outlet", [("user", 1, curve)]).put("O", "outlet", "F:out", "c", 1.0)
    assert bench.report(passband=(47.0, 2150.0)).frequency_mhz[-2:].tolist() == [88.0, 900.0]


def test_a_feed_counts_between_its_carriers_as_launching_on_the_line_between(bench, at):
    bench.feed(frequencies=(100.0,), level=10.0, name="G")
    first = bench.feeds.pop().carriers[0]
    bench.feed(frequencies=(400.0,), level=16.0)
    feed = bench.feeds[0]
    bench.feeds[0] = type(feed)(id="F", carriers=(first, *feed.carriers))
    report = bench.report(passband=(225.0, 900.0))
    assert at(report, "F:out") == pytest.approx([10.0, 16.0, 13.0, 16.0])


def test_a_carrier_outside_a_table_is_refused_by_name(bench):
    bench.feed(frequencies=(1500.0,)).cable().part("outlet", [("user", 1, 0.0)])
    bench.put("O", "outlet", "F:out", "c", 1.0)
    with pytest.raises(OutsideTableError, match="cable c"):
        bench.report()


def test_a_feed_without_carriers_has_levels_of_no_carrier(bench):
    bench.feed(frequencies=()).amplifier().put("A", "amp", "F:out").serve("u", "A:out")
    report = bench.report()
    assert report.level_dbmv.shape == (2, 2)
    assert report.outlet_level_dbmv.shape == (1, 0)
    assert report.amplifiers[0].carriers_today == 0
    assert report.isolation == ()


def test_slope_is_between_the_outermost_carriers_present():
    levels = np.array([[1.0, 5.0, 4.0], [np.nan, 2.0, 7.0], [np.nan, np.nan, np.nan]])
    assert slope_db(levels) == pytest.approx([3.0, 5.0, np.nan], nan_ok=True)


def test_the_root_law_doubles_loss_at_four_times_the_frequency():
    assert root_law_loss_db(3.0, 100.0, np.array([400.0])) == pytest.approx([6.0])


def test_feeds_of_two_bands_need_no_figures_in_each_others(bench, at):
    """A satellite tree beside a terrestrial one: each part is read only where its own feed has carriers."""
    low = Curve(frequency_mhz=(5.0, 900.0), value=(-1.0, -1.0))
    high = Curve(frequency_mhz=(950.0, 2150.0), value=(-3.0, -3.0))
    bench.feed(name="T", frequencies=(600.0,), outputs=2).feed(name="X", frequencies=(1500.0,), outputs=2)
    bench.cable().part("low", [("user", 2, low)]).part("high", [("user", 2, high)])
    bench.put("L", "low", "T:out", "c", 10.0).put("H", "high", "X:out").put("A", "high", "X:out.2")
    for n in (1, 2):
        bench.serve(f"l{n}", f"L:user.{n}").serve(f"h{n}", f"H:user.{n}")
    limits = OutletLimits(low_dbmv=np.array([0.0]), high_dbmv=np.array([30.0]))
    report = bench.report(limits, passband=(54.0, 862.0))
    assert report.frequency_mhz[2:].tolist() == [54.0, 862.0]
    assert np.isnan(at(report, "L:user")).tolist() == [False, True, False, False]
    assert at(report, "H:user")[:2] == pytest.approx([np.nan, 7.0], nan_ok=True)
    assert [(one.carrier, one.isolation_db) for one in report.isolation] == [("d600", 1.0), ("d1500", 3.0)]
    assert report.spread.yield_share == 1.0
    assert np.isfinite(report.spread.low_dbmv).tolist() == [[False, True]] * 2 + [[True, False]] * 2


def test_an_amplifier_is_read_only_where_its_feed_has_carriers(bench, row):
    narrow = Curve(frequency_mhz=(470.0, 700.0), value=(20.0, 20.0))
    bench.feed(name="T", frequencies=(600.0,)).feed(name="X", frequencies=(1500.0,))
    bench.amplifier(outputs=(("out", 1, narrow),)).put("A", "amp", "T:out")
    report = bench.report()
    assert np.isnan(report.cn_db[row(report, "A:out")]).tolist() == [False, True]
    assert np.isnan(report.amplifiers[0].output_dbmv).tolist() == [False, True]


def test_a_network_of_nothing_gives_a_report_of_nothing(bench):
    open_limits = OutletLimits(low_dbmv=np.array([]), high_dbmv=np.array([]))
    report = bench.report(open_limits)
    assert report.level_dbmv.shape == (0, 2)
    assert report.spread.yield_share == 1.0
    report = (
        bench.feed(frequencies=())
        .part("outlet", [("user", 1, 0.0)])
        .put("O", "outlet", "F:out")
        .serve("u", "O:user")
        .report(open_limits)
    )
    assert report.spread.low_dbmv.shape == (1, 0)
