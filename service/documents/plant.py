"""Parts and cables as a network document brings them along: unrounded, so that they give the same levels."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from service.documents.faces import curve_rows
from service.engine.plant.cables import Cable
from service.engine.plant.parts import NO_RANGE, Active, Part, PortGroup, Power, SettingRange
from service.engine.signal.curves import Curve

_RANGES = ("gain_db", "slope_db", "input_pad_db", "input_equaliser_db")
_LONGEST_SOURCE = 500


def part_document(part: Part) -> dict[str, Any]:
    """A part as an own part of a network document."""
    document: dict[str, Any] = {
        "id": part.id,
        "name": part.name,
        "family": part.family,
        "groups": [_group(group) for group in part.groups],
        "isolation": [
            {"group_a": row.group_a, "group_b": row.group_b, "isolation_db": curve_rows(row.isolation_db)}
            for row in part.isolation
        ],
        "tolerance_db": part.tolerance_db,
        "tolerance_high_db": part.tolerance_high_db,
        "power": {row.name: getattr(part.power, row.name) for row in fields(Power)},
        "width_mm": part.width_mm,
    }
    if not part.power.injects_into:
        del document["power"]["injects_into"]
    if part.return_loss_db is not None:
        document["return_loss_db"] = curve_rows(part.return_loss_db)
    if part.active is not None:
        document["active"] = _active(part.active)
    return document | _source(part.sources)


def _source(sources: tuple[tuple[str, str], ...]) -> dict[str, str]:
    text = "; ".join(key if figure == "all" else f"{figure}: {key}" for figure, key in sources)
    return (
        {"source": text if len(text) <= _LONGEST_SOURCE else text[: _LONGEST_SOURCE - 3] + "..."}
        if text
        else {}
    )


def _group(group: PortGroup) -> dict[str, Any]:
    if max(group.gain_db.value) <= 0.0:
        loss = Curve(
            frequency_mhz=group.gain_db.frequency_mhz,
            value=tuple(0.0 - value for value in group.gain_db.value),
        )
        figure: dict[str, Any] = {"loss_db": curve_rows(loss)}
    else:
        figure = {"gain_db": curve_rows(group.gain_db)}
    return {
        "name": group.name,
        "count": group.count,
        **figure,
        "ends_in": group.ends_in,
        "passes_power": group.passes_power,
    }


def _active(active: Active) -> dict[str, Any]:
    document: dict[str, Any] = {
        "noise_figure_db": curve_rows(active.noise_figure_db),
        "ratings": [
            {row.name: getattr(rating, row.name) for row in fields(rating)} for rating in active.ratings
        ],
    }
    for name in _RANGES:
        allowed: SettingRange = getattr(active, name)
        if name == "gain_db" or allowed != NO_RANGE:
            document[name] = {"low": allowed.low, "high": allowed.high, "step": allowed.step}
    for name in ("slope_low_mhz", "slope_high_mhz", "reverse_isolation_db", "test_point_db"):
        document[name] = getattr(active, name)
    for name in ("input_low_dbmv", "input_high_dbmv"):
        if getattr(active, name) is not None:
            document[name] = getattr(active, name)
    return document


def cable_document(cable: Cable) -> dict[str, Any]:
    """A cable as an own cable of a network document."""
    return {
        "id": cable.id,
        "name": cable.name,
        "series": cable.series,
        "jacket": cable.jacket,
        "loss_db_per_100m": curve_rows(cable.loss_db_per_100m),
        "loop_resistance_ohm_per_km": cable.loop_resistance_ohm_per_km,
        **_source(cable.sources),
    }
