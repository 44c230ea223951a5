"""Lines that stand on every summary, whatever the design says. None of them reads as a permission."""

from __future__ import annotations

STANDING_LINES = (
    "One-way television only: not verified for two-way service or home networking.",
    "A calculation annex, not a signed project. Limits are an engineering yardstick, not a declaration of "
    "conformity.",
    "Jackets, firestops, fill and bonding: local codes and licensed practice decide; verify with the "
    "authority.",
    "Loss of cable by its standard maxima. Prices, hours and shares marked common practice or invented have "
    "no other source.",
)
