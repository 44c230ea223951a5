"""The estimate: from the bill's direct cost, line by line, to the price with its range.

Every amount is in whole cents, rounded once where it is printed; every total is the sum of the lines printed above
it. Direct cost is the bill's to the cent: everything else stands below it by name.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from service.engine.building.places import Building
from service.engine.building.rates import Alternate, Rates, Survey
from service.engine.plant.network import Network
from service.engine.plant.tariff import Tariff
from service.engine.propagation.draws import shared_shares, triangular
from service.engine.works.bill import Bill
from service.engine.works.extras import extra_lines, mean_outlet
from service.engine.works.lines import EstimateLine, cents

_GRADES: tuple[Survey, ...] = ("walked", "drawings", "outline")
_INCLUSIONS = (
    "Cable, parts, kits, labels and spares as listed.",
    "Pulling, mounting, set-up, balance and test of every outlet on the listed carriers.",
    "Sleeves and seals of the counted holes, listed systems.",
    "Papers as built: schedule, test sheet, amplifier sheets.",
)
_EXCLUSIONS = (
    "House power, conduits and shafts by others.",
    "Asbestos, lead, structural proof, lightning protection and cranes by others.",
    "Receivers, subscriptions, licences and spectrum by others.",
    "Work outside ordinary hours.",
)
#: Nobody has said which antennas stand there: their mounting has hours, their price is nowhere.
_ALOFT = "Antennas, mast and lead-in as material, unless a kit of the rates lists them; mounting is included."


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """What it costs by kind, in cents, fractions allowed while ranges are worked out."""

    material: Decimal
    labour: Decimal
    subcontract: Decimal

    @property
    def total(self) -> Decimal:
        """All three."""
        return self.material + self.labour + self.subcontract


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceLine:
    """One line between cost and price."""

    name: str
    note: str
    amount_cents: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """The estimate. `lines` add up to `cost_cents`, `price_lines` from there to `price_cents`.

    `markup_share` is mark-up on cost with overhead and contingency, `margin_share` the same money as a share
    of the price before tax. `range_cents` are the 10th and 90th hundredth of the draws. `what_ifs` pair a
    question with the price that follows. `extra_outlet_cents` is the price of one outlet more, of the average kind.
    `alternates` pair another design with what it adds to the price (negative: deducts).
    """

    currency: str
    lines: tuple[EstimateLine, ...]
    price_lines: tuple[PriceLine, ...]
    direct_cents: int
    survey: Survey
    markup_share: Decimal
    margin_share: Decimal
    range_cents: tuple[int, int]
    what_ifs: tuple[tuple[str, int], ...]
    extra_outlet_cents: int
    alternates: tuple[tuple[str, int], ...]
    inclusions: tuple[str, ...]
    exclusions: tuple[str, ...]
    validity_days: int
    outlets: int

    @property
    def cost_cents(self) -> int:
        """The sum of the printed lines of cost."""
        return sum(line.total_cents for line in self.lines)

    @property
    def price_cents(self) -> int:
        """The sum of cost and of the printed lines above it."""
        return self.cost_cents + sum(line.amount_cents for line in self.price_lines)

    @property
    def hours(self) -> Decimal:
        """Person-hours of all lines."""
        return sum((line.hours for line in self.lines), Decimal(0))


def estimate_of(
    building: Building,
    network: Network,
    bill: Bill,
    tariff: Tariff,
    *,
    alternates: Iterable[tuple[str, int]] = (),
) -> Estimate:
    """The estimate of a network in its building.

    The building's own rates hold. `alternates` are other designs by name with their direct cost in cents.
    """
    rates = building.rates
    lines = (direct_line(bill), *extra_lines(building, network, bill, tariff, rates))
    survey = survey_of(building, network)
    contingency = rates.contingency_share(survey)
    costs = Costs(
        material=Decimal(sum(line.material_cents for line in lines)),
        labour=Decimal(sum(line.labour_cents for line in lines)),
        subcontract=Decimal(sum(line.subcontract_cents for line in lines)),
    )
    price_lines = tuple(_price_lines(costs, rates, contingency))
    price = int(costs.total) + sum(line.amount_cents for line in price_lines)
    factor = Decimal(price) / costs.total if costs.total else Decimal(1)
    before_tax = price - price_lines[-1].amount_cents
    markup = sum(line.amount_cents for line in price_lines if line.name.startswith("Mark-up"))
    base = before_tax - markup
    return Estimate(
        currency=bill.currency,
        lines=lines,
        price_lines=price_lines,
        direct_cents=bill.direct_cents,
        survey=survey,
        markup_share=Decimal(markup) / base if base else Decimal(0),
        margin_share=Decimal(markup) / before_tax if before_tax else Decimal(0),
        range_cents=_range(costs, _length_costs(bill), rates, contingency, survey),
        what_ifs=_what_ifs(building, costs, bill, tariff, rates, contingency),
        extra_outlet_cents=_extra_outlet(building, network, tariff, rates, contingency),
        alternates=(
            *((name, cents((direct - bill.direct_cents) * factor)) for name, direct in alternates),
            *((row.name, _alternate(row, tariff, rates, contingency)) for row in rates.alternates),
        ),
        inclusions=_INCLUSIONS,
        exclusions=_exclusions(building),
        validity_days=rates.validity_days,
        outlets=len(network.served),
    )


def direct_line(bill: Bill) -> EstimateLine:
    """The bill's direct cost as the first line."""
    return EstimateLine(
        section="direct cost",
        name="Parts, cable, ends, labels, tests, by the bill",
        note="what the design was chosen by",
        material_cents=sum(line.material_cents for line in bill.lines),
        labour_cents=sum(line.labour_cents for line in bill.lines),
        hours=Decimal(str(round(bill.hours, 4))),
    )


