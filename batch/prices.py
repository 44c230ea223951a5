"""Price sheets of a workbook: a user's prices laid over those of the library."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from decimal import Decimal

from batch.problems import Problem
from batch.records import Record, shared_name
from service.engine.plant.tariff import CablePrice, PartPrice, Tariff

_OWN = "own"


def read_prices(
    records: Iterable[Record], library: Mapping[str, Tariff]
) -> tuple[dict[str, Tariff], list[Problem]]:
    """Tariffs of the library and of the workbook by id, and what is wrong with the workbook's rows.

    A complaint concerns the price sheet it stands in: buildings that use another one are designed.
    """
    own: dict[str, Tariff] = {}
    problems: list[Problem] = []
    for record in records:
        name, base = record.text("prices"), record.text("based_on")
        if name in library:
            wrong = ("prices", "duplicate-id", "a price sheet of the library", "a name of its own")
        elif base not in library:
            choices = ", ".join(sorted(library))
            wrong = ("based_on", "unknown-prices", "no price sheet of the library", f"one of {choices}")
        else:
            tariff = own.get(name) or replace(library[base], id=name, note=f"{name} over {base}")
            laid = _laid(tariff, record)
            own[name] = laid if isinstance(laid, Tariff) else tariff
            if isinstance(laid, Tariff):
                continue
            wrong = laid
        problems.append(_problem(record, *wrong))
    return {**library, **own}, problems


Wrong = tuple[str, str, str, str]


def _laid(tariff: Tariff, record: Record) -> Tariff | Wrong:
    """The tariff with one row laid over it, or what is wrong: header, code, looks like, right."""
    what, name, said = record.text("what"), record.text("id"), record.values.get("price")
    if not isinstance(said, str):
        return ("price", "missing", "a row without a price", "a price, as a number")
    cents = Decimal(said) * 100
    if cents < 0:
        return ("price", "out-of-range", "a price below zero", "a price of zero or more")
    whole_cents = int(cents.to_integral_value())
    if what == "hour":
        return replace(tariff, labour_cents_per_h=whole_cents)
    if what == "part":
        if not tariff.prices_part(name):
            return ("id", "unknown-part", "no part of the price sheet", "a part of the library")
        return replace(tariff, parts=tuple(_part(row, name, whole_cents, record) for row in tariff.parts))
    if what == "cable":
        if not tariff.prices_cable(name):
            return ("id", "unknown-cable", "no cable of the price sheet", "a cable of the library")
        return replace(tariff, cables=tuple(_cable(row, name, float(cents)) for row in tariff.cables))
    return ("what", "missing", "a row that doesn't say what it prices", "part, cable or hour")


def _part(row: PartPrice, name: str, price_cents: int, record: Record) -> PartPrice:
    hours = record.values.get("labour_h")
    labour_h = float(hours) if isinstance(hours, (int, float)) else row.labour_h
    return replace(row, price_cents=price_cents, labour_h=labour_h, source=_OWN) if row.part == name else row


def _cable(row: CablePrice, name: str, cents_per_m: float) -> CablePrice:
    return replace(row, cents_per_m=cents_per_m, source=_OWN) if row.cable == name else row


def _problem(record: Record, header: str, code: str, looks_like: str, right: str) -> Problem:
    return Problem(
        code=code,
        spot=record.spot(header),
        building=shared_name("prices", record.text("prices")),
        value=record.text(header),
        looks_like=looks_like,
        right=right,
    )
