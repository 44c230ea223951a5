"""What the crew leader and the owner work from in a lived-in building: phases with their cut-over, and old cable."""

from __future__ import annotations

from service.documents.measures import Measures
from service.documents.pull_tables import pull_spans
from service.documents.table import Column, Table, Value
from service.engine.building.rates import Rates
from service.engine.works.retrofit import OldCable, Phase

_MOST_NAMED = 8


def phase_table(phases: tuple[Phase, ...], rates: Rates, measures: Measures) -> Table:
    """Phase by phase: what is pulled, what stays live until when, what comes out."""
    rows: tuple[tuple[Value, ...], ...] = tuple(
        (
            phase.number,
            phase.stack,
            phase.name,
            ", ".join(phase.units),
            phase.occupied,
            f"{rates.notice_days} days ahead" if phase.occupied else "",
            pull_spans(phase.pulls),
            phase.cables,
            _named(phase.devices),
            phase.hours,
            measures.length(phase.old_m),
            None,
            len(phase.outlets),
            None,
            measures.length(phase.removal_m),
            float(phase.removal_h),
            None,
        )
        for phase in phases
    )
    note = (
        "Service stays on: new cable goes in beside the old, is tested, then the flats of the phase move over in one "
        "visit; only then the old one comes out. Wires of a provider stay untouched. No-access flats: "
        f"{rates.no_access_share:.0%} reckoned with."
    )
    totals = ("new cables", "person-hours", "outlets moved", "old cable out", "hours to take out")
    return Table(
        id="phases",
        title="Phases",
        columns=_phase_columns(measures.length_unit),
        rows=rows,
        totals=totals,
        note=note,
    )


def _phase_columns(unit: str) -> tuple[Column, ...]:
    return (
        Column(name="phase", kind="whole", width=6),
        Column(name="stack", width=12),
        Column(name="what", width=20),
        Column(name="flats", kind="wide", width=20),
        Column(name="lived in", kind="whole", width=7),
        Column(name="notice", width=9),
        Column(name="pulls", kind="wide", width=18),
        Column(name="new cables", kind="whole", width=7),
        Column(name="devices", kind="wide", width=20),
        Column(name="person-hours", unit="h", kind="number", width=8),
        Column(name="old cable live until cut-over", unit=unit, kind="number", width=10),
        Column(name="new one tested", kind="blank", width=9),
        Column(name="outlets moved", kind="whole", width=8),
        Column(name="cut over, date", kind="blank", width=9),
        Column(name="old cable out", unit=unit, kind="number", width=8),
        Column(name="hours to take out", unit="h", kind="number", width=8),
        Column(name="done by, date", kind="blank", width=9),
    )


def old_cable_table(rows: tuple[OldCable, ...], measures: Measures) -> Table:
    """Every way with old cable: what becomes of it, who uses it, what was measured."""
    lines: tuple[tuple[Value, ...], ...] = tuple(
        (
            row.way.id,
            row.way.start,
            row.way.end,
            row.cable or "not known: series 59 and 20 % more loss",
            None if row.way.existing is None else row.way.existing.age_years,
            _measured(row),
            measures.length(row.way.length_m),
            row.fate,
            row.to_do,
            _named(row.runs),
            float(row.test_h),
            float(row.removal_h),
            None,
            None,
        )
        for row in rows
    )
    unit = measures.length_unit
    columns = (
        Column(name="way", width=14),
        Column(name="from", width=12),
        Column(name="to", width=12),
        Column(name="cable", width=18),
        Column(name="age", unit="years", kind="number", width=7),
        Column(name="loss measured before", width=15),
        Column(name="length", unit=unit, kind="number", width=9),
        Column(name="stated fate", width=14),
        Column(name="what to do", kind="wide", width=30),
        Column(name="runs that use it", kind="wide", width=16),
        Column(name="to test", unit="h", kind="number", width=7),
        Column(name="to take out", unit="h", kind="number", width=8),
        Column(name="loss read", unit="dB", kind="blank", width=9),
        Column(name="done by, date", kind="blank", width=11),
    )
    note = (
        "Abandoned cable that can be reached comes out. Parted shields may carry a dangerous voltage: measure and "
        "bridge first. Wires of a provider stay untouched."
    )
    return Table(
        id="old-cable",
        title="Old cable",
        columns=columns,
        rows=lines,
        totals=("length", "to test", "to take out"),
        note=note,
    )


def _measured(row: OldCable) -> str:
    existing = row.way.existing
    if existing is None or existing.loss_db is None or existing.loss_mhz is None:
        return ""
    return f"{existing.loss_db:g} dB at {existing.loss_mhz:g} MHz"


def _named(names: tuple[str, ...]) -> str:
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    return ", ".join(names[:_MOST_NAMED]) + more
