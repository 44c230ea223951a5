"""Units, noise and cascades against figures from outside; the source stands beside each."""

from __future__ import annotations

import math

import numpy as np
import pytest
import skrf

from service.engine.propagation.cascades import (
    cascade_working_level,
    cross_modulation_db,
    derating_db,
    power_share_db,
    share_of_ratio_db,
    voltage_cascade_db,
)
from service.engine.propagation.noise import amplifier_cn_db, cascade_noise_figure_db, combined_ratio_db
from service.engine.signal.mismatch import mismatch_loss_db, mismatch_ripple_db, standing_wave_ratio
from service.engine.signal.units import dbm_from_dbmv, dbmv_from_dbm, dbuv_from_dbmv, thermal_noise_dbmv


def half_digit(text: str) -> float:
    """Half the last printed digit of a figure, and a hair for its binary form."""
    return 0.5 * 10.0 ** -len(text.partition(".")[2]) * (1.0 + 1e-6)


def test_zero_dbmv_in_dbm_and_dbuv():
    """Definition of the units at 75 Ω."""
    assert dbm_from_dbmv(0.0) == pytest.approx(-48.7506, abs=0.00005)
    assert dbuv_from_dbmv(0.0) == 60.0
    assert dbm_from_dbmv(100.0 - 60.0) == pytest.approx(100.0 - 108.7506, abs=0.00005)


@pytest.mark.parametrize(
    ("bandwidth_mhz", "dbmv"),
    [(4.0, "-59.20"), (5.0, "-58.23"), (5.38, "-57.92"), (6.0, "-57.44"), (8.0, "-56.194")],
)
def test_thermal_noise_in_dbmv(bandwidth_mhz, dbmv):
    """kTB at 290 K in 75 Ω, k = 1.380649e-23 J/K (SI 2019)."""
    assert thermal_noise_dbmv(bandwidth_mhz) == pytest.approx(float(dbmv), abs=half_digit(dbmv))


@pytest.mark.parametrize(("bandwidth_mhz", "dbm"), [(4.0, "-107.955"), (6.0, "-106.194")])
def test_thermal_noise_in_dbm(bandwidth_mhz, dbm):
    """kTB at 290 K, k = 1.380649e-23 J/K (SI 2019)."""
    assert dbm_from_dbmv(thermal_noise_dbmv(bandwidth_mhz)) == pytest.approx(float(dbm), abs=half_digit(dbm))


@pytest.mark.parametrize(("bandwidth_mhz", "dbuv"), [(7.61, "3.589"), (8.0, "3.806")])
def test_thermal_noise_in_dbuv(bandwidth_mhz, dbuv):
    """kTB at 290 K in 75 Ω, k = 1.380649e-23 J/K (SI 2019)."""
    assert dbuv_from_dbmv(thermal_noise_dbmv(bandwidth_mhz)) == pytest.approx(
        float(dbuv), abs=half_digit(dbuv)
    )


def test_noise_at_a_75_ohm_input_is_a_microvolt():
    """Freeman, Fundamentals of Telecommunications, 17.3.3: 1.1 µV, −59 dBmV in 4 MHz."""
    dbmv = thermal_noise_dbmv(4.0)
    assert dbmv == pytest.approx(-59.0, abs=0.5)
    assert 1000.0 * 10.0 ** (dbmv / 20.0) == pytest.approx(1.1, abs=0.05)


def test_amplifier_ratio_by_the_58_db_constant():
    """Trade note, 5 MHz and a constant of 58 dB: 60 dB for one, 57 for two (56.99), 54 for four (53.98)."""
    one = float(amplifier_cn_db(10.0, 0.0, 8.0, -58.0))
    assert one == pytest.approx(60.0)
    assert combined_ratio_db([one] * 2) == pytest.approx(56.99, abs=0.005)
    assert combined_ratio_db([one] * 4) == pytest.approx(53.98, abs=0.005)


def test_amplifier_ratio_in_4_mhz_and_with_a_head_end():
    """Computed from kTB: 63.20 dB alone, 45.92 with a head-end of 46 dB, 45.84 with two such amplifiers."""
    one = float(amplifier_cn_db(12.0, 0.0, 8.0, thermal_noise_dbmv(4.0)))
    assert one == pytest.approx(63.20, abs=0.005)
    assert combined_ratio_db([46.0, one]) == pytest.approx(45.92, abs=0.005)
    assert combined_ratio_db([46.0, one, one]) == pytest.approx(45.84, abs=0.005)


@pytest.mark.parametrize(
    ("stages", "figure_db"),
    [
        ([(20.0, 1.5), (10.0, 6.0), (0.0, 10.0)], "1.6177"),
        ([(20.0, 3.0), (-6.0, 6.0), (0.0, 7.0)], "3.394"),
        ([(-6.0, 6.0), (20.0, 3.0), (0.0, 7.0)], "9.086"),
        ([(-6.0, 6.0), (0.0, 7.0)], "13.000"),
    ],
)
def test_noise_figure_of_a_cascade(stages, figure_db):
    """Friis; the first is a published example (1.62 dB), the others computed from the formula."""
    assert cascade_noise_figure_db(stages) == pytest.approx(float(figure_db), abs=half_digit(figure_db))


