"""Amplifiers: what each one gets, puts out, and has left of rating, gain and slope."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.plant.parts import Active, Rating
from service.engine.propagation.cascades import carriers_tomorrow
from service.engine.propagation.distortion import Lineup, derating_from_db, total_power_dbmv
from service.engine.propagation.ladder import Ladder, Stage
from service.engine.propagation.levels import Levels
from service.engine.propagation.report import AmplifierReport

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Room:
    """What one rating allows and leaves, today and tomorrow."""

    rating: Rating
    today_dbmv: float
    tomorrow_dbmv: float
    used_dbmv: float

    @property
    def left_db(self) -> float:
        return self.tomorrow_dbmv - self.used_dbmv


def report_amplifiers(ladder: Ladder, levels: Levels, lineup: Lineup) -> tuple[AmplifierReport, ...]:
    """Every amplifier by id, at the output with the most total power."""
    busiest: dict[int, tuple[float, Stage]] = {}
    count = lineup.analogue.size
    for stage in ladder.stages:
        if stage.parent < 0:
            continue
        total = total_power_dbmv(levels.level_dbmv[stage.row, :count])
        if stage.device not in busiest or total > busiest[stage.device][0]:
            busiest[stage.device] = (total, stage)
    reports = [_report(ladder, levels, lineup, stage, total) for total, stage in busiest.values()]
    return tuple(sorted(reports, key=lambda report: report.device))


def _report(ladder: Ladder, levels: Levels, lineup: Lineup, stage: Stage, total: float) -> AmplifierReport:
    count = lineup.analogue.size
    device, part = ladder.devices[stage.device], ladder.parts[stage.device]
    active = part.active
    assert active is not None
    output = levels.level_dbmv[stage.row, :count]
    today = int(np.count_nonzero(~np.isnan(output)))
    tomorrow = carriers_tomorrow(today)
    room = _tightest(active, lineup, output, total, (today, tomorrow))
    settings = device.settings
    gain_used = active.gain_db.high if settings.gain_db is None else settings.gain_db
    return AmplifierReport(
        device=device.id,
        input_dbmv=levels.input_dbmv[stage.device, :count],
        output_dbmv=output,
        total_dbmv=total,
        basis=room.rating.basis if room else "",
        rated_dbmv=room.rating.output_dbmv if room else math.nan,
        carriers_today=today,
        carriers_tomorrow=tomorrow,
        derated_today_dbmv=room.today_dbmv if room else math.nan,
        derated_tomorrow_dbmv=room.tomorrow_dbmv if room else math.nan,
        headroom_today_db=room.today_dbmv - room.used_dbmv if room else math.inf,
        headroom_tomorrow_db=room.left_db if room else math.inf,
        gain_reserve_db=active.gain_db.high - gain_used,
        slope_reserve_db=active.slope_db.high - settings.slope_db,
        test_point_dbmv=output - active.test_point_db,
    )


def _tightest(
    active: Active, lineup: Lineup, output_dbmv: Floats, total_dbmv: float, counts: tuple[int, int]
) -> _Room | None:
    """The rating that leaves least, or None without a rating or a carrier.

    Digital carriers alone are judged by total power where the part is rated so; with analogue ones every
    rating counts.
    """
    today, tomorrow = counts
    if today == 0:
        return None
    strongest = float(np.nanmax(output_dbmv))
    growth = 10.0 * math.log10(tomorrow / today)
    by_power = [
        _Room(rating=r, today_dbmv=r.output_dbmv, tomorrow_dbmv=r.output_dbmv - growth, used_dbmv=total_dbmv)
        for r in active.ratings
        if r.basis == "total power"
    ]
    by_carrier = [
        _Room(
            rating=r,
            today_dbmv=r.output_dbmv - derating_from_db(r, today),
            tomorrow_dbmv=r.output_dbmv - derating_from_db(r, tomorrow),
            used_dbmv=strongest,
        )
        for r in active.ratings
        if r.basis == "per carrier"
    ]
    rooms = by_power + by_carrier if lineup.mixed_or_analogue else by_power or by_carrier
    return min(rooms, key=lambda room: room.left_db, default=None)
