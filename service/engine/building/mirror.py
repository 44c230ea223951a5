"""The mirrored twin of a building: same plan and lengths, flats in the opposite order on every floor."""

from __future__ import annotations

from dataclasses import replace

from service.engine.building.order import in_order
from service.engine.building.places import Building, Unit


def mirrored(building: Building) -> Building:
    """Swap the flats of every floor end for end: first with last, second with last but one.

    Only labels and order change: the flat at the first position takes the id of the last, and with it its
    panel, its outlets and its ways, where their ids begin with the flat's; where that would make two ids
    alike, only the flats change. Lengths stay with the position. Common areas keep their labels.
    """
    floors: dict[tuple[str, str], list[Unit]] = {}
    for unit in building.units:
        if unit.user != "common":
            floors.setdefault((unit.block, unit.floor), []).append(unit)
    names: dict[str, str] = {}
    for units in floors.values():
        names |= {unit.id: other.id for unit, other in zip(units, reversed(units), strict=True)}
    owner = {place.id: place.unit for place in building.places if place.unit}
    renamed = {name: _renamed(name, unit, names) for name, unit in owner.items()}
    if len(set(renamed.values())) < len(renamed):
        renamed = {}

    def new(name: str) -> str:
        return renamed.get(name, name)

    users = {unit.id: names.get(unit.user, unit.user) for unit in building.units}
    places = [
        replace(place, id=new(place.id), unit=names.get(place.unit, place.unit))
        for place in building.places[1:]
    ]
    return replace(
        building,
        places=(building.places[0], *in_order(places)),
        ways=in_order(
            replace(way, id=new(way.id), start=new(way.start), end=new(way.end)) for way in building.ways
        ),
        units=in_order(
            replace(unit, id=names.get(unit.id, unit.id), user=users[unit.id]) for unit in building.units
        ),
        outlets=in_order(
            replace(
                outlet,
                id=new(outlet.id),
                unit=names.get(outlet.unit, outlet.unit),
                user=names.get(outlet.user, outlet.user),
            )
            for outlet in building.outlets
        ),
    )


def _renamed(name: str, unit: str, names: dict[str, str]) -> str:
    """An id that begins with its flat's follows the flat."""
    return names.get(unit, unit) + name.removeprefix(unit) if name.startswith(unit) else name
