"""The price sheet behind the estimate, setting by setting: what was stated and what is the example's."""

from __future__ import annotations

from dataclasses import fields
from decimal import Decimal

from service.documents.table import Column, Table, Value, money
from service.engine.building.rates import Rates
from service.engine.plant.tariff import Tariff

_EXAMPLE = "example: common practice, no source"
_INVENTED = "example: invented price"
_OWN = "stated for this building"
#: Units by the last words of a setting's name, the longest first.
_UNITS = (("_h_per_m", "h/m"), ("_every_m", "m"), ("_share", "share of 1"), ("_days", "days"), ("_h", "h"))
_Row = tuple[Value, ...]


def rates_table(rates: Rates, tariff: Tariff) -> Table:
    """Rates, kits and alternates of the estimate, then the labour and pulls of the price sheet."""
    own = set(rates.own)
    rows: list[_Row] = [
        _setting(rates, row.name, tariff.currency, own)
        for row in fields(rates)
        if row.name not in ("kits", "alternates", "put_ups", "own")
    ]
    rows += [
        (
            "reels",
            f"put-up of {row.cable or 'every cable'}",
            "put_ups",
            Decimal(f"{row.length_m:.2f}"),
            "m",
            _OWN,
        )
        for row in rates.put_ups
    ]
    starts = [0, len(rows)]
    said = _OWN if "kits" in own else f"{_INVENTED}, hours common practice"
    for item in rates.kits:
        name = f"{item.name}, {item.each} each"
        rows.append((f"{item.kit} kit", name, "kits", money(item.price_cents), tariff.currency, said))
        if item.labour_h:
            rows.append((f"{item.kit} kit", name, "kits", item.labour_h, "h", said))
    starts.append(len(rows))
    rows += _labour(tariff)
    columns = (
        Column(name="what", width=14),
        Column(name="setting", kind="wide", width=40),
        Column(name="field", width=24),
        Column(name="value", kind="exact", width=12),
        Column(name="unit", width=12),
        Column(name="stands on", kind="wide", width=32),
    )
    note = (
        "Replace each by your own: fields of the section estimate of the building, labour and "
        "pulls in the price sheet. Values stand in the units of their fields."
    )
    return Table(
        id="rates",
        title="Rates",
        columns=columns,
        rows=tuple(rows),
        starts=tuple(sorted(set(starts))),
        note=note,
        portrait=True,
    )


def _setting(rates: Rates, name: str, currency: str, own: set[str]) -> _Row:
    """One rate with its unit; cents are shown as money."""
    value = getattr(rates, name)
    stands = _OWN if name in own else _INVENTED if name.endswith("_cents") else _EXAMPLE
    if name.endswith("_cents"):
        return (
            "price",
            _words(name, "_cents"),
            name.removesuffix("_cents") + "_price",
            money(value),
            currency,
            stands,
        )
    for tail, unit in _UNITS:
        if name.endswith(tail):
            return ("rate", _words(name, tail if unit != "m" else "_m"), name, value, unit, stands)
    if isinstance(value, bool):
        return ("rate", _words(name, ""), name, "yes" if value else "no", "", stands)
    return ("rate", _words(name, ""), name, value, "", stands)


def _words(name: str, tail: str) -> str:
    return name.removesuffix(tail).replace("_", " ")


def _labour(tariff: Tariff) -> list[_Row]:
    """Hours of the price sheet, which the direct cost stands on."""
    sheet = f"price sheet {tariff.id}"
    rows: list[_Row] = [
        (
            "labour",
            "one person-hour",
            "labour_per_h",
            money(tariff.labour_cents_per_h),
            tariff.currency,
            sheet,
        ),
        ("labour", "one cable end with its label", "end_h", Decimal(str(tariff.end_h)), "h", sheet),
        (
            "labour",
            "test of one run, beside the levels of balance and test",
            "test_h",
            Decimal(str(tariff.test_h)),
            "h",
            sheet,
        ),
    ]
    for pull in tariff.pulls:
        for word, field, hours in (
            ("first", "first_h_per_m", pull.first_h_per_m),
            ("each further", "further_h_per_m", pull.further_h_per_m),
        ):
            name = f"{word} cable of a way, {pull.kind}"
            per_km = Decimal(str(round(1000.0 * hours, 4)))
            rows.append(("pulls", name, field, per_km, "h/1000 m", f"{sheet}: {pull.source}"))
    return rows
