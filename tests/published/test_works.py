"""Raceway fill, pulling, masts, bonding and cable types as published, the source beside each figure.

Tolerance is half of the last printed digit unless a test says otherwise. The way through two systems of units
stands in the tests: the engine works in metres and newtons.
"""

from __future__ import annotations

import math

import pytest

from service.engine.building.mast import MountedAntenna
from service.engine.plant.permits import allowed_jackets
from service.engine.works.bonding import (
    JOIN_AWG,
    LONGEST_BOND_M,
    MAST_ALUMINIUM_MM2,
    MAST_AWG,
    MAST_CLAD_AWG,
    MAST_STEEL_MM2,
    SHIELD_MM2,
    mast_conductor_mm2,
    shield_conductor_awg,
)
from service.engine.works.mast import (
    LEAST_CLAMPED,
    PROOF_ABOVE_NM,
    antenna_moment_nm,
    tube_moment_nm,
    wind_pa,
)
from service.engine.works.raceways import (
    EMT_IN2,
    IN2_PER_MM2,
    Stretch,
    bend_factor,
    cable_area_mm2,
    emt_fill,
    least_emt,
    longest_straight_m,
    tension_along,
)

LBF_N = 4.4482216152605
FT_M = 0.3048
LB_PER_FT_N_PER_M = LBF_N / FT_M
STEEL_TUBE = "NEC Chapter 9 Tables 1 and 4; steeltubeinstitute.org"
PULLING = "conduit-construction manual, utility pulling-tension appendix"
MAST = "EN 60728-11, second hand"

#: Inner areas in in² of ½ to 4. Source: NEC Chapter 9 Table 4.
EMT_PRINTED = (0.304, 0.533, 0.864, 1.496, 2.036, 3.356, 5.858, 8.846, 11.545, 14.753)


def stretch_ft(kind: str, length_ft: float = 0.0, turn_deg: float = 0.0, radius_ft: float = 0.0) -> Stretch:
    return Stretch(kind=kind, length_m=length_ft * FT_M, turn_deg=turn_deg, radius_m=radius_ft * FT_M)


def test_inner_areas_of_tubing_are_those_of_chapter_9() -> None:
    assert tuple(area for _, area in EMT_IN2) == EMT_PRINTED


def test_fifteen_conductors_want_a_tube_of_one_and_a_quarter() -> None:
    # Source: steeltubeinstitute.org: 3 × 0.0133 + 4 × 0.0211 + 8 × 0.0366 in².
    area_in2 = 3 * 0.0133 + 4 * 0.0211 + 8 * 0.0366
    assert area_in2 == pytest.approx(0.4171, abs=0.00005), STEEL_TUBE
    assert least_emt(15, area_in2 / IN2_PER_MM2) == "1-1/4", STEEL_TUBE


def test_two_cables_pass_the_share_of_many_and_fail_their_own() -> None:
    # Two cables of 0.272 in in ½ in tubing.
    fill = emt_fill("1/2", 2, cable_area_mm2([0.272 * 25.4] * 2))
    assert fill.share < 0.40
    assert fill.limit == 0.31
    assert not fill.fits
    assert fill.next_size == "3/4"


@pytest.mark.parametrize(
    ("cables", "nipple", "limit"),
    [(1, False, 0.53), (2, False, 0.31), (3, False, 0.40), (40, False, 0.40), (2, True, 0.60)],
)
def test_shares_are_those_of_chapter_9_table_1(cables: int, nipple: bool, limit: float) -> None:
    assert emt_fill("1", cables, 1.0, nipple=nipple).limit == limit


def test_a_long_straight_and_a_bend_pull_as_printed() -> None:
    # 500 ft × 0.144 lb/ft × 0.5 = 36 lbf, then 90°: 79 lbf.
    pull = tension_along(
        (stretch_ft("straight", 500.0), stretch_ft("bend", turn_deg=90.0)),
        0.144 * LB_PER_FT_N_PER_M,
        friction=0.5,
    )
    assert [after / LBF_N for after in pull.after_n] == pytest.approx([36.0, 79.0], abs=0.5), PULLING


def test_the_longest_straight_is_as_printed() -> None:
    # 340 lbf / (0.144 lb/ft · 0.5) = 4722 ft.
    length = longest_straight_m(340.0 * LBF_N, 0.144 * LB_PER_FT_N_PER_M, friction=0.5)
    assert length / FT_M == pytest.approx(4722.0, abs=0.5), PULLING