def survey_of(building: Building, network: Network) -> Survey:
    """The poorest survey among the ways that cables follow; drawings where none is named."""
    used = {way for run in network.runs for way in run.ways}
    grades = {way.survey for way in building.ways if way.id in used} or {"drawings"}
    return max(grades, key=_GRADES.index)


def _price_lines(costs: Costs, rates: Rates, contingency: Decimal) -> list[PriceLine]:
    """Overhead and contingency on the cost, mark-up by kind on all of it, tax on its base."""
    rows: list[PriceLine] = []

    def add(name: str, note: str, amount: Decimal) -> None:
        rows.append(PriceLine(name=name, note=note, amount_cents=cents(amount)))

    add("Overhead", f"{rates.overhead_share:.1%} of cost", costs.total * rates.overhead_share)
    add("Contingency", f"{contingency:.1%} of cost, by the survey", costs.total * contingency)
    loaded = 1 + rates.overhead_share + contingency
    for kind, amount, share in (
        ("material", costs.material, rates.markup_material_share),
        ("labour", costs.labour, rates.markup_labour_share),
        ("subcontract", costs.subcontract, rates.markup_subcontract_share),
    ):
        note = f"{share:.1%} on {kind} with its overhead and contingency"
        add(f"Mark-up on {kind}", note, amount * loaded * share)
    bases = {
        "nothing": Decimal(0),
        "material": costs.material * loaded * (1 + rates.markup_material_share),
        "everything": costs.total + sum(row.amount_cents for row in rows),
    }
    note = f"{rates.tax_share:.2%} on {rates.tax_base}"
    add("Tax", note, bases[rates.tax_base] * rates.tax_share)
    return rows


def price_of(costs: Costs, rates: Rates, contingency: Decimal) -> int:
    """Price in cents of costs by kind."""
    return cents(costs.total) + sum(row.amount_cents for row in _price_lines(costs, rates, contingency))


def _length_costs(bill: Bill) -> Costs:
    """The part of the bill that grows with lengths: cable pulled, waste, whole boxes."""
    pulled = [line for line in bill.lines if line.sort == "cable"]
    bought = sum(line.total_cents for line in bill.below if line.why == "waste")
    return Costs(
        material=Decimal(sum(line.material_cents for line in pulled) + bought),
        labour=Decimal(sum(line.labour_cents for line in pulled)),
        subcontract=Decimal(0),
    )


