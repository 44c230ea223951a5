"""Values as JSON: rounded by their unit, finite, and nothing else changed."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.documents.faces import as_json, curve_rows, rounded, rounded_rows
from service.engine.findings import Finding
from service.engine.signal.curves import Curve, flat


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    name: str
    level_dbmv: float
    length_m: float
    frequency_mhz: float
    cn_db: float | None
    levels_dbmv: tuple[float, ...]


ROW = Row(
    name="x",
    level_dbmv=1.23456,
    length_m=2.005001,
    frequency_mhz=473.12345678,
    cn_db=None,
    levels_dbmv=(-0.001,),
)


def test_figures_are_rounded_by_the_unit_in_their_name() -> None:
    assert as_json(ROW) == {
        "name": "x",
        "level_dbmv": 1.23,
        "length_m": 2.01,
        "frequency_mhz": 473.123457,
        "cn_db": None,
        "levels_dbmv": [0.0],
    }


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_figure_that_is_not_finite_becomes_null(value: float) -> None:
    assert rounded(value, "cn_db") is None
    assert rounded_rows(np.array([[1.0, value]]), "cn_db") == [[1.0, None]]


def test_a_figure_with_its_unit_beside_it_is_rounded_by_that_unit() -> None:
    finding = Finding(rule="r", severity="warns", where=(), measured=1.23456, limit=-0.0001, unit="dBmV")
    assert as_json(finding)["measured"] == 1.23
    assert str(as_json(finding)["limit"]) == "0.0"
    share = Finding(rule="r", severity="warns", where=(), measured=0.123456, unit="")
    assert as_json(share)["measured"] == 0.1235


def test_no_zero_is_negative() -> None:
    assert str(rounded(-0.001, "level_dbmv")) == "0.0"
    assert str(rounded_rows(np.array([-0.001]), "level_dbmv")[0]) == "0.0"


FIGURES = st.one_of(st.floats(-1e9, 1e9), st.sampled_from([math.nan, math.inf, -math.inf]))


@given(st.lists(FIGURES, max_size=8))
def test_every_array_of_floats_is_strict_json(values: list[float]) -> None:
    rows = rounded_rows(np.array(values, dtype=np.float64), "level_dbmv")
    assert json.loads(json.dumps(rows, allow_nan=False)) == rows


def test_a_curve_is_one_number_only_where_it_holds_everywhere() -> None:
    assert curve_rows(flat(3.0)) == 3.0
    assert curve_rows(Curve(frequency_mhz=(50.0, 60.0), value=(3.0, 3.0))) == [[50.0, 3.0], [60.0, 3.0]]
