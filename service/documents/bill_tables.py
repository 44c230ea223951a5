"""What the buyer and the estimator work from: parts and cable, and the cost line by line."""

from __future__ import annotations

from dataclasses import dataclass

from service.documents.measures import Measures
from service.documents.table import Column, Table, Value, money
from service.engine.plant.tariff import Tariff
from service.engine.works.bill import BelowLine, Bill, BillLine
from service.engine.works.estimate import Estimate
from service.engine.works.reels import ReelPlan


def _quantity(quantity: float, unit: str, measures: Measures) -> tuple[float, str]:
    """A quantity in the building's unit: metres may be feet on paper, pieces are whole numbers."""
    return (measures.length(quantity), measures.length_unit) if unit == "m" else (round(quantity), unit)


@dataclass(slots=True)
class _Wanted:
    """One part or cable to buy: what is built in and what lies beyond it, with what each costs."""

    name: str
    unit: str
    built: float = 0.0
    beyond: float = 0.0
    built_cents: int = 0
    beyond_cents: int = 0

    def row(self, heading: str, item: str, boxes: str, measures: Measures) -> tuple[Value, ...]:
        """As the buyer reads it; cable is priced by the hundred."""
        here, shown = _quantity(self.built, self.unit, measures)
        added, _ = _quantity(self.beyond, self.unit, measures)
        many = 100 if self.unit == "m" else 1
        price = money(round(many * self.built_cents / here)) if here else None
        per = f"{many} {shown}" if many > 1 else shown
        amount = money(self.built_cents + self.beyond_cents)
        return (heading, item, self.name, here, added, here + added, shown, boxes, price, per, amount)


def parts_table(bill: Bill, estimate: Estimate, tariff: Tariff, measures: Measures) -> Table:
    """What to buy and what it costs: built in, what waste, packs and spares add, by heading, then kits and seals.

    The amounts add up to the material of the estimate.
    """
    boxes = {plan.cable: _boxes(plan, measures) for plan in bill.reels}
    rows = [
        found.row(heading, item, boxes.get(item, ""), measures)
        for (heading, item), found in _wanted(bill).items()
    ]
    rows += _kits(estimate)
    waste = f"{bill.reels[0].waste_share:.0%} waste, " if bill.reels else ""
    note = (
        f"Cable as pulled, then {waste}whole boxes and a spare one of each type. Prices before overhead, mark-up "
        f"and tax by price sheet {tariff.id}, kits by the sheet Rates, valid {estimate.validity_days} days from the "
        f"revision's date. {tariff.note} What others supply: sheet Estimate, Excluded."
    )
    return Table(
        id="parts",
        title="Parts",
        columns=_parts_columns(bill.currency),
        rows=tuple(rows),
        starts=tuple(at for at, row in enumerate(rows) if not at or row[0] != rows[at - 1][0]),
        totals=("amount",),
        note=note,
    )


def _wanted(bill: Bill) -> dict[tuple[str, str], _Wanted]:
    """Parts and cables by heading and item; what is bought beyond the design goes to its item."""
    found: dict[tuple[str, str], _Wanted] = {}
    by_item: dict[str, _Wanted] = {}
    for line in bill.lines:
        ends = line.sort == "ends"
        name, unit = ("Connector with label", "pcs") if ends else (line.name, line.unit)
        row = found.setdefault((line.heading, line.item), _Wanted(name=name, unit=unit))
        row.built += (2.0 if ends else 1.0) * line.quantity
        row.built_cents += line.material_cents
        by_item[line.item] = row
    for more in bill.below:
        by_item[more.item].beyond += more.quantity
        by_item[more.item].beyond_cents += more.total_cents
    return found


def _parts_columns(currency: str) -> tuple[Column, ...]:
    return (
        Column(name="heading", width=18),
        Column(name="part or cable", width=14),
        Column(name="name", kind="wide", width=34),
        Column(name="built in", kind="number", width=10),
        Column(name="waste, packs, spares", kind="number", width=10),
        Column(name="to buy", kind="number", width=10),
        Column(name="unit", width=6),
        Column(name="put-ups", width=20),
        Column(name="price", unit=currency, kind="money", width=10),
        Column(name="per", width=8),
        Column(name="amount", unit=currency, kind="money", width=12),
    )


def _kits(estimate: Estimate) -> list[tuple[Value, ...]]:
    """Kits, supports and seals, by the piece."""
    return [
        (
            "kits and seals",
            "",
            line.name,
            line.pieces,
            0,
            line.pieces,
            "pcs",
            "",
            money(round(line.material_cents / line.pieces)),
            "pcs",
            money(line.material_cents),
        )
        for line in estimate.lines
        if line.pieces and line.material_cents
    ]


def _boxes(plan: ReelPlan, measures: Measures) -> str:
    """How a cable is ordered: put-ups by size, lengths longer than any of them, and the spare with its size."""
    ordered = [f"{count} × {_put_up(put_up, measures)}" for put_up, count in plan.put_ups]
    ordered += [f"1 × {_put_up(cut.take_m, measures)} in one piece" for cut in plan.too_long]
    return ", ".join((*ordered, f"spare 1 × {_put_up(plan.put_up_m, measures)}"))


def _put_up(put_up_m: float, measures: Measures) -> str:
    return f"{measures.length(put_up_m):.0f} {measures.length_unit}"


def cost_table(bill: Bill, measures: Measures) -> Table:
    """Direct cost line by line, adding up to the cent, and what stands below it."""
    rows: list[tuple[Value, ...]] = [_line(line, measures) for line in bill.lines]
    marks = [(len(rows), "head")]
    labour, material = sum(x.labour_cents for x in bill.lines), sum(x.material_cents for x in bill.lines)
    rows.append(
        (
            "Direct cost",
            "",
            "what the design was chosen by",
            None,
            "",
            money(material),
            bill.hours,
            money(labour),
            money(bill.direct_cents),
        )
    )
    rows += [_below(line, measures) for line in bill.below]
    marks.append((len(rows), "head"))
    rows.append(
        ("Below the direct cost", "", "material only", None, "", None, None, None, money(bill.below_cents))
    )
    marks.append((len(rows), "head"))
    both = money(bill.direct_cents + bill.below_cents)
    rows.append(("Together", "", "direct cost and the lines below", None, "", None, None, None, both))
    columns = (
        Column(name="heading", width=22),
        Column(name="item", width=16),
        Column(name="name", kind="wide", width=48),
        Column(name="quantity", kind="number"),
        Column(name="unit", width=6),
        Column(name="material", unit=bill.currency, kind="money"),
        Column(name="hours", unit="h", kind="number"),
        Column(name="labour", unit=bill.currency, kind="money"),
        Column(name="total", unit=bill.currency, kind="money"),
    )
    note = "Unit prices of the price sheet, without lumps, factors, overhead, mark-up, tax or contingency."
    return Table(id="cost", title="Cost", columns=columns, rows=tuple(rows), marks=tuple(marks), note=note)


def _line(line: BillLine, measures: Measures) -> tuple[Value, ...]:
    quantity, unit = _quantity(line.quantity, line.unit, measures)
    return (
        line.heading,
        line.item,
        line.name,
        quantity,
        unit,
        money(line.material_cents),
        line.hours,
        money(line.labour_cents),
        money(line.total_cents),
    )


def _below(line: BelowLine, measures: Measures) -> tuple[Value, ...]:
    quantity, unit = _quantity(line.quantity, line.unit, measures)
    name = f"{line.name}: {line.note}"
    total = money(line.total_cents)
    return (line.why, line.item, name, quantity, unit, total, None, None, total)
