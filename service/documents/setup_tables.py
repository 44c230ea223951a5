"""What the technician works from: one sheet an amplifier."""

from __future__ import annotations

import math
from collections.abc import Iterable

from service.documents.measures import Measures
from service.documents.table import Column, Formula, Table, Value
from service.engine.plant.network import Network
from service.engine.works.runs import CableRun
from service.engine.works.setup import AmplifierSetup, Pilot
from service.engine.works.testsheet import TOLERANCE_DB

_Row = tuple[str, Value, str, str]


def joined(network: Network, runs: Iterable[CableRun], device: str) -> tuple[str, str]:
    """Labels of the cables that come in at a device and go out of it; the port's name where a patch cord does."""
    labels = {run.id: run for run in runs}
    comes = [
        labels[run.id].end_label if run.id in labels else f"patch cord from {run.start}"
        for run in network.runs
        if run.end == device
    ]
    goes = [
        labels[run.id].start_label if run.id in labels else f"patch cord to {run.end}"
        for run in network.runs
        if run.start.device == device
    ]
    return ", ".join(comes), ", ".join(goes)


def setup_table(setup: AmplifierSetup, measures: Measures, ends: tuple[str, str] = ("", "")) -> Table:
    """The sheet of one amplifier: where it stands, what to set, what to read, what is left.

    `ends` names what comes in and what goes out. Once the input is read, carrier by carrier, the sheet works out
    what the test point should show that day.
    """
    groups: list[tuple[str, list[_Row]]] = [
        ("Where it stands", _standing(setup, ends)),
        ("Set", _settings(setup)),
        ("Read, lowest and highest carrier", _readings(setup, measures)),
        ("Loading and headroom", _loading(setup, measures)),
        ("Input, every carrier: read first", [_input_row(pilot, measures) for pilot in setup.pilots]),
    ]
    rows: list[tuple[Value, ...]] = []
    marks: list[tuple[int, str]] = []
    for heading, lines in groups:
        marks.append((len(rows), "head"))
        rows.append((heading, None, "", None, None, ""))
        rows += [(*line[:3], None, None, line[3]) for line in lines]
    marks.append((len(rows), "head"))
    expected = _expected(len(rows))
    rows.append(("Test point, every carrier: then read", None, "", None, None, ""))
    rows += [_test_point_row(pilot, setup, measures, expected) for pilot in setup.pilots]
    columns = (
        Column(name="item", width=34),
        Column(name="design", kind="exact", width=16),
        Column(name="unit", width=7),
        Column(name="as set or read", kind="blank", width=13),
        Column(name="expected today", kind="exact", width=11),
        Column(name="remark", kind="wide", width=40),
    )
    note = (
        "Set pads, equaliser, gain and slope as designed, then read. Expected today = design + input read − input "
        f"designed; ±{TOLERANCE_DB:g} dB. Further off: find the cause before gain or slope are moved."
    )
    return Table(
        id=f"setup-{setup.device}",
        title=f"Set-up {setup.device}",
        columns=columns,
        rows=tuple(rows),
        marks=tuple(marks),
        note=note,
        portrait=True,
    )


def _standing(setup: AmplifierSetup, ends: tuple[str, str]) -> list[_Row]:
    where = f"floor {setup.floor}" if setup.floor else ""
    power = f"{setup.draws_w:g} W, {setup.supply}" + (f", {setup.voltage_v:.4g} V" if setup.voltage_v else "")
    return [
        ("Amplifier", setup.device, "", f"{setup.name} ({setup.part})"),
        ("Place", setup.place, "", where),
        *((name, None, "", text) for name, text in zip(("Comes in", "Goes out"), ends, strict=True) if text),
        ("Current drawn", setup.current_a, "A", power),
        ("Energy a year", setup.energy_kwh, "kWh", "always on"),
    ]


def _settings(setup: AmplifierSetup) -> list[_Row]:
    tilt = (
        f"low end lowered, from {setup.slope_low_mhz:g} MHz by all of it to {setup.slope_high_mhz:g} MHz by none; "
        f"{setup.slope_reserve_db:g} dB left"
    )
    gain = f"of {setup.gain_full_db:g} dB full gain; {setup.gain_reserve_db:g} dB left"
    return [
        ("Input pad", setup.input_pad_db, "dB", "plug in ahead of the gain"),
        ("Input equaliser", setup.input_equaliser_db, "dB", "plug in ahead of the gain"),
        ("Gain", setup.gain_used_db, "dB", gain),
        ("Slope", setup.slope_db, "dB", tilt),
    ]


def _readings(setup: AmplifierSetup, measures: Measures) -> list[_Row]:
    low, high = setup.low, setup.high
    if low is None or high is None:
        return []
    unit = measures.level_unit
    loss = f"through the test point, {setup.test_point_loss_db:g} dB under the output"
    return [
        ("Input, low", measures.level(low.input_dbmv), unit, _carrier(low)),
        ("Input, high", measures.level(high.input_dbmv), unit, _carrier(high)),
        ("Output, low", measures.level(low.output_dbmv), unit, _carrier(low)),
        ("Output, high", measures.level(high.output_dbmv), unit, _carrier(high)),
        ("Test point, low", measures.level(low.test_point_dbmv), unit, loss),
        ("Test point, high", measures.level(high.test_point_dbmv), unit, loss),
    ]


def _loading(setup: AmplifierSetup, measures: Measures) -> list[_Row]:
    if not setup.basis:
        return [("Rating", None, "", "the library holds none: no headroom can be given")]
    unit = measures.level_unit
    rows: list[_Row] = [
        ("Rated output", measures.level(setup.rated_dbmv), unit, f"basis: {setup.basis}"),
        ("Total power out", measures.level(setup.total_dbmv), unit, "all carriers together"),
    ]
    for name, value, count in (
        ("today", setup.derated_today_dbmv, setup.carriers_today),
        ("tomorrow", setup.derated_tomorrow_dbmv, setup.carriers_tomorrow),
    ):
        rows.append((f"Derated output {name}", measures.level(value), unit, f"{count} carriers"))
    for name, value in (("today", setup.headroom_today_db), ("tomorrow", setup.headroom_tomorrow_db)):
        known = value if math.isfinite(value) else None
        rows.append((f"Headroom {name}", known, "dB", "to the derated output"))
    return rows


def _input_row(pilot: Pilot, measures: Measures) -> _Row:
    level = measures.level(pilot.input_dbmv)
    return (_carrier(pilot), level, measures.level_unit, "at the cable's end, ahead of pad and equaliser")


def _test_point_row(
    pilot: Pilot, setup: AmplifierSetup, measures: Measures, expected: Formula
) -> tuple[Value, ...]:
    output = f"output {measures.level(pilot.output_dbmv):.2f}, {setup.test_point_loss_db:g} dB under it"
    level = measures.level(pilot.test_point_dbmv)
    return (_carrier(pilot), level, measures.level_unit, None, expected, output)


def _expected(upto: int) -> Formula:
    """Design, moved by what the input of the same carrier is off that day; empty until the input is read."""
    same = f"([item#{upto}]=[item])"
    read = f'SUMPRODUCT({same}*([as set or read#{upto}]<>""))'
    off = f"SUMPRODUCT(1*{same},[as set or read#{upto}])-SUMPRODUCT(1*{same},[design#{upto}])"
    return Formula(text=f'IF({read}=0,"",[design]+{off})')


def _carrier(pilot: Pilot) -> str:
    return f"{pilot.carrier} at {pilot.frequency_mhz:g} MHz"
