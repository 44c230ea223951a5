"""Lines of an estimate, in whole cents."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from service.engine.building.places import Building
from service.engine.signal.units import M_PER_FT


def cents(amount: Decimal) -> int:
    """An amount in whole cents, halves away from nothing.

    >>> cents(Decimal("10.5")), cents(Decimal("-10.5"))
    (11, -11)
    """
    return int(amount.quantize(Decimal(1), rounding=ROUND_HALF_UP))


def written_length(building: Building, length_m: float | Decimal) -> str:
    """A length in a sentence, in the unit that the building speaks: no paper mixes feet and metres."""
    if building.length_unit == "ft":
        return f"{float(length_m) / M_PER_FT:.0f} ft"
    return f"{float(length_m):g} m"


@dataclass(frozen=True, slots=True, kw_only=True)
class EstimateLine:
    """One line of cost: its section, what it is, what it stands on, money by kind, hours.

    `pieces` counts what is bought for it, 0 where that is counted elsewhere or nothing is bought.
    """

    section: str
    name: str
    note: str
    material_cents: int = 0
    labour_cents: int = 0
    subcontract_cents: int = 0
    hours: Decimal = Decimal(0)
    pieces: int = 0

    @property
    def total_cents(self) -> int:
        """Material, labour and subcontract."""
        return self.material_cents + self.labour_cents + self.subcontract_cents
