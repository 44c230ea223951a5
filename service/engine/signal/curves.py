"""A figure against frequency: a table read between its points, never outside them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.errors import OutsideTableError

_EDGE_MHZ = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """Values against frequency, interpolated linearly on the square root of frequency.

    Cable loss follows the root of frequency closely (skin effect), so few points carry its whole tilt.
    `frequency_mhz` ascends strictly, and `value` has one entry for each frequency, in the unit its holder
    states. Valid from the first to the last frequency.
    """

    frequency_mhz: tuple[float, ...]
    value: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.frequency_mhz) != len(self.value) or not self.frequency_mhz:
            raise ValueError("a curve needs one value for each frequency, and at least one")
        if any(b <= a for a, b in zip(self.frequency_mhz, self.frequency_mhz[1:], strict=False)):
            raise ValueError("the frequencies of a curve must ascend")

    @property
    def low_mhz(self) -> float:
        """Lowest frequency of the table."""
        return self.frequency_mhz[0]

    @property
    def high_mhz(self) -> float:
        """Highest frequency of the table."""
        return self.frequency_mhz[-1]

    def covers(self, frequency_mhz: float) -> bool:
        """True when the frequency lies inside the table, its ends included."""
        return self.low_mhz - _EDGE_MHZ <= frequency_mhz <= self.high_mhz + _EDGE_MHZ

    def at(self, frequencies_mhz: NDArray[np.float64], what: str = "the curve") -> NDArray[np.float64]:
        """Values at the given frequencies, same shape.

        Raises OutsideTableError, naming `what`, when any frequency lies outside the table.
        """
        frequencies = np.asarray(frequencies_mhz, dtype=np.float64)
        for frequency in (float(frequencies.min()), float(frequencies.max())) if frequencies.size else ():
            if not self.covers(frequency):
                raise OutsideTableError(
                    what=what, frequency_mhz=frequency, low_mhz=self.low_mhz, high_mhz=self.high_mhz
                )
        table = np.sqrt(np.asarray(self.frequency_mhz, dtype=np.float64))
        values = np.interp(np.sqrt(frequencies), table, np.asarray(self.value, dtype=np.float64))
        return np.asarray(values, dtype=np.float64)

    def at_one(self, frequency_mhz: float, what: str = "the curve") -> float:
        """Value at one frequency; raises OutsideTableError like `at`."""
        return float(self.at(np.asarray([frequency_mhz]), what)[0])


def flat(value: float, low_mhz: float = 0.0, high_mhz: float = 1e6) -> Curve:
    """A curve of one value over a range, by default over every frequency."""
    return Curve(frequency_mhz=(low_mhz, high_mhz), value=(value, value))
