"""The energy rule over all ports of a part."""

from __future__ import annotations

import math

import pytest

from service.engine.plant.energy import (
    energy_by_frequency,
    energy_excess,
    least_worst_loss_db,
    most_outlets,
)
from service.engine.plant.parts import Part, PortGroup
from service.engine.signal.curves import Curve


def part(*groups: PortGroup) -> Part:
    return Part(id="x", family="x", name="x", groups=groups)


def group(name: str, count: int, table: dict[float, float]) -> PortGroup:
    curve = Curve(frequency_mhz=tuple(table), value=tuple(-loss for loss in table.values()))
    return PortGroup(name=name, count=count, gain_db=curve)


def test_an_ideal_splitter_gives_out_exactly_what_it_takes() -> None:
    assert energy_excess(part(group("out", 4, {5: 10 * math.log10(4)}))) == pytest.approx(0.0)


def test_a_splitter_below_the_ideal_gives_out_more_than_it_takes() -> None:
    assert energy_excess(part(group("out", 2, {5: 4.0, 1000: 3.0}))) == pytest.approx(2 * 10**-0.3 - 1)


def test_a_part_without_ports_gives_nothing_out() -> None:
    assert energy_excess(part()) == -1.0


def test_the_worst_frequency_of_one_group_meets_the_other_between_its_points() -> None:
    through = group("through", 1, {5: 3.0, 300: 1.0, 1000: 3.0})
    tap = group("tap", 2, {5: 8.0, 1000: 8.0})
    totals = dict(energy_by_frequency(part(through, tap)))
    assert totals[300] == pytest.approx(10**-0.1 + 2 * 10**-0.8)
    assert energy_excess(part(through, tap)) == pytest.approx(totals[300] - 1.0)


def test_only_groups_with_a_figure_count_at_a_frequency() -> None:
    low = group("radio", 1, {88: 2.0, 108: 2.0})
    high = group("tv", 1, {470: 2.0, 862: 2.0})
    assert energy_excess(part(low, high)) == pytest.approx(10**-0.2 - 1.0)


def test_splitters_without_loss_are_refused() -> None:
    with pytest.raises(ValueError, match="greater than 0"):
        most_outlets(((2, 0.0),), 10.0)


def test_splitters_that_do_not_multiply_reach_one_outlet_only() -> None:
    assert least_worst_loss_db(((1, 3.0),), 2) == math.inf
    assert least_worst_loss_db(((2, 3.5),), 1) == 0.0
    assert most_outlets(((2, 3.5),), -1.0) == 0