def _grown(costs: Costs, by_length: Costs, length: Decimal, hours: Decimal, material: Decimal) -> Costs:
    return Costs(
        material=(costs.material + by_length.material * length) * (1 + material),
        labour=(costs.labour + by_length.labour * length) * (1 + hours),
        subcontract=costs.subcontract,
    )


def _range(
    costs: Costs, by_length: Costs, rates: Rates, contingency: Decimal, survey: Survey
) -> tuple[int, int]:
    """10th and 90th hundredth of the price over the fixed draws of lengths, hours and material prices.

    Errors are triangular inside their stated ranges, each one the same for the whole building.
    """
    length, hours, material = triangular(shared_shares(3))
    length = 1.0 + float(rates.length_share(survey)) * length
    paid = float(costs.material) + float(by_length.material) * (length - 1.0)
    worked = float(costs.labour) + float(by_length.labour) * (length - 1.0)
    each = Decimal(10**9)
    none = Decimal(0)
    by_kind = (
        Costs(material=each, labour=none, subcontract=none),
        Costs(material=none, labour=each, subcontract=none),
        Costs(material=none, labour=none, subcontract=each),
    )
    # The price is linear in the three kinds of cost.
    factors = [float(price_of(kind, rates, contingency) / each) for kind in by_kind]
    prices = (
        factors[0] * paid * (1.0 + float(rates.material_range_share) * material)
        + factors[1] * worked * (1.0 + float(rates.hours_range_share) * hours)
        + factors[2] * float(costs.subcontract)
    )
    low, high = np.quantile(prices, (0.1, 0.9))
    return round(float(low)), round(float(high))


def _what_ifs(
    building: Building, costs: Costs, bill: Bill, tariff: Tariff, rates: Rates, contingency: Decimal
) -> tuple[tuple[str, int], ...]:
    tenth = Decimal("0.10")
    longer = _grown(costs, _length_costs(bill), tenth, Decimal(0), Decimal(0))
    shut_h = len(building.units) * Decimal("0.15") * rates.no_access_h
    visits = shut_h * tariff.labour_cents_per_h * (1 + rates.supervision_share)
    shut = Costs(material=costs.material, labour=costs.labour + visits, subcontract=costs.subcontract)
    return (
        ("distances are 10 % longer", price_of(longer, rates, contingency)),
        ("15 % of all doors stay shut, once more", price_of(shut, rates, contingency)),
    )


def _extra_outlet(
    building: Building, network: Network, tariff: Tariff, rates: Rates, contingency: Decimal
) -> int:
    """Price of one outlet more: part, average run to one, kit and test. Nothing for a network without outlets."""
    from_runs = mean_outlet(building, network, tariff)
    if from_runs is None:
        return 0
    material, labour = from_runs
    for item in rates.kits:
        if item.kit == "outlet":
            material += item.each * item.price_cents
            labour += item.each * item.labour_h * tariff.labour_cents_per_h
    labour += rates.test_outlet_h * tariff.labour_cents_per_h
    costs = Costs(material=material, labour=labour * (1 + rates.supervision_share), subcontract=Decimal(0))
    return price_of(costs, rates, contingency)


def _alternate(row: Alternate, tariff: Tariff, rates: Rates, contingency: Decimal) -> int:
    """What an alternate of the estimator's adds to the price; below zero where it deducts."""
    labour = row.labour_h * tariff.labour_cents_per_h * (1 + rates.supervision_share)
    costs = Costs(
        material=Decimal(row.material_cents), labour=labour, subcontract=Decimal(row.subcontract_cents)
    )
    price = price_of(costs, rates, contingency)
    return -price if row.deducts else price


def _exclusions(building: Building) -> tuple[str, ...]:
    """What others do or pay: the standing ones, and lumps left at nothing."""
    rates = building.rates
    aloft = (_ALOFT,) if building.feed.kind == "off-air" else ()
    lumps = (
        ("Permits and fees", rates.permit_cents),
        ("Patching and painting", rates.patching_cents),
        ("Disposal", rates.disposal_cents),
    )
    return (*_EXCLUSIONS, *aloft, *(f"{name} by others." for name, paid in lumps if not paid))
