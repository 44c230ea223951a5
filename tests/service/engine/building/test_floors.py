"""Floors: label, order and elevation are three things."""

from __future__ import annotations

import pytest

from service.engine.building.floors import floors_of, labels_of
from service.engine.building.ledger import Ledger
from service.engine.building.places import Floor
from service.engine.building.sketch import FloorRow, Sketch
from service.engine.findings import Fault


def floors(*rows: FloorRow, height_m: float | None = 3.0) -> tuple[list[Floor], list[Fault]]:
    return floors_of(Sketch(id="x", floors=rows, floor_height_m=height_m), [], Ledger())


def counted(*labels: str) -> dict[str, tuple[int, float]]:
    found, faults = floors_of(Sketch(id="x", floor_height_m=3.0), [("", label) for label in labels], Ledger())
    assert faults == []
    return {floor.label: (floor.order, floor.elevation_m) for floor in found}


@pytest.mark.parametrize(
    ("text", "labels"),
    [
        ("3-5", ("3", "4", "5")),
        ("3–5, PH", ("3", "4", "5", "PH")),
        ("G, M, 1", ("G", "M", "1")),
        ("5-3", None),
        ("1..9", None),
        ("1,,2", None),
        ("1-100000", None),
    ],
)
def test_a_row_of_labels_is_counted_or_refused(text: str, labels: tuple[str, ...] | None) -> None:
    assert labels_of(text) == labels


def test_a_label_left_out_leaves_no_gap_in_order_or_height() -> None:
    found, faults = floors(FloorRow(path=(), labels="12-14", missing=("13",)))
    assert faults == []
    assert [(floor.label, floor.order, floor.elevation_m) for floor in found] == [
        ("12", 0, 0.0),
        ("14", 1, 3.0),
    ]


def test_a_storey_may_be_higher_than_the_others() -> None:
    found, _ = floors(FloorRow(path=(), label="G", height_m=4.5), FloorRow(path=(), labels="1-2"))
    assert [floor.elevation_m for floor in found] == [0.0, 4.5, 7.5]


def test_every_block_has_its_own_floors() -> None:
    found, faults = floors(
        FloorRow(path=(), labels="1-2", blocks=("A", "B")), FloorRow(path=(), label="3", blocks=("B",))
    )
    assert faults == []
    assert [(floor.block, floor.label) for floor in found] == [
        ("A", "1"),
        ("A", "2"),
        ("B", "1"),
        ("B", "2"),
        ("B", "3"),
    ]


def test_an_order_that_is_said_wins_over_the_order_of_rows() -> None:
    found, faults = floors(
        FloorRow(path=(), label="2", order=1, elevation_m=3.0),
        FloorRow(path=(), label="1", order=0, elevation_m=0.0),
    )
    assert faults == []
    assert [floor.label for floor in found] == ["1", "2"]


def test_a_higher_order_at_a_lower_elevation_is_a_fault() -> None:
    _, faults = floors(
        FloorRow(path=("floors", 0), label="1", elevation_m=6.0),
        FloorRow(path=("floors", 1), label="2", elevation_m=3.0),
    )
    assert [(fault.code, fault.path) for fault in faults] == [("floor-order-unknown", ("floors", 1))]


def test_floors_are_counted_from_their_labels_where_none_are_listed() -> None:
    assert counted("4", "1") == {"1": (0, 0.0), "4": (3, 9.0)}
    assert counted("P2", "G", "2") == {"P2": (0, 0.0), "G": (2, 6.0), "2": (4, 12.0)}
    assert counted("-1", "1") == {"-1": (0, 0.0), "1": (1, 3.0)}


def test_floors_counted_from_labels_are_written_down_as_an_assumption() -> None:
    ledger = Ledger()
    floors_of(Sketch(id="x"), [("", "1"), ("", "2")], ledger)
    assert [row.field for row in ledger.lines()] == ["floor_height_m", "floors"]
