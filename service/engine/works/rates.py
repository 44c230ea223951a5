"""Rates of an estimate: hours by task, kits, factors, overhead, mark-ups. A filled-in example, never the truth.

Hours and shares are common practice, no source; prices of kits are invented. Whoever estimates puts their own in.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from service.engine.building.places import Survey

RATES_STAND_ON = "Example price sheet: hours and shares common practice, no source; prices of kits invented."

KitName = Literal["outlet", "panel", "closet", "entry", "head-end"]


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
class Rates:
    """What an estimate adds to the direct cost. Shares are of 1.

    `floors_without_factor` counts floors that are reached without a lift at no extra; each one above them adds
    `floor_share` to the labour on it, where there is no `lift`. `high_share` is the share of the pulls above
    3.5 m. `tax_base` says what is taxed. `hours_range` and `material_range` bound the range of the price,
    plus and minus; lengths take theirs from the survey.
    """

    kits: tuple[KitItem, ...] = _KITS
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
    no_access_share: Decimal = Decimal("0.15")
    no_access_h: Decimal = Decimal("0.75")
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
    markup_material: Decimal = Decimal("0.15")
    markup_labour: Decimal = Decimal("0.20")
    markup_subcontract: Decimal = Decimal("0.10")
    tax_share: Decimal = Decimal(0)
    tax_base: Literal["nothing", "material", "everything"] = "everything"
    contingency_walked: Decimal = Decimal("0.05")
    contingency_drawings: Decimal = Decimal("0.10")
    contingency_outline: Decimal = Decimal("0.20")
    length_walked: Decimal = Decimal("0.03")
    length_drawings: Decimal = Decimal("0.10")
    length_outline: Decimal = Decimal("0.25")
    hours_range: Decimal = Decimal("0.20")
    material_range: Decimal = Decimal("0.05")
    validity_days: int = 30

    def contingency_share(self, survey: Survey) -> Decimal:
        """Contingency by how well the building is known."""
        return {
            "walked": self.contingency_walked,
            "drawings": self.contingency_drawings,
            "outline": self.contingency_outline,
        }[survey]

    def length_share(self, survey: Survey) -> Decimal:
        """How far lengths may be off, by how well the building is known."""
        return {
            "walked": self.length_walked,
            "drawings": self.length_drawings,
            "outline": self.length_outline,
        }[survey]

    def __post_init__(self) -> None:
        shares = (self.markup_material, self.markup_labour, self.markup_subcontract, self.overhead_share)
        if min(*shares, self.tax_share, self.no_access_share) < 0:
            raise ValueError("shares of an estimate are not negative")
