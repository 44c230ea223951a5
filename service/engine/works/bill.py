"""The bill: what the design costs, line by line.

Direct cost is material and labour of every part, cable and end at unit prices; it equals the cost that
placement made least, to the cent. Waste, packs and spares stand below that line, each by name.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from service.engine.building.places import Building
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Network
from service.engine.plant.parts import Part
from service.engine.plant.tariff import CablePrice, PartPrice, Tariff, legs_of
from service.engine.works.lines import written_length
from service.engine.works.pulls import pulls_of, way_kinds
from service.engine.works.reels import ReelPlan, reel_plans

#: From how many amplifiers of a type one is kept as a spare. Common practice, from memory.
AMPLIFIERS_WITHOUT_SPARE = 3

Sort = Literal["part", "cable", "ends"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BillLine:
    """One line of direct cost. `heading` is the part's family, for people only; `unit` is "pcs" or "m"."""

    sort: Sort
    heading: str
    item: str
    name: str
    quantity: float
    unit: str
    material_cents: int
    labour_cents: int
    hours: float

    @property
    def total_cents(self) -> int:
        """Material and labour."""
        return self.material_cents + self.labour_cents


@dataclass(frozen=True, slots=True, kw_only=True)
class BelowLine:
    """One line below the direct cost: what is bought beyond what is built in, and why."""

    why: Literal["waste", "packs", "spares"]
    item: str
    name: str
    quantity: float
    unit: str
    total_cents: int
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Bill:
    """Lines of direct cost, lines below it, and how cable is bought. Money in cents of `currency`."""

    currency: str
    lines: tuple[BillLine, ...]
    below: tuple[BelowLine, ...]
    reels: tuple[ReelPlan, ...]

    @property
    def direct_cents(self) -> int:
        """Direct cost: the sum of its lines."""
        return sum(line.total_cents for line in self.lines)

    @property
    def below_cents(self) -> int:
        """Everything below the direct cost."""
        return sum(line.total_cents for line in self.below)

    @property
    def hours(self) -> float:
        """Person-hours in the direct cost."""
        return sum(line.hours for line in self.lines)


def bill_of(building: Building, network: Network, catalogue: Catalogue, tariff: Tariff) -> Bill:
    """The bill of a network in its building.

    Raises UnknownIdError for a part, cable or pull kind that the tariff doesn't price.
    """
    plans = reel_plans(building, pulls_of(building, network, catalogue, tariff), catalogue)
    lines = (*_part_lines(network, catalogue, tariff), *_cable_lines(building, network, catalogue, tariff))
    below = (
        *_cable_surplus(plans, building, catalogue, tariff),
        *_spares(lines, building, catalogue, tariff),
    )
    return Bill(currency=tariff.currency, lines=lines, below=below, reels=plans)


def _part_lines(network: Network, catalogue: Catalogue, tariff: Tariff) -> Iterator[BillLine]:
    counts = Counter(device.part for device in network.devices)
    if network.terminated:
        counts[tariff.terminator] += len(network.terminated)
    prices = {row.part: row for row in tariff.parts}
    known = [(catalogue.part(part), count) for part, count in counts.items()]
    for part, count in sorted(known, key=lambda row: (row[0].family, row[0].id)):
        # Labour is what the price of the mounted part leaves beside the material: rounded once a part.
        mounted = tariff.device_cents(part.id)
        price: PartPrice = prices[part.id]
        yield BillLine(
            sort="part",
            heading=part.family,
            item=part.id,
            name=part.name,
            quantity=float(count),
            unit="pcs",
            material_cents=count * price.price_cents,
            labour_cents=count * (mounted - price.price_cents),
            hours=count * price.labour_h,
        )


@dataclass(slots=True)
class _CableSum:
    """What the runs of one cable come to."""

    length_m: float = 0.0
    runs: int = 0
    material: float = 0.0
    total: int = 0
    hours: float = 0.0


def _cable_lines(
    building: Building, network: Network, catalogue: Catalogue, tariff: Tariff
) -> Iterator[BillLine]:
    rates = {row.kind: row for row in tariff.pulls}
    prices = {row.cable: row for row in tariff.cables}
    cables = {run.id: run.cable for run in network.runs}
    sums: dict[str, _CableSum] = {}
    for run, legs in sorted(legs_of(network, way_kinds(building)).items()):
        cable = str(cables[run])
        row = sums.setdefault(cable, _CableSum())
        row.runs += 1
        for leg in legs:
            rate = rates[leg.kind]
            row.length_m += leg.length_m
            row.total += tariff.leg_cents(cable, leg.kind, leg.length_m, first=leg.first)
            row.material += leg.length_m * prices[cable].cents_per_m
            row.hours += leg.length_m * (rate.first_h_per_m if leg.first else rate.further_h_per_m)
    for cable in sorted(sums):
        yield _pulled_line(sums[cable], cable, catalogue)
    for cable in sorted(sums):
        yield _ends_line(sums[cable], prices[cable], catalogue, tariff)


