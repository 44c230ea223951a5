"""A design to what is stored of it, and back: what isn't stored is computed again.

Stored are the building as posted, the network, the parts, cables and prices that were in force, and what the
search said. Levels, margins, runs, pulls and costs are computed from those.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from typing import Any

from service.documents.plant import cable_document, part_document
from service.engine.analysis import analyse
from service.engine.findings import Finding
from service.engine.placement.proposal import (
    Certificate,
    Choice,
    CurvePoint,
    Design,
    Proposal,
    Rescue,
    TriedRoute,
)
from service.engine.plant.tariff import CablePrice, PartPrice, PullRate, Tariff, WayKind, network_cents
from service.engine.routes.plan import Hop, RoutePlan
from service.forms.building import read_building
from service.forms.known import Known
from service.forms.network import NetworkForm, read_network
from service.portfolio import ID_DIGITS, Job, Line, design_summary, network_of
from service.store.designs import StoredDesign

Json = Mapping[str, Any]


def design_id(job: Job) -> str:
    """The id of a job's design: the same document, prices and library have the same design and id."""
    return job.digest[:ID_DIGITS]


def stored_of(job: Job, document: Json, terms: str, design: Design, line: Line, known: Known) -> StoredDesign:
    """What is kept of a design."""
    chosen = design.chosen
    used_parts = sorted({device.part for device in chosen.network.devices} | {job.tariff.terminator})
    used_cables = sorted({run.cable for run in chosen.network.runs if run.cable is not None})
    return StoredDesign(
        id=design_id(job),
        building=document,
        network=network_of(job, design),
        catalogue={
            "parts": [part_document(known.catalogue.part(name)) for name in used_parts],
            "cables": [cable_document(known.catalogue.cable(name)) for name in used_cables],
            "tariff": {row.name: _plain(getattr(job.tariff, row.name)) for row in fields(Tariff) if row.init},
        },
        digests={"design": job.digest, "terms": terms},
        summary=design_summary(design, line),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Recalled:
    """A stored design, computed again, with the prices that were in force."""

    design: Design
    tariff: Tariff


def recalled(stored: StoredDesign, known: Known, *, spread: bool = False) -> Recalled:
    """Compute a stored design again, with `spread` also under tolerances and temperature.

    Raises LookupError for one of another version that no longer reads.
    """
    form = _network(stored, known)
    tariff = _tariff(stored.catalogue["tariff"])
    reading = read_building(dict(stored.building), known, {tariff.id})
    if reading.building is None:
        raise LookupError(f"the building of design {stored.id} no longer reads: {reading.faults[0].wrong}")
    building, summary = reading.building, stored.summary
    analysis = analyse(
        form.network,
        form.catalogue,
        known.limits[building.rules.limits],
        known.services,
        margins=building.policy.margins,
        spread=spread,
    )
    ways = {way.id: WayKind(way=way.id, kind=way.kind, length_m=way.pulled_m) for way in building.ways}
    proof = summary["certificate"]
    chosen = Proposal(
        label=summary["label"],
        network=form.network,
        cost_cents=network_cents(form.network, tariff, ways),
        report=analysis.report,
        margins=analysis.margins,
        findings=tuple(Finding(**(row | {"where": tuple(row["where"])})) for row in summary["findings"]),
        certificate=Certificate(
            **(
                proof
                | {name: _pairs(proof.get(name, ())) for name in ("assumes", "policy_price", "unpriced")}
            )
        ),
        reasons=_pairs(summary["reasons"]),
    )
    hops = tuple(Hop(**hop) for hop in summary["route"]["hops"])
    design = Design(
        building=building,
        route=RoutePlan(name=summary["route"]["name"], root=summary["route"]["root"], hops=hops),
        chosen=chosen,
        rescues=tuple(Rescue(**row) for row in summary["rescues"]),
        choices=tuple(Choice(**row) for row in summary.get("choices", ())),
        curve=tuple(CurvePoint(**row) for row in summary.get("curve", ())),
        tried_routes=tuple(TriedRoute(**row) for row in summary.get("tried_routes", ())),
        assumptions=building.assumptions,
    )
    return Recalled(design=design, tariff=tariff)


def _plain(value: Any) -> Any:
    """A field of a price sheet as JSON: rows become objects."""
    return [asdict(row) for row in value] if isinstance(value, tuple) else value


def _tariff(document: Json) -> Tariff:
    """The price sheet that was kept."""
    return Tariff(
        **(
            dict(document)
            | {
                "parts": tuple(PartPrice(**row) for row in document["parts"]),
                "cables": tuple(CablePrice(**row) for row in document["cables"]),
                "pulls": tuple(PullRate(**row) for row in document["pulls"]),
            }
        )
    )


def _pairs(rows: Sequence[Any]) -> tuple[Any, ...]:
    """A JSON array of texts or of pairs as the engine has it."""
    return tuple(tuple(row) if isinstance(row, list) else row for row in rows)


def _network(stored: StoredDesign, known: Known) -> NetworkForm:
    document = dict(stored.network)
    document |= {key: stored.catalogue[key] for key in ("parts", "cables") if stored.catalogue[key]}
    form, faults = read_network(document, known)
    if form is None:
        raise LookupError(f"the network of design {stored.id} no longer reads: {faults[0].wrong}")
    return form
