"""What each outlet has left at each edge."""

from dataclasses import replace

import numpy as np
import pytest

from service.engine.checks.margins import outlet_margins


@pytest.fixture
def uneven(grow, feed):
    """Outlet O1 at 4.5 and 0.5 dBmV, O2 at -3 and -7 dBmV."""
    return grow(
        feed(("14", 473.0, 8.0), ("16", 485.0, 4.0)),
        ("T", "tap-11", "HE:out"),
        ("P1", "plate", "T:through"),
        ("P2", "plate", "T:tap.1"),
        served=("P1:user", "P2:user"),
    )


def test_margins_are_told_to_both_edges_of_limits_and_design_window(case_for, uneven, limits):
    margins = outlet_margins(case_for(uneven).report, limits)
    assert margins.low_db == pytest.approx(np.array([[14.5, 10.5], [7.0, 3.0]]))
    assert margins.high_db == pytest.approx(np.array([[10.5, 14.5], [18.0, 22.0]]))
    assert margins.design_low_db == pytest.approx(np.array([[9.5, 5.5], [2.0, -2.0]]))
    assert margins.design_high_db == pytest.approx(np.array([[5.5, 9.5], [13.0, 17.0]]))
    assert margins.least_db == pytest.approx(np.array([10.5, 3.0]))


def test_worst_and_best_outlet_carry_carrier_and_edge(case_for, uneven, limits):
    margins = outlet_margins(case_for(uneven).report, limits)
    worst, best = margins.worst, margins.best
    assert (worst.outlet, worst.carrier, worst.edge, worst.margin_db) == (
        "O2",
        "16",
        "low",
        pytest.approx(3.0),
    )
    assert (best.outlet, best.carrier, best.edge, best.margin_db) == ("O1", "14", "high", pytest.approx(10.5))


def test_without_margins_the_design_window_is_the_limits(case_for, uneven, limits):
    margins = outlet_margins(case_for(uneven).report, limits, margins=False)
    assert margins.design_low_db == pytest.approx(margins.low_db)
    assert margins.design_high_db == pytest.approx(margins.high_db)


def test_nothing_is_worst_where_no_limit_judges(case_for, uneven, limits):
    silent = replace(limits, services=())
    margins = outlet_margins(case_for(uneven).report, silent)
    assert margins.worst is None
    assert margins.best is None
    assert np.isinf(margins.least_db).all()


def test_an_outlet_without_one_carrier_is_judged_by_the_others(case_for, uneven, limits):
    report = case_for(uneven).report
    level = report.level_dbmv.copy()
    level[report.outlet_rows[1], 1] = np.nan
    margins = outlet_margins(replace(report, level_dbmv=level), limits)
    assert margins.worst.margin_db == pytest.approx(7.0)
