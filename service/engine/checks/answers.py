"""Questions to be answered before anyone signs, as far as signals and the network alone can tell."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from service.engine.checks.case import Case
from service.engine.checks.grouping import counted, shown
from service.engine.checks.margins import OutletMargins
from service.engine.checks.ports import SPARE_SHARE

#: Loss of one more two-way splitter in a flat: common practice.
ONE_MORE_SET_DB = 4.0
_GAIN_LEFT_DB = 3.0
_NAMED = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One figure of an answer: name, value, unit, where and on which carrier it stands ("" for none)."""

    name: str
    value: float
    unit: str
    where: str = ""
    carrier: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A numbered question, what it asks, the answer in words, and the figures behind it."""

    question: int
    asks: str
    text: str
    figures: tuple[Figure, ...] = ()


def answer_questions(case: Case, margins: OutletMargins) -> tuple[Answer, ...]:
    """The answers for a case and its margins, by number."""
    return (
        _edges_left(case, margins),
        _busiest_amplifier(case),
        _noise_spent(case),
        _who_is_dark(case),
        _how_many_kinds(case),
        _what_grows(case, margins),
        _least_isolated(case),
    )


def _edges_left(case: Case, margins: OutletMargins) -> Answer:
    asks = "Worst and best outlet on every carrier, hot and cold, with tolerances: what is left at each edge?"
    figures: list[Figure] = []
    windows = case.windows
    for at, carrier in enumerate(margins.carriers):
        level = case.level_dbmv[:, at]
        if np.isnan(level).all() or math.isnan(windows.low_dbmv[at]):
            continue
        lowest, highest = int(np.nanargmin(level)), int(np.nanargmax(level))
        low, high = float(windows.low_dbmv[at]), float(windows.high_dbmv[at])
        rows = [
            ("left above the lower limit", float(level[lowest]) - low, lowest),
            ("left below the upper limit", high - float(level[highest]), highest),
        ]
        spread = case.report.spread
        if spread is not None:
            ends = (
                ("left above the lower limit when hot", spread.hot_dbmv[:, at] - low),
                ("left below the upper limit when cold", high - spread.cold_dbmv[:, at]),
                ("left above the lower limit in 95 % of draws", spread.low_dbmv[:, at] - low),
                ("left below the upper limit in 95 % of draws", high - spread.high_dbmv[:, at]),
            )
            for name, left in ends:
                least = int(np.nanargmin(left))
                rows.append((name, float(left[least]), least))
        figures += [
            Figure(name=name, value=value, unit="dB", where=case.outlets[row], carrier=carrier)
            for name, value, row in rows
        ]
    if margins.worst is None or margins.best is None:
        return Answer(question=1, asks=asks, text="No outlet has a signal that limits can judge.")
    worst, best = margins.worst, margins.best
    text = (
        f"{worst.outlet} has least left: {shown(worst.margin_db, 'dB')} to the {worst.edge} edge "
        f"on {worst.carrier}. "
        f"{best.outlet} has most: {shown(best.margin_db, 'dB')} to the {best.edge} edge on {best.carrier}."
    )
    if case.report.spread is not None:
        text += f" All outlets pass in {case.report.spread.yield_share:.1%} of the tolerance draws."
    return Answer(question=1, asks=asks, text=text, figures=tuple(figures))


def _busiest_amplifier(case: Case) -> Answer:
    asks = "Which amplifier is closest to its derated output tomorrow; is 3 dB of gain left in each?"
    rows = sorted(case.report.amplifiers, key=lambda row: (row.headroom_tomorrow_db, row.device))
    if not rows:
        return Answer(question=2, asks=asks, text="There is no amplifier.")
    figures: list[Figure] = []
    for row in rows:
        if math.isfinite(row.headroom_tomorrow_db):
            name = f"headroom with {row.carriers_tomorrow} carriers"
            figures.append(Figure(name=name, value=row.headroom_tomorrow_db, unit="dB", where=row.device))
        figures.append(Figure(name="gain left", value=row.gain_reserve_db, unit="dB", where=row.device))
    first = rows[0]
    if math.isfinite(first.headroom_tomorrow_db):
        text = f"{first.device}, with {shown(first.headroom_tomorrow_db, 'dB')} of headroom tomorrow."
    else:
        text = "No amplifier has a rating that could be compared."
    short = sorted(row.device for row in rows if row.gain_reserve_db < _GAIN_LEFT_DB)
    text += (
        f" Less than 3 dB of gain is left in {_listed(short)}." if short else " Each has 3 dB of gain left."
    )
    return Answer(question=2, asks=asks, text=text, figures=tuple(figures))


def _noise_spent(case: Case) -> Answer:
    asks = "C/(N+I) at the worst outlet, and which stage spends it?"
    report = case.report
    ratio = report.cni_db[report.outlet_rows]
    if not np.isfinite(ratio).any():
        return Answer(question=3, asks=asks, text="Nothing is known to add noise or intermodulation.")
    row, at = (int(i) for i in np.unravel_index(int(np.nanargmin(ratio)), ratio.shape))
    worst, carrier = float(ratio[row, at]), report.carriers[at].id
    figures = [Figure(name="C/(N+I)", value=worst, unit="dB", where=case.outlets[row], carrier=carrier)]
    rows = {port: row for row, port in enumerate(report.ports)}
    port = report.outlets[row].port
    chain = [case.run_into[name].start for name in case.above(port.device)]
    ports = [*reversed(chain), port]
    spent, before = [], 0.0
    for stage in ports:
        noise = 10.0 ** (-float(report.cni_db[rows[stage], at]) / 10.0)
        if noise > before:
            share = 100.0 * (noise - before) / 10.0 ** (-worst / 10.0)
            spent.append(
                Figure(
                    name="share of noise and intermodulation",
                    value=share,
                    unit="%",
                    where=stage.device,
                    carrier=carrier,
                )
            )
        before = noise
    spent.sort(key=lambda figure: (-figure.value, figure.where))
    text = f"{shown(worst, 'dB')} at {case.outlets[row]} on {carrier}."
    if spent:
        text += f" {spent[0].where} makes {spent[0].value:.0f} % of the noise and intermodulation."
    return Answer(question=3, asks=asks, text=text, figures=(*figures, *spent))


def _who_is_dark(case: Case) -> Answer:
    asks = "If this device dies, who is dark, and can it be reached without entering a flat?"
    below = _outlets_below(case)
    total = len(case.outlets)
    rows = sorted(
        ((count, name) for name, count in below.items() if count > 1), key=lambda row: (-row[0], row[1])
    )
    figures = tuple(
        Figure(name="outlets dark without it", value=float(count), unit="", where=name)
        for count, name in rows
    )
    if not rows:
        return Answer(question=4, asks=asks, text="No device serves more than one outlet.")
    named = [
        f"{name} ({counted(count, 'outlet')}" + (f", at {place})" if place else ", place not given)")
        for count, name in rows[:_NAMED]
        for place in (case.devices[name].place,)
    ]
    text = f"Of {counted(total, 'outlet')}, most hang on {_listed(named)}."
    text += " Who holds the key to a place, a network does not tell."
    return Answer(question=4, asks=asks, text=text, figures=figures)


def _outlets_below(case: Case) -> dict[str, int]:
    """How many outlets each device serves, itself or through others."""
    below = dict.fromkeys(case.devices, 0)
    for served in case.report.outlets:
        if served.port.device in below:
            below[served.port.device] += 1
    for name in reversed(case.report.devices):
        ahead = case.run_into[name].start.device
        if ahead in below:
            below[ahead] += below[name]
    return below


def _floor_of(case: Case) -> dict[str, str]:
    """The one floor that each device serves; "" for several, or for one without a name."""
    floors: dict[str, str] = {}

    def meet(name: str, floor: str) -> None:
        floors[name] = floor if floors.get(name, floor) == floor else ""

    for served in case.report.outlets:
        if served.port.device in case.devices:
            meet(served.port.device, served.floor)
    for name in reversed(case.report.devices):
        ahead = case.run_into[name].start.device
        if name in floors and ahead in case.devices:
            meet(ahead, floors[name])
    return floors


def _how_many_kinds(case: Case) -> Answer:
    asks = "Can every floor of a type be wired from one detail; how many different parts are on the truck?"
    parts = {device.part for device in case.network.devices}
    cables = {run.cable for run in case.network.runs if run.cable is not None}
    floors: dict[str, list[str]] = {}
    for name, floor in sorted(_floor_of(case).items()):
        if floor:
            floors.setdefault(floor, []).append(case.devices[name].part)
    patterns = {tuple(sorted(rows)) for rows in floors.values()}
    figures = [
        Figure(name="different parts", value=float(len(parts)), unit=""),
        Figure(name="different cables", value=float(len(cables)), unit=""),
    ]
    text = f"{counted(len(parts), 'kind')} of part and {counted(len(cables), 'kind')} of cable."
    if floors:
        figures.append(Figure(name="different floors", value=float(len(patterns)), unit=""))
        text += f" {counted(len(floors), 'floor')} with devices of {counted(len(patterns), 'pattern')}."
    return Answer(question=5, asks=asks, text=text, figures=tuple(figures))


def _what_grows(case: Case, margins: OutletMargins) -> Answer:
    asks = "What happens when a flat adds a set, the owner adds 10 %, the plant goes to 1 GHz?"
    low = np.fmin.reduce(margins.low_db, axis=1, initial=np.inf)
    short = int(np.count_nonzero(low < ONE_MORE_SET_DB))
    spare = len(case.spare_ports)
    wanted = math.ceil(SPARE_SHARE * len(case.outlets))
    figures = [
        Figure(name="outlets below the limit with one more two-way", value=float(short), unit=""),
        Figure(name="spare ports", value=float(spare), unit=""),
        Figure(name="ports for a tenth more outlets", value=float(wanted), unit=""),
    ]
    text = f"{counted(short, 'outlet')} can't take one more two-way ({ONE_MORE_SET_DB:g} dB). "
    text += f"{counted(spare, 'spare port')} for {wanted} more outlets."
    edge_mhz = float(case.report.frequency_mhz[-1])
    level = case.report.level_dbmv[case.report.outlet_rows, -1]
    if level.size and not np.isnan(level).all():
        row = int(np.nanargmin(level))
        lowest = float(level[row])
        name = f"lowest level at {edge_mhz:g} MHz, launched as the highest carriers are"
        figures.append(Figure(name=name, value=lowest, unit="dBmV", where=case.outlets[row]))
        text += f" At {edge_mhz:g} MHz the lowest level would be {shown(lowest, 'dBmV', case.level_unit)}."
    return Answer(question=6, asks=asks, text=text, figures=tuple(figures))


def _least_isolated(case: Case) -> Answer:
    asks = "Smallest isolation between two users, and the limit?"
    rows = case.report.isolation
    if not rows:
        return Answer(question=7, asks=asks, text="There are no two users on one feed.")
    figures: list[Figure] = []
    for row in rows:
        pair = f"{row.outlet_a} to {row.outlet_b}"
        figures.append(
            Figure(name="isolation", value=row.isolation_db, unit="dB", where=pair, carrier=row.carrier)
        )
        asked = case.limits.isolation_db(row.frequency_mhz)
        if asked is not None:
            figures.append(Figure(name="limit", value=asked.isolation_db, unit="dB", carrier=row.carrier))
    least = min(rows, key=lambda row: (row.isolation_db, row.carrier))
    limit = case.limits.isolation_db(least.frequency_mhz)
    text = f"{shown(least.isolation_db, 'dB')} from {least.outlet_a} to {least.outlet_b} on {least.carrier}; "
    text += f"the limit there is {shown(limit.isolation_db, 'dB')}." if limit else "the limits are silent."
    return Answer(question=7, asks=asks, text=text, figures=tuple(figures))


def _listed(names: Sequence[str]) -> str:
    """Names in a sentence, the first few of many."""
    if len(names) > _NAMED:
        return f"{', '.join(names[:_NAMED])} and {len(names) - _NAMED} more"
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)
