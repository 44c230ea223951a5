"""The tables of a building's book: summary, outlets, pull schedule, parts, cost, findings, amplifiers."""

from __future__ import annotations

import numpy as np

from service.documents.figures import figures_of
from service.documents.table import Column, Table, Value
from service.documents.pulls import pull_schedule
from service.engine.findings import worst_first
from service.engine.placement.proposal import Design
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.tariff import Tariff, WayKind, legs_of
from service.engine.signal.units import DBUV_AT_0_DBMV

METRES_A_FOOT = 0.3048
MOST_NAMED = 12
_STANDING = (
    "A calculation, not a signed project. One-way television only; not verified for two-way service.",
    "Jackets, firestops and bonding: local codes and licensed practice decide; verify with the authority.",
)


def building_tables(
    design: Design, catalogue: Catalogue, tariff: Tariff, *, design_id: str
) -> tuple[Table, ...]:
    """Every table of a building's book, in the order of its sheets."""
    tables = [_summary(design, tariff, design_id), _outlets(design), pull_schedule(design, catalogue)]
    tables.append(_runs(design))
    tables += [_parts(design, catalogue, tariff), _cost(design, tariff), _findings(design)]
    if design.chosen.report.amplifiers:
        tables.append(_amplifiers(design, catalogue))
    return tuple(tables)


def _summary(design: Design, tariff: Tariff, design_id: str) -> Table:
    figures, building, served = figures_of(design, tariff.currency), design.building, design.chosen.serves_all
    rows: list[tuple[Value, ...]] = [
        ("Building", building.name or building.id),
        ("Result", "every outlet is served" if served else "NOT every outlet is served"),
        ("Units and outlets", f"{figures.units} units, {figures.outlets} outlets"),
        ("Worst margin", _db(figures.worst_margin_db, f"at outlet {figures.worst_outlet}")),
        ("Best margin", _db(figures.best_margin_db, "")),
        ("Spread over the building", _db(figures.spread_db, "")),
        ("Direct cost", f"{figures.cost_cents / 100:,.2f} {figures.currency} by price sheet {tariff.id}"),
        ("New cable", _long(design, figures.cable_m)),
        ("Proof", figures.certificate),
        *(("Proof takes for granted", text) for text in design.chosen.certificate.assumes),
        ("Limits, plan, codes", f"{building.rules.limits}, {building.rules.plan}, {building.rules.codes}"),
        ("Route", design.route.name),
        ("Design id", design_id),
        ("Prices", tariff.note),
        *(("Rescue tried", _rescue(change.change, change.works, change.note)) for change in design.rescues),
        *(("Assumed", f"{row.field}: {row.value} ({row.why})") for row in building.assumptions),
        *(("Read with care", text) for text in _STANDING),
    ]
    columns = (Column(name="what", width=26), Column(name="value", kind="wide", width=100))
    marks = () if served else ((1, "bad"),)
    return Table(id="summary", title="Summary", columns=columns, rows=tuple(rows), marks=marks)


def _db(value: float | None, where: str) -> str:
    return "" if value is None else f"{value:.2f} dB {where}".rstrip()


def _rescue(change: str, works: bool, note: str) -> str:
    return f"{change}: {'serves every outlet' if works else 'does not help'}. {note}".rstrip()


def _long(design: Design, length_m: float) -> str:
    if design.building.length_unit == "ft":
        return f"{length_m / METRES_A_FOOT:.0f} ft as pulled"
    return f"{length_m:.0f} m as pulled"


