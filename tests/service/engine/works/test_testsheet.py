"""The test sheet: launches first, pilots everywhere, all carriers where a leg is worst, best and ends."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from service.engine.works.testsheet import readings_of
from service.library.profiles import load_limits


@pytest.fixture
def report(house):
    return house.design().chosen.report


@pytest.fixture
def readings(house, report):
    return readings_of(house.building, house.network, report, load_limits()["us-off-air"])


def test_the_launch_is_read_first_at_the_amplifiers_test_point(report, readings):
    launches = [row for row in readings if row.kind == "launch"]
    assert list(readings[: len(launches)]) == launches
    assert {row.point for row in launches} == {"HE.1"}
    amplifier = report.amplifiers[0]
    assert [row.designed_dbmv for row in launches] == pytest.approx(amplifier.test_point_dbmv.tolist())
    assert all(row.low_dbmv is None for row in launches)


def test_every_outlet_is_read_at_its_lowest_and_highest_carrier(house, readings):
    for outlet in house.building.outlets:
        rows = [row for row in readings if row.point == outlet.id]
        assert [row.carrier for row in rows] == ["14", "36"]
        assert {row.launch for row in rows} == {"HE.1"}
        assert {row.room for row in rows} == {"living room"}


def test_designed_levels_and_limits_are_those_of_the_report(report, readings):
    limits = load_limits()["us-off-air"].service("atsc")
    level = report.outlet_level_dbmv
    for at, served in enumerate(report.outlets):
        rows = [row for row in readings if row.point == served.outlet]
        assert [row.designed_dbmv for row in rows] == pytest.approx(level[at].tolist())
        assert {(row.low_dbmv, row.high_dbmv) for row in rows} == {(limits.low_dbmv, limits.high_dbmv)}
        assert all(np.isfinite(row.ratio_db) for row in rows)
        assert all(row.least_ratio_db is not None for row in rows)


def test_a_leg_is_walked_from_the_top_floor_down(house, report):
    first, second = (at for at, row in enumerate(report.outlets) if row.unit == "2A")
    limits = load_limits()["us-off-air"]
    for low in (first, second):
        outlets = tuple(
            replace(row, floor="1") if at == low else row for at, row in enumerate(report.outlets)
        )
        moved = replace(report, outlets=outlets)
        rows = readings_of(house.building, house.network, moved, limits)
        assert [row.floor for row in rows if row.unit == "2A"] == ["2", "2", "1", "1"]


def test_each_leg_has_a_worst_and_a_best_outlet(readings):
    for leg in ("C1", "C2"):
        kinds = {row.point: row.kind for row in readings if row.leg == leg}
        assert {"worst", "best"} <= set(kinds.values())
    assert {row.point for row in readings if row.leg == "C1" and row.kind != "launch"} == {"1A-1", "1B-1"}


def test_a_terminated_port_ends_its_leg_with_all_carriers(readings):
    rows = [row for row in readings if row.kind == "end of leg"]
    assert {row.point for row in rows} == {"C2.1:out.2"}
    assert [row.carrier for row in rows] == ["14", "36"]
    assert {row.leg for row in rows} == {"C2"}
