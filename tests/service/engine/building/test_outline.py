"""An outline drawn by hand on paper: where doors and risers lie, how long cables get, how many outlets there are."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.engine.building.ledger import Ledger
from service.engine.building.outline import door_m, draw, drop_m, outlet_counts, riser_m
from service.engine.building.sketch import OutlineRow, Sketch

#: 30 m of corridor, six flats of 10 m on its two sides, each 6.6 m deep.
ROW = OutlineRow(
    path=("outline",),
    floors=3,
    units_per_floor=6,
    outlets_per_unit=2.5,
    plate_length_m=30.0,
    plate_width_m=15.0,
    risers=2,
)


def drawn(row: OutlineRow = ROW, **changes: object) -> Sketch:
    sketch, faults = draw(replace(Sketch(id="b", outline=row), **changes), Ledger())
    assert faults == []
    return sketch


def test_doors_alternate_between_the_sides_and_risers_share_the_corridor() -> None:
    assert [door_m(ROW, position) for position in range(6)] == [5.0, 5.0, 15.0, 15.0, 25.0, 25.0]
    assert [riser_m(ROW, number) for number in range(2)] == [7.5, 22.5]


def test_each_flat_is_fed_from_the_nearest_riser() -> None:
    flats = drawn().floor_types[0].units
    assert [flat.at for flat in flats] == ["S1", "S1", "S1", "S1", "S2", "S2"]
    # 2.5 m along the corridor and 7.5 m, and 4 m up to the ceiling and down again.
    assert [flat.span.length_m for flat in flats] == [6.5, 6.5, 11.5, 11.5, 6.5, 6.5]


def test_drops_spread_between_the_panel_and_the_farthest_corner() -> None:
    # The corner lies 6.6 m deep and 5 m aside; 3 m go up and down.
    assert drop_m(ROW, 1, 1) == pytest.approx(3.0 + 11.6 / 2)
    assert [drop_m(ROW, number, 3) for number in (1, 2, 3)] == pytest.approx([5.9, 8.8, 11.7])


@pytest.mark.parametrize("mean", [1.0, 1.3, 2.0, 2.08, 2.5, 3.7])
def test_outlets_of_a_floor_come_nearest_to_the_mean(mean: float) -> None:
    counts = outlet_counts(replace(ROW, units_per_floor=12, outlets_per_unit=mean))
    assert len(counts) == 12
    assert abs(sum(counts) - 12 * mean) <= 0.5
    assert max(counts) - min(counts) <= 1


def test_the_head_end_stands_on_the_roof_unless_said() -> None:
    sketch = drawn()
    assert sketch.headend is not None
    assert sketch.headend.floor == "R"
    # Half the corridor less 7.5 m aside, a storey of 3 m, and 5 m into the shaft.
    assert [row.span.length_m for row in sketch.risers] == [15.5, 15.5]
    assert [row.enters for row in sketch.risers] == ["3", "3"]
    low = drawn(headend=replace(sketch.headend, floor="1"))
    assert [(row.enters, row.span.length_m) for row in low.risers] == [("1", 12.5), ("1", 12.5)]


def test_every_assumption_of_the_model_is_written_down() -> None:
    ledger = Ledger()
    draw(Sketch(id="b", outline=ROW), ledger)
    said = {line.field for line in ledger.lines()}
    assert {"outline", "outline.corridor", "outline.closets", "outline.run", "outline.drop"} <= said


def test_a_sketch_with_rows_of_its_own_stays_as_it_is() -> None:
    sketch = Sketch(id="b")
    assert draw(sketch, Ledger()) == (sketch, [])


def test_an_outline_beyond_the_limit_of_outlets_is_refused() -> None:
    vast = replace(ROW, floors=100, units_per_floor=99, outlets_per_unit=12.0)
    _, faults = draw(Sketch(id="b", outline=vast), Ledger())
    assert [(fault.code, fault.path) for fault in faults] == [("too-many", ("outline",))]