def _outlets(design: Design) -> Table:
    """Levels and margins of every outlet at its lowest and its highest carrier."""
    european = design.building.rules.codes.startswith("eu")
    unit, shift = ("dBµV", DBUV_AT_0_DBMV) if european else ("dBmV", 0.0)
    report, margins = design.chosen.report, design.chosen.margins
    level = report.outlet_level_dbmv
    rooms = {outlet.id: outlet.room for outlet in design.building.outlets}
    rows: list[tuple[Value, ...]] = []
    marks: list[tuple[int, str]] = []
    for at, served in enumerate(report.outlets):
        known = np.isfinite(level[at])
        if not known.any():
            named = (served.outlet, served.unit, served.floor, rooms.get(served.outlet, ""))
            rows.append((*named, *(None,) * 7))
            marks.append((at, "bad"))
            continue
        low, high = int(np.nanargmin(level[at])), int(np.nanargmax(level[at]))
        left_low = float(np.fmin.reduce(margins.low_db[at]))
        left_high = float(np.fmin.reduce(margins.high_db[at]))
        rows.append(
            (
                served.outlet,
                served.unit,
                served.floor,
                rooms.get(served.outlet, ""),
                float(level[at, low]) + shift,
                report.carriers[low].id,
                float(level[at, high]) + shift,
                report.carriers[high].id,
                left_low if np.isfinite(left_low) else None,
                left_high if np.isfinite(left_high) else None,
                str(served.port),
            )
        )
        if min(left_low, left_high) < 0.0:
            marks.append((at, "bad"))
    columns = (
        Column(name="outlet"),
        Column(name="unit"),
        Column(name="floor", width=8),
        Column(name="room", width=16),
        Column(name="lowest level", unit=unit, kind="exact"),
        Column(name="on", width=9),
        Column(name="highest level", unit=unit, kind="exact"),
        Column(name="on", width=9),
        Column(name="above low limit", unit="dB", kind="exact"),
        Column(name="below high limit", unit="dB", kind="exact"),
        Column(name="port", width=20),
    )
    return Table(id="outlets", title="Outlets", columns=columns, rows=tuple(rows), marks=tuple(marks))


def _runs(design: Design) -> Table:
    """Every run of the network, from port to device."""
    rows: tuple[tuple[Value, ...], ...] = tuple(
        (
            run.id,
            str(run.start),
            run.end,
            run.cable or "none: joined directly",
            run.length_m,
            ", ".join(run.ways),
            run.ambient,
            "there already" if run.existing else "",
        )
        for run in sorted(design.chosen.network.runs, key=lambda run: run.id)
    )
    columns = (
        Column(name="run", width=16),
        Column(name="from", width=22),
        Column(name="to", width=16),
        Column(name="cable", width=20),
        Column(name="length as pulled", unit="m", kind="exact"),
        Column(name="ways", kind="wide"),
        Column(name="ambient", width=10),
        Column(name="note", width=14),
    )
    return Table(id="runs", title="Runs", columns=columns, rows=rows)


def _parts(design: Design, catalogue: Catalogue, tariff: Tariff) -> Table:
    """What to buy: parts by count, cables by length."""
    network = design.chosen.network
    parts = [device.part for device in network.devices] + [tariff.terminator] * len(network.terminated)
    rows: list[tuple[Value, ...]] = []
    for name in sorted(set(parts)):
        count, each = parts.count(name), tariff.device_cents(name) / 100
        rows.append((name, catalogue.part(name).name, count, "pcs", each, count * each))
    cents = _run_cents(design, tariff)
    lengths: dict[str, float] = {}
    costs: dict[str, int] = {}
    for run in network.runs:
        if run.cable is not None and not run.existing:
            lengths[run.cable] = lengths.get(run.cable, 0.0) + run.length_m
            costs[run.cable] = costs.get(run.cable, 0) + cents[run.id]
    for name in sorted(lengths):
        cost, length_m = costs[name] / 100, lengths[name]
        rows.append((name, catalogue.cable(name).name, length_m, "m", cost / length_m, cost))
    columns = (
        Column(name="part or cable", width=18),
        Column(name="name", kind="wide"),
        Column(name="count", kind="number"),
        Column(name="unit", width=6),
        Column(name="each, mounted", unit=tariff.currency, kind="money"),
        Column(name="together", unit=tariff.currency, kind="money"),
    )
    note = "Material and labour. Cable with ends, labels and tests; net lengths, no waste, no spares."
    return Table(
        id="parts", title="Parts", columns=columns, rows=tuple(rows), totals=("together",), note=note
    )


def _run_cents(design: Design, tariff: Tariff) -> dict[str, int]:
    """What each new run costs, by run id."""
    network = design.chosen.network
    ways = {way.id: WayKind(way=way.id, kind=way.kind, length_m=way.pulled_m) for way in design.building.ways}
    cables = {run.id: run.cable for run in network.runs}
    return {
        name: tariff.run_cents(cable, legs)
        for name, legs in legs_of(network, ways).items()
        if (cable := cables[name]) is not None
    }


