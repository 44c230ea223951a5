"""Distortion: total power for digital carriers, counted products for analogue ones, what a rating leaves."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from service.engine.plant.parts import Rating
from service.engine.propagation.beats import count_beats, rated_beats_db
from service.engine.propagation.cascades import carriers_tomorrow, derating_db, voltage_cascade_db
from service.engine.propagation.distortion import derating_from_db
from service.engine.signal.spectrum import Carrier

TOTAL = ("total power", 50.0, 40.0, 2)
SINGLE = ("per carrier", 50.0, 60.0, 2)


def products_one_by_one(carriers, level_db):
    """Power of third-order products in each channel by trying every combination."""
    power = [10 ** (level / 10) for level in level_db]
    found = []
    for target in carriers:
        total = 0.0
        for a, b in itertools.combinations_with_replacement(range(len(carriers)), 2):
            for c in range(len(carriers)):
                falls = carriers[a].frequency_mhz + carriers[b].frequency_mhz - carriers[c].frequency_mhz
                if c in (a, b) or not target.low_mhz <= falls < target.high_mhz:
                    continue
                total += (1.0 if a == b else 4.0) * power[a] * power[b] * power[c]
        found.append(10 * math.log10(total) if total else -math.inf)
    return found


def carriers_at(frequencies):
    return tuple(
        Carrier(id=f"{f}", frequency_mhz=f, low_mhz=f - 1.25, high_mhz=f + 4.75, service="analogue")
        for f in frequencies
    )


@pytest.mark.parametrize(
    "frequencies",
    [
        [55.25, 61.25, 67.25, 77.25, 83.25, 175.25, 181.25, 187.25],
        [100.0, 106.0, 118.0],
        [100.0, 106.0],
        [300.0],
    ],
)
def test_counted_products_are_those_found_one_by_one(frequencies):
    carriers = carriers_at(frequencies)
    level = np.array([3.0 * (n % 3) - n for n in range(len(carriers))])
    assert count_beats(carriers).power_db(level) == pytest.approx(
        products_one_by_one(carriers, level), abs=1e-6
    )


def test_a_carrier_that_is_not_there_makes_no_product():
    full = carriers_at([100.0, 106.0, 112.0, 118.0])
    level = np.array([0.0, 0.0, -np.inf, 0.0])
    fewer = count_beats(tuple(c for c in full if c.frequency_mhz != 112.0)).power_db(np.zeros(3))
    assert count_beats(full).power_db(level)[[0, 1, 3]] == pytest.approx(fewer)


def test_a_rating_with_two_carriers_counts_one_product():
    assert rated_beats_db(2) == 0.0
    # Three carriers: the middle one gets one product of three carriers, four times the power of one of two.
    assert rated_beats_db(3) == pytest.approx(10 * math.log10(4.0))


def test_digital_intermodulation_rises_two_db_for_each_db_below_the_rating(bench, row):
    bench.feed(frequencies=(100.0, 400.0), level=10.0).amplifier(gain=30.0, ratings=(TOTAL,))
    report = bench.put("A", "amp", "F:out").report()
    total = 40.0 + 10 * math.log10(2)
    assert report.ci_db[row(report, "A:out")] == pytest.approx(40.0 + 2 * (50.0 - total))
    assert report.amplifiers[0].total_dbmv == pytest.approx(total)


def test_digital_intermodulation_of_two_amplifiers_adds_on_power(bench, row):
    bench.feed().amplifier(gain=30.0, ratings=(TOTAL,)).part("pad", [("out", 1, -30.0)])
    bench.put("A", "amp", "F:out").put("P", "pad", "A:out").put("B", "amp", "P:out")
    report = bench.report()
    one, two = report.ci_db[row(report, "A:out")], report.ci_db[row(report, "B:out")]
    assert one - two == pytest.approx(10 * math.log10(2))


def test_noise_and_intermodulation_add_on_power(bench, row):
    bench.feed(cn=50.0, level=10.0).amplifier(gain=30.0, ratings=(TOTAL,)).put("A", "amp", "F:out")
    report = bench.report()
    at = row(report, "A:out")
    both = 10 ** (-report.cn_db[at] / 10) + 10 ** (-report.ci_db[at] / 10)
    assert report.cni_db[at] == pytest.approx(-10 * np.log10(both))


def test_a_part_rated_per_carrier_is_derated_for_digital_carriers(bench, row):
    bench.feed(frequencies=(100.0, 200.0, 300.0, 400.0), level=10.0)
    report = bench.amplifier(gain=30.0, ratings=(SINGLE,)).put("A", "amp", "F:out").report()
    assert report.ci_db[row(report, "A:out")] == pytest.approx(60.0 + 2 * (50.0 - derating_db(4) - 40.0))


def test_two_analogue_carriers_leave_no_product_on_themselves(bench, row):
    bench.feed(frequencies=(100.0, 106.0), service="analogue").amplifier(ratings=(SINGLE,))
    report = bench.put("A", "amp", "F:out").report()
    assert np.isinf(report.ci_db[row(report, "A:out")]).all()


def test_analogue_products_stand_three_times_as_steep_as_carriers(bench, row):
    bench.feed(frequencies=(100.0, 106.0, 112.0), service="analogue", level=10.0)
    bench.amplifier(gain=30.0, ratings=(SINGLE,)).put("A", "amp", "F:out")
    report = bench.report()
    ratio = 60.0 + 2 * (50.0 - 40.0)
    assert report.ci_db[row(report, "A:out")] == pytest.approx([ratio, ratio - 10 * math.log10(4.0), ratio])


def test_analogue_products_of_two_amplifiers_add_on_voltage(bench, row):
    bench.feed(frequencies=(100.0, 106.0, 112.0), service="analogue").part("pad", [("out", 1, -30.0)])
    bench.amplifier(gain=30.0, ratings=(SINGLE,)).put("A", "amp", "F:out")
    bench.put("P", "pad", "A:out").put("B", "amp", "P:out")
    report = bench.report()
    one, two = report.ci_db[row(report, "A:out"), 0], report.ci_db[row(report, "B:out"), 0]
    assert two == pytest.approx(voltage_cascade_db([one, one]))


def test_no_rating_means_no_intermodulation_and_no_end_of_headroom(bench, row):
    report = bench.feed().amplifier().put("A", "amp", "F:out").report()
    assert np.isinf(report.ci_db[row(report, "A:out")]).all()
    assert report.amplifiers[0].headroom_tomorrow_db == math.inf
    assert report.amplifiers[0].basis == ""


def test_headroom_by_total_power_counts_tomorrows_carriers(bench):
    bench.feed(frequencies=(100.0, 200.0, 300.0, 400.0), level=10.0)
    (amplifier,) = bench.amplifier(gain=30.0, ratings=(TOTAL,)).put("A", "amp", "F:out").report().amplifiers
    assert (amplifier.carriers_today, amplifier.carriers_tomorrow) == (4, 8)
    assert amplifier.headroom_today_db == pytest.approx(50.0 - 40.0 - 10 * math.log10(4))
    assert amplifier.headroom_tomorrow_db == pytest.approx(50.0 - 40.0 - 10 * math.log10(8))


def test_headroom_per_carrier_is_derated_for_both_counts(bench):
    bench.feed(frequencies=(100.0, 200.0, 300.0, 400.0), level=10.0)
    (amplifier,) = bench.amplifier(gain=30.0, ratings=(SINGLE,)).put("A", "amp", "F:out").report().amplifiers
    assert amplifier.basis == "per carrier"
    assert amplifier.derated_today_dbmv == pytest.approx(50.0 - 7.5 * math.log10(3))
    assert amplifier.derated_tomorrow_dbmv == pytest.approx(50.0 - 7.5 * math.log10(7))
    assert amplifier.headroom_tomorrow_db == pytest.approx(50.0 - 7.5 * math.log10(7) - 40.0)


def test_a_rating_made_with_many_carriers_is_not_derated_again():
    many = Rating(basis="per carrier", output_dbmv=40.0, ratio_db=60.0, carriers=42)
    assert derating_from_db(many, 42) == 0.0
    assert derating_from_db(many, 10) == 0.0
    assert derating_from_db(many, 84) == pytest.approx(7.5 * math.log10(83 / 41))


def test_the_busiest_output_is_reported_with_reserves_and_test_point(bench):
    bench.feed(level=10.0).amplifier(outputs=(("low", 1, 9.0), ("high", 1, 20.0)), test_point_db=30.0)
    bench.put("A", "amp", "F:out", gain_db=16.0, slope_db=3.0)
    (amplifier,) = bench.report().amplifiers
    assert amplifier.output_dbmv[0] == pytest.approx(10 + 9 + (20 - 9) - (19.0 - 19.0) - 4.0 - 3.0)
    assert amplifier.gain_reserve_db == pytest.approx(4.0)
    assert amplifier.slope_reserve_db == pytest.approx(5.0)
    assert amplifier.test_point_dbmv == pytest.approx(amplifier.output_dbmv - 30.0)
    assert amplifier.input_dbmv == pytest.approx(10.0)


@pytest.mark.parametrize(("today", "tomorrow"), [(1, 5), (4, 8), (16, 20), (17, 22), (40, 50)])
def test_tomorrow_is_a_quarter_more_and_four_at_least(today, tomorrow):
    assert carriers_tomorrow(today) == tomorrow


def test_derating_never_raises_a_rating():
    assert [derating_db(count) for count in (0, 1, 2)] == [0.0, 0.0, 0.0]


def test_with_both_ratings_digital_carriers_go_by_total_power_and_analogue_ones_by_the_tighter(bench):
    tight = ("per carrier", 41.0, 60.0, 2)
    bench.feed(frequencies=(100.0, 106.0), level=10.0)
    (digital,) = (
        bench.amplifier(gain=30.0, ratings=(TOTAL, tight)).put("A", "amp", "F:out").report().amplifiers
    )
    assert digital.basis == "total power"
    bench.feeds.clear()
    (analogue,) = bench.feed(frequencies=(100.0, 106.0), level=10.0, service="analogue").report().amplifiers
    assert analogue.basis == "per carrier"
    assert analogue.headroom_today_db == pytest.approx(1.0)
