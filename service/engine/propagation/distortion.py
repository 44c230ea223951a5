"""Distortion: what amplifiers add at the levels they really put out, and what their rating leaves.

Digital carriers load an amplifier by total power, and their intermodulation is like noise: the ratio rises by
2 dB for each dB below the rating. Analogue carriers leave single third-order products, which are counted.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.plant.parts import Rating
from service.engine.propagation.beats import BeatCount, count_beats, rated_beats_db
from service.engine.propagation.cascades import derating_db
from service.engine.propagation.ladder import Ladder
from service.engine.propagation.levels import Levels
from service.engine.signal.spectrum import Carrier, Service
from service.engine.signal.units import power_sum_db

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lineup:
    """The carriers by modulation: positions of the analogue ones, and their products when there are any."""

    analogue: NDArray[np.bool_]
    beats: BeatCount

    @property
    def mixed_or_analogue(self) -> bool:
        """True when any carrier is analogue."""
        return bool(self.analogue.any())


def sort_lineup(carriers: tuple[Carrier, ...], services: Mapping[str, Service]) -> Lineup:
    """Part digital from analogue carriers and count the analogue ones' products."""
    analogue = np.array([services[c.service].modulation == "analogue" for c in carriers], dtype=np.bool_)
    counted = tuple(carrier for carrier, single in zip(carriers, analogue, strict=True) if single)
    return Lineup(analogue=analogue, beats=count_beats(counted))


def total_power_dbmv(level_dbmv: Floats) -> float:
    """Total power of the carriers that are there (the others NaN); minus infinity without any.

    >>> round(total_power_dbmv(np.array([30.0, 30.0, np.nan])), 2)
    33.01
    """
    there = level_dbmv[~np.isnan(level_dbmv)]
    return float(power_sum_db(there)) if there.size else -np.inf


def noise_like_ratio_db(rating: Rating, output_dbmv: float) -> float:
    """Noise-like carrier-to-intermodulation ratio: rated ratio + 2·(rated output − actual output), dB.

    >>> noise_like_ratio_db(Rating(basis="total power", output_dbmv=50.0, ratio_db=40.0), 47.0)
    46.0
    """
    return rating.ratio_db + 2.0 * (rating.output_dbmv - output_dbmv)


def derating_from_db(rating: Rating, carriers: int) -> float:
    """What a per-carrier rating loses for more carriers than it was measured with; never a gain."""
    return max(0.0, derating_db(carriers) - derating_db(rating.carriers))


def digital_ratio_db(ratings: tuple[Rating, ...], level_dbmv: Floats) -> float:
    """Intermodulation ratio of the digital carriers at an output; infinite without a rating or carrier.

    By total power where the part is rated so, analogue carriers' peak power counted with the rest. Else by
    the per-carrier rating, derated for the count and taken at the strongest carrier. The worst rating counts.
    """
    there = level_dbmv[~np.isnan(level_dbmv)]
    if not there.size:
        return np.inf
    total = total_power_dbmv(there)
    by_power = [noise_like_ratio_db(rating, total) for rating in ratings if rating.basis == "total power"]
    if by_power:
        return min(by_power)
    strongest = float(np.max(there))
    return min(
        (noise_like_ratio_db(rating, strongest + derating_from_db(rating, there.size)) for rating in ratings),
        default=np.inf,
    )


def analogue_ratio_db(ratings: tuple[Rating, ...], level_dbmv: Floats, lineup: Lineup) -> Floats:
    """Third-order ratio of each analogue carrier at one output, products counted at their real levels.

    Products add on power within one amplifier. A part rated by total power only is read so for analogue
    carriers too. The worst rating counts; infinite where no product falls.
    """
    level = level_dbmv[lineup.analogue]
    counted = [rating for rating in ratings if rating.basis == "per carrier"]
    if not counted:
        return np.full(level.size, digital_ratio_db(ratings, level_dbmv))
    products = lineup.beats.power_db(np.where(np.isnan(level), -np.inf, level))
    worst = np.full(level.size, np.inf)
    for rating in counted:
        one = -2.0 * rating.output_dbmv - rating.ratio_db - rated_beats_db(rating.carriers)
        worst = np.minimum(worst, level - (products + one))
    return worst


def stage_ci_db(ladder: Ladder, levels: Levels, lineup: Lineup) -> Floats:
    """Carrier to intermodulation behind every stage, stages × carriers; infinite where nothing adds.

    From amplifier to amplifier noise-like intermodulation adds on power; analogue products of the same
    carriers add on voltage, which is the worst case.
    """
    count = lineup.analogue.size
    exponent = np.where(lineup.analogue, 20.0, 10.0)
    added = np.zeros((len(ladder.stages), count))
    for position, stage in enumerate(ladder.stages):
        output = levels.level_dbmv[stage.row, :count]
        if stage.parent < 0:
            added[position] = np.where(np.isnan(output), np.nan, 0.0)
            continue
        active = ladder.parts[stage.device].active
        assert active is not None
        ratio = np.full(count, digital_ratio_db(active.ratings, output))
        if lineup.mixed_or_analogue:
            ratio[lineup.analogue] = analogue_ratio_db(active.ratings, output, lineup)
        added[position] = added[stage.parent] + 10.0 ** (-ratio / exponent)
    with np.errstate(divide="ignore"):
        return np.asarray(-exponent * np.log10(added), dtype=np.float64)


def noise_and_intermodulation_db(cn_db: Floats, ci_db: Floats) -> Floats:
    """Carrier to noise and intermodulation together: powers add; infinite where neither is."""
    with np.errstate(divide="ignore"):
        return np.asarray(
            -10.0 * np.log10(10.0 ** (-cn_db / 10.0) + 10.0 ** (-ci_db / 10.0)), dtype=np.float64
        )