def _pulled_line(row: _CableSum, cable: str, catalogue: Catalogue) -> BillLine:
    # Legs are rounded to the cent one by one; the material is rounded once, and labour is what remains.
    material = min(math.floor(row.material + 0.5), row.total)
    return BillLine(
        sort="cable",
        heading="cable, pulled",
        item=cable,
        name=catalogue.cable(cable).name,
        quantity=row.length_m,
        unit="m",
        material_cents=material,
        labour_cents=row.total - material,
        hours=row.hours,
    )


def _ends_line(row: _CableSum, price: CablePrice, catalogue: Catalogue, tariff: Tariff) -> BillLine:
    cable = catalogue.cable(price.cable)
    material = 2 * price.end_cents
    return BillLine(
        sort="ends",
        heading="cable ends, labels, tests",
        item=cable.connector,
        name=f"Two connectors with labels, and a test: {cable.name}",
        quantity=float(row.runs),
        unit="runs",
        material_cents=row.runs * material,
        labour_cents=row.runs * (tariff.ends_cents(cable.id) - material),
        hours=row.runs * (2.0 * tariff.end_h + tariff.test_h),
    )


def _cable_surplus(
    plans: tuple[ReelPlan, ...], building: Building, catalogue: Catalogue, tariff: Tariff
) -> Iterator[BelowLine]:
    """Waste, then what whole boxes hold beyond it, then a spare box a type."""
    prices = {row.cable: row for row in tariff.cables}
    for plan in plans:
        cable, price = catalogue.cable(plan.cable), prices[plan.cable].cents_per_m
        waste_m = plan.net_m * plan.waste_share
        packs_m = plan.bought_m - plan.net_m - waste_m
        boxes = " and ".join(
            f"{count} put-ups of {written_length(building, put_up)}" for put_up, count in plan.put_ups
        )
        rows: list[tuple[Literal["waste", "packs", "spares"], float, str]] = [
            ("waste", waste_m, f"{plan.waste_share:.0%} on the length as pulled"),
            ("packs", packs_m, f"{boxes} hold more than the runs with their waste"),
            ("spares", plan.put_up_m, "one spare put-up of each type"),
        ]
        for why, length_m, note in rows:
            cents = math.floor(length_m * price + 0.5)
            if length_m > 1e-6:
                yield BelowLine(
                    why=why,
                    item=cable.id,
                    name=cable.name,
                    quantity=length_m,
                    unit="m",
                    total_cents=cents,
                    note=note,
                )


def _spares(
    lines: tuple[BillLine, ...], building: Building, catalogue: Catalogue, tariff: Tariff
) -> Iterator[BelowLine]:
    """Parts and connectors that stay on site, material only."""
    share = float(building.rates.spare_share)
    prices = {row.part: row.price_cents for row in tariff.parts}
    ends = {catalogue.cable(row.cable).connector: row.end_cents for row in reversed(tariff.cables)}
    for line in lines:
        if line.sort == "part":
            count, note = _spare_count(catalogue.part(line.item), round(line.quantity), share)
            cents, name = prices[line.item], line.name
        elif line.sort == "ends":
            count, note = math.ceil(2.0 * line.quantity * share), f"{share:.0%} more ends than the runs have"
            cents, name = ends[line.item], f"{catalogue.part(line.item).name}, with label"
        else:
            continue
        if count:
            yield BelowLine(
                why="spares",
                item=line.item,
                name=name,
                quantity=float(count),
                unit="pcs",
                total_cents=count * cents,
                note=note,
            )


def _spare_count(part: Part, count: int, share: float) -> tuple[int, str]:
    if part.active is not None:
        note = f"one amplifier of a type used more than {AMPLIFIERS_WITHOUT_SPARE} times"
        return (1 if count > AMPLIFIERS_WITHOUT_SPARE else 0), note
    return max(1, math.ceil(count * share)), f"{share:.0%}, and at least one of each passive part"