def live_stage(frequency: skrf.Frequency, gain_db: float, figure_db: float) -> skrf.Network:
    """A matched two-port of scikit-rf with a gain and a noise figure."""
    s = np.zeros((len(frequency), 2, 2), dtype=complex)
    s[:, 1, 0] = 10.0 ** (gain_db / 20.0)
    s[:, 0, 1] = 10.0 ** (gain_db / 20.0) if gain_db <= 0 else 1e-9
    network = skrf.Network(frequency=frequency, s=s, z0=75.0)
    factor = 10.0 ** (figure_db / 10.0)
    # The noise resistance plays no part while source and stages are matched; it must not be 0.
    network.set_noise_a(frequency, nfmin_db=figure_db, gamma_opt=0.0, rn=75.0 * (factor - 1.0) / 2.0)
    return network


@pytest.mark.parametrize(
    ("stages", "figure_db", "gain_db"),
    [
        ([(-5.0, 5.0), (15.0, 3.0)], 8.00000, 10.0),
        ([(25.0, 2.0), (-10.0, 10.0), (40.0, 6.0), (-30.0, 30.0)], 2.33195, 25.0),
        ([(-6.0, 6.0), (40.0, 6.0), (-30.0, 30.0), (0.0, 7.0)], 12.51487, 4.0),
    ],
)
def test_cascades_agree_with_scikit_rf(stages, figure_db, gain_db):
    """scikit-rf's noise cascade, run live, and the figures it gave when they were written down."""
    frequency = skrf.Frequency(500, 501, 2, unit="MHz")
    chain = live_stage(frequency, *stages[0])
    for stage in stages[1:]:
        chain = chain ** live_stage(frequency, *stage)
    live_db = 10.0 * math.log10(float(chain.nf(75.0)[0]))
    assert cascade_noise_figure_db(stages) == pytest.approx(live_db, abs=1e-6)
    assert cascade_noise_figure_db(stages) == pytest.approx(figure_db, abs=0.000005)
    assert 20.0 * math.log10(abs(chain.s[0, 1, 0])) == pytest.approx(gain_db, abs=1e-6)


def test_unlike_cross_modulation_adds_on_voltage():
    """Chinese broadcast-engineer examination: 62.12 and 51.62 dB together leave 49.35 dB.

    The source adds the two as printed; unrounded they leave 49.355 dB.
    """
    six = cross_modulation_db(118.0, 96.0, 6, 28)
    eight = cross_modulation_db(118.0, 100.0, 8, 28)
    assert six == pytest.approx(62.12, abs=0.005)
    assert eight == pytest.approx(51.62, abs=0.005)
    assert voltage_cascade_db([62.12, 51.62]) == pytest.approx(49.35, abs=0.005)
    assert voltage_cascade_db([six, eight]) == pytest.approx(49.355, abs=0.0005)


def test_working_level_of_a_cascade():
    """GB 50200-94, 2.2: printed 81.45 dBµV with rounded terms, 81.497 exactly."""
    level = cascade_working_level(106.0, 3, 51, share_of_ratio_db(47.0, 0.2))
    assert level == pytest.approx(81.497, abs=0.0005)
    assert level == pytest.approx(81.45, abs=0.05)


@pytest.mark.parametrize(
    ("carriers", "db"),
    [(3, 2.26), (4, 3.58), (5, 4.52), (6, 5.24), (8, 6.34), (10, 7.16), (20, 9.59), (42, 12.10)],
)
def test_derating_of_a_two_carrier_rating(carriers, db):
    """7.5 lg(N − 1); the rule is common practice, the figures computed."""
    assert derating_db(carriers) == pytest.approx(db, abs=0.005)


def test_constant_total_power_from_77_to_40_channels():
    """−10 lg N a channel, computed."""
    assert power_share_db(40) - power_share_db(77) == pytest.approx(2.84, abs=0.005)


@pytest.mark.parametrize(
    ("a_db", "b_db", "between_db", "ripple_db"),
    [(16, 16, 0, 0.436), (16, 16, 2, 0.275), (20, 20, 0, 0.174), (10, 18, 0, 0.692)],
)
def test_mismatch_ripple(a_db, b_db, between_db, ripple_db):
    """20 lg((1 + x) / (1 − x)), peak to peak, computed."""
    assert mismatch_ripple_db(a_db, b_db, between_db) == pytest.approx(ripple_db, abs=0.0005)


@pytest.mark.parametrize(
    ("return_loss_db", "ratio", "loss_db"),
    [(10, 1.925, 0.458), (14, 1.499, 0.176), (16, 1.377, 0.110), (20, 1.222, 0.044)],
)
def test_return_loss_as_standing_wave_ratio_and_mismatch_loss(return_loss_db, ratio, loss_db):
    """Transmission line theory, computed."""
    assert standing_wave_ratio(return_loss_db) == pytest.approx(ratio, abs=0.0005)
    assert mismatch_loss_db(return_loss_db) == pytest.approx(loss_db, abs=0.0005)


def test_dbm_and_dbmv_are_each_others_inverse():
    """Definition of the units."""
    assert dbmv_from_dbm(dbm_from_dbmv(12.34)) == pytest.approx(12.34)
