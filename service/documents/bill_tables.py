"""What the buyer and the estimator work from: parts and cable, and the cost line by line."""

from __future__ import annotations

from service.documents.measures import Measures
from service.documents.table import Column, Table, Value, money
from service.engine.works.bill import BelowLine, Bill, BillLine


def _quantity(quantity: float, unit: str, measures: Measures) -> tuple[float, str]:
    """A quantity in the building's unit: metres may be feet on paper, pieces are whole numbers."""
    return (measures.length(quantity), measures.length_unit) if unit == "m" else (round(quantity), unit)


def parts_table(bill: Bill, measures: Measures) -> Table:
    """What to buy: what is built in, and what waste, packs and spares add, by heading."""
    extra: dict[str, float] = {}
    for more in bill.below:
        extra[more.item] = extra.get(more.item, 0.0) + more.quantity
    boxes = {
        plan.cable: " and ".join(f"{count} × {_put_up(put_up, measures)}" for put_up, count in plan.put_ups)
        for plan in bill.reels
    }
    built: dict[tuple[str, str], float] = {}
    names: dict[tuple[str, str], tuple[str, str]] = {}
    for line in bill.lines:
        ends = line.sort == "ends"
        key = (line.heading, line.item)
        built[key] = built.get(key, 0.0) + (2.0 if ends else 1.0) * line.quantity
        names[key] = ("Connector with label", "pcs") if ends else (line.name, line.unit)
    rows: list[tuple[Value, ...]] = []
    starts: list[int] = []
    for heading, item in built:
        name, unit = names[heading, item]
        here, shown = _quantity(built[heading, item], unit, measures)
        added, _ = _quantity(extra.get(item, 0.0), unit, measures)
        if not rows or rows[-1][0] != heading:
            starts.append(len(rows))
        bought = f"{boxes[item]} and 1 spare" if item in boxes else ""
        rows.append((heading, item, name, here, added, here + added, shown, bought))
    columns = (
        Column(name="heading", width=20),
        Column(name="part or cable", width=16),
        Column(name="name", kind="wide"),
        Column(name="built in", kind="number"),
        Column(name="waste, packs, spares", kind="number", width=12),
        Column(name="to buy", kind="number"),
        Column(name="unit", width=6),
        Column(name="put-ups", width=22),
    )
    waste = f"{bill.reels[0].waste_share:.0%} waste, " if bill.reels else ""
    note = f"Cable as pulled, then {waste}whole boxes and a spare one of each type."
    return Table(
        id="parts", title="Parts", columns=columns, rows=tuple(rows), starts=tuple(starts), note=note
    )


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
