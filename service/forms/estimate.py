"""The estimator's own rates: the section `estimate` of a building document laid over the example."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, get_args

from marshmallow import ValidationError

from service.engine.building.rates import Alternate, KitItem, KitName, PutUp, Rates, TaxBase
from service.forms.building_rows import Lengths
from service.forms.lengths import Length
from service.forms.reading import Json
from service.forms.strict import (
    ID_PATTERN,
    Choice,
    Complaint,
    Flag,
    Form,
    Number,
    Section,
    Sections,
    Text,
    Whole,
)

KITS: tuple[KitName, ...] = get_args(KitName)
_READ_APART = ("kits", "alternates", "put_ups", "support_every_m", "support_every_ft")
TAX_BASES: tuple[TaxBase, ...] = get_args(TaxBase)


class Price(Number):
    """An amount of money with at most two digits after the point."""

    def take(self, value: Any) -> float:
        """The amount as it stands."""
        number = super().take(value)
        if Decimal(str(number)) * 100 % 1:
            wrong, right = "it has more digits than cents", "two digits after the point"
            raise ValidationError([Complaint(wrong, code="wrong-form", right=right)])
        return number


class KitForm(Form):
    """An item of a kit."""

    kit = Choice("kit", KITS, required=True)
    item = Text("kit_item", required=True, least=1)
    each = Number("kit_each")
    price = Price("item_price", required=True)
    labour_h = Number("item_h")


class AlternateForm(Form):
    """Work that the customer may take or leave, priced like the rest."""

    item = Text("kit_item", required=True, least=1)
    material_price = Price("material_price")
    labour_h = Number("item_h")
    subcontract_price = Price("subcontract_price")
    deducts = Flag("deducts")


class PutUpForm(Form):
    """A length in which cable is bought."""

    cable = Text("cable", pattern=ID_PATTERN, right="the id of a cable, or left out for every cable")
    put_up_m = Length("put_up_m")
    put_up_ft = Length("put_up_ft")


class RateFields(Form):
    """Rates by name. Left out: the example's, common practice without a source."""

    support_price = Price("support_price")
    support_every_m = Length("support_every_m")
    support_every_ft = Length("support_every_ft")
    firestop_price = Price("firestop_price")
    firestop_h = Number("firestop_h")
    mobilisation_h = Number("mobilisation_h")
    headend_h = Number("headend_h")
    mast_h = Number("mast_h")
    test_outlet_h = Number("test_outlet_h")
    test_unit_h = Number("test_unit_h")
    close_out_h = Number("close_out_h")
    supervision_share = Number("supervision_share")
    visits_per_unit = Number("visits_per_unit")
    visit_h = Number("visit_h")
    visit_price = Price("visit_price")
    notice_days = Whole("notice_days")
    notice_h = Number("notice_h")
    no_access_share = Number("no_access_share")
    no_access_h = Number("no_access_h")
    test_existing_h = Number("test_existing_h")
    removal_h_per_m = Number("removal_rate")
    occupied_factor = Number("occupied_factor")
    high_factor = Number("high_factor")
    high_share = Number("high_share")
    lift = Flag("lift")
    floors_without_factor = Whole("floors_without_factor")
    floor_share = Number("floor_share")
    permit_price = Price("permit_price")
    patching_price = Price("patching_price")
    disposal_price = Price("disposal_price")
    overhead_share = Number("overhead_share")
    markup_material_share = Number("markup_material_share")
    markup_labour_share = Number("markup_labour_share")
    markup_subcontract_share = Number("markup_subcontract_share")
    tax_share = Number("tax_share")
    tax_base = Choice("tax_base", TAX_BASES)
    contingency_walked_share = Number("contingency_walked_share")
    contingency_drawings_share = Number("contingency_drawings_share")
    contingency_outline_share = Number("contingency_outline_share")
    length_walked_share = Number("length_walked_share")
    length_drawings_share = Number("length_drawings_share")
    length_outline_share = Number("length_outline_share")
    hours_range_share = Number("hours_range_share")
    material_range_share = Number("material_range_share")
    waste_new_share = Number("waste_new_share")
    waste_retrofit_share = Number("waste_retrofit_share")
    spare_share = Number("spares_share")
    validity_days = Whole("validity_days")


class EstimateForm(RateFields):
    """The estimator's own rates over the example, kits and alternates."""

    kits = Sections(KitForm, description="Kits in place of the example's.")
    alternates = Sections(AlternateForm, description="Work to be added or deducted, priced like the rest.")
    put_ups = Sections(
        PutUpForm, description="Boxes and reels that the buyer gets, in place of the library's."
    )


def estimate_section() -> Section:
    """The section as the building document has it."""
    return Section(EstimateForm, description="Rates of the estimate. Left out: the example's.")


def rates_of(valid: Json, lengths: Lengths) -> Rates:
    """The rates of a document: its own where stated, the example's elsewhere."""
    row = valid.get("estimate")
    if not isinstance(row, dict):
        return Rates()
    own: dict[str, Any] = {}
    for name, value in row.items():
        if name.endswith("_price"):
            own[name.removesuffix("_price") + "_cents"] = cents_of(value)
        elif name not in _READ_APART:
            own[name] = Decimal(str(value)) if isinstance(value, float) else value
    every_m = lengths.read(row, ("estimate",), "support_every")[0]
    if every_m is not None:
        own["support_every_m"] = Decimal(str(round(every_m, 4)))
    kits, alternates, put_ups = row.get("kits"), row.get("alternates"), row.get("put_ups")
    if isinstance(kits, list):
        own["kits"] = tuple(_kit(item) for item in kits if {"kit", "item", "price"} <= item.keys())
    if isinstance(alternates, list):
        own["alternates"] = tuple(_alternate(item) for item in alternates if "item" in item)
    if isinstance(put_ups, list):
        own["put_ups"] = _put_ups(put_ups, lengths)
    return Rates(**own, own=tuple(sorted(own)))


def cents_of(amount: float) -> int:
    """An amount of the document in whole cents."""
    return int(Decimal(str(amount)) * 100)


def _put_ups(rows: list[Json], lengths: Lengths) -> tuple[PutUp, ...]:
    """Put-ups with a length, in the order of the document: complaints name them by it."""
    path = ("estimate", "put_ups")
    read = [(row, lengths.read(row, (*path, at), "put_up")[0]) for at, row in enumerate(rows)]
    return tuple(PutUp(length_m=length_m or 0.0, cable=row.get("cable")) for row, length_m in read)


def _kit(row: Json) -> KitItem:
    return KitItem(
        kit=row["kit"],
        name=row["item"],
        each=Decimal(str(row.get("each", 1.0))),
        price_cents=cents_of(row["price"]),
        labour_h=Decimal(str(row.get("labour_h", 0.0))),
    )


def _alternate(row: Json) -> Alternate:
    return Alternate(
        name=row["item"],
        material_cents=cents_of(row.get("material_price", 0.0)),
        labour_h=Decimal(str(row.get("labour_h", 0.0))),
        subcontract_cents=cents_of(row.get("subcontract_price", 0.0)),
        deducts=row.get("deducts", False),
    )
