"""Mismatch: a return loss as standing wave ratio, as lost power, and as ripple between two of them.

Figures are of reflections alone, exact for real reflection factors; phases are taken at their worst.
"""

from __future__ import annotations

import math


def reflection(return_loss_db: float) -> float:
    """Magnitude of the reflection factor of a return loss above 0 dB.

    >>> reflection(20.0)
    0.1
    """
    return float(10.0 ** (-return_loss_db / 20.0))


def standing_wave_ratio(return_loss_db: float) -> float:
    """Voltage standing wave ratio of a return loss above 0 dB: (1 + r) / (1 − r).

    >>> round(standing_wave_ratio(14.0), 3)
    1.499
    """
    factor = reflection(return_loss_db)
    return (1.0 + factor) / (1.0 - factor)


def mismatch_loss_db(return_loss_db: float) -> float:
    """Power not passed on because it is reflected once: −10 lg(1 − r²).

    >>> round(mismatch_loss_db(10.0), 3)
    0.458
    """
    return -10.0 * math.log10(1.0 - reflection(return_loss_db) ** 2)


def mismatch_ripple_db(return_loss_a_db: float, return_loss_b_db: float, between_db: float = 0.0) -> float:
    """Ripple, peak to peak, of two mismatches with a one-way loss between: 20 lg((1 + x) / (1 − x)).

    x is the product of both reflections and of the loss there and back.

    >>> round(mismatch_ripple_db(16.0, 16.0, 2.0), 3)
    0.275
    """
    echo = reflection(return_loss_a_db) * reflection(return_loss_b_db) * reflection(2.0 * between_db)
    return 20.0 * math.log10((1.0 + echo) / (1.0 - echo))
