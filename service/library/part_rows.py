"""Rows to parts: port groups, figures, amplifier data and power, each checked against the others."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import cast

from service.engine.plant.energy import energy_by_frequency
from service.engine.plant.parts import (
    Active,
    EndsIn,
    GroupIsolation,
    Part,
    PortGroup,
    Power,
    Rating,
    RatingBasis,
    SettingRange,
    Supply,
)
from service.engine.signal.curves import Curve
from service.library.complaints import Complaint
from service.library.reading import Row

#: Rows of one figure's curve by (group as written, figure).
Figures = dict[tuple[str, str], list[Row]]

_OWN_GROUP = {"return_loss_db": "input", "noise_figure_db": "amplifier"}
_PAIR = "~"


def parts_from(
    rows: tuple[Row, ...], families: Mapping[str, Mapping[str, str]]
) -> tuple[tuple[Part, ...], list[Complaint]]:
    """Every part the rows describe, in the order of the parts tables, and what is wrong with the others."""
    heads = [row for row in rows if row.table == "parts"]
    known = {row.text("part") for row in heads}
    complaints: list[Complaint] = []
    by_part: dict[str, dict[str, list[Row]]] = {}
    for row in rows:
        if row.table not in ("ports", "figures", "amplifiers", "ratings"):
            continue
        part_id = row.text("part")
        if part_id in known:
            by_part.setdefault(part_id, {}).setdefault(row.table, []).append(row)
        else:
            complaints.append(
                row.complaint("part", "unknown-part", "no such part", "the id of a row in parts.csv")
            )
    parts: list[Part] = []
    for head in heads:
        part, found = _part(head, by_part.get(head.text("part"), {}))
        if head.text("family") not in families:
            right = f"one of {', '.join(sorted(families))}"
            found.append(head.complaint("family", "unknown-family", "no such family", right))
        complaints += found
        if part is not None and not found:
            parts.append(part)
    return tuple(parts), complaints


def curve_of(rows: list[Row], column: str, sign: float = 1.0) -> Curve:
    """The curve of some rows, whatever their order; `sign` −1 turns a loss into a gain."""
    ordered = sorted(rows, key=lambda row: row.number("frequency_mhz"))
    return Curve(
        frequency_mhz=tuple(row.number("frequency_mhz") for row in ordered),
        value=tuple(sign * row.number(column) + 0.0 for row in ordered),
    )


def _part(head: Row, tables: dict[str, list[Row]]) -> tuple[Part | None, list[Complaint]]:
    figures: Figures = {}
    for row in tables.get("figures", []):
        figures.setdefault((row.text("group"), row.text("figure")), []).append(row)
    names = [row.text("group") for row in tables.get("ports", [])]
    complaints = _group_complaints(figures, names)
    groups: list[PortGroup] = []
    for row in tables.get("ports", []):
        group, found = _group(row, figures)
        complaints += found
        groups += [group] if group is not None else []
    active, found = _active(head, tables, figures, groups)
    complaints += found
    complaints += _power_complaints(head, names)
    if complaints:
        return None, complaints
    reflected = figures.get(("input", "return_loss_db"))
    part = Part(
        id=head.text("part"),
        family=head.text("family"),
        name=head.text("name"),
        groups=tuple(groups),
        isolation=_isolation(figures),
        return_loss_db=curve_of(reflected, "value") if reflected else None,
        tolerance_db=head.number("tolerance_db"),
        tolerance_high_db=head.number("tolerance_high_db"),
        active=active,
        power=_power(head),
        width_mm=head.number("width_mm"),
        sources=_sources(head, tables),
    )
    return part, [] if active is not None else _energy_complaints(part, figures)


def _group_complaints(figures: Figures, names: list[str]) -> list[Complaint]:
    """Figures of a group that the part doesn't have, or of a group that has no such figure."""
    complaints: list[Complaint] = []
    for (group, figure), rows in figures.items():
        if figure in _OWN_GROUP:
            right = _OWN_GROUP[figure]
            wrong_group = group != right
        elif figure == "isolation_db":
            pair = group.split(_PAIR)
            wrong_group = len(pair) != 2 or any(name not in names for name in pair)
            right = f"two of {', '.join(names)} with {_PAIR} between"
        else:
            wrong_group = group not in names
            right = f"one of {', '.join(names)}" if names else "a row of that group in ports.csv"
        if wrong_group:
            complaints.append(
                rows[0].complaint("group", "unknown-group", f"no group for {figure} of that name", right)
            )
    return complaints


