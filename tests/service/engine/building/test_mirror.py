"""A mirrored building changes labels and order only."""

from __future__ import annotations

from service.engine.building.mirror import mirrored
from service.engine.building.places import Building, Floor, Outlet, Place, Rules, Unit, Way
from service.engine.signal.spectrum import Feed


def row_of_flats(*outlet_names: str) -> Building:
    """Flats A, B, C and a hall on one floor, each with one outlet run home; lengths 10, 20, 30 and 40 m."""
    units = (
        *(Unit(id=name, floor="1", user=name) for name in "ABC"),
        Unit(id="hall", floor="1", user="common"),
    )
    outlets = tuple(
        Outlet(id=name, unit=unit.id, user=unit.user) for name, unit in zip(outlet_names, units, strict=True)
    )
    leaves = tuple(Place(id=row.id, kind="outlet", floor="1", unit=row.unit) for row in outlets)
    ways = tuple(
        Way(id=row.id, start="HE", end=row.id, length_m=m, pulled_m=m, kind="drop", spaces=("unit",))
        for row, m in zip(outlets, (10.0, 20.0, 30.0, 40.0), strict=True)
    )
    return Building(
        id="row",
        name="",
        headend="HE",
        floors=(Floor(label="1", order=0, elevation_m=0.0),),
        places=(Place(id="HE", kind="headend", floor="1"), *leaves),
        ways=ways,
        units=units,
        outlets=outlets,
        feed=Feed(id="HE", carriers=()),
        rules=Rules(limits="us-off-air", plan="us-broadcast", codes="us-2023"),
        tariff="demo-usd",
    )


def lengths(building: Building) -> dict[str, float]:
    return {way.end: way.length_m for way in building.ways}


def test_the_first_flat_takes_the_name_of_the_last() -> None:
    twin = mirrored(row_of_flats("A-1", "B-1", "C-1", "hall-1"))
    assert lengths(twin) == {"C-1": 10.0, "B-1": 20.0, "A-1": 30.0, "hall-1": 40.0}
    assert [(row.id, row.unit, row.user) for row in twin.outlets] == [
        ("A-1", "A", "A"),
        ("B-1", "B", "B"),
        ("C-1", "C", "C"),
        ("hall-1", "hall", "common"),
    ]


def test_mirroring_twice_gives_the_building_back() -> None:
    building = row_of_flats("A-1", "B-1", "C-1", "hall-1")
    assert mirrored(mirrored(building)) == building


def test_outlets_with_names_of_their_own_keep_them() -> None:
    twin = mirrored(row_of_flats("o1", "o2", "o3", "o4"))
    assert lengths(twin) == {"o1": 10.0, "o2": 20.0, "o3": 30.0, "o4": 40.0}
    assert [(row.id, row.unit) for row in twin.outlets] == [
        ("o1", "C"),
        ("o2", "B"),
        ("o3", "A"),
        ("o4", "hall"),
    ]


def test_names_that_would_become_alike_are_left() -> None:
    """Flat A owns "A-1", and flat C an outlet that is called like A's would be after the swap."""
    twin = mirrored(row_of_flats("A-1", "C-1", "o3", "hall-1"))
    assert {row.id for row in twin.outlets} == {"A-1", "C-1", "o3", "hall-1"}
