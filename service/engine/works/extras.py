"""What an estimate adds to the direct cost: whole boxes and spares, kits, tasks, factors, lumps, supervision."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from decimal import ROUND_CEILING, Decimal

from service.engine.building.places import Building
from service.engine.building.rates import KitItem, Rates
from service.engine.plant.network import Network
from service.engine.plant.tariff import Tariff, legs_of
from service.engine.works.bill import Bill
from service.engine.works.bonding import entrances
from service.engine.works.lines import EstimateLine, cents, written_length
from service.engine.works.pulls import run_hours, way_kinds
from service.engine.works.retrofit import old_cables

_BOUGHT = {"waste": "Waste of cable", "packs": "Whole boxes beyond it", "spares": "Spares and spare boxes"}
#: Ways in which cable hangs on supports.
_SUPPORTED = frozenset({"corridor", "ceiling"})
#: Height from which work counts as high. Common practice, from memory.
_HIGH_M = 3.5


def extra_lines(
    building: Building, network: Network, bill: Bill, tariff: Tariff, rates: Rates
) -> tuple[EstimateLine, ...]:
    """Every line between the direct cost and the sum of cost, supervision last."""
    extras = _Extras(building, network, bill, tariff, rates)
    lines = [*extras.bought(), *extras.kits(), *extras.tasks(), *extras.factors(), *extras.lumps()]
    hours = sum((line.hours for line in lines), Decimal(str(round(bill.hours, 4))))
    share = rates.supervision_share
    lines.append(extras.work("labour", "Supervision", f"{share:.0%} of all hours", hours * share))
    return tuple(line for line in lines if line.total_cents or line.hours)


class _Extras:
    """A building with its network and rates, counted once."""

    def __init__(
        self, building: Building, network: Network, bill: Bill, tariff: Tariff, rates: Rates
    ) -> None:
        self.building, self.network, self.bill = building, network, bill
        self.tariff, self.rates = tariff, rates
        self.places = {place.id: place for place in building.places}
        self.stands = {device.id: device.place for device in network.devices}
        self.ends = {run.id: run.end for run in network.runs}
        self.occupied = {unit.id for unit in building.units if unit.occupied}
        self.used = {way for run in network.runs if not run.existing for way in run.ways}

    def work(self, section: str, name: str, note: str, hours: Decimal) -> EstimateLine:
        """A line of labour alone."""
        paid = cents(hours * self.tariff.labour_cents_per_h)
        return EstimateLine(section=section, name=name, note=note, labour_cents=paid, hours=hours)

    def bought(self) -> Iterator[EstimateLine]:
        """Waste, packs and spares as the bill has them below its direct cost."""
        for why, name in _BOUGHT.items():
            paid = sum(line.total_cents for line in self.bill.below if line.why == why)
            yield EstimateLine(section="bought", name=name, note="as in the bill", material_cents=paid)

    def kits(self) -> Iterator[EstimateLine]:
        """Kits by place, then supports along ceilings."""
        busy = set(self.stands.values())
        kinds = Counter(place.kind for place in self.building.places if place.id in busy)
        counts = {
            "outlet": len(self.network.served),
            "panel": kinds["panel"],
            "closet": kinds["closet"],
            "entry": len(entrances(self.building)),
            "head-end": 1,
        }
        for item in self.rates.kits:
            yield self.kit(item, counts[item.kit])
        length = sum(
            Decimal(str(round(way.pulled_m, 3)))
            for way in self.building.ways
            if way.id in self.used and way.kind in _SUPPORTED
        )
        pieces = (length / self.rates.support_every_m).to_integral_value(rounding=ROUND_CEILING)
        yield EstimateLine(
            section="kits",
            name="Supports along corridors and ceilings",
            note=f"{_pieces(int(pieces))}, one every {written_length(self.building, self.rates.support_every_m)}",
            material_cents=int(pieces) * self.rates.support_cents,
            pieces=int(pieces),
        )

    def kit(self, item: KitItem, count: int) -> EstimateLine:
        """One item of a kit, so many times."""
        number = (item.each * count).to_integral_value(rounding=ROUND_CEILING)
        hours = number * item.labour_h
        return EstimateLine(
            section="kits",
            name=f"{item.kit} kit: {item.name}",
            note=_pieces(int(number)),
            material_cents=int(number) * item.price_cents,
            labour_cents=cents(hours * self.tariff.labour_cents_per_h),
            hours=hours,
            pieces=int(number),
        )

    def tasks(self) -> Iterator[EstimateLine]:
        """Work by task: seals, tests, head-end, mast, close-out, mobilisation, old cable out."""
        rates, outlets = self.rates, len(self.network.served)
        units = len({served.unit for served in self.network.served if served.unit})
        holes = sum(way.firestops for way in self.building.ways if way.id in self.used)
        seal_h = holes * rates.firestop_h
        yield EstimateLine(
            section="tasks",
            name="Sleeves and firestops",
            note=f"{holes} holes, {rates.firestop_h} h each",
            material_cents=holes * rates.firestop_cents,
            labour_cents=cents(seal_h * self.tariff.labour_cents_per_h),
            hours=seal_h,
            pieces=holes,
        )
        test_h = outlets * rates.test_outlet_h + units * rates.test_unit_h
        note = f"{outlets} outlets at {rates.test_outlet_h} h, {units} units at {rates.test_unit_h} h"
        yield self.work("tasks", "Balance and test", note, test_h)
        yield self.work("tasks", "Head-end", "line-up, set-up, labels", rates.headend_h)
        if self.building.feed.kind == "off-air":
            yield self.work("tasks", "Mast with antennas", "two persons at least", rates.mast_h)
        yield self.work("tasks", "Mobilisation", "a building", rates.mobilisation_h)
        yield self.work("tasks", "Close-out", "records, training, defects", rates.close_out_h)
        yield from self.old_cable()

    def old_cable(self) -> Iterator[EstimateLine]:
        """Tests of old cable that may stay, and old cable that comes out."""
        rows = old_cables(self.building, self.network)
        tested = [row for row in rows if row.test_h]
        note = f"{len(tested)} ways at {self.rates.test_existing_h} h"
        yield self.work("tasks", "Test of old cable", note, sum((row.test_h for row in tested), Decimal(0)))
        out = [row for row in rows if row.removal_h]
        old_m = sum((Decimal(str(round(row.way.length_m, 3))) for row in out), Decimal(0))
        at_h = f"{self.rates.removal_h_per_m} h a metre"
        note = f"{written_length(self.building, round(old_m, 1))} at {at_h}, where it can be reached"
        yield self.work("tasks", "Old cable out", note, sum((row.removal_h for row in out), Decimal(0)))

    def factors(self) -> Iterator[EstimateLine]:
        """What makes hours longer: people at home, doors that stay shut, height, floors without a lift."""
        rates = self.rates
        yield from self.visits()
        hours = {
            run: Decimal(str(round(value, 4)))
            for run, value in run_hours(self.building, self.network, self.tariff).items()
        }
        at_home = sum((hours[run] for run in sorted(hours) if self.in_occupied_unit(run)), Decimal(0))
        note = f"factor {rates.occupied_factor} on work in occupied flats"
        yield self.work("factors", "Occupied flats", note, at_home * (rates.occupied_factor - 1))
        visits = len(self.occupied) * rates.no_access_share
        note = f"{rates.no_access_share:.0%} of {len(self.occupied)} occupied flats, {rates.no_access_h} h"
        yield self.work("factors", "Doors that stay shut", note, visits * rates.no_access_h)
        pulling = sum((hours[run] for run in sorted(hours)), Decimal(0))
        above = written_length(self.building, _HIGH_M)
        note = f"{rates.high_share:.0%} of the pulls above {above}, factor {rates.high_factor}"
        high_h = pulling * rates.high_share * (rates.high_factor - 1)
        yield self.work("factors", "Work at height", note, high_h)
        if not rates.lift:
            carried = sum((hours[run] * self.floors_up(run) for run in sorted(hours)), Decimal(0))
            note = f"{rates.floor_share:.0%} a floor above the third"
            yield self.work("factors", "No lift", note, carried * rates.floor_share)

    def visits(self) -> Iterator[EstimateLine]:
        """Notices to tenants, and visits to lived-in flats with what each costs."""
        rates, flats = self.rates, len(self.occupied)
        note = f"{flats} occupied flats, {rates.notice_days} days ahead, {rates.notice_h} h each"
        yield self.work("factors", "Notices", note, flats * rates.notice_h)
        visits = flats * rates.visits_per_unit
        hours = visits * rates.visit_h
        price = f"{Decimal(rates.visit_cents).scaleb(-2)} {self.tariff.currency}"
        yield EstimateLine(
            section="factors",
            name="Visits",
            note=f"{visits} visits to occupied flats, {rates.visit_h} h and {price} each",
            labour_cents=cents(hours * self.tariff.labour_cents_per_h),
            subcontract_cents=cents(visits * rates.visit_cents),
            hours=hours,
        )

    def in_occupied_unit(self, run: str) -> bool:
        """True when the run ends in a flat where people live."""
        place = self.places.get(self.stands.get(self.ends[run], ""))
        return place is not None and place.unit in self.occupied

    def floors_up(self, run: str) -> int:
        """Floors above the third at which the run ends."""
        place = self.places.get(self.stands.get(self.ends[run], ""))
        orders = {(floor.block, floor.label): floor.order for floor in self.building.floors}
        height = orders.get((place.block, place.floor), 0) if place else 0
        return max(0, height + 1 - self.rates.floors_without_factor)

    def lumps(self) -> Iterator[EstimateLine]:
        """Lumps bought from others."""
        lumps = (
            ("Permit", self.rates.permit_cents),
            ("Patching and painting", self.rates.patching_cents),
            ("Disposal", self.rates.disposal_cents),
        )
        for name, paid in lumps:
            yield EstimateLine(section="lumps", name=name, note="lump", subcontract_cents=paid)


def _pieces(count: int) -> str:
    return f"{count} piece" if count == 1 else f"{count} pieces"


def mean_outlet(building: Building, network: Network, tariff: Tariff) -> tuple[Decimal, Decimal] | None:
    """Material and labour in cents of an outlet's part with the new run that feeds it, on average.

    None where no outlet is fed by a new run.
    """
    prices = {row.part: row for row in tariff.parts}
    cable_prices = {row.cable: row for row in tariff.cables}
    parts = {device.id: device.part for device in network.devices}
    cables = {run.end: run.cable for run in network.runs}
    names = {run.end: run.id for run in network.runs}
    legs = legs_of(network, way_kinds(building))
    material, labour, count = Decimal(0), Decimal(0), 0
    for served in network.served:
        device = served.port.device
        cable, run = cables.get(device), names.get(device, "")
        if cable is None or run not in legs or parts.get(device) not in prices:
            continue
        count += 1
        price = prices[parts[device]].price_cents
        bought = Decimal(str(cable_prices[cable].cents_per_m)) * Decimal(
            str(round(sum(leg.length_m for leg in legs[run]), 3))
        )
        bought += price + 2 * cable_prices[cable].end_cents
        total = tariff.device_cents(parts[device]) + tariff.run_cents(cable, legs[run])
        material += bought
        labour += total - bought
    return (material / count, labour / count) if count else None
