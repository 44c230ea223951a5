"""Which cable may run through which space: two relations, United States types and European fire classes.

Figures from memory of NEC Table 800.154 (formerly 820.154) and EN 50575: "verify with the authority". Never a
permission.
"""

from __future__ import annotations

from typing import Literal

Region = Literal["us", "europe"]

#: Spaces a way may cross. The unknown ones count as the strictest of their kind.
SPACES = (
    "plenum",
    "riser",
    "general",
    "unit",
    "outdoor",
    "buried",
    "attic",
    "unknown-ceiling",
    "unknown-vertical",
)

#: Spaces that no way may cross at all: common practice and codes alike.
FORBIDDEN_SPACES = ("exit-stair", "hoistway", "refuse-chute", "air-duct")

_US_ALLOWED: dict[str, tuple[str, ...]] = {
    "plenum": ("CATVP",),
    "unknown-ceiling": ("CATVP",),
    "riser": ("CATVP", "CATVR"),
    "unknown-vertical": ("CATVP", "CATVR"),
    "general": ("CATVP", "CATVR", "CATV"),
    "attic": ("CATVP", "CATVR", "CATV"),
    "unit": ("CATVP", "CATVR", "CATV", "CATVX"),
    "outdoor": ("outdoor",),
    "buried": ("buried",),
}

_EUROPE_ALLOWED: dict[str, tuple[str, ...]] = {
    "plenum": ("B2ca", "Cca"),
    "unknown-ceiling": ("B2ca", "Cca"),
    "riser": ("B2ca", "Cca"),
    "unknown-vertical": ("B2ca", "Cca"),
    "general": ("B2ca", "Cca", "Dca"),
    "attic": ("B2ca", "Cca", "Dca"),
    "unit": ("B2ca", "Cca", "Dca", "Eca"),
    "outdoor": ("outdoor",),
    "buried": ("buried",),
}


def allowed_jackets(region: Region, space: str) -> tuple[str, ...]:
    """Jackets that may run through a space, strictest first; empty for a space no way may cross."""
    table = _US_ALLOWED if region == "us" else _EUROPE_ALLOWED
    return table.get(space, ())


def jackets_for(region: Region, spaces: tuple[str, ...]) -> tuple[str, ...]:
    """Jackets that may run through every one of the spaces: the strictest space decides."""
    if not spaces:
        return allowed_jackets(region, "unknown-ceiling")
    common = allowed_jackets(region, spaces[0])
    for space in spaces[1:]:
        others = allowed_jackets(region, space)
        common = tuple(jacket for jacket in common if jacket in others)
    return common
