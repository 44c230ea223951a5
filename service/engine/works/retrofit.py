"""Retrofit: what becomes of old cable, and in which phases a building moves to the new network.

Service stays on: a phase's old cable is live until the new one beside it is tested and cut over, and old risers come
out when the last stack has left them. Wires of a provider are nobody's to touch. Common practice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from service.engine.building.places import Building, ExistingFate, Way
from service.engine.building.rates import Rates
from service.engine.plant.network import Network
from service.engine.plant.tariff import Tariff
from service.engine.works.pulls import Pull

#: Old cable that comes out, where hands can reach it.
COMES_OUT: frozenset[ExistingFate] = frozenset({"replace", "abandon"})
_TO_DO: dict[ExistingFate, str] = {
    "keep": "test end to end, then use it; it stays",
    "keep-if-tests-well": "test end to end against its design loss; replace it where it fails",
    "replace": "new cable beside it; live until cut-over, then out where it can be reached",
    "abandon": "parted after cut-over, capped, out where it can be reached",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class OldCable:
    """Coax that lies in a way: what it is, what becomes of it, and the hours that takes.

    `cable` is "" where nobody knows its type. `runs` are those of the design that use it as it lies.
    """

    way: Way
    fate: ExistingFate
    cable: str
    to_do: str
    runs: tuple[str, ...]
    test_h: Decimal
    removal_h: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Phase:
    """One phase of the move: what is pulled, mounted, moved over and taken out, and how long that takes.

    `old_m` is old cable that stays live until this phase's cut-over, `removal_m` what comes out after it.
    """

    name: str
    number: int = 0
    stack: str = ""
    units: tuple[str, ...] = ()
    occupied: int = 0
    pulls: tuple[str, ...] = ()
    cables: int = 0
    devices: tuple[str, ...] = ()
    outlets: tuple[str, ...] = ()
    hours: float = 0.0
    old_m: float = 0.0
    removal_m: float = 0.0
    removal_h: Decimal = Decimal(0)


def is_retrofit(building: Building) -> bool:
    """True where people live or cable lies already."""
    lived_in = any(unit.occupied for unit in building.units)
    return not building.new_build or lived_in or any(way.existing is not None for way in building.ways)


def old_cables(building: Building, network: Network) -> tuple[OldCable, ...]:
    """All old cable of a building, way by way."""
    rates = building.rates
    using: dict[str, list[str]] = {}
    for run in network.runs:
        if run.existing:
            for name in run.ways:
                using.setdefault(name, []).append(run.id)
    rows: list[OldCable] = []
    for way in sorted(building.ways, key=lambda way: way.id):
        if way.existing is not None:
            out = way.existing.fate in COMES_OUT
            rows.append(
                OldCable(
                    way=way,
                    fate=way.existing.fate,
                    cable=way.existing.cable or "",
                    to_do=_TO_DO[way.existing.fate],
                    runs=tuple(sorted(using.get(way.id, ()))),
                    test_h=Decimal(0) if out else rates.test_existing_h,
                    removal_h=removal_h(way, rates) if out else Decimal(0),
                )
            )
    return tuple(rows)


def removal_h(way: Way, rates: Rates) -> Decimal:
    """Hours to take old cable out of a way."""
    return Decimal(str(round(way.length_m, 3))) * rates.removal_h_per_m


def phases_of(
    building: Building, network: Network, pulls: tuple[Pull, ...], tariff: Tariff
) -> tuple[Phase, ...]:
    """The phases of a retrofit: shared ways first, then stack by stack, old risers at the end.

    Flats without a stack go floor by floor. Nothing for a building that is neither lived in nor cabled.
    """
    if not is_retrofit(building):
        return ()
    return _Move(building, network, pulls, tariff).phases()


class _Move:
    """A building and its network, sorted by the stack that each thing belongs to; "" is what all share."""

    def __init__(self, building: Building, network: Network, pulls: tuple[Pull, ...], tariff: Tariff) -> None:
        self.building, self.network, self.pulls = building, network, pulls
        orders = {(floor.block, floor.label): -floor.order for floor in building.floors}
        self.stacks: dict[str, str] = {}
        first: dict[str, tuple[str, bool, int, str]] = {}
        for unit in building.units:
            height = orders.get((unit.block, unit.floor), 0)
            named = f"stack {unit.stack}" if unit.stack else f"floor {unit.floor}"
            name = f"{unit.block} {named}".strip()
            self.stacks[unit.id] = name
            first.setdefault(name, (unit.block, not unit.stack, 0 if unit.stack else height, name))
        self.order = sorted(first, key=lambda name: first[name])
        units = {place.id: place.unit for place in building.places}
        self.of_place: Mapping[str, str] = {place: self.stacks.get(unit, "") for place, unit in units.items()}
        self.mounting_h = {row.part: row.labour_h for row in tariff.parts}

    def phases(self) -> tuple[Phase, ...]:
        """Shared ways, stacks, old risers."""
        rows = [self.phase("", "risers, closets and head-end beside the old ones")]
        rows += [self.phase(stack, "flats move over") for stack in self.order]
        shared = self.old("")
        out = [way for way in shared if way.existing is not None and way.existing.fate in COMES_OUT]
        if out:
            rows.append(
                Phase(
                    name="old risers out, after the last cut-over",
                    removal_m=sum(way.length_m for way in out),
                    removal_h=sum((removal_h(way, self.building.rates) for way in out), Decimal(0)),
                )
            )
        return tuple(replace(row, number=at) for at, row in enumerate(rows, start=1))

    def phase(self, stack: str, name: str) -> Phase:
        """What belongs to one stack."""
        cables = [
            (pull.name, cable)
            for pull in self.pulls
            for cable in pull.cables
            if self.of_place.get(cable.run.end_place.id, "") == stack
        ]
        devices = [row for row in self.network.devices if self.of_place.get(row.place, "") == stack]
        old = self.old(stack)
        out = (
            [way for way in old if way.existing is not None and way.existing.fate in COMES_OUT]
            if stack
            else []
        )
        units = [unit for unit in self.building.units if self.stacks[unit.id] == stack]
        mounted = sum(self.mounting_h.get(row.part, 0.0) for row in devices)
        return Phase(
            name=name,
            stack=stack,
            units=tuple(unit.id for unit in units),
            occupied=sum(unit.occupied for unit in units),
            pulls=tuple(dict.fromkeys(name for name, _ in cables)),
            cables=len(cables),
            devices=tuple(row.id for row in devices),
            outlets=tuple(
                row.outlet for row in self.network.served if self.stacks.get(row.unit, "") == stack
            ),
            hours=sum(cable.hours for _, cable in cables) + mounted,
            old_m=sum(way.length_m for way in old),
            removal_m=sum(way.length_m for way in out),
            removal_h=sum((removal_h(way, self.building.rates) for way in out), Decimal(0)),
        )

    def old(self, stack: str) -> list[Way]:
        """Ways with old cable that end in a stack's flats, or in none."""
        ends = [
            (way, self.of_place.get(way.end, "") or self.of_place.get(way.start, ""))
            for way in self.building.ways
            if way.existing is not None
        ]
        return [way for way, belongs in ends if belongs == stack]
