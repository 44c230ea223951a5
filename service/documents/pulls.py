"""The pull schedule: which cables are pulled together, in which order, and where each drops off.

Cables that leave one place along one way are one pull. In a pull the ones that go furthest come first; a
cable drops off where its ways part from all others. Each cable of a pull comes from a box of its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from service.documents.table import Column, Table, Value
from service.engine.building.places import Building, Place, Way
from service.engine.placement.proposal import Design
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Run

METRES_A_FOOT = 0.3048
_BY_HAND = ("start mark", "end mark", "tested", "initials", "date")


@dataclass(frozen=True, slots=True, kw_only=True)
class Pull:
    """Cables pulled together from one place along a first way, in order."""

    start: str
    way: str
    runs: tuple[Run, ...]


def pulls_of(design: Design) -> tuple[Pull, ...]:
    """The pulls of a design, the highest floor first, so that risers are pulled from the top down."""
    building = design.building
    places = {device.id: device.place for device in design.chosen.network.devices}
    groups: dict[tuple[str, str], list[Run]] = {}
    for run in design.chosen.network.runs:
        if run.cable is None or run.existing or not run.ways:
            continue
        start = places.get(run.start.device, building.headend)
        groups.setdefault((start, run.ways[0]), []).append(run)
    heights = {(floor.block, floor.label): floor.order for floor in building.floors}
    stands = {place.id: place for place in building.places}

    def key(group: tuple[str, str]) -> tuple[str, int, str, str]:
        place = stands.get(group[0])
        height = heights.get((place.block, place.floor), 0) if place else 0
        return (place.block if place else "", -height, group[0], group[1])

    return tuple(
        Pull(start=start, way=way, runs=tuple(sorted(groups[start, way], key=_furthest)))
        for start, way in sorted(groups, key=key)
    )


def _furthest(run: Run) -> tuple[int, tuple[str, ...], str]:
    return (-len(run.ways), run.ways, run.id)


def pull_schedule(design: Design, catalogue: Catalogue) -> Table:
    """The schedule as a table, one row a cable."""
    building = design.building
    feet = building.length_unit == "ft"
    scale, unit = (1.0 / METRES_A_FOOT, "ft") if feet else (1.0, "m")
    places = {place.id: place for place in building.places}
    stands = {device.id: device.place for device in design.chosen.network.devices}
    ways = {way.id: way for way in building.ways}
    rooms = {outlet.id: outlet.room for outlet in building.outlets}
    rows: list[tuple[Value, ...]] = []
    for number, pull in enumerate(pulls_of(design), start=1):
        for box, run in enumerate(pull.runs, start=1):
            end = places[stands[run.end]]
            start = places.get(pull.start)
            cable = catalogue.cable(str(run.cable))
            rows.append(
                (
                    f"P{number:03d}",
                    f"{box} of {len(pull.runs)}",
                    _where(start, building),
                    str(run.start),
                    _where(end, building),
                    rooms.get(end.id, ""),
                    run.id,
                    cable.series,
                    cable.jacket,
                    run.length_m * scale,
                    _parts_at(pull, run, ways),
                    sum(ways[way].firestops for way in run.ways),
                    building.ends.at(start.kind) * scale if start else None,
                    building.ends.at(end.kind) * scale,
                    *(None,) * len(_BY_HAND),
                )
            )
    columns = (
        Column(name="pull", width=7),
        Column(name="box", width=8),
        Column(name="from", width=18),
        Column(name="port", width=20),
        Column(name="to", width=18),
        Column(name="room", width=14),
        Column(name="label", width=14),
        Column(name="series", width=7),
        Column(name="jacket", width=9),
        Column(name="length as pulled", unit=unit, kind="number"),
        Column(name="drops off at", width=14),
        Column(name="firestops", kind="whole"),
        Column(name="left at start", unit=unit, kind="number"),
        Column(name="left at end", unit=unit, kind="number"),
        *(Column(name=name, kind="blank", width=9) for name in _BY_HAND),
    )
    note = "Boxes stand at the start; risers from the top down. Both ends of a cable carry its label."
    return Table(id="pulls", title="Pull schedule", columns=columns, rows=tuple(rows), note=note)


def _where(place: Place | None, building: Building) -> str:
    if place is None:
        return building.headend
    block = f"{place.block} " if place.block else ""
    return f"{place.id} ({block}floor {place.floor})" if place.floor else place.id


def _parts_at(pull: Pull, run: Run, ways: Mapping[str, Way]) -> str:
    """Where a cable leaves the bundle: the last way that another cable of the pull follows too."""
    others = [other for other in pull.runs if other is not run]
    shared = 0
    for other in others:
        same = 0
        for one, two in zip(run.ways, other.ways, strict=False):
            if one != two:
                break
            same += 1
        shared = max(shared, same)
    if shared == 0 or not others:
        return ""
    way = run.ways[shared - 1]
    return f"after {way}" if way in ways else ""
