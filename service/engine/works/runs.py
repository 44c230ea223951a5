"""Cable runs: every continuous cable of a design with its labels, its route and its length as pulled."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from service.engine.building.places import Building, Place, Way
from service.engine.errors import UnknownIdError
from service.engine.findings import Finding
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Network, Port, Run
from service.engine.plant.permits import Region, allowed_jackets, jackets_for

_PERMIT_SOURCE = {
    "us": "NEC Table 800.154, from memory: verify with the authority",
    "europe": "EN 50575 classes, from memory: verify with the authority",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class CableRun:
    """One continuous cable from a port to the input of a device.

    `label` is its identifier and `start_label`, `end_label` what is put on its two ends. `stops` are the
    places from start to end, the ones between are passed without a cut. `way_m` is the length in the ways
    as pulled, height and route factor included; `length_m` adds `left_start_m` and `left_end_m`, which stay
    coiled at the ends. `permitted` lists the jackets that every space on its ways allows; `strictest` names
    the space that allows fewest. `firestops` numbers the sealed holes that it goes through.
    """

    id: str
    label: str
    start_label: str
    end_label: str
    start: Port
    start_place: Place
    end_place: Place
    room: str
    cable: str
    series: str
    jacket: str
    connector: str
    ways: tuple[Way, ...]
    stops: tuple[str, ...]
    spaces: tuple[str, ...]
    strictest: str
    permitted: tuple[str, ...]
    way_m: float
    left_start_m: float
    left_end_m: float
    length_m: float
    firestops: tuple[str, ...]
    existing: bool

    @property
    def jacket_fits(self) -> bool:
        """True when the cable's jacket may run through every space on the way."""
        return self.jacket in self.permitted

    @property
    def passes(self) -> tuple[str, ...]:
        """Places that the cable passes without a cut."""
        return self.stops[1:-1]


def region_of(building: Building) -> Region:
    """Which of the two relations of jackets counts."""
    return "us" if building.rules.codes.startswith("us") else "europe"


def space_name(place: Place) -> str:
    """Block, floor and space of a place, as labels have it: `B2-12-A.12`, without a block `12-A.12`."""
    return "-".join(word for word in (place.block, place.floor, place.id) if word)


def firestop_names(way: Way) -> tuple[str, ...]:
    """Numbers of the sealed holes on a way, from the way's own id, so that a revision keeps them."""
    return tuple(f"F.{way.id}.{number}" for number in range(1, way.firestops + 1))


def cable_runs(building: Building, network: Network, catalogue: Catalogue) -> tuple[CableRun, ...]:
    """Every cabled run of a network, by id; direct couplings inside a closet have no row.

    Labels are in the manner of ANSI/TIA-606: block (where the building has several), floor, space and the
    run's own number there; both ends carry the cable's identifier, an end letter, and the space and port at
    which that end lands. The identifier comes from the run's id, so a revision that keeps the run keeps it.

    Raises UnknownIdError for a run that names a way, a place or a device that isn't there.
    """
    lookup = _Lookup.of(building, network)
    runs = sorted(network.runs, key=lambda run: run.id)
    return tuple(_cable_run(run, run.cable, lookup, catalogue) for run in runs if run.cable is not None)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Lookup:
    building: Building
    places: Mapping[str, Place]
    ways: Mapping[str, Way]
    stands: Mapping[str, str]
    rooms: Mapping[str, str]

    @classmethod
    def of(cls, building: Building, network: Network) -> _Lookup:
        feeds = {feed.id: building.headend for feed in network.feeds}
        return cls(
            building=building,
            places={place.id: place for place in building.places},
            ways={way.id: way for way in building.ways},
            stands=feeds | {device.id: device.place for device in network.devices},
            rooms={outlet.id: outlet.room for outlet in building.outlets},
        )

    def place_of(self, device: str) -> Place:
        if device not in self.stands:
            raise UnknownIdError(kind="device", name=device)
        if self.stands[device] not in self.places:
            raise UnknownIdError(kind="place", name=self.stands[device])
        return self.places[self.stands[device]]

    def way(self, way: str) -> Way:
        if way not in self.ways:
            raise UnknownIdError(kind="way", name=way)
        return self.ways[way]


def _cable_run(run: Run, cable_id: str, lookup: _Lookup, catalogue: Catalogue) -> CableRun:
    building, cable = lookup.building, catalogue.cable(cable_id)
    start, end = lookup.place_of(run.start.device), lookup.place_of(run.end)
    ways = tuple(lookup.way(way) for way in run.ways)
    spaces = tuple(dict.fromkeys(space for way in ways for space in way.spaces))
    region = region_of(building)
    number = run.id.removeprefix(f"{end.id}.")
    label = f"{space_name(end)}-{number}"
    return CableRun(
        id=run.id,
        label=label,
        start_label=f"{label}/A {space_name(start)}:{run.start.group}.{run.start.number}",
        end_label=f"{label}/B {space_name(end)}:in",
        start=run.start,
        start_place=start,
        end_place=end,
        room=lookup.rooms.get(end.id, ""),
        cable=cable.id,
        series=cable.series,
        jacket=cable.jacket,
        connector=cable.connector,
        ways=ways,
        stops=_stops(start.id, ways),
        spaces=spaces,
        strictest=_strictest(spaces, region),
        permitted=jackets_for(region, spaces),
        way_m=sum(way.pulled_m for way in ways),
        left_start_m=0.0 if run.existing else building.ends.at(start.kind),
        left_end_m=0.0 if run.existing else building.ends.at(end.kind),
        length_m=run.length_m,
        firestops=tuple(name for way in ways for name in firestop_names(way)),
        existing=run.existing,
    )


def _strictest(spaces: tuple[str, ...], region: Region) -> str:
    """The space that allows fewest jackets; nothing known counts as an unknown ceiling."""
    return min(spaces, key=lambda space: len(allowed_jackets(region, space)), default="unknown-ceiling")


def _stops(start: str, ways: tuple[Way, ...]) -> tuple[str, ...]:
    """Places along the ways, from the start."""
    stops = [start]
    for way in ways:
        stops.append(way.end if way.start == stops[-1] else way.start)
    return tuple(stops)


def jacket_findings(runs: tuple[CableRun, ...], region: Region) -> tuple[Finding, ...]:
    """New cables whose jacket doesn't suit every space on the way, and ways that no one jacket suits.

    Unknown spaces count as the strictest of their kind: nothing is downgraded from missing data.
    """
    new = [run for run in runs if not run.existing]
    none = tuple(run.id for run in new if not run.permitted)
    wrong = tuple(run.id for run in new if run.permitted and not run.jacket_fits)
    findings: list[Finding] = []
    if none:
        text = (
            "No one jacket suits every space on the way: change the cable at the entrance, or take one whose "
            "maker lists it for both."
        )
        findings.append(_jacket_finding("jacket-changes", none, region, text))
    if wrong:
        text = "The cable's jacket does not suit the strictest space on its way."
        findings.append(_jacket_finding("jacket", wrong, region, text))
    return tuple(findings)


def _jacket_finding(rule: str, where: tuple[str, ...], region: Region, text: str) -> Finding:
    return Finding(rule=rule, severity="warns", where=where, source=_PERMIT_SOURCE[region], text=text)
