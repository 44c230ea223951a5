"""Pulls: which cables are pulled together, in which order, and where each one leaves the bundle.

Cables that leave one place along the same first way are pulled together, up to a bundle's size; where a
cable's ways part from those of the others it drops off. Every cable comes from a box of its own, and the
boxes stand at the start.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import takewhile

from service.engine.building.places import Building, Place
from service.engine.plant.cables import Cable
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Network
from service.engine.plant.tariff import Leg, Tariff, WayKind, legs_of
from service.engine.works.runs import CableRun, cable_runs, firestop_names

#: Most cables in one bundle. Source: common practice, from memory.
MOST_IN_BUNDLE = 8
#: Phases of the work by the kind of the first way: between blocks and risers, then corridors, then flats.
_PHASE_OF_KIND = {
    "buried": "between blocks",
    "messenger": "between blocks",
    "riser": "risers",
    "corridor": "corridors",
    "ceiling": "corridors",
}
PHASES = ("between blocks", "risers", "corridors", "flats")
#: Share of a sleeve that cables may fill, for one, two and more cables: NEC Chapter 9 Table 1, from memory. A
#: design rule for coax, not a limit of the code.
_FILL = (0.53, 0.31, 0.40)


@dataclass(frozen=True, slots=True, kw_only=True)
class PulledCable:
    """One cable of a pull. `leaves_at` is the place at which it parts from the bundle, "" if it is alone."""

    run: CableRun
    box: int
    leaves_at: str
    hours: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Pull:
    """Cables pulled together, furthest first. `hours` counts persons: pulling, ends, labels and tests."""

    number: int
    phase: str
    zone: str
    start_place: Place
    cables: tuple[PulledCable, ...]

    @property
    def name(self) -> str:
        """The pull's number on paper."""
        return f"P{self.number:03d}"

    @property
    def hours(self) -> float:
        """Person-hours of the pull."""
        return sum(cable.hours for cable in self.cables)

    @property
    def length_m(self) -> float:
        """Cable in the pull, lengths left at the ends included."""
        return sum(cable.run.length_m for cable in self.cables)

    @property
    def longest_m(self) -> float:
        """Length in the ways of the cable that goes furthest."""
        return max(cable.run.way_m for cable in self.cables)

    @property
    def spaces(self) -> tuple[str, ...]:
        """Spaces that the pull crosses, in order."""
        return tuple(dict.fromkeys(space for cable in self.cables for space in cable.run.spaces))


@dataclass(frozen=True, slots=True, kw_only=True)
class Firestop:
    """A sleeve through a rated wall or slab, to be sealed. `least_sleeve_mm` is the inner diameter that
    keeps the fill of Chapter 9 for the new cables that go through it."""

    name: str
    way: str
    start: str
    end: str
    spaces: tuple[str, ...]
    runs: tuple[str, ...]
    least_sleeve_mm: float


def run_hours(building: Building, network: Network, tariff: Tariff) -> dict[str, float]:
    """Person-hours of every new run by id: pulling way by way, both ends, labels and test.

    The same legs as the direct cost: the first cable of a way takes the whole pull, further ones a share.
    """
    rates = {row.kind: row for row in tariff.pulls}

    def leg_hours(leg: Leg) -> float:
        rate = rates[leg.kind]
        return leg.length_m * (rate.first_h_per_m if leg.first else rate.further_h_per_m)

    ends = 2.0 * tariff.end_h + tariff.test_h
    legs = legs_of(network, way_kinds(building))
    return {run: ends + sum(leg_hours(leg) for leg in rows) for run, rows in legs.items()}


def way_kinds(building: Building) -> dict[str, WayKind]:
    """What the tariff needs to know of every way."""
    return {way.id: WayKind(way=way.id, kind=way.kind, length_m=way.pulled_m) for way in building.ways}


