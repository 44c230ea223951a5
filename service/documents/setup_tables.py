"""What the technician works from: one sheet an amplifier."""

from __future__ import annotations

import math

from service.documents.measures import Measures
from service.documents.table import Column, Table, Value
from service.engine.works.setup import AmplifierSetup, Pilot

_Row = tuple[str, Value, str, str]


def setup_table(setup: AmplifierSetup, measures: Measures) -> Table:
    """The sheet of one amplifier: where it stands, what to set, what to read, what is left."""
    groups: list[tuple[str, list[_Row]]] = [
        ("Where it stands", _standing(setup)),
        ("Set", _settings(setup)),
        ("Read, lowest and highest carrier", _readings(setup, measures)),
        ("Loading and headroom", _loading(setup, measures)),
        ("Test point, every carrier", [_pilot_row(pilot, measures) for pilot in setup.pilots]),
    ]
    rows: list[tuple[Value, ...]] = []
    marks: list[tuple[int, str]] = []
    for heading, lines in groups:
        marks.append((len(rows), "head"))
        rows.append((heading, None, "", "", ""))
        rows += [(*line[:3], None, line[3]) for line in lines]
    columns = (
        Column(name="item", width=34),
        Column(name="design", kind="exact", width=16),
        Column(name="unit", width=7),
        Column(name="as set or read", kind="blank", width=16),
        Column(name="remark", kind="wide", width=44),
    )
    note = "Compare readings with that day's input: expected = design + input measured − input designed."
    return Table(
        id=f"setup-{setup.device}",
        title=f"Set-up {setup.device}",
        columns=columns,
        rows=tuple(rows),
        marks=tuple(marks),
        note=note,
        portrait=True,
    )


def _standing(setup: AmplifierSetup) -> list[_Row]:
    where = f"floor {setup.floor}" if setup.floor else ""
    power = f"{setup.draws_w:g} W, {setup.supply}" + (f", {setup.voltage_v:.4g} V" if setup.voltage_v else "")
    return [
        ("Amplifier", setup.device, "", f"{setup.name} ({setup.part})"),
        ("Place", setup.place, "", where),
        ("Current drawn", setup.current_a, "A", power),
        ("Energy a year", setup.energy_kwh, "kWh", "always on"),
    ]


def _settings(setup: AmplifierSetup) -> list[_Row]:
    gain = f"of {setup.gain_full_db:g} dB full gain; {setup.gain_reserve_db:g} dB left"
    return [
        ("Input pad", setup.input_pad_db, "dB", "plug in ahead of the gain"),
        ("Input equaliser", setup.input_equaliser_db, "dB", "plug in ahead of the gain"),
        ("Gain", setup.gain_used_db, "dB", gain),
        ("Slope", setup.slope_db, "dB", f"{setup.slope_reserve_db:g} dB left"),
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


def _pilot_row(pilot: Pilot, measures: Measures) -> _Row:
    came_in = f"input {measures.level(pilot.input_dbmv):.2f}, output {measures.level(pilot.output_dbmv):.2f}"
    return (
        f"{pilot.carrier} at {pilot.frequency_mhz:g} MHz",
        measures.level(pilot.test_point_dbmv),
        measures.level_unit,
        came_in,
    )


def _carrier(pilot: Pilot) -> str:
    return f"{pilot.carrier} at {pilot.frequency_mhz:g} MHz"
