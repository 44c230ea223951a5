"""The sheets that say on which terms buildings are designed: line-ups, wishes and policy, prices."""

from __future__ import annotations

from dataclasses import fields
from typing import get_args, get_type_hints

from batch.cells import Kind
from batch.columns import Column, Sheet
from service.engine.building.places import Policy, Wishes

FEEDS = Sheet(
    title="feeds",
    text="One row for each carrier of a line-up. What holds for the whole line-up stands in its first row.",
    columns=(
        Column(name="feed", kind="id", defines="feed", required=True, note="Id of the line-up."),
        Column(name="channel", kind="id", note="Channel of the building's plan, or else a frequency."),
        Column(name="carrier", kind="id", keys=("id",), note="Name of a carrier that is given by frequency."),
        Column(
            name="plan", kind="id", lists="plans", note="Plan of the channel, where it isn't the building's."
        ),
        Column(name="frequency_mhz", kind="number", unit="MHz", note="Centre frequency."),
        Column(name="low_mhz", kind="number", unit="MHz", note="Lower edge, where a frequency stands."),
        Column(name="high_mhz", kind="number", unit="MHz", note="Upper edge, where a frequency stands."),
        Column(
            name="level_dbmv",
            kind="number",
            unit="dBmV",
            others=(("level_dbuv", "dBµV"), ("level_dbm", "dBm")),
            required=True,
            note="Level at the head-end's output: channel power, analogue peak.",
        ),
        Column(
            name="cn_db", kind="number", unit="dB", note="Carrier to noise. Empty: not known, counts as none."
        ),
        Column(name="service", kind="id", lists="services", note="Kind of signal. Empty: as the plan says."),
        Column(
            name="source",
            kind="choice",
            keys=("kind",),
            choices=("off-air", "provider"),
            note="Whose signal it is: picks the tolerance. First row.",
        ),
        Column(
            name="feed_plan",
            kind="id",
            keys=("plan",),
            lists="plans",
            note="Plan of the line-up, where it isn't the building's. First row.",
        ),
        Column(name="outputs", kind="whole", note="Outputs of the head-end. First row."),
        Column(name="output_isolation_db", kind="number", unit="dB", note="Between two of them. First row."),
        Column(
            name="max_level_dbmv",
            kind="number",
            unit="dBmV",
            others=(("max_level_dbuv", "dBµV"),),
            note="Highest level the head-end can give. First row.",
        ),
    ),
)

FEED_WIDE = ("source", "feed_plan", "outputs", "output_isolation_db", "max_level_dbmv", "max_level_dbuv")

_WISH_NOTES = {
    "aim": "simplest: fewest kinds of part within 3 % of the cheapest. balanced: least spread for the money.",
    "effort": "How much work the search may do.",
    "spread_db": "Largest spread of levels asked for over the building.",
    "unit_spread_db": "Largest spread of levels asked for within a flat.",
    "riser_cable": "Cable of the library for risers.",
    "drop_cable": "Cable of the library for drops.",
    "outlet_part": "Outlet of the library.",
}


_KINDS: dict[object, Kind] = {bool: "flag", int: "whole", float: "number", str: "id"}


def _columns_of(record: type, section: str, notes: dict[str, str]) -> tuple[Column, ...]:
    """A column for each field of a record of the engine."""
    hints = get_type_hints(record)
    return tuple(
        Column(
            name=row.name,
            kind=_kind_of(hints[row.name]),
            keys=(section, row.name),
            unit="dB" if row.name.endswith("_db") else "",
            choices=tuple(choice for choice in get_args(hints[row.name]) if isinstance(choice, str)),
            note=notes.get(row.name)
            or f"Rule: {row.name.replace('_', ' ')}. Empty: {_default(row.default)}.",
        )
        for row in fields(record)
    )


def _kind_of(hint: object) -> Kind:
    if hint in _KINDS:
        return _KINDS[hint]
    return next((_KINDS[choice] for choice in get_args(hint) if choice in _KINDS), "choice")


def _default(value: object) -> str:
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)


WISHES = Sheet(
    title="wishes and policy",
    text="One row for each building that differs from the defaults; * stands for every building.",
    columns=(
        Column(
            name="building",
            kind="id",
            refers="building",
            required=True,
            note="Id of the building, or * for every building without a row of its own.",
        ),
        *_columns_of(Wishes, "wishes", _WISH_NOTES),
        *_columns_of(Policy, "policy", {}),
    ),
)

PRICES = Sheet(
    title="prices",
    text="Your own prices over a price sheet of the library. Each row changes one price.",
    columns=(
        Column(name="prices", kind="id", defines="prices", required=True, note="Name of your price sheet."),
        Column(name="based_on", kind="id", lists="tariffs", required=True, note="Price sheet it lies over."),
        Column(
            name="what",
            kind="choice",
            choices=("part", "cable", "hour"),
            required=True,
            note="part: price of one. cable: price of a metre. hour: price of a person-hour.",
        ),
        Column(name="id", kind="id", note="Part or cable of the library."),
        Column(name="price", kind="money", required=True, note="Price, as a number in the sheet's currency."),
        Column(name="labour_h", kind="number", unit="h", note="Hours to mount the part. Empty: as before."),
    ),
)
