"""The difference sheet of a revision: changed pulls, devices and money, for the crew, the buyer and the customer."""

from __future__ import annotations

from service.documents.measures import Measures
from service.documents.table import Column, Table, Value, money
from service.engine.plant.network import Device
from service.engine.works.revision import Revision
from service.engine.works.runs import CableRun

_Row = tuple[Value, ...]


def revision_table(revision: Revision, measures: Measures) -> Table:
    """Pulls, devices, then money line by line down to the direct cost, the sum of the lines above it."""
    pulls, devices = _pulls(revision, measures), _devices(revision)
    rows = (*pulls, *devices, *_money(revision, measures))
    columns = (
        Column(name="what", width=8),
        Column(name="identifier", width=16),
        Column(name="change", width=9),
        Column(name="in", kind="wide", width=22),
        Column(name="before", kind="wide", width=40),
        Column(name="now", kind="wide", width=40),
        Column(name="adds", unit=revision.currency, kind="money"),
    )
    note = "By identifier, against the design issued before; what isn't listed stays. Both at today's prices."
    return Table(
        id="changes",
        title="Changes",
        columns=columns,
        rows=rows,
        marks=((len(rows) - 1, "head"),),
        starts=tuple(sorted({0, len(pulls), len(pulls) + len(devices)})),
        note=note,
    )


def _pulls(revision: Revision, measures: Measures) -> list[_Row]:
    return [
        (
            "pull",
            row.id,
            row.happened,
            ", ".join(row.what),
            _run(row.before, measures),
            _run(row.after, measures),
            None,
        )
        for row in revision.runs
    ]


def _devices(revision: Revision) -> list[_Row]:
    return [
        ("device", row.id, row.happened, ", ".join(row.what), _device(row.before), _device(row.after), None)
        for row in revision.devices
    ]


def _money(revision: Revision, measures: Measures) -> list[_Row]:
    """Items of the direct cost, then their sum."""
    rows: list[_Row] = []
    for line in revision.money:
        scale = measures.length(1.0) if line.unit == "m" else 1.0
        unit = measures.length_unit if line.unit == "m" else line.unit
        before = f"{line.quantity_before * scale:,.1f} {unit}: {line.before_cents / 100:,.2f}"
        after = f"{line.quantity_after * scale:,.1f} {unit}: {line.after_cents / 100:,.2f}"
        rows.append(("money", line.item, "changed", line.name, before, after, money(line.change_cents)))
    happened = "as before" if revision.unchanged else "changed"
    before, after = f"{revision.before_cents / 100:,.2f}", f"{revision.after_cents / 100:,.2f}"
    rows.append(("money", "direct cost", happened, "", before, after, money(revision.change_cents)))
    return rows


def _run(run: CableRun | None, measures: Measures) -> str:
    if run is None:
        return ""
    length = f"{measures.length(run.length_m):.1f} {measures.length_unit}"
    lies = ", lies there" if run.existing else ""
    return f"{run.label}: {run.cable}, {length}, from {run.start} to {run.end_place.id}{lies}"


def _device(device: Device | None) -> str:
    if device is None:
        return ""
    settings = device.settings
    words = [
        f"{name} {value:g} dB"
        for name, value in (
            ("gain", settings.gain_db),
            ("slope", settings.slope_db),
            ("pad", settings.input_pad_db),
            ("equaliser", settings.input_equaliser_db),
        )
        if value
    ]
    return ", ".join((f"{device.part} at {device.place}", *words))
