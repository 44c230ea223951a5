"""What the crew mounts, place by place: what to carry to which floor, from the top down."""

from __future__ import annotations

from collections.abc import Iterable

from service.documents.table import Column, Table, Value
from service.engine.building.places import Building, Place
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Network
from service.engine.plant.parts import Part

_KEYS = {"common-locked": "key of the room", "common-open": "open to all"}


def key_to(building: Building, places: Iterable[Place]) -> str:
    """What opens the doors: an appointment where people live, the key of a locked common room."""
    occupied = {unit.id for unit in building.units if unit.occupied}
    met = tuple(places)
    if any(place.unit in occupied for place in met if place.unit):
        return "appointment"
    rooms = [place.access for place in met if place.kind in ("closet", "headend")]
    return next((_KEYS[access] for access in sorted(rooms, reverse=True) if access in _KEYS), "")


def mounting_table(building: Building, network: Network, catalogue: Catalogue, terminator: str) -> Table:
    """One row a part and place, flats of a floor taken together; every part of the design stands in it once."""
    places = {place.id: place for place in building.places}
    stands = {device.id: device.place for device in network.devices}
    found: dict[tuple[str, str], list[str]] = {}
    for device in network.devices:
        found.setdefault((_spot(places, device.place), device.part), []).append(device.id)
    for port in network.terminated:
        place = stands.get(port.device, building.headend)
        found.setdefault((_spot(places, place), terminator), []).append(str(port))
    where = {_spot(places, place.id): place for place in building.places}
    heights = {(floor.block, floor.label): floor.order for floor in building.floors}

    def order(key: tuple[str, str]) -> tuple[str, int, bool, str, str]:
        place = where[key[0]]
        height = heights.get((place.block, place.floor), 0)
        return place.block, -height, bool(place.unit), *key

    keys = sorted(found, key=order)
    rows = tuple(_row(building, where[spot], catalogue.part(part), found[spot, part]) for spot, part in keys)
    return Table(
        id="mounting",
        title="Mounting",
        columns=_COLUMNS,
        rows=rows,
        starts=tuple(at for at, key in enumerate(keys) if not at or key[0] != keys[at - 1][0]),
        totals=("pieces",),
        note="What to carry to each floor, top down. The riser drawing shows how devices are joined, the pull "
        "schedule which cable goes to which port.",
    )


_COLUMNS = (
    Column(name="floor", width=14),
    Column(name="place", width=14),
    Column(name="part", width=14),
    Column(name="name", kind="wide", width=32),
    Column(name="pieces", kind="whole", width=8),
    Column(name="devices", kind="wide", width=40),
    Column(name="needs", width=13),
    Column(name="key or time", width=15),
    Column(name="mounted, initials, date", kind="blank", width=16),
)


def _row(building: Building, place: Place, part: Part, names: list[str]) -> tuple[Value, ...]:
    floor = f"floor {place.floor}" if place.floor else ""
    opened: tuple[Place, ...] = (place,)
    if place.unit:
        where = (place.block, place.floor)
        opened = tuple(row for row in building.places if row.unit and (row.block, row.floor) == where)
    return (
        " ".join(word for word in (place.block, floor) if word),
        "in the flats" if place.unit else place.id,
        part.id,
        part.name,
        len(names),
        "each at its flat's panel or outlet" if place.unit else ", ".join(sorted(names)),
        "house power" if part.power.supply == "mains" else "",
        key_to(building, opened),
        None,
    )


def _spot(places: dict[str, Place], place: str) -> str:
    """A common place by its name; all flats of a floor together."""
    found = places[place]
    return f"flats/{found.block}/{found.floor}" if found.unit else place
