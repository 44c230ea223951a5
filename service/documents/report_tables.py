"""Tables that only the report has: response to every outlet, powering, sources, contents."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from service.documents.measures import Measures
from service.documents.table import Column, Table, Value, money
from service.engine.placement.proposal import Design
from service.engine.plant.catalogue import Catalogue
from service.engine.signal.limits import Limits
from service.engine.works.setup import AmplifierSetup

#: What Order ITC/1644/2011, Annex I, asks of a file on a building's reception, and where the report has it.
#: Source: Order ITC/1644/2011, Annex I, read at second hand.
_ASKED = (
    ("devices and their data", "Parts; riser drawing", "table-parts"),
    ("attenuation from the head-end to every outlet", "Response of every outlet", "table-response"),
    ("best and worst response over frequency", "Response of every outlet; charts", "charts"),
    ("amplifiers with place and highest output", "Amplifier set-up", "amplifiers"),
    ("level at the best and at the worst outlet", "The answer; charts", "answer"),
    ("signal to noise at the worst outlet", "Questions, number 3", "questions"),
    ("intermodulation", "Questions, numbers 2 and 3", "questions"),
    ("principle diagram with every device and length", "Riser drawing", "drawing"),
    ("quantities and budget", "Parts; Cost", "table-cost"),
)


def response_table(design: Design, measures: Measures) -> Table:
    """One row an outlet: loss from the highest level in the plant's trunk to it, response, noise."""
    report = design.chosen.report
    launch = _launched(design)
    level = report.outlet_level_dbmv
    rows: list[tuple[Value, ...]] = []
    for at, served in enumerate(report.outlets):
        loss = launch - level[at]
        ratio = report.cni_db[report.outlet_rows[at]]
        noise = ratio[np.isfinite(ratio)]
        rows.append(
            (
                served.outlet,
                served.unit,
                served.floor,
                _figure(loss, 0),
                _figure(loss, -1),
                float(np.nanmax(loss) - np.nanmin(loss)) if np.isfinite(loss).any() else None,
                float(noise.min()) if noise.size else None,
            )
        )
    low, high = (report.carriers[0].id, report.carriers[-1].id) if report.carriers else ("", "")
    columns = (
        Column(name="outlet", width=14),
        Column(name="unit", width=12),
        Column(name="floor", width=8),
        Column(name=f"attenuation on carrier {low}", unit="dB", kind="exact"),
        Column(name=f"attenuation on carrier {high}", unit="dB", kind="exact"),
        Column(name="response, largest less smallest", unit="dB", kind="exact"),
        Column(name="least C/(N+I)", unit="dB", kind="exact"),
    )
    note = (
        f"From the highest level at the head-end to the outlet; negative where amplifiers on the way add more. "
        f"Levels in {measures.level_unit}; C/(N+I) is empty where nothing is known to add noise."
    )
    return Table(
        id="response", title="Response of every outlet", columns=columns, rows=tuple(rows), note=note
    )


def _launched(design: Design) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """The highest level on each carrier at any output that stands at the head-end."""
    report, network = design.chosen.report, design.chosen.network
    here = {device.id for device in network.devices if device.place == design.building.headend}
    here |= {feed.id for feed in network.feeds}
    rows = [row for row, port in enumerate(report.ports) if port.device in here]
    return np.asarray(
        np.fmax.reduce(report.level_dbmv[rows][:, : len(report.carriers)], axis=0), dtype=np.float64
    )


def _figure(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]], at: int) -> float | None:
    value = float(values[at])
    return value if np.isfinite(value) else None


def alternative_table(design: Design, measures: Measures, currency: str) -> Table:
    """The chosen design and the others that are worth a choice, side by side."""
    rows: list[tuple[Value, ...]] = [
        (
            choice.label + (" (chosen)" if choice.chosen else ""),
            "yes" if choice.recommended else "",
            money(choice.cost_cents),
            choice.spread_db,
            choice.margin_db,
            choice.kinds,
            choice.powered_places,
            measures.level(choice.launch_dbmv),
            "yes" if choice.serves_all else "no",
        )
        for choice in design.choices
    ]
    columns = (
        Column(name="design", kind="wide"),
        Column(name="recommended", width=12),
        Column(name="direct cost", unit=currency, kind="money"),
        Column(name="spread", unit="dB", kind="exact"),
        Column(name="worst outlet, left", unit="dB", kind="exact"),
        Column(name="kinds of part", kind="whole"),
        Column(name="powered places", kind="whole"),
        Column(name="launched at", unit=measures.level_unit, kind="exact"),
        Column(name="serves every outlet", width=12),
    )
    shown = tuple(rows) if len(rows) > 1 else ()
    note = "Ask for another one by its aim, spread or rules in the wishes."
    return Table(id="alternatives", title="Designs to choose from", columns=columns, rows=shown, note=note)


def reason_table(design: Design) -> Table:
    """Why every device stands where it stands."""
    places = {device.id: (device.part, device.place) for device in design.chosen.network.devices}
    rows = tuple((name, *places.get(name, ("", "")), why) for name, why in design.chosen.reasons)
    columns = (
        Column(name="device", width=14),
        Column(name="part", width=16),
        Column(name="place", width=12),
        Column(name="why, and what the next value would do", kind="wide"),
    )
    return Table(id="reasons", title="Why each device", columns=columns, rows=rows)


def power_table(design: Design, setups: tuple[AmplifierSetup, ...]) -> Table:
    """What every amplifier draws and from where, and the load of every supply on the line."""
    rows: list[tuple[Value, ...]] = [
        (s.device, s.place, s.supply, s.voltage_v or None, s.current_a or None, s.draws_w or None)
        for s in setups
    ]
    for name, load in design.chosen.report.power.supply_load_a:
        rows.append((name, "", "supply of the line", None, load, None))
    columns = (
        Column(name="device", width=14),
        Column(name="place", width=14),
        Column(name="supply", width=18),
        Column(name="voltage", unit="V", kind="exact"),
        Column(name="current", unit="A", kind="exact"),
        Column(name="power", unit="W", kind="exact"),
    )
    note = "House power at the region's nominal voltage."
    return Table(id="power", title="Powering", columns=columns, rows=tuple(rows), note=note)


def source_table(design: Design, catalogue: Catalogue, limits: Limits, sources: Mapping[str, str]) -> Table:
    """Where the figures come from: limits, parts and cables of this design. `sources` explains source keys."""
    network = design.chosen.network
    used = {key for device in network.devices for _, key in catalogue.part(device.part).sources}
    cables = {run.cable for run in network.runs if run.cable is not None}
    used |= {key for cable in cables for _, key in catalogue.cable(cable).sources}
    rows: list[tuple[Value, ...]] = [("limits", limits.id, f"{limits.name}. {limits.source}")]
    rows += [("limits", limit.service, limit.source) for limit in limits.services]
    rows += [("parts and cables", key, sources.get(key, "")) for key in sorted(used)]
    columns = (
        Column(name="figures", width=18),
        Column(name="source", width=26),
        Column(name="what it is", kind="wide"),
    )
    return Table(id="sources", title="Sources", columns=columns, rows=tuple(rows), note=limits.statement)


def asked_rows() -> tuple[tuple[str, str, str], ...]:
    """What the Spanish order asks for, where the report has it, and the place to go to."""
    return _ASKED
