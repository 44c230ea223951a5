"""Levels against limits and design window, and how findings are grouped."""

from dataclasses import replace

import numpy as np
import pytest

from service.engine.checks.grouping import grouped_by_carrier


def test_a_sound_network_has_no_findings_but_a_note_on_spare_ports(judged, small):
    assert [(finding.rule, finding.severity) for finding in judged(small)] == [("spare-ports", "notes")]


@pytest.mark.parametrize(
    ("level", "rule", "severity", "measured", "limit", "source"),
    [
        (-7.0, "level-low", "breaks", -11.0, -10.0, "the level rule"),
        (20.0, "level-high", "breaks", 16.0, 15.0, "the level rule"),
        (-2.0, "design-level-low", "warns", -6.0, -5.0, "common practice"),
        (15.0, "design-level-high", "warns", 11.0, 10.0, "common practice"),
    ],
)
def test_a_level_outside_is_told_with_limit_and_source(
    judged, grow, feed, level, rule, severity, measured, limit, source
):
    network = grow(
        feed(("14", 473.0, level)),
        ("S", "two-way", "HE:out"),
        ("P1", "plate", "S:out.1"),
        served=("P1:user",),
        terminated=(),
    )
    names = ("level-low", "level-high", "design-level-low", "design-level-high")
    (finding,) = (row for row in judged(network) if row.rule in names)
    assert (finding.rule, finding.severity, finding.where, finding.carrier) == (rule, severity, ("O1",), "14")
    assert (finding.measured, finding.limit) == (pytest.approx(measured), limit)
    assert (finding.unit, finding.source) == ("dBmV", source)


def test_the_design_window_is_not_asked_for_without_margins(judged, small):
    low = replace(
        small,
        feeds=(replace(small.feeds[0], carriers=(replace(small.feeds[0].carriers[0], level_dbmv=-2.0),)),),
    )
    assert judged(low, "design-level-low")
    assert not judged(low, "design-level-low", margins=False)


def test_a_level_on_the_limit_passes(judged, grow, feed):
    network = grow(feed(("14", 473.0, -10.0)), ("P1", "plate", "HE:out"), served=("P1:user",))
    assert not judged(network, "level-low")


def test_findings_hold_every_outlet_of_a_carrier_worst_first(judged, grow, feed):
    network = grow(
        feed(("14", 473.0, -8.0), ("16", 485.0, 8.0)),
        ("T", "tap-11", "HE:out"),
        ("S", "two-way", "T:through"),
        ("P1", "plate", "S:out.1"),
        ("P2", "plate", "T:tap.1"),
        ("P3", "plate", "T:tap.2"),
        served=("P1:user", "P2:user", "P3:user"),
    )
    (finding,) = judged(network, "level-low")
    assert (finding.carrier, finding.where) == ("14", ("O2", "O3", "O1"))
    assert "3 outlets" in finding.text
    assert "O2 -19 dBmV, limit -10 dBmV" in finding.text


def test_one_finding_stands_for_each_carrier_and_the_worst_stands_first(judged, grow, feed):
    network = grow(
        feed(("14", 473.0, -12.0), ("16", 485.0, -20.0), ("18", 497.0, 16.0)),
        ("P1", "plate", "HE:out"),
        served=("P1:user",),
    )
    findings = judged(network)
    assert [(row.rule, row.carrier) for row in findings[:3]] == [
        ("level-low", "16"),
        ("level-low", "14"),
        ("level-high", "18"),
    ]
    ranks = [("breaks", "warns", "notes").index(row.severity) for row in findings]
    assert ranks == sorted(ranks)


def test_ties_go_by_id():
    (finding,) = grouped_by_carrier(
        rule="r",
        severity="warns",
        what="w",
        noun="outlet",
        ids=["A", "B", "C"],
        carriers=["1"],
        measured=np.array([[1.0], [0.0], [1.0]]),
        limit=np.array([2.0]),
        least=True,
        unit="dB",
        sources=["s"],
    )
    assert finding.where == ("B", "A", "C")


def test_an_outlet_that_no_carrier_reaches_breaks_the_design(judged, case_for, small):
    level = case_for(small).report.level_dbmv.copy()
    level[case_for(small).report.outlet_rows[1]] = np.nan
    (finding,) = judged(small, "outlet-without-signal", level_dbmv=level)
    assert (finding.severity, finding.where) == ("breaks", ("O2",))


def test_a_carrier_without_limit_breaks_the_design(judged, small, limits):
    (finding,) = judged(small, "service-without-limit", limits=replace(limits, services=()))
    assert (finding.severity, finding.where) == ("breaks", ("14", "16"))
    assert "no figure for digital" in finding.text


def test_a_satellite_carrier_under_terrestrial_limits_breaks_the_design(judged, grow, feed, limits):
    row = replace(limits.services[0], service="sky")
    asked = replace(limits, services=(row,), bands=("terrestrial",))
    network = grow(feed(("S1", 970.0, 0.0), service="sky"), ("P1", "plate", "HE:out"), served=("P1:user",))
    (finding,) = judged(network, "service-without-limit", limits=asked)
    assert "satellite" in finding.text


def test_texts_state_levels_in_the_unit_of_the_region_and_figures_stay_in_dbmv(judged, grow, feed, limits):
    network = grow(feed(("14", 473.0, -12.345)), ("P1", "plate", "HE:out"), served=("P1:user",))
    (finding,) = judged(network, "level-low", limits=replace(limits, region="europe"))
    assert finding.text.endswith("O1 47.66 dBµV, limit 50 dBµV")
    assert (finding.measured, finding.limit, finding.unit) == (pytest.approx(-12.345), -10.0, "dBmV")
