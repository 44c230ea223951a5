"""Which cable each run takes: by what its spaces permit, its series, and its price."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from service.engine.building.places import Building, Place, Way
from service.engine.placement.pins import Pins
from service.engine.plant.cables import Cable
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.permits import Region, jackets_for
from service.engine.plant.tariff import Leg, Tariff

Floats = NDArray[np.float64]

#: Electrical series that a class of run may take when nobody chose one, common practice.
RISER_SERIES = ("6", "11")
DROP_SERIES = ("6",)
#: Loss of unknown existing coax against series 59, common practice.
UNKNOWN_SERIES = "59"
UNKNOWN_FACTOR = 1.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """One planned run: its ways, cable, length as pulled and loss (one entry a frequency, joints included).

    `cents` is its cost as a further cable of every way: first cables are a constant of the tree.
    `ends_db` is the share of the loss that the lengths left at both ends and the joints make.
    """

    ways: tuple[str, ...]
    cable: str
    length_m: float
    loss_db: Floats
    ends_db: Floats
    cents: int
    existing: bool
    loss_factor: float = 1.0


@dataclass(slots=True, kw_only=True)
class Cabling:
    """Chooses and prices cables over one building; remembers what it chose."""

    building: Building
    pins: Pins
    catalogue: Catalogue
    tariff: Tariff
    frequency_mhz: Floats
    joint_loss_db_at_1ghz: float
    ways: dict[str, Way] = field(init=False)
    places: dict[str, Place] = field(init=False)
    _per_m: dict[str, Floats] = field(init=False, default_factory=dict)
    _laid: dict[tuple[tuple[str, ...], str, str, str], Laid] = field(init=False, default_factory=dict)
    _chosen: dict[tuple[frozenset[str], str], str] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self.ways = {way.id: way for way in self.building.ways}
        self.places = {place.id: place for place in self.building.places}

    @property
    def region(self) -> Region:
        """Which of the two relations of jackets counts."""
        return "us" if self.building.rules.codes.startswith("us") else "europe"

    def loss_per_m(self, cable: str) -> Floats:
        """Loss of one metre at each frequency."""
        if cable not in self._per_m:
            curve = self.catalogue.cable(cable).loss_db_per_100m
            self._per_m[cable] = curve.at(self.frequency_mhz, f"cable {cable}") / 100.0
        return self._per_m[cable]

    def covers(self, cable: Cable) -> bool:
        """True when the cable's table reaches every frequency in use."""
        curve = cable.loss_db_per_100m
        return curve.covers(float(self.frequency_mhz.min())) and curve.covers(float(self.frequency_mhz.max()))

    def choose(self, ways: tuple[str, ...], series: str) -> str:
        """The cheapest permitted cable of the series over the ways; of another series where it has none.

        A wish may name a cable instead of a series: that cable where its jacket is permitted, else its series.

        Buried and outdoor ways name jackets of their own. Where a run crosses both kinds of space no jacket suits
        all of it: the buried or outdoor one is taken and a finding asks for a change at the entrance.
        """
        spaces = frozenset(space for way in ways for space in self.ways[way].spaces)
        if (spaces, series) not in self._chosen:
            self._chosen[spaces, series] = self._cheapest(tuple(sorted(spaces)), series)
        return self._chosen[spaces, series]

    def _cheapest(self, spaces: tuple[str, ...], series: str) -> str:
        jackets = jackets_for(self.region, spaces)
        if not jackets:
            outside = tuple(space for space in spaces if space in ("buried", "outdoor"))
            strict = ("buried",) if "buried" in outside else outside[:1]
            jackets = jackets_for(self.region, strict)
        priced = [
            cable
            for cable in self.catalogue.cables
            if cable.jacket in jackets and self.tariff.prices_cable(cable.id) and self.covers(cable)
        ]
        if self.catalogue.has_cable(series):
            wished = self.catalogue.cable(series)
            if wished in priced:
                return wished.id
            series = wished.series
        fitting = [cable for cable in priced if cable.series == series] or priced
        if not fitting:
            return ""
        return min(
            fitting,
            key=lambda cable: (self.tariff.leg_cents(cable.id, "slack", 1000.0, first=False), cable.id),
        ).id

    def kept(self, ways: tuple[str, ...]) -> bool:
        """True when existing coax that stays lies in every way of the run."""
        kept = ("keep", "keep-if-tests-well")
        return bool(ways) and all(
            (existing := self.ways[way].existing) is not None and existing.fate in kept for way in ways
        )

    def known_cable(self, way: Way) -> tuple[str, float]:
        """Cable that lies in a way and how much worse than its table it is.

        Unknown coax counts as series 59 and 20 % more. A measurement of the whole length decides over both.
        """
        existing = way.existing
        assert existing is not None
        cable, factor = existing.cable, 1.0
        if cable is None or not self.catalogue.has_cable(cable):
            known = sorted(
                row.id for row in self.catalogue.cables if row.series == UNKNOWN_SERIES and self.covers(row)
            )
            cable, factor = known[0], UNKNOWN_FACTOR
        if existing.loss_db is not None and existing.loss_mhz is not None:
            per_m = self.catalogue.cable(cable).loss_db_per_100m.at_one(existing.loss_mhz) / 100.0
            factor = existing.loss_db / (per_m * way.length_m)
        return cable, factor

    def lying(self, ways: tuple[str, ...]) -> tuple[str, float, float] | None:
        """Cable, length and loss factor of coax that lies there and stays, along the whole run; else None.

        Over several ways the first cable's table stands for all, at the mean factor: exact where they are alike.
        """
        pinned = self.pins.runs.get(ways)
        if pinned is not None and pinned.cable is not None:
            return pinned.cable, pinned.length_m, pinned.loss_factor
        if not self.kept(ways):
            return None
        rows = [self.ways[way] for way in ways]
        known = [self.known_cable(row) for row in rows]
        length = sum(row.length_m for row in rows)
        factor = sum(row.length_m * one[1] for row, one in zip(rows, known, strict=True)) / length
        return known[0][0], length, factor

    def lay(self, ways: tuple[str, ...], start: str, end: str, series: str) -> Laid:
        """Plan one run between two places along the ways."""
        key = (ways, start, end, series)
        if key not in self._laid:
            self._laid[key] = self._plan(ways, start, end, series)
        return self._laid[key]

    def _plan(self, ways: tuple[str, ...], start: str, end: str, series: str) -> Laid:
        joints_db = 2.0 * self.joint_loss_db_at_1ghz * np.sqrt(self.frequency_mhz / 1000.0)
        rows = [self.ways[way] for way in ways]
        lying = self.lying(ways)
        if lying is not None:
            cable, length_m, factor = lying
            return Laid(
                ways=ways,
                cable=cable,
                length_m=length_m,
                loss_db=self.loss_per_m(cable) * length_m * factor + joints_db,
                ends_db=joints_db,
                cents=0,
                existing=True,
                loss_factor=factor,
            )
        ends = self.building.ends
        slack_m = ends.at(self.places[start].kind) + ends.at(self.places[end].kind)
        cable = self.choose(ways, series)
        if not cable:
            cable = self.catalogue.cables[0].id
        length = sum(row.pulled_m for row in rows) + slack_m
        per_m = self.loss_per_m(cable)
        legs = tuple(Leg(way=row.id, kind=row.kind, length_m=row.pulled_m, first=False) for row in rows)
        cents = self.tariff.run_cents(
            cable, (*legs, Leg(way="", kind="slack", length_m=slack_m, first=False))
        )
        return Laid(
            ways=ways,
            cable=cable,
            length_m=length,
            loss_db=per_m * length + joints_db,
            ends_db=per_m * slack_m + joints_db,
            cents=cents,
            existing=False,
        )
