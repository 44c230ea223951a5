"""Noise: each amplifier adds by its output, full gain and figure; passive parts and cables add nothing."""

from __future__ import annotations

import numpy as np
import pytest

from service.engine.errors import UnknownIdError
from service.engine.propagation.noise import cascade_noise_figure_db, combined_ratio_db
from service.engine.signal.units import thermal_noise_dbmv

FLOOR_4_MHZ = thermal_noise_dbmv(4.0)


def test_without_noise_sources_the_ratio_is_infinite(bench):
    report = bench.feed(cn=None).part("pad", [("out", 1, -6.0)]).put("P", "pad", "F:out").report()
    assert np.isinf(report.cn_db).all()
    assert np.isinf(report.cni_db).all()


def test_a_passive_part_leaves_the_ratio(bench, row):
    report = bench.feed(cn=44.0).part("pad", [("out", 1, -6.0)]).put("P", "pad", "F:out").report()
    assert report.cn_db[row(report, "P:out")] == pytest.approx(44.0)


def test_an_amplifier_counts_by_its_input_where_nothing_is_set(bench, row):
    report = bench.feed(level=10.0).amplifier(figure=8.0).put("A", "amp", "F:out").report()
    assert report.cn_db[row(report, "A:out")] == pytest.approx(10.0 - 8.0 - FLOOR_4_MHZ)


def test_gain_taken_back_costs_as_much_ratio_as_a_pad_ahead(bench, row):
    bench.feed(level=10.0).feed(level=10.0, name="G").amplifier(figure=8.0)
    bench.put("A", "amp", "F:out", gain_db=15.0).put("B", "amp", "G:out", input_pad_db=5.0)
    report = bench.report()
    assert report.cn_db[row(report, "A:out")] == pytest.approx(5.0 - 8.0 - FLOOR_4_MHZ)
    assert report.cn_db[row(report, "B:out")] == pytest.approx(5.0 - 8.0 - FLOOR_4_MHZ)


def test_outputs_of_unlike_gain_have_one_ratio(bench, row):
    bench.feed(level=10.0).amplifier(outputs=(("high", 1, 20.0), ("low", 2, 9.0))).put("A", "amp", "F:out")
    report = bench.report()
    assert report.cn_db[row(report, "A:low.2")] == pytest.approx(report.cn_db[row(report, "A:high")])


def test_each_carrier_is_judged_in_its_own_bandwidth(bench, row):
    bench.feed(frequencies=(100.0,), name="G", service="wide")
    wide = bench.feeds.pop().carriers[0]
    bench.feed(frequencies=(200.0,)).amplifier()
    feed = bench.feeds[0]
    bench.feeds[0] = type(feed)(id="F", carriers=(wide, *feed.carriers))
    report = bench.put("A", "amp", "F:out").report()
    first, second = report.cn_db[row(report, "A:out")]
    assert second - first == pytest.approx(10 * np.log10(2.0))


def test_noise_of_feed_and_amplifiers_adds_on_power(bench, row):
    bench.feed(level=10.0, cn=40.0).amplifier().part("pad", [("out", 1, -20.0)])
    bench.put("A", "amp", "F:out").put("P", "pad", "A:out").put("B", "amp", "P:out")
    report = bench.report()
    alone = 10.0 - 8.0 - FLOOR_4_MHZ
    assert report.cn_db[row(report, "B:out")] == pytest.approx(combined_ratio_db([40.0, alone, alone]))


def test_an_unknown_service_is_named(bench):
    bench.feed(service="laser")
    with pytest.raises(UnknownIdError, match="laser"):
        bench.report()


def test_cable_ahead_of_an_amplifier_adds_its_loss_to_the_figure():
    assert cascade_noise_figure_db([(-6.0, 6.0), (20.0, 3.0)]) == pytest.approx(9.0)
