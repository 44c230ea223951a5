"""Raceways: how full a tube or trunking gets, and how hard its cables are pulled along straights and bends.

Fill of coax is a design rule and a warning, never a violation of a code; bends between pull points and the
cables' own limits of tension count as they stand. Sources: NEC Chapter 9 Tables 1 and 4 for fill and areas of
EMT; common practice (IEEE 1185 is named as the primary source, from memory) for the pulling equations.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from service.engine.findings import Finding

IN2_PER_MM2 = 1.0 / 25.4**2
STANDARD_GRAVITY = 9.80665

#: Trade size of EMT and inner area in square inches. Source: NEC Chapter 9 Table 4.
EMT_IN2: tuple[tuple[str, float], ...] = (
    ("1/2", 0.304),
    ("3/4", 0.533),
    ("1", 0.864),
    ("1-1/4", 1.496),
    ("1-1/2", 2.036),
    ("2", 3.356),
    ("2-1/2", 5.858),
    ("3", 8.846),
    ("3-1/2", 11.545),
    ("4", 14.753),
)
#: Inner width and height of trunking in millimetres. Common practice, from memory.
TRUNKING_MM: tuple[tuple[float, float], ...] = (
    (16.0, 16.0),
    (25.0, 16.0),
    (40.0, 25.0),
    (50.0, 50.0),
    (75.0, 50.0),
    (100.0, 50.0),
    (100.0, 100.0),
    (150.0, 100.0),
)
#: Names of the raceways that a way may be stated to have: trade sizes of EMT, inner sizes of trunking in millimetres.
RACEWAYS = (
    *(f"emt-{size}" for size, _ in EMT_IN2),
    *(f"trunking-{width:g}x{height:g}" for width, height in TRUNKING_MM),
)
#: Share of trunking that cables may fill, room for later ones left. Common practice, from memory.
TRUNKING_FILL = 0.45
NIPPLE_FILL = 0.60
#: Friction of a dry pull without lubricant, and the load on a bend above which a jacket is at risk (300 lb/ft).
#: Common practice, from memory.
FRICTION = 0.5
MOST_SIDEWALL_N_PER_M = 4378.0
#: Bends between two pull points: what the raceway articles allow, from memory, and what crews ask for.
MOST_BENDS_DEG = 360.0
USUAL_BENDS_DEG = 180.0
USUAL_PULL_M = 30.0
#: Cables of a bundle never share a pull evenly: their limits together count less. Common practice.
BUNDLE_SHARE = 0.8


def fill_limit(cables: int, *, nipple: bool = False) -> float:
    """Share of a tube that so many cables may fill: 53 % one, 31 % two, 40 % more; 60 % in a nipple ≤ 24 in.

    Source: NEC Chapter 9 Table 1 and its notes.

    >>> fill_limit(1), fill_limit(2), fill_limit(3)
    (0.53, 0.31, 0.4)
    """
    if nipple:
        return NIPPLE_FILL
    return {1: 0.53, 2: 0.31}.get(cables, 0.40)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill:
    """How full a raceway gets. `next_size` is the smallest size that fits, "" when none does."""

    size: str
    cables: int
    cable_mm2: float
    share: float
    limit: float
    next_size: str

    @property
    def fits(self) -> bool:
        """True when the cables fill no more than the design rule has it."""
        return self.share <= self.limit + 1e-9


def cable_area_mm2(diameters_mm: Sequence[float]) -> float:
    """Area that round cables of those outer diameters take."""
    return sum(math.pi / 4.0 * diameter**2 for diameter in diameters_mm)


def least_emt(cables: int, cable_mm2: float, *, nipple: bool = False) -> str:
    """The smallest EMT that the cables don't overfill, "" when none is great enough."""
    limit = fill_limit(cables, nipple=nipple)
    need_in2 = cable_mm2 * IN2_PER_MM2
    return next((size for size, area in EMT_IN2 if need_in2 <= area * limit + 1e-9), "")


def emt_fill(size: str, cables: int, cable_mm2: float, *, nipple: bool = False) -> Fill:
    """How full an EMT of a trade size gets. Raises ValueError for a size that there isn't."""
    areas = dict(EMT_IN2)
    if size not in areas:
        raise ValueError(f"EMT has no size {size}: {', '.join(areas)}")
    return Fill(
        size=size,
        cables=cables,
        cable_mm2=cable_mm2,
        share=cable_mm2 * IN2_PER_MM2 / areas[size],
        limit=fill_limit(cables, nipple=nipple),
        next_size=least_emt(cables, cable_mm2, nipple=nipple),
    )


def trunking_fill(width_mm: float, height_mm: float, cables: int, cable_mm2: float) -> Fill:
    """How full a trunking of that inner size gets, against one share whatever the number of cables."""
    return Fill(
        size=trunking_name(width_mm, height_mm),
        cables=cables,
        cable_mm2=cable_mm2,
        share=cable_mm2 / (width_mm * height_mm),
        limit=TRUNKING_FILL,
        next_size=least_trunking(cable_mm2),
    )


def raceway_fill(raceway: str, cables: int, cable_mm2: float) -> Fill:
    """How full a raceway of the list gets. Raises ValueError for a name that isn't on it.

    >>> raceway_fill("trunking-40x25", 4, 150.0).share
    0.15
    """
    kind, _, size = raceway.partition("-")
    if raceway not in RACEWAYS:
        raise ValueError(f"there is no raceway {raceway}")
    if kind == "emt":
        return emt_fill(size, cables, cable_mm2)
    width, height = (float(side) for side in size.split("x"))
    return trunking_fill(width, height, cables, cable_mm2)