def _cost(design: Design, tariff: Tariff) -> Table:
    """Direct cost, adding up to the cent: every device and every run."""
    network = design.chosen.network
    end_cost = tariff.device_cents(tariff.terminator) / 100
    rows: list[tuple[Value, ...]] = [
        (device.id, device.part, device.place, None, tariff.device_cents(device.part) / 100)
        for device in sorted(network.devices, key=lambda device: device.id)
    ]
    runs = {run.id: run for run in network.runs}
    for name, cents in sorted(_run_cents(design, tariff).items()):
        run = runs[name]
        rows.append((f"run {name}", str(run.cable), str(run.start), run.length_m, cents / 100))
    for port in sorted(network.terminated):
        rows.append((f"end {port}", tariff.terminator, port.device, None, end_cost))
    columns = (
        Column(name="item", width=24),
        Column(name="part or cable", width=18),
        Column(name="place or start", width=24),
        Column(name="length", unit="m", kind="exact"),
        Column(name="direct cost", unit=tariff.currency, kind="money"),
    )
    note = "Direct cost. Waste, spares, lumps, factors and mark-ups are not in it."
    return Table(
        id="cost", title="Cost", columns=columns, rows=tuple(rows), totals=("direct cost",), note=note
    )


def _findings(design: Design) -> Table:
    found = worst_first(design.chosen.findings)
    rows = tuple(
        (
            finding.severity,
            finding.rule,
            finding.text,
            _named(finding.where),
            finding.carrier or "",
            finding.measured,
            finding.limit,
            finding.unit,
            finding.source,
        )
        for finding in found
    )
    columns = (
        Column(name="severity", width=9),
        Column(name="rule", width=22),
        Column(name="finding", kind="wide"),
        Column(name="where, worst first", kind="wide"),
        Column(name="carrier", width=9),
        Column(name="measured", kind="exact"),
        Column(name="limit", kind="exact"),
        Column(name="unit", width=7),
        Column(name="source", kind="wide", width=30),
    )
    colours = {"breaks": "bad", "warns": "look"}
    marks = tuple((at, colours[row.severity]) for at, row in enumerate(found) if row.severity in colours)
    return Table(id="findings", title="Findings", columns=columns, rows=rows, marks=marks)


def _named(ids: tuple[str, ...]) -> str:
    """The first of many ids, and how many more there are."""
    more = f" and {len(ids) - MOST_NAMED} more" if len(ids) > MOST_NAMED else ""
    return ", ".join(ids[:MOST_NAMED]) + more


def _amplifiers(design: Design, catalogue: Catalogue) -> Table:
    """Set-up of each amplifier: what to plug, what to set, what to read."""
    devices = {device.id: device for device in design.chosen.network.devices}
    rows: list[tuple[Value, ...]] = []
    for row in design.chosen.report.amplifiers:
        device = devices[row.device]
        part = catalogue.part(device.part)
        full = part.active.gain_db.high if part.active else None
        gain = device.settings.gain_db if device.settings.gain_db is not None else full
        rows.append(
            (
                row.device,
                device.part,
                device.place,
                *_ends(row.input_dbmv),
                device.settings.input_pad_db,
                device.settings.input_equaliser_db,
                gain,
                full,
                device.settings.slope_db,
                *_ends(row.output_dbmv),
                *_ends(row.test_point_dbmv),
                row.rated_dbmv,
                row.basis,
                row.headroom_today_db,
                row.headroom_tomorrow_db,
            )
        )
    level = "dBmV"
    columns = (
        Column(name="amplifier", width=14),
        Column(name="part", width=14),
        Column(name="place", width=12),
        Column(name="input low", unit=level, kind="exact"),
        Column(name="input high", unit=level, kind="exact"),
        Column(name="pad", unit="dB", kind="exact"),
        Column(name="equaliser", unit="dB", kind="exact"),
        Column(name="gain set", unit="dB", kind="exact"),
        Column(name="gain full", unit="dB", kind="exact"),
        Column(name="slope", unit="dB", kind="exact"),
        Column(name="output low", unit=level, kind="exact"),
        Column(name="output high", unit=level, kind="exact"),
        Column(name="test low", unit=level, kind="exact"),
        Column(name="test high", unit=level, kind="exact"),
        Column(name="rated", unit=level, kind="exact"),
        Column(name="basis", width=12),
        Column(name="headroom today", unit="dB", kind="exact"),
        Column(name="headroom tomorrow", unit="dB", kind="exact"),
    )
    note = "Low and high are the lowest and the highest carrier in frequency."
    return Table(id="amplifiers", title="Amplifiers", columns=columns, rows=tuple(rows), note=note)


def _ends(levels: np.typing.NDArray[np.float64]) -> tuple[float | None, float | None]:
    """The first and the last level that is there."""
    known = levels[np.isfinite(levels)]
    return (float(known[0]), float(known[-1])) if known.size else (None, None)
