"""What the estimator works from: cost by line, the way to the price, ranges, what is in and what is not."""

from __future__ import annotations

from service.documents.table import Column, Table, Value, money
from service.engine.building.rates import RATES_STAND_ON
from service.engine.plant.tariff import Tariff
from service.engine.works.estimate import Estimate

_Row = tuple[Value, ...]


def estimate_table(estimate: Estimate, tariff: Tariff) -> Table:
    """Lines of cost, then price; every total is the sum of the lines printed above it."""
    rows: list[_Row] = []
    marks: list[tuple[int, str]] = []

    def head(name: str, note: str, *figures: Value) -> None:
        marks.append((len(rows), "head"))
        filled = (*figures, *(None for _ in range(5 - len(figures))))
        rows.append(("", name, note, *filled))

    for line in estimate.lines:
        kinds = (line.material_cents, line.labour_cents, line.subcontract_cents, line.total_cents)
        amounts = tuple(money(amount) for amount in kinds)
        rows.append((line.section, line.name, line.note, float(line.hours), *amounts))
    lines = estimate.lines
    head(
        "Cost",
        "the sum of the lines above",
        float(estimate.hours),
        money(sum(line.material_cents for line in lines)),
        money(sum(line.labour_cents for line in lines)),
        money(sum(line.subcontract_cents for line in lines)),
        money(estimate.cost_cents),
    )
    rows += [_only("price", row.name, row.note, row.amount_cents) for row in estimate.price_lines]
    head("Price", "cost and the lines above", None, None, None, None, money(estimate.price_cents))
    rows += _beside(estimate)
    for name, texts in (("Included", estimate.inclusions), ("Excluded", estimate.exclusions)):
        head(name, "")
        rows += [("", text, "", None, None, None, None, None) for text in texts]
    columns = (
        Column(name="section", width=13),
        Column(name="line", kind="wide", width=52),
        Column(name="stands on", kind="wide", width=42),
        Column(name="hours", unit="h", kind="number"),
        Column(name="material", unit=estimate.currency, kind="money"),
        Column(name="labour", unit=estimate.currency, kind="money"),
        Column(name="subcontract", unit=estimate.currency, kind="money"),
        Column(name="total", unit=estimate.currency, kind="money"),
    )
    note = (
        f"{RATES_STAND_ON} Labour is hours × {money(tariff.labour_cents_per_h)} {tariff.currency} by price sheet "
        f"{tariff.id}; factors have lines of their own. Direct cost equals the design's own to the cent. "
        f"Valid {estimate.validity_days} days from the revision's date."
    )
    return Table(
        id="estimate", title="Estimate", columns=columns, rows=tuple(rows), marks=tuple(marks), note=note
    )


def _only(section: str, name: str, note: str, amount_cents: int) -> _Row:
    """A line that has a total alone."""
    return (section, name, note, None, None, None, None, money(amount_cents))


def _beside(estimate: Estimate) -> list[_Row]:
    """What stands beside the price: mark-up and margin, range, what-ifs, an outlet more, alternates."""
    low, high = estimate.range_cents
    shares = f"mark-up {estimate.markup_share:.1%} on cost, margin {estimate.margin_share:.1%} of the price"
    spread = f"of 10 in the ranges of the sheet Rates, fixed draws; survey: {estimate.survey}"
    rows: list[_Row] = [
        ("beside", "Mark-up is not margin", f"{shares}, before tax", None, None, None, None, None),
        _only("beside", "Price, low", f"undercut 1 time {spread}", low),
        _only("beside", "Price, expected", "as above", estimate.price_cents),
        _only("beside", "Price, high", f"exceeded 1 time {spread}", high),
    ]
    rows += [
        _only("beside", f"Price if {question}", "all else alike", price)
        for question, price in estimate.what_ifs
    ]
    if estimate.outlets:
        each = round(estimate.price_cents / estimate.outlets)
        rows.append(_only("beside", "Price an outlet", f"price through {estimate.outlets} outlets", each))
    extra = "part, average run, kit, test; priced like the rest"
    rows.append(_only("beside", "Price of one outlet more", extra, estimate.extra_outlet_cents))
    for name, change in estimate.alternates:
        word = "add" if change >= 0 else "deduct"
        note = f"{word}; priced like the rest"
        rows.append(_only("alternate", f"Alternate: {name}", note, change))
    if not estimate.alternates:
        none = "none stated, and no other design that serves every outlet"
        rows.append(("alternate", "Alternates", none, None, None, None, None, None))
    return rows
