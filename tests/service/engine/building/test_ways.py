"""Ways: what is said holds, and every silence has one reading."""

from __future__ import annotations

import pytest

from service.engine.building.ledger import Ledger
from service.engine.building.places import Floor, Place, Unit, Way
from service.engine.building.rates import Survey
from service.engine.building.sketch import Span, WayRow
from service.engine.building.ways import Ground, Manner, lay_way
from service.engine.findings import Fault

PLACES = {
    "HE": Place(id="HE", kind="headend", floor="3"),
    "C1": Place(id="C1", kind="closet", floor="1"),
    "C3": Place(id="C3", kind="closet", floor="3"),
    "D3": Place(id="D3", kind="closet", floor="3"),
    "X1": Place(id="X1", kind="closet", floor="1", block="X"),
    "P": Place(id="P", kind="panel", floor="1", unit="P"),
    "O": Place(id="O", kind="outlet", floor="1", unit="P"),
}


def ground(occupied: bool = False) -> Ground:
    floors = {("", str(n)): Floor(label=str(n), order=n - 1, elevation_m=3.0 * (n - 1)) for n in (1, 2, 3)}
    floors["X", "1"] = Floor(label="1", order=0, elevation_m=0.0, block="X")
    return Ground(places=PLACES, floors=floors, units={"P": Unit(id="P", floor="1", occupied=occupied)})


def lay(start: str, end: str, span: Span, *, new_build: bool = True, occupied: bool = False) -> Way | Fault:
    manner = Manner(survey=None, route_factor=None, new_build=new_build)
    row = WayRow(path=("ways", 0), id="w", start=start, end=end, span=span)
    return lay_way(row, ground(occupied), manner, Ledger())


def laid(
    start: str, end: str, length_m: float | None = 20.0, *, new_build: bool = True, occupied: bool = False
) -> Way:
    way = lay(start, end, Span(length_m=length_m), new_build=new_build, occupied=occupied)
    assert isinstance(way, Way)
    return way


@pytest.mark.parametrize(
    ("start", "end", "kind", "spaces", "firestops"),
    [
        ("HE", "C1", "riser", ("unknown-vertical",), 2),
        ("C3", "C1", "riser", ("unknown-vertical",), 2),
        ("C3", "D3", "corridor", ("unknown-ceiling",), 0),
        ("C1", "X1", "buried", ("buried",), 0),
        ("C1", "P", "ceiling", ("unknown-ceiling",), 1),
        ("P", "O", "open", ("unit",), 0),
        ("C1", "O", "drop", ("unknown-ceiling", "unit"), 1),
        ("C3", "O", "drop", ("unknown-ceiling", "unit"), 3),
    ],
)
def test_silence_is_read_by_what_stands_at_the_ends(
    start: str, end: str, kind: str, spaces: tuple[str, ...], firestops: int
) -> None:
    way = laid(start, end)
    assert (way.kind, way.spaces, way.firestops) == (kind, spaces, firestops)


def test_a_cable_is_fished_where_people_live_or_studs_are_closed() -> None:
    assert laid("P", "O", occupied=True).kind == "fished"
    assert laid("C1", "O", new_build=False).kind == "fished"


def test_only_a_way_between_closets_above_each_other_may_leave_its_length_out() -> None:
    assert laid("C3", "C1", None).length_m == 6.0
    for start, end in (("HE", "C1"), ("C3", "D3"), ("C1", "P"), ("C1", "X1")):
        fault = lay(start, end, Span())
        assert isinstance(fault, Fault)
        assert (fault.code, fault.path) == ("missing", ("ways", 0, "run_m"))


def test_a_run_shorter_than_the_height_between_its_ends_is_a_fault() -> None:
    fault = lay("HE", "C1", Span(length_m=5.0, length_field="run_ft"))
    assert isinstance(fault, Fault)
    assert (fault.code, fault.path, fault.right) == (
        "shorter-than-height",
        ("ways", 0, "run_ft"),
        "at least 6.00 m",
    )


@pytest.mark.parametrize(("survey", "pulled_m"), [("walked", 20.0), ("drawings", 22.0), ("outline", 22.0)])
def test_the_route_factor_holds_where_nobody_walked(survey: Survey, pulled_m: float) -> None:
    span = Span(length_m=20.0, survey=survey)
    way = lay("HE", "C1", span)
    assert isinstance(way, Way)
    assert way.pulled_m == pytest.approx(pulled_m)


def test_what_is_said_of_a_way_holds() -> None:
    span = Span(length_m=20.0, kind="messenger", spaces=("attic",), firestops=5)
    way = lay("HE", "C1", span)
    assert isinstance(way, Way)
    assert (way.kind, way.spaces, way.firestops) == ("messenger", ("attic",), 5)
