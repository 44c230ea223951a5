"""Pins: what an earlier network holds in place. This device here, this run exists; the rest is solved."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from service.engine.building.places import Building
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Network, Run


@dataclass(frozen=True, slots=True, kw_only=True)
class Pins:
    """By place the passive parts that must stand there, the amplifier, the outlet plate; by ways the run that lies
    there. Empty where nothing is held.

    Parts of one port (pads, equalisers, supplies of the line) follow from levels and amplifiers and are not held one
    by one: a whole network that is kept keeps them.
    """

    passive: Mapping[str, tuple[str, ...]]
    lifts: Mapping[str, str]
    plates: Mapping[str, str]
    runs: Mapping[tuple[str, ...], Run]

    def __bool__(self) -> bool:
        return bool(self.passive or self.lifts or self.plates or self.runs)


NO_PINS = Pins(passive={}, lifts={}, plates={}, runs={})


def pins_of(building: Building, keep: Network | None, catalogue: Catalogue) -> Pins:
    """Read the pins out of a kept network. A whole earlier design pins all its devices."""
    if keep is None:
        return NO_PINS
    outlets = {outlet.id for outlet in building.outlets}
    places = {place.id for place in building.places}
    passive: dict[str, list[str]] = {}
    lifts: dict[str, str] = {}
    plates: dict[str, str] = {}
    for device in sorted(keep.devices, key=lambda row: row.id):
        if device.place not in places:
            continue
        if device.place in outlets:
            plates[device.place] = device.part
        elif catalogue.part(device.part).active is not None:
            lifts[device.place] = device.part
        elif catalogue.part(device.part).port_count != 1:
            passive.setdefault(device.place, []).append(device.part)
    return Pins(
        passive={place: tuple(parts) for place, parts in passive.items()},
        lifts=lifts,
        plates=plates,
        runs={run.ways: run for run in keep.runs if run.existing and run.ways and run.cable is not None},
    )


def holds(parts: tuple[str, ...], required: tuple[str, ...]) -> bool:
    """True when every required part is there, as often as required."""
    return not Counter(required) - Counter(parts)


def serves_every_outlet(building: Building, keep: Network) -> bool:
    """True when a kept network is whole: each outlet of the building has its port."""
    return {outlet.id for outlet in building.outlets} == {served.outlet for served in keep.served}
