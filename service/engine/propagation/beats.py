"""Third-order products: which combinations of carriers fall into which channel, and how strong they are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.signal.spectrum import Carrier

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: A product a + b − c is twice the voltage of a product 2a − b of equal carriers. Source: cubic law, exact.
TRIPLE_BEAT_POWER = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BeatCount:
    """Products of a set of carriers, counted by sorted sums instead of one by one.

    For every channel t and every carrier c, the sums a + b (and 2a) that leave t when c is taken away lie in
    one stretch of the sorted sums: from `pair_low[t, c]` to `pair_high[t, c]`, and likewise `double_*`.
    """

    pair_a: Ints
    pair_b: Ints
    pair_low: Ints
    pair_high: Ints
    double: Ints
    double_low: Ints
    double_high: Ints

    def power_db(self, level_db: Floats) -> Floats:
        """Power of all products in each channel, in dB, a product 2a − b of carriers at 0 dB being 0 dB.

        `level_db` has one level a carrier, any reference; the result is relative to its cube. A carrier that
        is not there counts as minus infinity. Minus infinity where no product falls.
        """
        peak = float(np.max(level_db)) if level_db.size and np.isfinite(level_db).any() else 0.0
        power = 10.0 ** ((level_db - peak) / 10.0)
        pairs = _running(power[self.pair_a] * power[self.pair_b])
        doubles = _running(power[self.double] ** 2)
        triple = (pairs[self.pair_high] - pairs[self.pair_low]) @ power
        # Pairs that hold the carrier taken away only give back the other one: the channel itself.
        triple -= power * (np.sum(power**2) - power**2)
        twice = (doubles[self.double_high] - doubles[self.double_low]) @ power - power**3
        total = TRIPLE_BEAT_POWER * _cleared(triple) + _cleared(twice)
        with np.errstate(divide="ignore"):
            return np.asarray(10.0 * np.log10(total) + 3.0 * peak, dtype=np.float64)


def count_beats(carriers: tuple[Carrier, ...]) -> BeatCount:
    """Count the products of the given carriers that fall inside each one's channel, lower edge included."""
    frequency = np.array([carrier.frequency_mhz for carrier in carriers], dtype=np.float64)
    low = np.array([carrier.low_mhz for carrier in carriers])[:, None] + frequency
    high = np.array([carrier.high_mhz for carrier in carriers])[:, None] + frequency
    a, b = np.triu_indices(frequency.size, k=1)
    order = np.argsort(frequency[a] + frequency[b], kind="stable")
    sums = (frequency[a] + frequency[b])[order]
    double = np.argsort(frequency, kind="stable")
    doubles = 2.0 * frequency[double]
    return BeatCount(
        pair_a=a[order],
        pair_b=b[order],
        pair_low=np.searchsorted(sums, low),
        pair_high=np.searchsorted(sums, high),
        double=double,
        double_low=np.searchsorted(doubles, low),
        double_high=np.searchsorted(doubles, high),
    )


def rated_beats_db(carriers: int) -> float:
    """Products that a rating with so many like carriers was measured with, in dB over one product 2a − b.

    Two carriers: the one product beside them. More: the channel with the most, equally spaced carriers.
    """
    if carriers <= 2:
        return 0.0
    raster = tuple(
        Carrier(id=str(n), frequency_mhz=n + 0.5, low_mhz=float(n), high_mhz=n + 1.0, service="")
        for n in range(carriers)
    )
    return float(np.max(count_beats(raster).power_db(np.zeros(carriers))))


def _running(values: Floats) -> Floats:
    return np.concatenate(([0.0], np.cumsum(values)))


def _cleared(values: Floats) -> Floats:
    """Powers with what rounding leaves of a difference set to none."""
    return np.where(values > 1e-9, values, 0.0)
