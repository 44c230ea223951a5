"""Limits at the outlet as published, one test row for each profile and service, the source beside it."""

import math

import pytest

from service.engine.signal.limits import design_window
from service.engine.signal.units import dbmv_from_dbm, dbuv_from_dbmv
from service.library.profiles import load_limits

RD_346 = "Real Decreto 346/2011, Annex I § 4"
EN_60728 = "EN 60728-1:2014"
JCTEA = "JCTEA STD-013-4.0"

# profile, service, lowest and highest level in dBµV, source
LEVELS_DBUV = [
    ("spain", "dvb-t", 47, 70, RD_346),
    ("spain", "fm", 40, 70, RD_346),
    ("spain", "dab", 30, 70, RD_346),
    ("spain", "dvb-c-64", 45, 70, RD_346),
    ("spain", "dvb-s", 47, 77, RD_346),
    ("europe", "fm", 50, 70, EN_60728),
    ("europe", "dab", 28, 94, EN_60728),
    ("europe", "dvb-t", 45, 74, EN_60728),
    ("europe", "dvb-t2", 39, 74, EN_60728),
    ("europe", "dvb-c-64", 47, 67, EN_60728),
    ("europe", "dvb-c-256", 54, 74, EN_60728),
    ("europe", "dvb-s", 47, 77, EN_60728),
    ("europe", "dvb-s2", 47, 77, EN_60728),
    ("japan", "isdb-t", 50, 81, JCTEA),
    ("japan", "isdb-s-8psk", 52, 81, JCTEA),
    ("japan", "isdb-s-16apsk", 54, 81, JCTEA),
    ("china", "dvb-c-64", 50, 75, "GB 51348-2019 § 15.6"),
    ("china", "dvb-c-256", 50, 75, "GB 51348-2019 § 15.6"),
    ("uk", "dvb-t", 45, 65, "RA 415"),
    ("uk", "dvb-t2", 45, 65, "RA 415"),
]

# profile, service, carrier to noise in dB, source
CARRIER_TO_NOISE = [
    ("us-public-matv", "ntsc", 45, "UFGS-16785A, Table IIa"),
    ("spain", "dvb-t", 25, RD_346),
    ("spain", "fm", 38, RD_346),
    ("spain", "dab", 18, RD_346),
    ("spain", "dvb-c-64", 28, RD_346),
    ("spain", "dvb-s", 11, RD_346),
    ("spain", "dvb-s2", 14, RD_346),
    ("japan", "isdb-t", 24, JCTEA),
    ("japan", "isdb-s-8psk", 11, JCTEA),
    ("japan", "isdb-s-16apsk", 13, JCTEA),
]


@pytest.mark.parametrize(("profile", "service", "low", "high", "source"), LEVELS_DBUV)
def test_levels_stated_in_dbuv(profile, service, low, high, source):
    row = load_limits()[profile].service(service)
    assert dbuv_from_dbmv(row.low_dbmv) == pytest.approx(low)
    assert dbuv_from_dbmv(row.high_dbmv) == pytest.approx(high)
    assert row.level_source.startswith(source)
    assert row.point == "wall outlet"


@pytest.mark.parametrize(("profile", "service", "cn_db", "source"), CARRIER_TO_NOISE)
def test_carrier_to_noise(profile, service, cn_db, source):
    row = load_limits()[profile].service(service)
    assert row.cn_db == cn_db
    assert row.cn_source.startswith(source)


def test_modulation_error_and_intermodulation_of_spain():
    # Real Decreto 346/2011 as amended by RD 250/2025: MER 21 dB (DVB-T), 22 dB (DVB-T2), third order 30 dB.
    spain = load_limits()["spain"]
    assert [spain.service(name).cni_db for name in ("dvb-t", "dvb-t2")] == [21.0, 22.0]
    assert [spain.service(name).ci_db for name in ("dvb-t", "dvb-t2")] == [30.0, 30.0]


@pytest.mark.parametrize(
    ("frequency_mhz", "isolation_db"),
    [(47.0, 38.0), (300.0, 38.0), (301.0, 30.0), (862.0, 30.0), (950.0, 20.0), (2150.0, 20.0)],
)
def test_isolation_between_users_of_spain(frequency_mhz, isolation_db):
    # Real Decreto 346/2011, Annex I § 4.
    row = load_limits()["spain"].isolation_db(frequency_mhz)
    assert row.isolation_db == isolation_db
    assert row.source.startswith(RD_346)


def test_response_of_spain():
    # Real Decreto 346/2011, Annex I § 4: 16 dB from 47 to 862 MHz, 20 dB from 950 to 2150 MHz.
    rows = load_limits()["spain"].response
    assert [(row.low_mhz, row.high_mhz, row.response_db) for row in rows] == [
        (47.0, 862.0, 16.0),
        (950.0, 2150.0, 20.0),
    ]


def test_head_end_of_spain():
    # Real Decreto 346/2011, Annex I § 4: 113 dBµV digital, 110 dBµV satellite IF, like channels within 3 dB.
    spain = load_limits()["spain"]
    assert dbuv_from_dbmv(spain.head_end_max_dbmv) == pytest.approx(113.0)
    assert spain.service("dvb-t").head_end_max_dbmv is None
    assert dbuv_from_dbmv(spain.service("dvb-s").head_end_max_dbmv) == pytest.approx(110.0)
    assert dbuv_from_dbmv(spain.service("dvb-s2").head_end_max_dbmv) == pytest.approx(110.0)
    assert spain.head_end_spread_db == 3.0


