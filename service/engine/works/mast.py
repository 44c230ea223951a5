"""The mast: what it could fall on, how hard the wind bends it, and how it must be held.

Fall distance to power lines comes first: inside it nothing else is worked out. No figure here is a permission;
wind loads are those of the antennas' makers. Source: EN 60728-11 for wind, moment and clamped length, from
second hand.
"""

from __future__ import annotations

from collections.abc import Sequence

from service.engine.building.mast import Mast, MountedAntenna
from service.engine.findings import Finding, Severity

#: Wind pressure in N/m² up to 20 m above ground, above that, and on hills and coasts. Source: EN 60728-11.
WIND_LOW_PA, WIND_HIGH_PA, WIND_EXPOSED_PA = 800.0, 1100.0, 1250.0
LOW_UP_TO_M = 20.0
#: Drag of a round tube, moment at the upper clamp that wants a structural proof, least clamped share.
TUBE_DRAG = 1.2
PROOF_ABOVE_NM = 1650.0
LEAST_CLAMPED = 1.0 / 6.0
#: Fall distance: so many heights of mast with antenna, and never less. Common practice.
FALL_HEIGHTS = 1.5
LEAST_FALL_M = 3.0
_SOURCE = "EN 60728-11, from second hand: verify with the authority"


def wind_pa(above_ground_m: float, *, exposed: bool = False) -> float:
    """Wind pressure to reckon with at a height above ground.

    >>> wind_pa(12.0), wind_pa(35.0), wind_pa(5.0, exposed=True)
    (800.0, 1100.0, 1250.0)
    """
    if exposed:
        return WIND_EXPOSED_PA
    return WIND_LOW_PA if above_ground_m <= LOW_UP_TO_M else WIND_HIGH_PA


def antenna_moment_nm(antennas: Sequence[MountedAntenna]) -> float:
    """Bending moment of the antennas at the upper clamp: Σ wind load × height, of those whose load is known."""
    return sum((antenna.wind_n or 0.0) * antenna.height_m for antenna in antennas)


def tube_moment_nm(tube_mm: float, free_m: float, pressure_pa: float, *, drag: float = TUBE_DRAG) -> float:
    """Bending moment of the tube's own wind load: D·h²·q·c/2.

    >>> round(tube_moment_nm(60.0, 2.0, 800.0), 1)
    115.2
    """
    return tube_mm / 1000.0 * free_m**2 * pressure_pa * drag / 2.0


def mast_moment_nm(mast: Mast) -> float:
    """Bending moment at the upper clamp, antennas and tube together, as far as loads and tube are known."""
    pressure = wind_pa(mast.above_ground_m, exposed=mast.exposed)
    return antenna_moment_nm(mast.antennas) + tube_moment_nm(mast.tube_mm or 0.0, mast.free_m, pressure)


def unknown_of(mast: Mast) -> tuple[str, ...]:
    """What nobody stated and its moment and hold want, in words; empty where all of it is known."""
    silent = tuple(f"wind load of {row.name}" for row in mast.antennas if row.wind_n is None)
    return (
        *(() if mast.antennas else ("the antennas",)),
        *silent,
        *(() if mast.tube_mm is not None else ("the tube's diameter",)),
        *(() if mast.clamped_m is not None else ("the length between the clamps",)),
    )


def fall_distance_m(height_m: float) -> float:
    """Distance that a mast with its antenna, falling, must stay away from every line: 1.5 heights, 3 m at least.

    >>> fall_distance_m(1.0), fall_distance_m(6.0)
    (3.0, 9.0)
    """
    return max(LEAST_FALL_M, FALL_HEIGHTS * height_m)


def mast_findings(mast: Mast) -> tuple[Finding, ...]:
    """What stands against the mast, fall distance first; nothing else is worked out where a line is in reach.

    A distance outside the reach is noted as stated by whoever looked: it is no clearance.
    """
    reach = fall_distance_m(mast.height_m)
    if mast.line_m is None:
        text = "Nobody stated the distance to power lines: look before anything is raised."
        return (_finding("mast-fall", "warns", None, reach, "m", text), *_held(mast))
    if mast.line_m < reach:
        text = "Falling, the mast reaches a power line. Stop, and call the utility."
        return (_finding("mast-fall", "breaks", mast.line_m, reach, "m", text),)
    text = "Distance as stated, outside the reach of a fall. Look again on the day: this is no clearance."
    return (_finding("mast-fall", "notes", mast.line_m, reach, "m", text), *_held(mast))


def _held(mast: Mast) -> tuple[Finding, ...]:
    found: list[Finding] = []
    moment = mast_moment_nm(mast)
    if moment > PROOF_ABOVE_NM:
        text = "The moment at the upper clamp wants a structural proof by a qualified person."
        found.append(_finding("mast-moment", "warns", round(moment, 1), PROOF_ABOVE_NM, "Nm", text))
    unknown = unknown_of(mast)
    if unknown:
        text = f"Not stated: {', '.join(unknown)}. What is worked out about the mast lacks it."
        found.append(_finding("mast-unknown", "notes", None, None, "", text))
    if mast.clamped_m is None:
        return tuple(found)
    share = mast.clamped_m / (mast.free_m + mast.clamped_m)
    if share < LEAST_CLAMPED - 1e-9:
        text = "Less than a sixth of the mast is held between the clamps."
        least = LEAST_CLAMPED * (mast.free_m + mast.clamped_m)
        found.append(_finding("mast-clamped", "warns", mast.clamped_m, round(least, 2), "m", text))
    return tuple(found)


def _finding(
    rule: str, severity: Severity, measured: float | None, limit: float | None, unit: str, text: str
) -> Finding:
    source = "common practice" if rule == "mast-fall" else _SOURCE
    return Finding(
        rule=rule,
        severity=severity,
        where=("mast",),
        measured=measured,
        limit=limit,
        unit=unit,
        source=source,
        text=text,
    )
