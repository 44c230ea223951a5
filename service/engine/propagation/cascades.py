"""Cascades: derating, constant total power, cross-modulation on voltage, the working level."""

from __future__ import annotations

import math
from collections.abc import Sequence


def derating_db(carriers: int) -> float:
    """What a two-carrier rating loses for more carriers: 7.5 lg(N − 1), nothing up to two.

    Source: common practice; the term stands in GB 50200-94, 2.2.

    >>> round(derating_db(42), 2)
    12.1
    >>> derating_db(2)
    0.0
    """
    return 7.5 * math.log10(carriers - 1) if carriers > 2 else 0.0


def carriers_tomorrow(carriers_today: int) -> int:
    """The count an amplifier is loaded for: today's × 1.25 rounded up, and at least four more.

    Source: common practice.

    >>> carriers_tomorrow(4), carriers_tomorrow(40)
    (8, 50)
    """
    return max(-(-carriers_today * 5 // 4), carriers_today + 4)


def power_share_db(carriers: int) -> float:
    """Level of one of N like carriers under a fixed total power: −10 lg N.

    >>> round(power_share_db(40) - power_share_db(77), 2)
    2.84
    """
    return -10.0 * math.log10(carriers)


def voltage_cascade_db(ratios_db: Sequence[float]) -> float:
    """Ratio that remains of distortions that add on voltage: −20 lg Σ 10^(−ratio/20).

    Cross-modulation and third-order products of like amplifiers add so. Source: common practice.

    >>> round(voltage_cascade_db([62.12, 51.62]), 2)
    49.35
    """
    return -20.0 * math.log10(sum(10.0 ** (-ratio / 20.0) for ratio in ratios_db))


def cross_modulation_db(
    rated_level: float, working_level: float, amplifiers: int, carriers: int, *, rated_ratio_db: float = 48.0
) -> float:
    """Cross-modulation ratio of n like amplifiers: rated + 2(Smax − S) − 20 lg n − 10 lg(N − 1).

    Both levels in one unit. `rated_ratio_db` is the ratio at the rated level with two carriers. Needs two
    carriers or more. Source: broadcast engineers' examination, China (the 48 dB form).

    >>> round(cross_modulation_db(118.0, 96.0, 6, 28), 2)
    62.12
    """
    return (
        rated_ratio_db
        + 2.0 * (rated_level - working_level)
        - 20.0 * math.log10(amplifiers)
        - 10.0 * math.log10(carriers - 1)
    )


def share_of_ratio_db(ratio_db: float, share: float) -> float:
    """Ratio that a part of the plant must keep when it may spend a share of the whole, on voltage.

    >>> round(share_of_ratio_db(47.0, 0.2), 2)
    60.98
    """
    return ratio_db - 20.0 * math.log10(share)


def cascade_working_level(
    rated_level: float,
    amplifiers: int,
    carriers: int,
    cross_modulation: float,
    *,
    rated_ratio_db: float = 47.0,
) -> float:
    """Working output of n like amplifiers: Smax − 10 lg n − 7.5 lg(N − 1) − ½(CM − 47), unit as given.

    `cross_modulation` is the ratio in dB that this cascade must keep. Source: GB 50200-94, 2.2.

    >>> round(cascade_working_level(106.0, 3, 51, share_of_ratio_db(47.0, 0.2)), 3)
    81.497
    """
    spent = 0.5 * (cross_modulation - rated_ratio_db)
    return rated_level - 10.0 * math.log10(amplifiers) - derating_db(carriers) - spent
