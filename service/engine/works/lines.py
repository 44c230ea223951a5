"""Lines of an estimate, in whole cents."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal


def cents(amount: Decimal) -> int:
    """An amount in whole cents, halves away from nothing.

    >>> cents(Decimal("10.5")), cents(Decimal("-10.5"))
    (11, -11)
    """
    return int(amount.quantize(Decimal(1), rounding=ROUND_HALF_UP))


@dataclass(frozen=True, slots=True, kw_only=True)
class EstimateLine:
    """One line of cost: its section, what it is, what it stands on, money by kind, hours."""

    section: str
    name: str
    note: str
    material_cents: int = 0
    labour_cents: int = 0
    subcontract_cents: int = 0
    hours: Decimal = Decimal(0)

    @property
    def total_cents(self) -> int:
        """Material, labour and subcontract."""
        return self.material_cents + self.labour_cents + self.subcontract_cents