def least_trunking(cable_mm2: float) -> str:
    """The smallest trunking that the cables don't overfill, "" when none is great enough."""
    fits = (size for size in TRUNKING_MM if cable_mm2 <= size[0] * size[1] * TRUNKING_FILL + 1e-9)
    return next((trunking_name(*size) for size in fits), "")


def trunking_name(width_mm: float, height_mm: float) -> str:
    """How a trunking is written.

    >>> trunking_name(40.0, 25.0)
    '40 × 25 mm'
    """
    return f"{width_mm:g} × {height_mm:g} mm"


def fill_finding(fill: Fill, where: str, source: str) -> Finding | None:
    """A warning for a raceway that is fuller than the design rule has it; None when it isn't."""
    if fill.fits:
        return None
    fits = f"the next size that fits is {fill.next_size}" if fill.next_size else "no listed size fits"
    return Finding(
        rule="raceway-fill",
        severity="warns",
        where=(where,),
        measured=round(100.0 * fill.share, 1),
        limit=round(100.0 * fill.limit, 1),
        unit="%",
        source=source,
        text=f"{fill.cables} cables fill {fill.size} beyond the design rule: {fits}.",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A part of a pull. A straight or slope has a length and rises by `rise_deg` (negative: downwards, 90:
    straight up); a bend turns by `turn_deg` on `radius_m`."""

    kind: Literal["straight", "slope", "bend"]
    length_m: float = 0.0
    rise_deg: float = 0.0
    turn_deg: float = 0.0
    radius_m: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Tension:
    """Tension at the end of each stretch, the greatest sidewall load, and the sum of bends."""

    after_n: tuple[float, ...]
    greatest_n: float
    sidewall_n_per_m: float
    bends_deg: float


def bend_factor(friction: float, turn_deg: float) -> float:
    """By what a bend multiplies the tension: e^(K·a).

    >>> round(bend_factor(0.5, 90.0), 2)
    2.19
    """
    return math.exp(friction * math.radians(turn_deg))


def tension_along(
    stretches: Sequence[Stretch], weight_n_per_m: float, *, friction: float = FRICTION, start_n: float = 0.0
) -> Tension:
    """Tension of a pull, stretch by stretch, in newtons.

    Straight T + L·w·K; slope T + L·w·(sin θ + K·cos θ), and never less than nothing where the cable runs
    down by itself; bend T·e^(K·a), with T/R against its wall.
    """
    tension, most, sidewall, bends = start_n, start_n, 0.0, 0.0
    after: list[float] = []
    for stretch in stretches:
        if stretch.kind == "bend":
            tension *= bend_factor(friction, stretch.turn_deg)
            bends += stretch.turn_deg
            if stretch.radius_m > 0.0:
                sidewall = max(sidewall, tension / stretch.radius_m)
        else:
            angle = math.radians(stretch.rise_deg if stretch.kind == "slope" else 0.0)
            per_m = weight_n_per_m * (math.sin(angle) + friction * math.cos(angle))
            tension = max(0.0, tension + stretch.length_m * per_m)
        after.append(tension)
        most = max(most, tension)
    return Tension(after_n=tuple(after), greatest_n=most, sidewall_n_per_m=sidewall, bends_deg=bends)


def longest_straight_m(limit_n: float, weight_n_per_m: float, *, friction: float = FRICTION) -> float:
    """Length of a level straight at which a cable's limit of tension is reached."""
    return limit_n / (weight_n_per_m * friction)


def bundle_limit_n(limits_n: Sequence[float]) -> float:
    """Tension that a bundle bears: one cable its limit, several the weakest one's times their number, less a
    fifth."""
    if not limits_n:
        return 0.0
    share = BUNDLE_SHARE if len(limits_n) > 1 else 1.0
    return min(limits_n) * len(limits_n) * share


def pull_findings(
    name: str, tension: Tension, limit_n: float, way_m: float, *, source: str = "common practice"
) -> tuple[Finding, ...]:
    """Warnings of one pull: tension, sidewall load, bends; and a note where a pull point between would help."""
    found: list[Finding] = []

    def warn(rule: str, measured: float, limit: float, unit: str, text: str, *, note: bool = False) -> None:
        found.append(
            Finding(
                rule=rule,
                severity="notes" if note else "warns",
                where=(name,),
                measured=round(measured, 1),
                limit=limit,
                unit=unit,
                source=source,
                text=text,
            )
        )

    if tension.greatest_n > limit_n:
        warn("pull-tension", tension.greatest_n, limit_n, "N", "The pull is harder than its cables bear.")
    if tension.sidewall_n_per_m > MOST_SIDEWALL_N_PER_M:
        warn(
            "sidewall-load",
            tension.sidewall_n_per_m,
            MOST_SIDEWALL_N_PER_M,
            "N/m",
            "A bend presses the cables harder than jackets bear.",
        )
    if tension.bends_deg > MOST_BENDS_DEG:
        text = "More bends between pull points than the raceway articles have: set a pull point between."
        warn("pull-bends", tension.bends_deg, MOST_BENDS_DEG, "°", text)
    elif tension.bends_deg > USUAL_BENDS_DEG:
        warn("pull-bends", tension.bends_deg, USUAL_BENDS_DEG, "°", "A pull point between helps.", note=True)
    if way_m > USUAL_PULL_M and tension.bends_deg > 0.0:
        text = "A long pull with bends: a pull point between helps."
        warn("pull-length", way_m, USUAL_PULL_M, "m", text, note=True)
    return tuple(found)
