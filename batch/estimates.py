"""The sheets of the estimator: rates, kits and alternates over the example."""

from __future__ import annotations

from typing import Any

from batch.cells import Kind
from batch.columns import Column, Sheet, length
from service.forms.estimate import KITS, RateFields
from service.forms.strict import Choice, Flag, StrictField, Whole


def _owner() -> Column:
    return Column(
        name="building",
        kind="id",
        refers="building",
        required=True,
        note="Id of the building, or * for every building without a row of its own.",
    )


def _kind(field: StrictField) -> Kind:
    if isinstance(field, Flag):
        return "flag"
    if isinstance(field, Choice):
        return "choice"
    return "whole" if isinstance(field, Whole) else "number"


def _column(name: str, field: Any) -> Column:
    """A column for a rate, with the text of its field."""
    if name.endswith("_m") and field.entry.unit == "m":
        return length(name, field.entry.text, keys=("estimate", name))
    return Column(
        name=name,
        kind=_kind(field),
        keys=("estimate", name),
        unit=field.entry.unit,
        choices=field.choices if isinstance(field, Choice) else (),
        note=field.entry.text,
    )


RATES = Sheet(
    title="rates",
    text="Rates of the estimate where they differ from the example, which is common practice without a source.",
    columns=(
        _owner(),
        *(_column(name, field) for name, field in RateFields().fields.items() if not name.endswith("_ft")),
    ),
)

PUT_UPS = Sheet(
    title="put-ups",
    text="Boxes and reels that the buyer gets, in place of the library's.",
    columns=(
        _owner(),
        Column(name="cable", note="Id of a cable of the library. Empty: every cable."),
        length("put_up_m", "Cable on one box or reel.", required=True),
    ),
)

KIT_ITEMS = Sheet(
    title="kits",
    text="Items of kits in place of all of the example's, and alternates to be added or deducted.",
    columns=(
        _owner(),
        Column(
            name="kit",
            kind="choice",
            choices=(*KITS, "alternate"),
            required=True,
            note="Kit that the item is part of; alternate: work to be taken or left.",
        ),
        Column(name="item", required=True, note="What it is.", width=30),
        Column(name="each", kind="number", note="How many in one kit. Empty: 1."),
        Column(name="price", kind="number", note="Price of one; material of an alternate."),
        Column(name="labour_h", kind="number", unit="h", note="Hours to mount one; hours of an alternate."),
        Column(name="subcontract_price", kind="number", note="An alternate: what others are paid."),
        Column(name="deducts", kind="flag", note="An alternate: yes where it is taken off the price."),
    ),
)