def pulls_of(building: Building, network: Network, catalogue: Catalogue, tariff: Tariff) -> tuple[Pull, ...]:
    """The pulls of a network in working order, numbered from 1.

    Ways between blocks first, then risers from the top down, then floor by floor from the top: corridors,
    shared ones before lonely ones and long ones before short ones, and at last the drops in flats. Existing
    cables are not pulled.
    """
    heights = {(floor.block, floor.label): floor.order for floor in building.floors}
    hours = run_hours(building, network, tariff)
    groups: dict[tuple[str, str], list[CableRun]] = {}
    for run in cable_runs(building, network, catalogue):
        if not run.existing:
            first = run.ways[0].id if run.ways else run.id
            groups.setdefault((run.start_place.id, first), []).append(run)
    bundles = [tuple(bundle) for key in sorted(groups) for bundle in _bundles(groups[key])]
    bundles.sort(key=lambda bundle: _order(bundle, heights))
    return tuple(_pull(number, bundle, hours) for number, bundle in enumerate(bundles, start=1))


def _bundles(runs: list[CableRun]) -> list[tuple[CableRun, ...]]:
    """Cables that start the same way, those with most of the way in common side by side, in bundles."""
    ordered = sorted(runs, key=lambda run: (tuple(way.id for way in run.ways), run.id))
    return [
        tuple(ordered[first : first + MOST_IN_BUNDLE]) for first in range(0, len(ordered), MOST_IN_BUNDLE)
    ]


def _phase(run: CableRun) -> str:
    kind = run.ways[0].kind if run.ways else ""
    return _PHASE_OF_KIND.get(kind, "flats")


def _order(
    bundle: tuple[CableRun, ...], heights: Mapping[tuple[str, str], int]
) -> tuple[int, str, int, str, int, float, str]:
    first = bundle[0]
    place = first.start_place
    phase = PHASES.index(_phase(first))
    height = heights.get((place.block, place.floor), 0)
    shared = -len(bundle)
    return (phase, place.block, -height, place.id, shared, -max(run.way_m for run in bundle), first.id)


def _pull(number: int, bundle: tuple[CableRun, ...], hours: Mapping[str, float]) -> Pull:
    ordered = sorted(bundle, key=lambda run: (-run.way_m, run.id))
    place = ordered[0].start_place
    where = f"{place.block} floor {place.floor}".strip() if place.floor else place.block
    return Pull(
        number=number,
        phase=_phase(ordered[0]),
        zone=where,
        start_place=place,
        cables=tuple(
            PulledCable(run=run, box=box, leaves_at=_leaves_at(run, ordered), hours=hours[run.id])
            for box, run in enumerate(ordered, start=1)
        ),
    )


def _leaves_at(run: CableRun, bundle: list[CableRun]) -> str:
    """Last place to which another cable of the bundle goes along."""
    shared = 0
    for other in bundle:
        if other is not run:
            both = zip(run.ways, other.ways, strict=False)
            shared = max(shared, sum(1 for _ in takewhile(lambda pair: pair[0].id == pair[1].id, both)))
    return run.stops[shared] if shared else ""


def firestops_of(building: Building, network: Network, catalogue: Catalogue) -> tuple[Firestop, ...]:
    """Every hole to be sealed on a way that new cables take, by way and number, with what goes through it."""
    through: dict[str, list[CableRun]] = {}
    for run in cable_runs(building, network, catalogue):
        if not run.existing:
            for way in run.ways:
                through.setdefault(way.id, []).append(run)
    rows: list[Firestop] = []
    for way in sorted(building.ways, key=lambda way: way.id):
        runs = through.get(way.id, [])
        if not runs:
            continue
        sleeve = least_sleeve_mm(tuple(catalogue.cable(run.cable) for run in runs))
        rows += [
            Firestop(
                name=name,
                way=way.id,
                start=way.start,
                end=way.end,
                spaces=way.spaces,
                runs=tuple(run.id for run in runs),
                least_sleeve_mm=sleeve,
            )
            for name in firestop_names(way)
        ]
    return tuple(rows)


def least_sleeve_mm(cables: tuple[Cable, ...]) -> float:
    """Least inner diameter of a sleeve that the cables fill by no more than the Chapter 9 share."""
    if not cables:
        return 0.0
    fill = _FILL[min(len(cables), 3) - 1]
    square = sum(cable.outer_diameter_mm**2 for cable in cables)
    return float((square / fill) ** 0.5)