def _group(row: Row, figures: Figures) -> tuple[PortGroup | None, list[Complaint]]:
    name = row.text("group")
    losses = figures.get((name, "loss_db"))
    gains = figures.get((name, "gain_db"))
    if losses and gains:
        wrong, right = "the group has both a loss and a gain", "one of the two"
        return None, [gains[0].complaint("figure", "contradiction", wrong, right)]
    if losses:
        gain = curve_of(losses, "value", -1.0)
    elif gains:
        gain = curve_of(gains, "value")
    else:
        wrong, right = "the group has no loss and no gain", "rows loss_db or gain_db in figures.csv"
        return None, [row.complaint("group", "missing-row", wrong, right)]
    group = PortGroup(
        name=name,
        count=int(row.number("count")),
        gain_db=gain,
        ends_in=cast(EndsIn, row.text("ends_in")),
        passes_power=bool(row.cells["passes_power"]),
    )
    return group, []


def _isolation(figures: Figures) -> tuple[GroupIsolation, ...]:
    rows: list[GroupIsolation] = []
    for (pair, figure), curve in figures.items():
        if figure == "isolation_db":
            group_a, group_b = pair.split(_PAIR)
            rows.append(
                GroupIsolation(group_a=group_a, group_b=group_b, isolation_db=curve_of(curve, "value"))
            )
    return tuple(rows)


def _active(
    head: Row, tables: dict[str, list[Row]], figures: Figures, groups: list[PortGroup]
) -> tuple[Active | None, list[Complaint]]:
    ratings = tables.get("ratings", [])
    noise = figures.get(("amplifier", "noise_figure_db"), [])
    if "amplifiers" not in tables:
        wrong, right = "the part is no amplifier", "a row of the part in amplifiers.csv"
        return None, [
            row.complaint("part", "missing-row", wrong, right) for row in (*ratings[:1], *noise[:1])
        ]
    row = tables["amplifiers"][0]
    complaints: list[Complaint] = []
    if not ratings:
        right = "a row of the part in ratings.csv"
        complaints.append(head.complaint("part", "missing-row", "an amplifier without a rated output", right))
    if not noise:
        right = "rows noise_figure_db of group amplifier in figures.csv"
        complaints.append(head.complaint("part", "missing-row", "an amplifier without a noise figure", right))
    top = max(groups[0].gain_db.value) if groups else math.nan
    if groups and abs(top - row.number("gain_high_db")) > 0.051:
        wrong, right = "not the full gain of the first group", f"its highest gain_db, {top:g}"
        complaints.append(row.complaint("gain_high_db", "contradiction", wrong, right))
    for low, high in (
        ("gain_low_db", "gain_high_db"),
        ("slope_low_mhz", "slope_high_mhz"),
        ("input_low_dbmv", "input_high_dbmv"),
    ):
        if None not in (row.cells[low], row.cells[high]) and row.number(low) > row.number(high):
            complaints.append(row.complaint(low, "contradiction", f"above {high}", f"at most {high}"))
    if complaints:
        return None, complaints
    return _active_of(row, ratings, curve_of(noise, "value")), []


