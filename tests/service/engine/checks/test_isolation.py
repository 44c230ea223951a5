"""Isolation between users and response over a band."""

from dataclasses import replace

import pytest

from service.engine.signal.limits import IsolationLimit, ResponseLimit


def test_too_little_isolation_breaks_and_names_both_outlets(judged, small, limits):
    strict = replace(
        limits,
        isolation=(
            IsolationLimit(low_mhz=54.0, high_mhz=480.0, isolation_db=30.0, source="the isolation rule"),
        ),
    )
    (finding,) = judged(small, "isolation", limits=strict)
    assert (finding.severity, finding.carrier, finding.where) == ("breaks", "14", ("O1", "O2"))
    assert (finding.measured, finding.limit, finding.source) == (25.0, 30.0, "the isolation rule")
    assert not judged(small, "isolation")


def test_the_strictest_isolation_limit_at_a_frequency_holds(limits):
    rows = tuple(
        IsolationLimit(low_mhz=54.0, high_mhz=300.0, isolation_db=value, source="x") for value in (18.0, 38.0)
    )
    both = replace(limits, isolation=rows)
    found = both.isolation_db(300.0)
    assert found is not None
    assert found.isolation_db == 38.0
    assert both.isolation_db(301.0) is None


def test_loss_too_uneven_over_a_band_breaks(judged, case_for, small, limits):
    asked = replace(
        limits,
        response=(
            ResponseLimit(low_mhz=470.0, high_mhz=862.0, response_db=5.0, source="the response rule"),
            ResponseLimit(low_mhz=470.0, high_mhz=480.0, response_db=0.1, source="one carrier only"),
        ),
    )
    level = case_for(small).report.level_dbmv.copy()
    level[case_for(small).report.outlet_rows[1], 1] -= 6.0
    (finding,) = judged(small, "response", limits=asked, level_dbmv=level)
    assert (finding.severity, finding.where, finding.source) == ("breaks", ("O2",), "the response rule")
    assert finding.measured == pytest.approx(6.0)


def test_an_uneven_launch_is_no_uneven_loss(judged, grow, feed, limits):
    network = grow(
        feed(("14", 473.0, 8.0), ("16", 485.0, 1.0)), ("P1", "plate", "HE:out"), served=("P1:user",)
    )
    row = ResponseLimit(low_mhz=470.0, high_mhz=862.0, response_db=5.0, source="x")
    assert not judged(network, "response", limits=replace(limits, response=(row,)))
