"""Noise: carrier to noise at every stage, from the feed's own and from each amplifier."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from service.engine.errors import UnknownIdError
from service.engine.propagation.ladder import Ladder
from service.engine.propagation.levels import Levels
from service.engine.signal.spectrum import Carrier, Feed, Service
from service.engine.signal.units import db_from_ratio, ratio_from_db, thermal_noise_dbmv

Floats = NDArray[np.float64]


def noise_floor_dbmv(carriers: tuple[Carrier, ...], services: Mapping[str, Service]) -> Floats:
    """Thermal noise in the bandwidth of each carrier's service; raises UnknownIdError for a service."""
    for carrier in carriers:
        if carrier.service not in services:
            raise UnknownIdError(kind="service", name=carrier.service)
    bandwidths = [services[carrier.service].noise_bandwidth_mhz for carrier in carriers]
    floor = {bandwidth: thermal_noise_dbmv(bandwidth) for bandwidth in bandwidths}
    return np.array([floor[bandwidth] for bandwidth in bandwidths])


def amplifier_cn_db(
    output_dbmv: Floats | float,
    full_gain_db: Floats | float,
    noise_figure_db: Floats | float,
    floor_dbmv: Floats | float,
) -> Floats:
    """Carrier to noise that one amplifier alone would leave: output − full gain − noise figure − floor, dB.

    All gain reduction counts as made ahead of the amplifier, so a lower output is a worse ratio.
    Source: trade convention; common practice.

    >>> round(float(amplifier_cn_db(32.0, 20.0, 8.0, -59.2)), 2)
    63.2
    """
    return np.asarray(output_dbmv, dtype=np.float64) - full_gain_db - noise_figure_db - floor_dbmv


def combined_ratio_db(ratios_db: Sequence[float]) -> float:
    """Ratio that remains of several carrier-to-noise ratios: noise powers add.

    >>> round(combined_ratio_db([60.0, 60.0]), 2)
    56.99
    """
    return -db_from_ratio(sum(ratio_from_db(-ratio) for ratio in ratios_db))


def cascade_noise_figure_db(stages: Sequence[tuple[float, float]]) -> float:
    """Noise figure of a cascade of (gain dB, noise figure dB), first stage first.

    The last gain plays no part. A passive stage has its loss as noise figure and a gain of minus that.
    Source: H. T. Friis, "Noise Figures of Radio Receivers", Proc. IRE 32(7), 1944.

    >>> round(cascade_noise_figure_db([(20.0, 1.5), (10.0, 6.0), (0.0, 10.0)]), 2)
    1.62
    """
    factor, gain = 1.0, 1.0
    for stage_gain_db, stage_figure_db in stages:
        factor += (ratio_from_db(stage_figure_db) - 1.0) / gain
        gain *= ratio_from_db(stage_gain_db)
    return db_from_ratio(factor)


def stage_cn_db(
    ladder: Ladder, levels: Levels, carriers: tuple[Carrier, ...], services: Mapping[str, Service]
) -> Floats:
    """Carrier to noise behind every stage, stages × carriers, each in its service's noise bandwidth.

    Infinite where neither feed nor amplifier adds noise, NaN where the feed has no such carrier.
    """
    floor = noise_floor_dbmv(carriers, services)
    frequency = levels.frequency_mhz[: len(carriers)]
    noise = np.empty((len(ladder.stages), len(carriers)))
    for position, stage in enumerate(ladder.stages):
        if stage.parent < 0:
            noise[position] = _feed_noise(ladder.feeds[stage.feed], carriers)
            continue
        part = ladder.parts[stage.device]
        assert part.active is not None
        output = levels.level_dbmv[stage.row, : len(carriers)]
        there = ~np.isnan(output)
        full_gain = ladder.gains[stage.gain_row].group.gain_db.at(frequency[there], f"part {part.id}")
        figure = part.active.noise_figure_db.at(frequency[there], f"part {part.id}, noise figure")
        alone = amplifier_cn_db(output[there], full_gain, figure, floor[there])
        noise[position] = noise[stage.parent]
        noise[position, there] += 10.0 ** (-alone / 10.0)
    with np.errstate(divide="ignore"):
        return np.asarray(-10.0 * np.log10(noise), dtype=np.float64)


def _feed_noise(feed: Feed, carriers: tuple[Carrier, ...]) -> list[float]:
    """Noise over carrier of a feed: none where its ratio is not known, NaN where it has no such carrier."""
    known = {
        line.carrier: 0.0 if line.cn_db is None else ratio_from_db(-line.cn_db) for line in feed.carriers
    }
    return [known.get(carrier, float("nan")) for carrier in carriers]
