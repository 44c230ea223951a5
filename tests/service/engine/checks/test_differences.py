"""Differences between carriers at an outlet and between outlets."""

from dataclasses import replace

import pytest


def with_limit(limits, **changes):
    return replace(limits, services=(replace(limits.services[0], **changes),))


@pytest.fixture
def tilted(grow, feed):
    """Neighbours 4 dB apart, the ends 12 dB apart."""
    return grow(
        feed(("14", 473.0, 8.0), ("15", 479.0, 4.0), ("30", 569.0, -4.0)),
        ("P1", "plate", "HE:out"),
        served=("P1:user",),
    )


def test_neighbours_too_far_apart_warn_where_the_profile_is_silent(judged, tilted):
    (finding,) = judged(tilted, "adjacent-aim")
    assert (finding.severity, finding.carrier, finding.where) == ("warns", "15", ("O1",))
    assert (finding.measured, finding.limit, finding.source) == (pytest.approx(4.0), 3.0, "common practice")


def test_neighbours_beyond_a_stated_limit_break(judged, tilted, limits):
    (finding,) = judged(tilted, "adjacent-difference", limits=with_limit(limits, adjacent_db=3.5))
    assert (finding.severity, finding.limit, finding.source) == ("breaks", 3.5, "the rule")


def test_channels_with_a_gap_between_them_are_no_neighbours(judged, grow, feed):
    gap = grow(feed(("4", 69.0, 8.0), ("5", 79.0, 2.0)), ("P1", "plate", "HE:out"), served=("P1:user",))
    assert not judged(gap, "adjacent-aim")


def test_any_two_carriers_too_far_apart_warn_where_the_profile_is_silent(judged, tilted):
    (finding,) = judged(tilted, "pair-aim")
    assert (finding.severity, finding.carrier) == ("warns", "30")
    assert (finding.measured, finding.limit) == (pytest.approx(12.0), 10.0)


def test_any_two_carriers_beyond_a_stated_limit_break(judged, tilted, limits):
    (finding,) = judged(tilted, "pair-difference", limits=with_limit(limits, any_pair_db=10.0))
    assert (finding.severity, finding.limit) == ("breaks", 10.0)


def test_the_limit_between_any_two_grows_with_the_highest_carrier(judged, tilted, limits):
    growing = with_limit(limits, any_pair_db=9.0, any_pair_db_per_100mhz_above_300=1.0)
    (finding,) = judged(tilted, "pair-difference", limits=growing)
    assert finding.limit == pytest.approx(9.0 + 2.69)


def test_outlets_of_one_flat_too_far_apart_warn(judged, grow, feed):
    network = grow(
        feed(("14", 473.0, 8.0)),
        ("T", "tap-11", "HE:out"),
        ("P1", "plate", "T:through"),
        ("P2", "plate", "T:tap.1"),
        served=("P1:user", "P2:user"),
    )
    assert not judged(network, "unit-spread")
    one_flat = replace(network, served=tuple(replace(row, unit="3A") for row in network.served))
    (finding,) = judged(one_flat, "unit-spread")
    assert (finding.severity, finding.where, finding.carrier) == ("warns", ("3A",), "14")
    assert (finding.measured, finding.limit) == (pytest.approx(7.5), 4.0)


def test_outlets_of_the_building_too_far_apart_warn_and_break_by_a_standard(judged, grow, feed, limits):
    network = grow(
        feed(("14", 473.0, 12.0)),
        ("T", "tap-14", "HE:out"),
        ("P1", "plate", "T:through"),
        ("P2", "plate", "T:tap.1"),
        served=("P1:user", "P2:user"),
    )
    (finding,) = judged(network, "building-spread")
    assert (finding.severity, finding.where, finding.measured) == ("warns", ("O2", "O1"), pytest.approx(12.0))
    (finding,) = judged(network, "building-spread", limits=replace(limits, spread_source="a standard"))
    assert (finding.severity, finding.source) == ("breaks", "a standard")


def test_an_aim_missed_on_many_carriers_is_one_finding_and_a_standard_one_a_carrier(
    judged, grow, feed, limits
):
    network = grow(
        feed(("14", 473.0, 12.0), ("20", 509.0, 12.0), ("30", 569.0, 12.0)),
        ("T", "tap-14", "HE:out"),
        ("P1", "plate", "T:through"),
        ("P2", "plate", "T:tap.1"),
        served=("P1:user", "P2:user"),
    )
    (finding,) = judged(network, "building-spread")
    assert "and on 2 other carriers" in finding.text
    broken = judged(network, "building-spread", limits=replace(limits, spread_source="a standard"))
    assert sorted(row.carrier for row in broken) == ["14", "20", "30"]
    assert [row.measured for row in broken] == sorted((row.measured for row in broken), reverse=True)
    one_flat = replace(network, served=tuple(replace(row, unit="3A") for row in network.served))
    (flat,) = judged(one_flat, "unit-spread")
    assert flat.where == ("3A",)
