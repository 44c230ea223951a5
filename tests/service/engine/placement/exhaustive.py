"""Every network of a small building that could be cheapest, built from its leaves up and judged when finished.

Nothing here knows how placement searches. What is tried, and why what is left out is no loss, is told in
`Enumeration`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from typing import Any

import numpy as np
from exhaustive_trees import THROUGH, Forest, Label, Part, Vector, moved, shares, unreplaced

from service.engine.plant.network import Settings
from service.engine.plant.permits import jackets_for

JOINT_DB = 0.1
RISER_SERIES, DROP_SERIES = ("6", "11"), "6"
GAIN_RESERVE_DB, SLOPE_RESERVE_DB, MOST_PAD_DB = 3.0, 2.0, 15.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """What stands first at a place: price, parts in a row, every level that comes out and the settings for it."""

    cents: int
    parts: tuple[str, ...]
    levels: Any
    settings: tuple[Settings, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Flat:
    """One cable that leaves a closet, to a panel with its outlets or to one outlet, and what it always costs."""

    place: str
    outlets: tuple[str, ...]
    cents: int


class Enumeration:
    """All networks of one building inside a target window that are not dearer than a cap.

    Tried: the bare feed, the feed behind any pad, or any amplifier on house power at the head-end with every setting
    inside its reserves; any parent above each closet; any pad first in a closet; any
    tree of priced parts over the flats and onward feeds of a place, unused ports closed, with one part in a closet at
    least; in panels parts without a through port, each with two ports in use. One series of cable for all riser runs,
    the cheapest permitted jacket; one feed lands in a closet, and flats hang on their own.

    Left out without loss: a part that another of the same ports replaces with the same losses for no more money; what
    `unreplaced` replaces (isolation asks for less than any priced part gives); a second amplifier behind another
    while the cap is below the price of two.
    """

    def __init__(self, building: Any, desk: Any, low: Vector, high: Vector) -> None:
        self.building, self.desk = building, desk
        self.low, self.high = low, high
        self.cap = 0
        self.catalogue = desk.library.catalogue
        self.tariff = desk.library.tariffs[building.tariff]
        lines = sorted(building.feed.carriers, key=lambda row: row.carrier.frequency_mhz)
        self.frequency = np.asarray([row.carrier.frequency_mhz for row in lines])
        self.feed = np.asarray([row.level_dbmv for row in lines])
        self.joint: Vector = tuple((JOINT_DB * np.sqrt(self.frequency / 1000.0)).tolist())
        self.close = self.tariff.device_cents(self.tariff.terminator)
        self.places = {row.id: row for row in building.places}
        self.above = {way.end: way for way in building.ways}
        self.parts = self.passive()
        self.pads = self.flat_losses()
        self.least = self.least_costs(12)
        self.plate = -self.gain("outlet-end", "user")
        self.head = building.headend
        self.closets = [row.id for row in building.places if row.kind in ("closet", "headend")]
        self.flats = {closet: self.flats_of(closet) for closet in self.closets}
        keys = [key for closet in self.closets if (key := self.kind(closet))]
        self.alike = {key for key in keys if keys.count(key) > 1} if building.policy.one_pattern else set()

    # -- prices and losses -----------------------------------------------------------------------------

    def gain(self, part: str, group: str) -> Any:
        return self.catalogue.part(part).group(group).gain_db.at(self.frequency, part)

    def offered(self) -> Iterator[Any]:
        """Priced parts with figures at every carrier, that end in a cable."""
        for row in self.catalogue.parts:
            if row.groups and self.tariff.prices_part(row.id):
                curves = [group.gain_db for group in row.groups]
                inside = all(c.covers(self.frequency[0]) and c.covers(self.frequency[-1]) for c in curves)
                if inside and all(group.ends_in == "cable" for group in row.groups):
                    yield row

    def passive(self) -> list[Part]:
        """Parts that split or tap, cheapest first, each that no other replaces exactly."""
        found: list[Part] = []
        for row in self.offered():
            counts = tuple(group.count for group in row.groups)
            if row.active or row.power.supply != "none" or sum(counts) < 2:
                continue
            losses = [tuple((-group.gain_db.at(self.frequency, row.id)).tolist()) for group in row.groups]
            names = [group.name for group in row.groups]
            found.append(
                Part(
                    id=row.id,
                    cents=self.tariff.device_cents(row.id),
                    groups=tuple(zip(names, counts, losses, strict=True)),
                    ports=sum(counts),
                    counts=counts,
                    value=next(loss[0] for name, loss in zip(names, losses, strict=True) if name != THROUGH),
                )
            )
        found.sort(key=lambda row: (row.cents, row.id))
        kept: list[Part] = []
        for part in found:
            if part.groups not in [other.groups for other in kept]:
                kept.append(part)
        return kept

    def flat_losses(self) -> list[tuple[str, int, Vector]]:
        """Pads: one port that loses the same at every carrier, within half a decibel."""
        found = []
        for row in self.offered():
            if row.id.startswith("pad-"):
                loss = -self.gain(row.id, row.groups[0].name)
                assert loss.max() - loss.min() <= 0.5
                found.append((row.id, self.tariff.device_cents(row.id), tuple(loss.tolist())))
        return found

    def least_costs(self, most: int) -> list[int]:
        """Least money for devices over so many leaves, levels left out."""
        least = [0, 0]
        for count in range(2, most + 1):
            best = 1 << 40
            for part in self.parts:
                if part.ports >= count:
                    best = min(best, part.cents + (part.ports - count) * self.close)
                else:
                    # One leaf a port, and the rest behind one of them.
                    best = min(best, part.cents + least[count - part.ports + 1])
            least.append(best)
        return least

    def run(self, start: str, end: str, series: str) -> tuple[int, Any, str, float, tuple[str, ...]]:
        """Cost as a further cable, loss with both joints, cable, length and ways of a run."""
        names: list[str] = []
        here = end
        while here != start:
            names.insert(0, self.above[here].id)
            here = self.above[here].start
        rows = [way for name in names for way in self.building.ways if way.id == name]
        jackets = jackets_for("us", tuple(sorted({space for way in rows for space in way.spaces})))
        tariff, ends = self.tariff, self.building.ends
        cables = [
            row
            for row in self.catalogue.cables
            if row.series == series and row.jacket in jackets and tariff.prices_cable(row.id)
        ]
        cable = min(cables, key=lambda row: (tariff.leg_cents(row.id, "slack", 1e3, first=False), row.id))
        slack = ends.at(self.places[start].kind) + ends.at(self.places[end].kind)
        length = sum(way.pulled_m for way in rows) + slack
        cents = tariff.ends_cents(cable.id) + tariff.leg_cents(cable.id, "slack", slack, first=False)
        cents += sum(tariff.leg_cents(cable.id, way.kind, way.pulled_m, first=False) for way in rows)
        per_m = cable.loss_db_per_100m.at(self.frequency, cable.id) / 100.0
        return cents, per_m * length + 2.0 * np.asarray(self.joint), cable.id, length, tuple(names)

    def kind(self, closet: str) -> str:
        """What alike closets have in common: their floors' type and their flats; "" where nothing is alike."""
        floors = {floor.label: floor.floor_type for floor in self.building.floors}
        units = {unit.id: unit.unit_type for unit in self.building.units}
        place = self.places[closet]
        if place.kind != "closet" or not floors.get(place.floor):
            return ""
        flats = sorted(
            (units[self.places[flat.place].unit], self.places[flat.place].kind, len(flat.outlets))
            for flat in self.flats[closet]
        )
        return repr((floors[place.floor], flats))

    # -- flats -----------------------------------------------------------------------------------------

    def flats_of(self, closet: str) -> list[Flat]:
        """What hangs on a closet: panels, and outlets run home."""
        found = []
        for way in self.building.ways:
            if way.start == closet and self.places[way.end].kind in ("panel", "outlet"):
                outlets = tuple(sorted(row.end for row in self.building.ways if row.start == way.end))
                start, cents = (
                    (way.end, self.run(closet, way.end, DROP_SERIES)[0]) if outlets else (closet, 0)
                )
                outlets = outlets or (way.end,)
                cents += sum(self.run(start, outlet, DROP_SERIES)[0] for outlet in outlets)
                cents += len(outlets) * self.tariff.device_cents("outlet-end")
                found.append(Flat(place=way.end, outlets=outlets, cents=cents))
        return sorted(found, key=lambda row: row.place)

    def flat_labels(self, flat: Flat, most: Vector, budget: int) -> list[Label]:
        """The trees of a flat by rising cost, with the levels that they want at the closet's port."""
        closet = self.above[flat.place].start
        if flat.outlets == (flat.place,):
            loss = tuple((self.run(closet, flat.place, DROP_SERIES)[1] + self.plate).tolist())
            bare = moved(Label(cents=0, low=self.low, high=self.high), loss)
            return [replace(bare, thing=("flat", flat, ("outlet", flat.place)))]
        feeder = tuple(self.run(closet, flat.place, DROP_SERIES)[1].tolist())
        leaves = []
        bare = Label(cents=0, low=self.low, high=self.high)
        for outlet in flat.outlets:
            loss = tuple((self.run(flat.place, outlet, DROP_SERIES)[1] + self.plate).tolist())
            leaves.append([replace(moved(bare, loss), thing=("outlet", outlet))])
        forest = self.forest(leaves, most, budget, panel=True)
        trees = forest.trees(tuple(range(len(leaves))))
        found = [replace(moved(one, feeder), own=0, thing=("flat", flat, one.thing)) for one in trees]
        return unreplaced([one for one in found if all(a <= b for a, b in zip(one.low, most, strict=True))])

    def forest(
        self,
        leaves: list[list[Label]],
        most: Vector,
        budget: int,
        *,
        panel: bool = False,
        forms: bool = False,
    ) -> Forest:
        return Forest(
            parts=self.parts,
            close=self.close,
            least=self.least,
            joint=self.joint,
            leaves=leaves,
            most=most,
            budget=budget,
            panel=panel,
            falling=self.building.policy.falling_values,
            forms=forms,
        )

    def headed(
        self, leaves: list[list[Label]], most: Vector, budget: int, outputs: int, part: str
    ) -> list[Label]:
        """Trees behind an amplifier with several outputs, its price and gain left out: each output feeds a leaf, or a
        tree of several."""
        none = (0.0,) * len(self.joint)
        head = Part(
            id=part,
            cents=0,
            groups=((self.catalogue.part(part).groups[0].name, outputs, none),),
            ports=outputs,
            counts=(outputs,),
            value=-math.inf,
        )
        forest = self.forest(leaves, most, budget)
        found: list[Label] = []
        for blocks in shares(tuple(range(len(leaves))), head.counts):
            found += forest.filled(head, blocks)
        return unreplaced(found)

    # -- what stands first -----------------------------------------------------------------------------

    def amplified(self, arriving: Any, place: str) -> Iterator[Start]:
        """Every amplifier that may stand at a place, with every setting that keeps the reserves of gain and slope."""
        for row in self.offered() if self.places[place].mains else ():
            active = row.active
            if active is None or row.power.supply != "mains":
                continue
            if active.input_low_dbmv is not None and arriving.min() < active.input_low_dbmv:
                continue
            root, low, high = (
                np.sqrt(self.frequency),
                math.sqrt(active.slope_low_mhz),
                math.sqrt(active.slope_high_mhz),
            )
            share = np.clip((high - root) / (high - low), 0.0, 1.0)
            # What has no setting has no reserve.
            reserve = GAIN_RESERVE_DB if active.gain_db.high > active.gain_db.low else 0.0
            gains = steps(active.gain_db.low, active.gain_db.high - reserve, active.gain_db.step)
            reserve = SLOPE_RESERVE_DB if active.slope_db.high > active.slope_db.low else 0.0
            slopes = steps(active.slope_db.low, active.slope_db.high - reserve, active.slope_db.step)
            pads = steps(0.0, min(active.input_pad_db.high, MOST_PAD_DB), active.input_pad_db.step)
            found: dict[tuple[float, float], Settings] = {}
            for pad, gain, slope in product(pads, gains, slopes):
                if active.input_high_dbmv is None or arriving.max() - pad <= active.input_high_dbmv:
                    one = Settings(gain_db=gain, slope_db=slope, input_pad_db=pad)
                    found.setdefault((round(gain - pad, 6), slope), one)
            if found:
                full = arriving + self.gain(row.id, row.groups[0].name) - active.gain_db.high
                levels = np.asarray([full + net - slope * share for net, slope in found])
                cents = self.tariff.device_cents(row.id)
                yield Start(cents=cents, parts=(row.id,), levels=levels, settings=tuple(found.values()))


def steps(low: float, high: float, step: float) -> list[float]:
    if step <= 0:
        return [low] if high >= low else []
    return [low + n * step for n in range(int((high - low) / step + 1e-9) + 1)]