def test_public_buildings_of_the_united_states():
    # UFGS-16785A, Table IIa: +3 to +12 dBmV, adjacent 3 dB, all 12 dB, triple beat −53 dB.
    row = load_limits()["us-public-matv"].service("ntsc")
    assert (row.low_dbmv, row.high_dbmv, row.adjacent_db, row.any_pair_db, row.ci_db) == (3, 12, 3, 12, 53)


@pytest.mark.parametrize(
    ("profile", "point", "level_dbmv", "voltage_mv"),
    [
        ("us-cable-analogue", "wall outlet", 0.0, math.sqrt(0.0133 * 75.0)),
        ("us-cable-analogue-drop", "drop end", 3.0, 2.0 * math.sqrt(0.00662 * 75.0)),
    ],
)
def test_analogue_cable_of_the_united_states(profile, point, level_dbmv, voltage_mv):
    # 47 CFR 76.605: the level at 75 Ω and the voltage by impedance say the same.
    row = load_limits()[profile].service("ntsc")
    assert (row.low_dbmv, row.point) == (level_dbmv, point)
    assert 20.0 * math.log10(voltage_mv) == pytest.approx(row.low_dbmv, abs=0.05)


def test_analogue_cable_figures_from_memory():
    # 47 CFR 76.605, from memory: 43 dB in 4 MHz, adjacent 3 dB, any two 10 dB + 1 dB per 100 MHz, 18 dB.
    limits = load_limits()["us-cable-analogue"]
    row = limits.service("ntsc")
    assert (row.cn_db, row.adjacent_db, row.any_pair_db) == (43.0, 3.0, 10.0)
    assert row.any_pair_db_per_100mhz_above_300 == 1.0
    assert "from memory" in row.cn_source
    assert [(band.isolation_db, "from memory" in band.source) for band in limits.isolation] == [(18.0, True)]


def test_digital_cable_of_the_united_states():
    # ANSI/SCTE 40, from memory. Design levels and 35 dB for 256-QAM: common practice.
    limits = load_limits()["us-cable-qam"]
    rows = [limits.service(name) for name in ("qam64", "qam256")]
    assert [(row.low_dbmv, row.high_dbmv, row.cni_db) for row in rows] == [(-15, 15, 27), (-12, 15, 33)]
    assert rows[1].cni_design_db == 35.0
    assert [design_window(row) for row in rows] == [(-10.0, 10.0), (-9.0, 10.0)]
    assert all("from memory" in row.level_source for row in rows)


def test_off_air_limits_of_the_united_states_stay_far_inside_what_a_receiver_survives():
    # ATSC A/74:2010 § 5.1 and 5.2: −83 to −5 dBm alone, −8 dBm each of several.
    receiver = [dbmv_from_dbm(power) for power in (-83.0, -5.0, -8.0)]
    assert receiver == pytest.approx([-34.25, 43.75, 40.75], abs=0.005)
    row = load_limits()["us-off-air"].service("atsc")
    assert receiver[0] < row.low_dbmv < row.high_dbmv < receiver[2]
    # Common practice.
    assert (row.low_dbmv, row.high_dbmv) == (-10.0, 15.0)
    assert design_window(row) == (-5.0, 10.0)
    assert (row.cni_db, row.cni_design_db) == (20.0, 25.0)


@pytest.mark.parametrize(
    ("profile", "service", "low", "high"),
    [
        ("spain", "dvb-t", 50.0, 68.0),
        ("spain", "dvb-s2", 52.0, 72.0),
        ("spain", "dvb-c-64", 48.0, 68.0),
        ("europe", "dvb-t", 50.0, 68.0),
        ("europe", "dvb-t2", 50.0, 68.0),
        ("europe", "dvb-s", 52.0, 72.0),
        ("europe", "dvb-c-256", 57.0, 72.0),
        ("japan", "isdb-t", 53.0, 79.0),
    ],
)
def test_design_windows_in_dbuv(profile, service, low, high):
    # Common practice: 50 to 68 and 52 to 72 dBµV, or the limits less 3 and 2 dB, whichever is narrower.
    window = design_window(load_limits()[profile].service(service))
    assert [dbuv_from_dbmv(level) for level in window] == pytest.approx([low, high])


def test_design_stays_six_decibels_above_the_minimum_in_the_united_kingdom():
    # RA 415.
    row = load_limits()["uk"].service("dvb-t")
    assert design_window(row)[0] - row.low_dbmv == pytest.approx(6.0)


def test_outlets_of_one_node_stay_within_eight_decibels_in_china():
    # GB 51348-2019 § 15.6.
    china = load_limits()["china"]
    assert (china.building_spread_db, china.spread_source) == (8.0, "GB 51348-2019 § 15.6")


def test_without_margins_the_design_window_is_the_limits():
    row = load_limits()["us-off-air"].service("atsc")
    assert design_window(row, margins=False) == (-10.0, 15.0)
