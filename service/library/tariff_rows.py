"""Rows to tariffs: prices apart from the parts they price, because they age faster."""

from __future__ import annotations

from decimal import Decimal

from service.engine.plant.tariff import CablePrice, PartPrice, PullRate, Tariff
from service.library.complaints import Complaint
from service.library.reading import Row


def tariffs_from(
    rows: tuple[Row, ...], part_ids: frozenset[str], cable_ids: frozenset[str]
) -> tuple[dict[str, Tariff], list[Complaint]]:
    """Every tariff by id, and what is wrong: prices of what there isn't, in tariffs that aren't there."""
    heads = {row.text("tariff"): row for row in rows if row.table == "tariffs"}
    complaints: list[Complaint] = []
    by_tariff: dict[str, dict[str, list[Row]]] = {}
    for row in rows:
        if row.table not in ("part_prices", "cable_prices", "pull_rates"):
            continue
        complaints += _complaints(row, heads, part_ids, cable_ids)
        by_tariff.setdefault(row.text("tariff"), {}).setdefault(row.table, []).append(row)
    tariffs: dict[str, Tariff] = {}
    for tariff_id, head in heads.items():
        if head.text("terminator") not in part_ids:
            complaints.append(
                head.complaint("terminator", "unknown-part", "no such part", "the id of a row in parts.csv")
            )
        tariffs[tariff_id] = _tariff(head, by_tariff.get(tariff_id, {}))
    return tariffs, complaints


def _complaints(
    row: Row, heads: dict[str, Row], part_ids: frozenset[str], cable_ids: frozenset[str]
) -> list[Complaint]:
    complaints: list[Complaint] = []
    if row.text("tariff") not in heads:
        right = f"one of {', '.join(sorted(heads))}, or a row in tariffs.csv"
        complaints.append(row.complaint("tariff", "unknown-tariff", "no such tariff", right))
    if row.table == "part_prices" and row.text("part") not in part_ids:
        complaints.append(
            row.complaint("part", "unknown-part", "no such part", "the id of a row in parts.csv")
        )
    if row.table == "cable_prices" and row.text("cable") not in cable_ids:
        complaints.append(
            row.complaint("cable", "unknown-cable", "no such cable", "the id of a row in cables.csv")
        )
    return complaints


def _cents(row: Row, column: str) -> int:
    return int(Decimal(row.text(column)) * 100)


def _tariff(head: Row, tables: dict[str, list[Row]]) -> Tariff:
    return Tariff(
        id=head.text("tariff"),
        currency=head.text("currency"),
        labour_cents_per_h=_cents(head, "labour_per_h"),
        parts=tuple(
            PartPrice(
                part=row.text("part"),
                price_cents=_cents(row, "price"),
                labour_h=row.number("labour_h"),
                source=row.text("source"),
            )
            for row in tables.get("part_prices", [])
        ),
        cables=tuple(
            CablePrice(
                cable=row.text("cable"),
                cents_per_m=round(row.number("price_per_m") * 100.0, 6),
                end_cents=_cents(row, "price_per_end"),
                source=row.text("source"),
            )
            for row in tables.get("cable_prices", [])
        ),
        pulls=tuple(
            PullRate(
                kind=row.text("kind"),
                first_h_per_m=row.number("first_h_per_m"),
                further_h_per_m=row.number("further_h_per_m"),
                source=row.text("source"),
            )
            for row in tables.get("pull_rates", [])
        ),
        end_h=head.number("end_h"),
        test_h=head.number("test_h"),
        terminator=head.text("terminator"),
        variety_cents=_cents(head, "variety"),
        note=head.text("note"),
    )
