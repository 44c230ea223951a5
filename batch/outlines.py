"""The columns of a building that is known in outline only: they stand in place of its rows on other sheets."""

from __future__ import annotations

from typing import get_args

from batch.columns import Column, Keys, length
from service.engine.building.places import UnitFeed


def _keys(name: str) -> Keys:
    return ("outline", name)


OUTLINE = (
    Column(
        name="outline_floors",
        kind="whole",
        keys=_keys("floors"),
        note="Storeys with flats, all alike. An outline takes the place of every row of the building elsewhere.",
    ),
    Column(
        name="outline_units_per_floor",
        kind="whole",
        keys=_keys("units_per_floor"),
        note="Outline: flats on each storey.",
    ),
    Column(
        name="outline_outlets_per_unit",
        kind="number",
        keys=_keys("outlets_per_unit"),
        note="Outline: outlets of a flat, on average.",
    ),
    length(
        "outline_plate_length_m",
        "Outline: outside length of a storey; the corridor runs along it.",
        keys=_keys("plate_length_m"),
    ),
    length("outline_plate_width_m", "Outline: outside width of a storey.", keys=_keys("plate_width_m")),
    Column(
        name="outline_risers",
        kind="whole",
        keys=_keys("risers"),
        note="Outline: riser shafts with a closet on every storey. Empty: 1.",
    ),
    Column(
        name="outline_feed",
        kind="choice",
        keys=_keys("feed"),
        choices=get_args(UnitFeed),
        note="Outline: panel, one cable to a panel in the flat; home-run, one cable for each outlet.",
    ),
)
