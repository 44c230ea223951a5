"""The head-end's output."""

from dataclasses import replace

import pytest


def test_a_feed_asked_for_more_than_it_can_give_breaks(judged, small):
    network = replace(small, feeds=(replace(small.feeds[0], max_level_dbmv=7.0),))
    (finding,) = judged(network, "feed-level")
    assert (finding.severity, finding.where, finding.measured) == ("breaks", ("HE:14", "HE:16"), 8.0)


def test_a_feed_above_the_head_end_maximum_breaks(judged, small, limits):
    asked = replace(limits, head_end_max_dbmv=7.0, head_end_source="the head-end rule")
    findings = judged(small, "head-end-level", limits=asked)
    assert [(row.carrier, row.where, row.source) for row in findings] == [
        ("14", ("HE",), "the head-end rule"),
        ("16", ("HE",), "the head-end rule"),
    ]


def test_the_first_amplifier_is_the_head_end_output_and_later_ones_are_not(judged, grow, feed, limits):
    network = grow(
        feed(("14", 473.0, 8.0)),
        ("A1", "amp", "HE:out"),
        ("T", "tap-23", "A1:out"),
        ("A2", "amp", "T:tap.1"),
        ("P1", "plate", "T:tap.2"),
        served=("P1:user",),
    )
    (finding,) = judged(network, "head-end-level", limits=replace(limits, head_end_max_dbmv=20.0))
    assert (finding.where, finding.measured) == (("A1",), pytest.approx(28.0))


def test_the_service_maximum_goes_before_the_profile(judged, small, limits):
    row = replace(limits.services[0], head_end_max_dbmv=9.0)
    asked = replace(limits, services=(row,), head_end_max_dbmv=7.0)
    assert not judged(small, "head-end-level", limits=asked)


def test_like_carriers_too_far_apart_at_the_head_end_break(judged, grow, feed, limits):
    network = grow(
        feed(("14", 473.0, 8.0), ("30", 569.0, 4.0)), ("P1", "plate", "HE:out"), served=("P1:user",)
    )
    (finding,) = judged(network, "head-end-spread", limits=replace(limits, head_end_spread_db=3.0))
    assert (finding.severity, finding.where, finding.carrier) == ("breaks", ("HE",), "30")
    assert finding.measured == pytest.approx(4.0)
    assert not judged(network, "head-end-spread")
