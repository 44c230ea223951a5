"""Amplifiers: rating, reserves, input, how many in a row."""

from dataclasses import replace

import pytest

from service.engine.checks.amplifiers import MOST_UNITS_BEHIND, check_fault_domain, check_slope_reserve
from service.engine.plant.network import Settings


@pytest.fixture
def amplified(grow, feed):
    """One amplifier, 10 dB of its 20 dB gain used: 18 dBmV out of 50 rated."""

    def build(level=8.0, **settings):
        network = grow(
            feed(("14", 473.0, level)),
            ("A", "amp", "HE:out"),
            ("T", "tap-14", "A:out"),
            ("P1", "plate", "T:tap.1"),
            served=("P1:user",),
        )
        chosen = Settings(**{"gain_db": 10.0, **settings})
        devices = tuple(replace(row, settings=chosen) if row.id == "A" else row for row in network.devices)
        return replace(network, devices=devices)

    return build


RULES = (
    "overload",
    "output-reserve-today",
    "output-reserve-tomorrow",
    "gain-reserve",
    "slope-reserve",
    "amplifier-input-low",
    "amplifier-input-high",
    "input-pad",
    "amplifiers-in-series",
    "fault-domain",
)


def test_an_amplifier_set_with_its_reserves_has_no_findings(judged, amplified):
    assert not [row for row in judged(amplified()) if row.rule in RULES]


@pytest.mark.parametrize(
    ("headroom_today", "headroom_tomorrow", "expected"),
    [
        (-1.0, -4.0, {"overload": ("breaks", -1.0, 0.0), "output-reserve-tomorrow": ("warns", -4.0, 3.0)}),
        (
            2.0,
            0.5,
            {"output-reserve-today": ("warns", 2.0, 3.0), "output-reserve-tomorrow": ("warns", 0.5, 3.0)},
        ),
        (5.0, 2.0, {"output-reserve-tomorrow": ("warns", 2.0, 3.0)}),
        (5.0, 3.0, {}),
    ],
)
def test_output_is_held_against_the_derated_rating(
    judged, case_for, amplified, headroom_today, headroom_tomorrow, expected
):
    (row,) = case_for(amplified()).report.amplifiers
    row = replace(row, headroom_today_db=headroom_today, headroom_tomorrow_db=headroom_tomorrow)
    findings = [found for found in judged(amplified(), amplifiers=(row,)) if found.rule in RULES]
    assert {found.rule: (found.severity, found.measured, found.limit) for found in findings} == expected
    assert all(found.where == ("A",) for found in findings)


def test_an_overload_breaks_even_without_margins_and_reserves_are_not_asked_for(judged, case_for, amplified):
    (row,) = case_for(amplified()).report.amplifiers
    row = replace(
        row, headroom_today_db=-1.0, headroom_tomorrow_db=-2.0, gain_reserve_db=0.0, slope_reserve_db=0.0
    )
    findings = judged(amplified(), amplifiers=(row,), margins=False)
    assert [found.rule for found in findings if found.rule in RULES] == ["overload"]


@pytest.mark.parametrize(
    ("settings", "rule", "measured", "limit"),
    [
        ({"gain_db": 18.0}, "gain-reserve", 2.0, 3.0),
        ({"gain_db": None}, "gain-reserve", 0.0, 3.0),
        ({"slope_db": 7.0}, "slope-reserve", 1.0, 2.0),
        ({"input_pad_db": 16.0}, "input-pad", 16.0, 15.0),
    ],
)
def test_a_setting_without_reserve_warns(judged, amplified, settings, rule, measured, limit):
    (finding,) = judged(amplified(**settings), rule)
    assert (finding.severity, finding.where) == ("warns", ("A",))
    assert (finding.measured, finding.limit) == (pytest.approx(measured), limit)


def test_a_part_without_slope_has_no_slope_reserve_to_keep(case_for, amplified):
    case = case_for(amplified(slope_db=7.0))
    part = case.parts["A"]
    fixed = replace(part, active=replace(part.active, slope_db=replace(part.active.slope_db, high=0.0)))
    assert list(check_slope_reserve(case))
    assert not list(check_slope_reserve(replace(case, parts={**case.parts, "A": fixed})))


@pytest.mark.parametrize(
    ("level", "rule", "severity", "limit"),
    [(-2.0, "amplifier-input-low", "warns", 0.0), (26.0, "amplifier-input-high", "breaks", 25.0)],
)
def test_an_input_outside_the_part_s_range_is_told(judged, amplified, level, rule, severity, limit):
    (finding,) = judged(amplified(level), rule)
    assert (finding.severity, finding.where, finding.measured) == (severity, ("A",), level)
    assert finding.limit == limit


def test_a_pad_ahead_of_the_gain_takes_an_input_back_into_range(judged, amplified):
    assert judged(amplified(26.0), "amplifier-input-high")
    assert not judged(amplified(26.0, input_pad_db=3.0), "amplifier-input-high")


def test_a_third_amplifier_after_the_launch_amplifier_is_one_too_many(judged, grow, feed):
    rows = [("A1", "amp", "HE:out")]
    for number in range(2, 5):
        rows += [(f"T{number}", "tap-20", f"A{number - 1}:out"), (f"A{number}", "amp", f"T{number}:tap.1")]
    three = grow(feed(("14", 473.0, 8.0)), *rows[:-2], ("P", "plate", "A3:out"), served=("P:user",))
    four = grow(feed(("14", 473.0, 8.0)), *rows, ("P", "plate", "A4:out"), served=("P:user",))
    assert not judged(three, "amplifiers-in-series")
    (finding,) = judged(four, "amplifiers-in-series")
    assert (finding.severity, finding.where, finding.measured, finding.limit) == ("warns", ("A4",), 4.0, 3.0)


def test_more_than_a_hundred_flats_behind_a_later_amplifier_warn(case_for, grow, feed):
    network = grow(
        feed(("14", 473.0, 8.0)),
        ("A1", "amp", "HE:out"),
        ("T", "tap-20", "A1:out"),
        ("A2", "amp", "T:tap.1"),
        ("P", "plate", "A2:out"),
        served=("P:user",),
    )
    case = case_for(network)
    assert not list(check_fault_domain(case))
    (served,) = case.report.outlets
    many = tuple(replace(served, unit=f"F{n}") for n in range(MOST_UNITS_BEHIND + 1))
    (finding,) = check_fault_domain(replace(case, report=replace(case.report, outlets=many)))
    assert (finding.severity, finding.where, finding.measured) == ("warns", ("A2",), 101.0)
