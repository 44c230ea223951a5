"""Prices and labour: what a device and a run cost, in integer cents.

The objective of placement and the direct cost of the bill are both sums of `device_cents` and `run_cents`:
the two can't differ. Packs, waste, spares, lumps, factors and mark-ups stand below that line and never enter.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from service.engine.errors import UnknownIdError
from service.engine.plant.network import Network


@dataclass(frozen=True, slots=True, kw_only=True)
class PartPrice:
    """Material and hours of one part, each mounted once."""

    part: str
    price_cents: int
    labour_h: float
    source: str = "assumed"


@dataclass(frozen=True, slots=True, kw_only=True)
class CablePrice:
    """Material of one metre of cable, and of one end: connector with its label."""

    cable: str
    cents_per_m: float
    end_cents: int
    source: str = "assumed"


@dataclass(frozen=True, slots=True, kw_only=True)
class PullRate:
    """Hours per metre along one kind of way: the first cable of a pull, and each further one."""

    kind: str
    first_h_per_m: float
    further_h_per_m: float
    source: str = "assumed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """The part of a run along one way: its kind, its length, and whether the run is the way's first cable."""

    way: str
    kind: str
    length_m: float
    first: bool


def _cents(value: float) -> int:
    """Round half up to whole cents; the nudge absorbs binary noise of products like 0.1 × 5."""
    return int(value + 0.5 + 1e-9)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tariff:
    """A price sheet: one currency, one labour rate, prices by id.

    Raises UnknownIdError for what it doesn't hold.
    `test_h` is the test and label of one run, `end_h` one termination.
    """

    id: str
    currency: str
    labour_cents_per_h: int
    parts: tuple[PartPrice, ...]
    cables: tuple[CablePrice, ...]
    pulls: tuple[PullRate, ...]
    end_h: float
    test_h: float
    terminator: str
    variety_cents: int = 0
    note: str = ""
    _parts: dict[str, PartPrice] = field(init=False, repr=False, compare=False)
    _cables: dict[str, CablePrice] = field(init=False, repr=False, compare=False)
    _pulls: dict[str, PullRate] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_parts", {row.part: row for row in self.parts})
        object.__setattr__(self, "_cables", {row.cable: row for row in self.cables})
        object.__setattr__(self, "_pulls", {row.kind: row for row in self.pulls})

    def prices_part(self, part: str) -> bool:
        """True when the sheet has a price for the part."""
        return part in self._parts

    def prices_cable(self, cable: str) -> bool:
        """True when the sheet has a price for the cable."""
        return cable in self._cables

    def device_cents(self, part: str) -> int:
        """One part, mounted: material and labour."""
        if part not in self._parts:
            raise UnknownIdError(kind="part price", name=part)
        row = self._parts[part]
        return row.price_cents + _cents(row.labour_h * self.labour_cents_per_h)

    def leg_cents(self, cable: str, kind: str, length_m: float, *, first: bool) -> int:
        """One cable along one way: material in full, labour of the first or a further cable of the pull."""
        if cable not in self._cables:
            raise UnknownIdError(kind="cable price", name=cable)
        if kind not in self._pulls:
            raise UnknownIdError(kind="pull rate", name=kind)
        pull = self._pulls[kind]
        hours_per_m = pull.first_h_per_m if first else pull.further_h_per_m
        return _cents(length_m * (self._cables[cable].cents_per_m + hours_per_m * self.labour_cents_per_h))

    def ends_cents(self, cable: str) -> int:
        """Both ends of one run with connectors, labels, terminations, and its test."""
        if cable not in self._cables:
            raise UnknownIdError(kind="cable price", name=cable)
        hours = 2.0 * self.end_h + self.test_h
        return 2 * self._cables[cable].end_cents + _cents(hours * self.labour_cents_per_h)

    def run_cents(self, cable: str, legs: tuple[Leg, ...]) -> int:
        """One run: its legs way by way, its two ends, labels and test."""
        return self.ends_cents(cable) + sum(
            self.leg_cents(cable, leg.kind, leg.length_m, first=leg.first) for leg in legs
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class WayKind:
    """What the tariff needs to know of a way: its pull kind and its length."""

    way: str
    kind: str
    length_m: float


def legs_of(network: Network, ways: dict[str, WayKind]) -> dict[str, tuple[Leg, ...]]:
    """Legs of every cabled run that is new, by run id. The first cable of a way is the run with the least id.

    A run that names no ways counts as one leg of its own length, kind "direct". What a run is longer than its
    ways (the lengths left at its ends) is a leg of kind "slack".
    """
    seen: set[str] = set()
    legs: dict[str, tuple[Leg, ...]] = {}
    for run in sorted(network.runs, key=lambda row: row.id):
        if run.cable is None or run.existing:
            continue
        rows: list[Leg] = []
        for way_id in run.ways:
            way = ways[way_id]
            rows.append(Leg(way=way_id, kind=way.kind, length_m=way.length_m, first=way_id not in seen))
            seen.add(way_id)
        if not rows:
            rows.append(Leg(way=run.id, kind="direct", length_m=run.length_m, first=True))
        slack_m = run.length_m - sum(leg.length_m for leg in rows)
        if slack_m > 1e-6:
            rows.append(Leg(way="", kind="slack", length_m=slack_m, first=False))
        legs[run.id] = tuple(rows)
    return legs


def variety_cents(network: Network, tariff: Tariff) -> int:
    """Shelf price of variety: every kind of part on the truck beyond the first.

    A penalty of the search between designs of like cost, shown apart: it is in no bill.
    """
    kinds = {device.part for device in network.devices}
    return tariff.variety_cents * max(0, len(kinds) - 1)


def network_cents(network: Network, tariff: Tariff, ways: dict[str, WayKind]) -> int:
    """Direct cost of a network: Σ device cost + Σ run cost + a terminator on every terminated port."""
    devices = sum(tariff.device_cents(device.part) for device in network.devices)
    cables = {run.id: run.cable for run in network.runs}
    runs = 0
    for run_id, legs in legs_of(network, ways).items():
        cable = cables[run_id]
        if cable is not None:
            runs += tariff.run_cents(cable, legs)
    return devices + runs + len(network.terminated) * tariff.device_cents(tariff.terminator)