def _active_of(row: Row, ratings: list[Row], noise_figure_db: Curve) -> Active:
    return Active(
        noise_figure_db=noise_figure_db,
        ratings=tuple(
            Rating(
                basis=cast(RatingBasis, rating.text("basis")),
                output_dbmv=rating.number("output_dbmv"),
                ratio_db=rating.number("ratio_db"),
                carriers=2 if rating.cells["carriers"] is None else int(rating.number("carriers")),
            )
            for rating in ratings
        ),
        gain_db=_range(row, "gain"),
        slope_db=_range(row, "slope"),
        input_pad_db=_range(row, "pad"),
        input_equaliser_db=_range(row, "equaliser"),
        slope_low_mhz=row.number("slope_low_mhz"),
        slope_high_mhz=row.number("slope_high_mhz"),
        input_low_dbmv=_optional(row, "input_low_dbmv"),
        input_high_dbmv=_optional(row, "input_high_dbmv"),
        reverse_isolation_db=row.number("reverse_isolation_db"),
        test_point_db=row.number("test_point_db"),
    )


def _range(row: Row, name: str) -> SettingRange:
    low, high, step = (row.number(f"{name}_{edge}_db") for edge in ("low", "high", "step"))
    return SettingRange(low=low, high=high, step=step)


def _optional(row: Row, column: str) -> float | None:
    return None if row.cells[column] is None else row.number(column)


def _power(head: Row) -> Power:
    return Power(
        supply=cast(Supply, head.text("supply")),
        draws_w=head.number("draws_w"),
        least_v=head.number("least_v"),
        injects_v=head.number("injects_v"),
        injects_a=head.number("injects_a"),
        injects_into=head.text("injects_into"),
    )


def _power_complaints(head: Row, names: list[str]) -> list[Complaint]:
    complaints: list[Complaint] = []
    into = head.text("injects_into")
    if into and into not in ("input", *names):
        right = ", ".join(("input", *names))
        complaints.append(head.complaint("injects_into", "unknown-group", "no such group", right))
    if bool(into) != (head.number("injects_v") > 0.0):
        wrong, right = "a voltage without a place, or a place without a voltage", "both or neither"
        complaints.append(head.complaint("injects_v", "contradiction", wrong, right))
    if head.text("supply") == "line" and head.number("least_v") <= 0.0:
        wrong, right = "a line-powered part that needs no voltage", "the least voltage it works at"
        complaints.append(head.complaint("least_v", "contradiction", wrong, right))
    return complaints


def _energy_complaints(part: Part, figures: Figures) -> list[Complaint]:
    """One complaint at the worst frequency, on the row of the group that gives the most there."""
    totals = energy_by_frequency(part)
    if not totals:
        return []
    frequency, total = max(totals, key=lambda pair: pair[1])
    if total <= 1.0 + 1e-9:
        return []
    here = [group for group in part.groups if group.gain_db.covers(frequency)]
    shares = {g.name: g.count * 10.0 ** (g.gain_db.at_one(frequency) / 10.0) for g in here}
    group = max(here, key=lambda g: shares[g.name])
    left = 1.0 - (total - shares[group.name])
    right = "losses of all ports that together leave no more than what goes in"
    if left > 0.0:
        least = math.ceil(-10.0 * math.log10(left / group.count) * 1000.0 - 1e-9) / 1000.0
        right = f"a loss of at least {least:.3f} dB here while the other groups stay"
    rows = figures.get((group.name, "loss_db")) or figures[(group.name, "gain_db")]
    row = min(rows, key=lambda item: abs(item.number("frequency_mhz") - frequency))
    wrong = f"at {frequency:g} MHz {part.id} gives out {total:.4f} times what it takes"
    return [row.complaint("value", "beats-physics", wrong, right)]


def _sources(head: Row, tables: dict[str, list[Row]]) -> tuple[tuple[str, str], ...]:
    pairs = {("part", head.text("source"))}
    for row in tables.get("figures", []):
        pairs.add((f"{row.text('group')}.{row.text('figure')}", row.text("source")))
    for row in tables.get("amplifiers", []):
        pairs.add(("amplifier", row.text("source")))
    for row in tables.get("ratings", []):
        pairs.add((f"rating {row.text('basis')}", row.text("source")))
    return tuple(sorted(pairs))
