"""Climate: how cold and hot a run gets, and what that does to its loss."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from service.engine.plant.network import Ambient

Real = TypeVar("Real", float, NDArray[np.float64])

REFERENCE_C = 20.0
#: Cable loss grows by 0.11 % for each °F, so about 0.2 % for each °C. Source: common practice.
LOSS_SHARE_PER_C = 0.0011 * 1.8

#: Coldest and hottest temperature of a run, °C. Source: common practice; buried assumed.
AMBIENT_C: dict[Ambient, tuple[float, float]] = {
    "attic": (-20.0, 65.0),
    "buried": (0.0, 25.0),
    "indoors": (15.0, 35.0),
    "outdoors": (-20.0, 65.0),
    "riser": (15.0, 40.0),
}


def loss_share_at(temperature_c: Real) -> Real:
    """By which share a cable's loss at a temperature exceeds that at 20 °C.

    >>> round(loss_share_at(30.0), 4)
    0.0198
    """
    return LOSS_SHARE_PER_C * (temperature_c - REFERENCE_C)


def loss_at_db(loss_at_20c_db: Real, temperature_c: float) -> Real:
    """Cable loss at a temperature from that at 20 °C, the unit kept.

    >>> round(loss_at_db(11.0, (100.0 - 32.0) / 1.8), 3)
    11.387
    """
    return loss_at_20c_db * (1.0 + loss_share_at(temperature_c))
