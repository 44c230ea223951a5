"""Heat, cold and tolerances."""

from dataclasses import replace

import pytest


def test_a_share_of_good_draws_below_the_aim_warns(judged, case_for, small):
    assert case_for(small, spread=True).report.spread.yield_share == 1.0
    assert not judged(small, "yield", spread=True)
    (finding,) = judged(grown(small, -5.5), "yield", spread=True)
    assert finding.severity == "warns"
    assert finding.measured < 95.0
    assert finding.limit == pytest.approx(95.0)


def grown(network, level):
    lines = tuple(replace(line, level_dbmv=level) for line in network.feeds[0].carriers)
    return replace(network, feeds=(replace(network.feeds[0], carriers=lines),))


def outdoors(network, level):
    runs = tuple(replace(run, cable="drop", length_m=100.0, ambient="outdoors") for run in network.runs)
    return replace(grown(network, level), runs=runs)


def test_a_level_that_heat_pushes_below_the_limit_warns(judged, small):
    hot = outdoors(small, 14.5)
    assert not judged(hot, "level-low", spread=True)
    findings = judged(hot, "level-low-hot", spread=True)
    assert [(row.carrier, row.severity, row.where) for row in findings] == [
        ("14", "warns", ("O1", "O2")),
        ("16", "warns", ("O1", "O2")),
    ]
    assert findings[0].measured == pytest.approx(14.5 - 24.0 - 20.0 * 0.0011 * 1.8 * 45.0)


def test_a_level_below_the_limit_anyway_is_not_told_again_as_hot(judged, small):
    cold = outdoors(small, 10.0)
    assert judged(cold, "level-low", spread=True)
    assert not judged(cold, "level-low-hot", spread=True)


def test_a_level_that_cold_pushes_above_the_limit_warns(judged, small):
    high = outdoors(small, 38.5)
    assert not judged(high, "level-high", spread=True)
    findings = judged(high, "level-high-cold", spread=True)
    assert [row.carrier for row in findings] == ["14", "16"]
    assert findings[0].measured == pytest.approx(38.5 - 24.0 + 20.0 * 0.0011 * 1.8 * 40.0)
