"""Rows to cables: a cable is a construction, its series, in a jacket; the loss belongs to the series."""

from __future__ import annotations

import itertools

from service.engine.plant.cables import Cable
from service.library.complaints import Complaint
from service.library.part_rows import curve_of
from service.library.reading import Row


def cables_from(rows: tuple[Row, ...], part_ids: frozenset[str]) -> tuple[tuple[Cable, ...], list[Complaint]]:
    """Every cable the rows describe, and what is wrong with the others. `part_ids` are the known parts."""
    losses: dict[str, list[Row]] = {}
    for row in rows:
        if row.table == "cable_losses":
            losses.setdefault(row.text("series"), []).append(row)
    complaints = [complaint for curve in losses.values() for complaint in _falling(curve)]
    cables: list[Cable] = []
    for row in rows:
        if row.table != "cables":
            continue
        found = _complaints(row, losses, part_ids)
        complaints += found
        if not found:
            cables.append(_cable(row, losses[row.text("series")]))
    return tuple(cables), complaints


def _complaints(row: Row, losses: dict[str, list[Row]], part_ids: frozenset[str]) -> list[Complaint]:
    complaints: list[Complaint] = []
    if row.text("series") not in losses:
        right = "a series with rows in cable_losses.csv"
        complaints.append(row.complaint("series", "missing-row", "no loss for the series", right))
    if row.text("connector") not in part_ids:
        complaints.append(
            row.complaint("connector", "unknown-part", "no such part", "the id of a row in parts.csv")
        )
    if row.number("bend_pulling_mm") < row.number("bend_installed_mm"):
        wrong, right = "tighter while pulled than installed", "at least bend_installed_mm"
        complaints.append(row.complaint("bend_pulling_mm", "contradiction", wrong, right))
    return complaints


def _falling(curve: list[Row]) -> list[Complaint]:
    """A cable's loss never falls with frequency: the mark of rows swapped or of a wrong unit."""
    ordered = sorted(curve, key=lambda row: row.number("frequency_mhz"))
    wrong, right = "less than at a lower frequency", "a loss that rises with frequency, in dB per 100 m"
    return [
        row.complaint("loss_db_per_100m", "contradiction", wrong, right)
        for before, row in itertools.pairwise(ordered)
        if row.number("loss_db_per_100m") < before.number("loss_db_per_100m")
    ]


def _cable(row: Row, losses: list[Row]) -> Cable:
    pairs = {("cable", row.text("source"))}
    pairs |= {("loss_db_per_100m", loss.text("source")) for loss in losses}
    return Cable(
        id=row.text("cable"),
        series=row.text("series"),
        name=row.text("name"),
        jacket=row.text("jacket"),
        loss_db_per_100m=curve_of(losses, "loss_db_per_100m"),
        loop_resistance_ohm_per_km=row.number("loop_resistance_ohm_per_km"),
        outer_diameter_mm=row.number("outer_diameter_mm"),
        mass_kg_per_km=row.number("mass_kg_per_km"),
        pull_limit_n=row.number("pull_limit_n"),
        bend_installed_mm=row.number("bend_installed_mm"),
        bend_pulling_mm=row.number("bend_pulling_mm"),
        screening_class=row.text("screening_class"),
        connector=row.text("connector"),
        put_ups_m=row.numbers("put_ups_m"),
        sources=tuple(sorted(pairs)),
    )
