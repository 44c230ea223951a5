"""A user's rows laid over ours, rows that say the same thing twice, and rows that hang on damaged ones."""

from __future__ import annotations

from service.library.columns import TABLES
from service.library.complaints import Complaint
from service.library.reading import Row

_OF_A_PART = ("ports", "figures", "amplifiers", "ratings")

#: By the column that joins them: tables whose damage leaves a thing incomplete, tables that then say nothing.
_HANGING = {
    "part": (("parts", *_OF_A_PART), ("parts", *_OF_A_PART)),
    "series": (("cable_losses",), ("cables", "cable_losses")),
    "tariff": (("tariffs",), ("part_prices", "cable_prices", "pull_rates")),
}


def laid_over(base: tuple[Row, ...], over: tuple[Row, ...]) -> tuple[Row, ...]:
    """The rows of `base` with those of `over` in their place.

    A part named in the user's parts table is replaced whole, with its ports, figures and ratings. Otherwise
    a row replaces what it stands for: a curve the whole curve, a price that price.
    """
    whole = {row.text("part") for row in over if row.table == "parts"}
    replaced = {(row.table, *row.key(TABLES[row.table].replaces)) for row in over}
    kept = tuple(
        row
        for row in base
        if (row.table, *row.key(TABLES[row.table].replaces)) not in replaced
        and not (row.table in _OF_A_PART and row.text("part") in whole)
    )
    return kept + over


def without_repeats(rows: tuple[Row, ...]) -> tuple[tuple[Row, ...], list[Complaint]]:
    """The rows without those that repeat another one, and a complaint for each of these."""
    seen: dict[tuple[str, ...], Row] = {}
    complaints: list[Complaint] = []
    for row in rows:
        unique = TABLES[row.table].unique
        key = (row.table, *row.key(unique))
        if key in seen:
            first = seen[key]
            wrong = f"said already in {first.file}, row {first.row}"
            complaints.append(row.complaint(unique[-1], "duplicate-row", wrong, "each row once"))
        else:
            seen[key] = row
    return tuple(seen.values()), complaints


def apart_from(rows: tuple[Row, ...], damaged: tuple[Row, ...]) -> tuple[Row, ...]:
    """The rows that don't hang on a damaged one: its part's, its series', its tariff's."""
    hurt = {
        name: {row.text(name) for row in damaged if row.table in tables and name in row.cells}
        for name, (tables, _) in _HANGING.items()
    }
    return tuple(
        row
        for row in rows
        if not any(
            row.table in tables and row.text(name) in hurt[name] for name, (_, tables) in _HANGING.items()
        )
    )
