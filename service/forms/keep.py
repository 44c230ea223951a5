"""What a building keeps: a design's whole network, or only the devices, runs and settings that are pinned.

A fragment is read like any network document; what it leaves out (feed, rules) is the building's. Devices that
nothing feeds yet are allowed: the rest of the network is still to be found.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from service.engine.building.complaints import fault
from service.engine.building.places import Building, Rules
from service.engine.findings import Fault
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Device, Network
from service.forms.known import Known
from service.forms.network import read_network
from service.forms.network_schema import DOCUMENT, VERSION
from service.forms.reading import Json

#: Complaints that a fragment may earn: the rest of the network is found by the design.
UNFINISHED = frozenset({"not-fed", "nothing-served"})


def read_keep(
    fragment: Json, feed: Any, headend: str, rules: Rules, known: Known
) -> tuple[Network | None, list[Fault]]:
    """The network of a fragment, and every complaint with its path into the building document."""
    own_feed = feed if isinstance(feed, dict) else {"carriers": []}
    completed = {
        "id": "keep",
        "feeds": [own_feed | {"id": headend}],
        "served": [],
        **fragment,
        "document": fragment.get("document", DOCUMENT),
        "version": fragment.get("version", VERSION),
        "rules": {"limits": rules.limits, "plan": rules.plan},
    }
    form, found = read_network(completed, known, tolerated=UNFINISHED)
    faults = [*_own_rows(completed, known)]
    faults += [
        replace(row, path=("keep", *row.path))
        for row in found
        if row.path[:1] != ("rules",) and (row.path[:1] != ("feeds",) or "feeds" in fragment)
    ]
    return None if form is None else form.network, faults


def _own_rows(fragment: Json, known: Known) -> Iterator[Fault]:
    """A building is designed from the library alone: a fragment brings no part or cable that it lacks."""
    for section, has in (("parts", known.catalogue.has_part), ("cables", known.catalogue.has_cable)):
        rows = fragment.get(section)
        for position, row in enumerate(rows if isinstance(rows, list) else ()):
            name = row.get("id") if isinstance(row, dict) else None
            if isinstance(name, str) and not has(name):
                code = f"unknown-{section.removesuffix('s')}"
                wrong, right = "the library doesn't hold it", "a row of the library, your own laid over it"
                yield fault(code, ("keep", section, position), "id", f"{section} {name}", name, wrong, right)


def pin_faults(network: Network, building: Building, catalogue: Catalogue) -> Iterator[Fault]:
    """Kept devices, runs and outlets that the building contradicts."""
    places = {place.id: place for place in building.places}
    for position, device in enumerate(network.devices):
        path, subject = ("keep", "devices", position), f"device {device.id}"
        if device.place not in places:
            wrong = "the building has no such place" if device.place else "a kept device needs its place"
            right = "the id of a place of the building"
            yield fault("unknown-place", path, "place", subject, device.place, wrong, right)
        elif device.part in places[device.place].never:
            right = "another part, or a place that takes it"
            wrong = "the place must not have this part"
            yield fault("pin-differs", path, "part", subject, device.part, wrong, right)
        else:
            yield from _amplifier_faults(device, path, building, catalogue)
    ways = {way.id for way in building.ways}
    for position, run in enumerate(network.runs):
        for way in run.ways:
            if way not in ways:
                path, subject = ("keep", "runs", position), f"run {run.id}"
                wrong, right = "the building has no such way", "the id of a way of the building"
                yield fault("unknown-way", path, "ways", subject, way, wrong, right)
    outlets = {outlet.id for outlet in building.outlets}
    for position, served in enumerate(network.served):
        if served.outlet not in outlets:
            path, subject = ("keep", "served", position), f"outlet {served.outlet}"
            wrong, right = "the building has no such outlet", "the id of an outlet of the building"
            yield fault("pin-differs", path, "outlet", subject, served.outlet, wrong, right)


def _amplifier_faults(
    device: Device, path: tuple[str | int, ...], building: Building, catalogue: Catalogue
) -> Iterator[Fault]:
    """An amplifier stands on house power in common space, while the policy asks for it."""
    part = catalogue.part(device.part)
    place = next(place for place in building.places if place.id == device.place)
    if part.active is None or not building.policy.amplifiers_on_house_power:
        return
    subject = f"device {device.id}"
    if place.access == "in-flat" or place.kind in ("panel", "outlet"):
        wrong, right = "an amplifier is wanted inside a flat", "a locked common closet with house power"
        yield fault("amplifier-in-flat", path, "place", subject, place.id, wrong, right)
    elif part.power.supply == "mains" and not place.mains:
        powered = [row.id for row in building.places if row.mains]
        wrong = f"an amplifier is wanted where no house power is: {place.id}"
        right = f"a place with mains: {', '.join(powered) or 'none is named'}"
        yield fault("amplifier-without-mains", path, "place", subject, place.id, wrong, right)
