"""Levels, powers, noise and lengths in the units of the trade.

Inside the engine every level is dBmV across 75 Ω. Digital levels are channel power, analogue ones peak power.
All functions take floats or numpy arrays and are exact up to rounding.
"""

from __future__ import annotations

import math
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Real = TypeVar("Real", float, NDArray[np.float64])

IMPEDANCE_OHM = 75.0
BOLTZMANN_J_PER_K = 1.380649e-23
REFERENCE_TEMPERATURE_K = 290.0
#: 0 dBmV across 75 Ω in dBm: 10 lg(1e-6 V² / 75 Ω / 1 mW). Source: definition of the units.
DBM_AT_0_DBMV = 10.0 * math.log10(1e-6 / IMPEDANCE_OHM / 1e-3)
DBUV_AT_0_DBMV = 60.0
M_PER_FT = 0.3048
FT_PER_100_M = 100.0 / M_PER_FT


def dbmv_from_dbuv(level_dbuv: Real) -> Real:
    """Level in dBmV from dBµV, the impedance unchanged.

    >>> dbmv_from_dbuv(60.0)
    0.0
    """
    return level_dbuv - DBUV_AT_0_DBMV


def dbuv_from_dbmv(level_dbmv: Real) -> Real:
    """Level in dBµV from dBmV, the impedance unchanged.

    >>> dbuv_from_dbmv(-10.0)
    50.0
    """
    return level_dbmv + DBUV_AT_0_DBMV


def dbm_from_dbmv(level_dbmv: Real) -> Real:
    """Power in dBm of a level in dBmV across 75 Ω.

    >>> round(dbm_from_dbmv(0.0), 4)
    -48.7506
    """
    return level_dbmv + DBM_AT_0_DBMV


def dbmv_from_dbm(power_dbm: Real) -> Real:
    """Level in dBmV across 75 Ω of a power in dBm.

    >>> round(dbmv_from_dbm(-48.7506), 4)
    0.0
    """
    return power_dbm - DBM_AT_0_DBMV


def thermal_noise_dbmv(bandwidth_mhz: float) -> float:
    """Thermal noise kTB at 290 K in the given bandwidth, in dBmV across 75 Ω.

    Source: k of the SI (2019), 290 K by convention of noise figures.

    >>> round(thermal_noise_dbmv(4.0), 2)
    -59.2
    """
    watts = BOLTZMANN_J_PER_K * REFERENCE_TEMPERATURE_K * bandwidth_mhz * 1e6
    return 10.0 * math.log10(watts / 1e-3) - DBM_AT_0_DBMV


def ratio_from_db(value_db: Real) -> Real:
    """Power ratio of a value in decibels.

    >>> round(ratio_from_db(10.0), 6)
    10.0
    """
    ratio: Real = 10.0 ** (value_db / 10.0)
    return ratio


def db_from_ratio(ratio: float) -> float:
    """Decibels of a positive power ratio.

    >>> round(db_from_ratio(2.0), 4)
    3.0103
    """
    return 10.0 * math.log10(ratio)


def power_sum_db(values_db: NDArray[np.float64], axis: int = -1) -> NDArray[np.float64]:
    """Sum of powers given in decibels along an axis, in decibels; minus infinity stands for no power."""
    peak = np.max(values_db, axis=axis, keepdims=True)
    peak = np.where(np.isfinite(peak), peak, 0.0)
    with np.errstate(divide="ignore"):
        total = 10.0 * np.log10(np.sum(10.0 ** ((values_db - peak) / 10.0), axis=axis))
    return np.asarray(total + np.squeeze(peak, axis=axis), dtype=np.float64)


def m_from_ft(length_ft: Real) -> Real:
    """Metres from feet.

    >>> m_from_ft(100.0)
    30.48
    """
    return length_ft * M_PER_FT


def ft_from_m(length_m: Real) -> Real:
    """Feet from metres.

    >>> round(ft_from_m(30.48), 6)
    100.0
    """
    return length_m / M_PER_FT


def db_per_100m_from_db_per_100ft(loss_db: Real) -> Real:
    """Cable loss per 100 m from loss per 100 ft.

    >>> round(db_per_100m_from_db_per_100ft(3.048), 6)
    10.0
    """
    return loss_db / M_PER_FT