def test_a_bend_presses_as_printed() -> None:
    # 200 ft × 1.5 lb/ft × 0.3 = 90 lbf, 90°: 144 lbf, radius 2 ft: 72 lb/ft.
    stretches = (stretch_ft("straight", 200.0), stretch_ft("bend", turn_deg=90.0, radius_ft=2.0))
    pull = tension_along(stretches, 1.5 * LB_PER_FT_N_PER_M, friction=0.3)
    assert [after / LBF_N for after in pull.after_n] == pytest.approx([90.0, 144.0], abs=0.5), PULLING
    assert pull.sidewall_n_per_m / LB_PER_FT_N_PER_M == pytest.approx(72.0, abs=0.5), PULLING


@pytest.mark.parametrize(("friction", "factor"), [(0.3, 1.60), (0.5, 2.19), (0.7, 3.00)])
def test_a_right_angle_multiplies_the_tension_as_printed(friction: float, factor: float) -> None:
    assert bend_factor(friction, 90.0) == pytest.approx(factor, abs=0.005), PULLING


def test_a_slope_pulls_by_its_weight_and_its_friction() -> None:
    # T ± L·w(sin θ ± K·cos θ) at 30°, K 0.5: up 0.5 + 0.433, down 0.433 − 0.5, never less than nothing.
    up = tension_along((Stretch(kind="slope", length_m=10.0, rise_deg=30.0),), 2.0, start_n=5.0)
    down = tension_along((Stretch(kind="slope", length_m=10.0, rise_deg=-30.0),), 2.0, start_n=5.0)
    share = 0.5 * math.cos(math.radians(30.0))
    assert up.after_n[-1] == pytest.approx(5.0 + 20.0 * (0.5 + share))
    assert down.after_n[-1] == pytest.approx(5.0 + 20.0 * (share - 0.5))


def test_antennas_bend_the_mast_as_printed() -> None:
    printed = ((16.0, 3.6), (56.0, 2.8), (96.0, 2.0), (619.0, 1.0))
    antennas = [MountedAntenna(name=f"{wind} N", wind_n=wind, height_m=height) for wind, height in printed]
    assert antenna_moment_nm(antennas) == pytest.approx(1025.4, abs=0.05), MAST
    assert PROOF_ABOVE_NM == 1650.0, MAST


@pytest.mark.parametrize(("free_m", "moment_nm"), [(1.2, 41.5), (2.0, 115.2)])
def test_a_tube_bends_by_its_own_wind_as_computed(free_m: float, moment_nm: float) -> None:
    # Source: D·h²·q·c/2 with D 60 mm, q 800 Pa, c 1.2.
    assert tube_moment_nm(60.0, free_m, 800.0) == pytest.approx(moment_nm, abs=0.05)


def test_wind_presses_as_published() -> None:
    assert (wind_pa(20.0), wind_pa(20.1), wind_pa(5.0, exposed=True)) == (800.0, 1100.0, 1250.0), MAST


@pytest.mark.parametrize(
    ("space", "jackets"),
    [
        ("plenum", {"CATVP"}),
        ("riser", {"CATVP", "CATVR"}),
        ("general", {"CATVP", "CATVR", "CATV"}),
    ],
)
def test_cable_types_by_space_are_those_of_the_table(space: str, jackets: set[str]) -> None:
    # Source: NEC Table 820.154(a), 2014, with TIA 14-3; 800.154 since 2020.
    assert set(allowed_jackets("us", space)) == jackets


def test_bonding_conductors_have_the_sizes_of_the_articles() -> None:
    # Source: NEC 800.100, 820.100, 810.21, second hand: no thinner than 14 AWG, no thicker than 6 need be.
    assert [shield_conductor_awg(gauge) for gauge in (30, 14, 6, 1)] == [14, 14, 6, 6]
    assert (MAST_AWG, MAST_CLAD_AWG, JOIN_AWG) == (10, 17, 6)
    assert pytest.approx(20.0) == LONGEST_BOND_M / FT_M


def test_european_conductors_have_the_published_sections() -> None:
    # Source: EN 60728-11, second hand; Spain by Real Decreto 346/2011 § 4.2.1.
    assert (mast_conductor_mm2(), MAST_ALUMINIUM_MM2, MAST_STEEL_MM2, SHIELD_MM2) == (16.0, 25.0, 50.0, 4.0)
    assert mast_conductor_mm2(spain=True) == 25.0
    assert pytest.approx(1 / 6) == LEAST_CLAMPED
