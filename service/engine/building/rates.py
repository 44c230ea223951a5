"""Rates of an estimate: hours by task, kits, visits, factors, overhead, mark-ups. A filled-in example, never the truth.

Hours and shares are common practice, no source; prices of kits are invented. Whoever estimates puts their own in:
every field can be given by the building document.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Literal

RATES_STAND_ON = "Example price sheet: hours and shares common practice, no source; prices of kits invented."

Survey = Literal["walked", "drawings", "outline"]
KitName = Literal["outlet", "panel", "closet", "entry", "head-end"]
TaxBase = Literal["nothing", "material", "everything"]


@dataclass(frozen=True, slots=True, kw_only=True)
class KitItem:
    """One thing of a kit: how many each, its price, the hours to mount one."""

    kit: KitName
    name: str
    each: Decimal
    price_cents: int
    labour_h: Decimal = Decimal(0)


def _item(kit: KitName, name: str, price_cents: int, labour_h: str = "0", each: str = "1") -> KitItem:
    return KitItem(
        kit=kit, name=name, each=Decimal(each), price_cents=price_cents, labour_h=Decimal(labour_h)
    )


_KITS = (
    _item("outlet", "Plate, bracket, room label", 260),
    _item("panel", "Enclosure in the flat, labels", 1850, "0.4"),
    _item("closet", "Enclosure with lock, labels", 6500, "0.6"),
    _item("closet", "Ground bar with conductor", 2400, "0.3"),
    _item("entry", "Bonded block, surge protection, bonding conductor", 4800, "0.8"),
    _item("head-end", "Backboard, surge protection, labels, riser diagram on the wall", 11500, "1.0"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternate:
    """Work that the customer may take or leave, priced like the rest. `deducts` takes it off the price."""

    name: str
    material_cents: int = 0
    labour_h: Decimal = Decimal(0)
    subcontract_cents: int = 0
    deducts: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PutUp:
    """A length in which the buyer gets cable: of one cable, or of every one where `cable` is None."""

    length_m: float
    cable: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """What an estimate adds to the direct cost. Shares are of 1, hours are of one person.

    `floors_without_factor` counts floors that are reached without a lift at no extra; each one above them adds
    `floor_share` to the labour on it, where there is no `lift`. `high_share` is the share of the pulls above
    3.5 m. `tax_base` says what is taxed. `hours_range_share` and `material_range_share` bound the range of the
    price, plus and minus; lengths take theirs from the survey. Visits and notices count for occupied flats alone.
    `own` names the fields that somebody stated; the rest is the example. Raises ValueError for a share below zero.
    """

    kits: tuple[KitItem, ...] = _KITS
    alternates: tuple[Alternate, ...] = ()
    put_ups: tuple[PutUp, ...] = ()
    support_cents: int = 90
    support_every_m: Decimal = Decimal("1.5")
    firestop_cents: int = 1400
    firestop_h: Decimal = Decimal("0.3")
    mobilisation_h: Decimal = Decimal(8)
    headend_h: Decimal = Decimal(12)
    mast_h: Decimal = Decimal(12)
    test_outlet_h: Decimal = Decimal("0.15")
    test_unit_h: Decimal = Decimal("0.1")
    close_out_h: Decimal = Decimal(12)
    supervision_share: Decimal = Decimal("0.10")
    visits_per_unit: Decimal = Decimal(1)
    visit_h: Decimal = Decimal("0.25")
    visit_cents: int = 0
    notice_days: int = 7
    notice_h: Decimal = Decimal("0.05")
    no_access_share: Decimal = Decimal("0.15")
    no_access_h: Decimal = Decimal("0.75")
    test_existing_h: Decimal = Decimal("0.25")
    removal_h_per_m: Decimal = Decimal("0.05")
    occupied_factor: Decimal = Decimal("1.5")
    high_factor: Decimal = Decimal("1.25")
    high_share: Decimal = Decimal(0)
    lift: bool = True
    floors_without_factor: int = 3
    floor_share: Decimal = Decimal("0.03")
    permit_cents: int = 0
    patching_cents: int = 0
    disposal_cents: int = 0
    overhead_share: Decimal = Decimal("0.10")
    markup_material_share: Decimal = Decimal("0.15")
    markup_labour_share: Decimal = Decimal("0.20")
    markup_subcontract_share: Decimal = Decimal("0.10")
    tax_share: Decimal = Decimal(0)
    tax_base: TaxBase = "everything"
    contingency_walked_share: Decimal = Decimal("0.05")
    contingency_drawings_share: Decimal = Decimal("0.10")
    contingency_outline_share: Decimal = Decimal("0.20")
    length_walked_share: Decimal = Decimal("0.03")
    length_drawings_share: Decimal = Decimal("0.10")
    length_outline_share: Decimal = Decimal("0.25")
    hours_range_share: Decimal = Decimal("0.20")
    material_range_share: Decimal = Decimal("0.05")
    waste_new_share: Decimal = Decimal("0.08")
    waste_retrofit_share: Decimal = Decimal("0.12")
    spare_share: Decimal = Decimal("0.05")
    validity_days: int = 30
    own: tuple[str, ...] = ()

    def put_ups_m(self, cable: str, listed_m: tuple[float, ...]) -> tuple[float, ...]:
        """Put-ups of a cable: stated for it, else stated for every cable, else those of the library."""
        for asked in (cable, None):
            stated = sorted({row.length_m for row in self.put_ups if row.cable == asked})
            if stated:
                return tuple(stated)
        return listed_m

    def contingency_share(self, survey: Survey) -> Decimal:
        """Contingency by how well the building is known."""
        return {
            "walked": self.contingency_walked_share,
            "drawings": self.contingency_drawings_share,
            "outline": self.contingency_outline_share,
        }[survey]

    def length_share(self, survey: Survey) -> Decimal:
        """How far lengths may be off, by how well the building is known."""
        return {
            "walked": self.length_walked_share,
            "drawings": self.length_drawings_share,
            "outline": self.length_outline_share,
        }[survey]

    def __post_init__(self) -> None:
        shares = [getattr(self, row.name) for row in fields(self) if row.name.endswith("_share")]
        if min(shares) < 0:
            raise ValueError("shares of an estimate are not negative")
