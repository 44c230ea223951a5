"""Carrier to noise, to intermodulation, to both."""

from dataclasses import replace

import numpy as np
import pytest


def with_limit(limits, **changes):
    return replace(limits, services=(replace(limits.services[0], **changes),))


def ratios(case_for, network, value):
    return np.full_like(case_for(network).report.cn_db, value)


def test_noise_and_intermodulation_below_the_limit_breaks(judged, case_for, small):
    findings = judged(small, "carrier-to-noise-and-intermodulation", cni_db=ratios(case_for, small, 19.0))
    assert [row.carrier for row in findings] == ["14", "16"]
    assert {(row.severity, row.measured, row.limit, row.source) for row in findings} == {
        ("breaks", 19.0, 20.0, "the noise rule")
    }


def test_noise_and_intermodulation_below_the_aim_warns_only_with_margins(judged, case_for, small):
    rule, cni = "design-carrier-to-noise-and-intermodulation", ratios(case_for, small, 24.0)
    findings = judged(small, rule, cni_db=cni)
    assert {(row.severity, row.limit) for row in findings} == {("warns", 25.0)}
    assert not judged(small, rule, cni_db=cni, margins=False)
    assert not judged(small, rule, cni_db=ratios(case_for, small, 19.0))


def test_noise_alone_is_not_told_again_where_the_limit_on_both_implies_it(judged, case_for, small):
    low = ratios(case_for, small, 10.0)
    assert not judged(small, "carrier-to-noise", cn_db=low, cni_db=low)
    assert not judged(small, "design-carrier-to-noise", cn_db=low, cni_db=low)


@pytest.mark.parametrize("cni_db", [None, 15.0])
def test_noise_alone_is_told_where_its_limit_is_the_stricter(judged, case_for, small, limits, cni_db):
    asked = with_limit(limits, cni_db=cni_db)
    findings = judged(small, "carrier-to-noise", limits=asked, cn_db=ratios(case_for, small, 18.0))
    assert [(row.severity, row.measured, row.limit) for row in findings] == [("breaks", 18.0, 20.0)] * 2


def test_noise_alone_below_its_aim_warns(judged, case_for, small, limits):
    asked = with_limit(limits, cni_design_db=None)
    findings = judged(small, "design-carrier-to-noise", limits=asked, cn_db=ratios(case_for, small, 24.0))
    assert [(row.severity, row.limit) for row in findings] == [("warns", 25.0)] * 2


def test_intermodulation_below_its_limit_breaks(judged, case_for, small, limits):
    asked = with_limit(limits, ci_db=53.0)
    findings = judged(small, "carrier-to-intermodulation", limits=asked, ci_db=ratios(case_for, small, 50.0))
    assert [(row.severity, row.measured, row.limit) for row in findings] == [("breaks", 50.0, 53.0)] * 2


def test_a_feed_without_known_noise_is_noted(judged, small):
    line = small.feeds[0].carriers[0]
    silent = replace(small.feeds[0], carriers=(replace(line, cn_db=None), small.feeds[0].carriers[1]))
    (finding,) = judged(replace(small, feeds=(silent,)), "feed-noise-unknown")
    assert (finding.severity, finding.where) == ("notes", ("HE:14",))
