"""A design's levels, runs, pulls, bill and amplifiers as JSON: what stands beside its network in its document."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.documents.faces import as_json, rounded, rounded_rows
from service.documents.outlet_table import spread_db, unit_spreads
from service.documents.table import money
from service.engine.placement.proposal import Design
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.tariff import Tariff
from service.engine.works.bill import BelowLine, Bill, BillLine, bill_of
from service.engine.works.pulls import Pull, pulls_of
from service.engine.works.reels import reel_of_run
from service.engine.works.runs import CableRun, cable_runs
from service.engine.works.setup import setups_of
from service.engine.works.statements import STANDING_LINES


def design_sections(design: Design, catalogue: Catalogue, tariff: Tariff) -> dict[str, Any]:
    """Outlets, spread, runs, pulls, bill, set-ups and statements of a design's chosen network.

    Lengths in metres, levels in dBmV, hours of persons, money as decimal text in the bill's currency.
    """
    building, network = design.building, design.chosen.network
    bill = bill_of(building, network, catalogue, tariff)
    pulls = pulls_of(building, network, catalogue, tariff)
    reels = reel_of_run(bill.reels)
    sections: dict[str, Any] = {
        "rules": building.rules,
        "carriers": [carrier.id for carrier in design.chosen.report.carriers],
        "outlets": _outlets(design),
        "spread": {
            "building_db": spread_db(design.chosen.report.outlet_level_dbmv),
            "units_db": {
                unit: None if spread is None else rounded(spread, "spread_db")
                for unit, spread in unit_spreads(design.chosen.report).items()
            },
        },
        "runs": [_run(run) for run in cable_runs(building, network, catalogue)],
        "pulls": [_pull(pull, reels) for pull in pulls],
        "bill": _bill(bill),
        "setups": setups_of(building, network, design.chosen.report, catalogue),
        "statements": STANDING_LINES,
    }
    face: dict[str, Any] = as_json(sections)
    return face


def _outlets(design: Design) -> list[dict[str, Any]]:
    report, margins = design.chosen.report, design.chosen.margins
    level = report.outlet_level_dbmv
    return [
        {
            "outlet": served.outlet,
            "unit": served.unit,
            "floor": served.floor,
            "port": str(served.port),
            "level_dbmv": rounded_rows(level[at], "level_dbmv"),
            "margin_low_db": rounded_rows(margins.low_db[at], "margin_low_db"),
            "margin_high_db": rounded_rows(margins.high_db[at], "margin_high_db"),
        }
        for at, served in enumerate(report.outlets)
    ]


def _run(run: CableRun) -> dict[str, Any]:
    return {
        "id": run.id,
        "label": run.label,
        "start_label": run.start_label,
        "end_label": run.end_label,
        "from": str(run.start),
        "cable": run.cable,
        "jacket": run.jacket,
        "strictest_space": run.strictest,
        "jackets_allowed": run.permitted,
        "ways": [way.id for way in run.ways],
        "stops": run.stops,
        "way_m": run.way_m,
        "left_start_m": run.left_start_m,
        "left_end_m": run.left_end_m,
        "length_m": run.length_m,
        "firestops": run.firestops,
        "existing": run.existing,
    }


def _pull(pull: Pull, reels: Mapping[str, str]) -> dict[str, Any]:
    return {
        "pull": pull.name,
        "phase": pull.phase,
        "zone": pull.zone,
        "start": pull.start_place.id,
        "hours": round(pull.hours, 3),
        "cables": [
            {
                "run": cable.run.id,
                "box": cable.box,
                "leaves_at": cable.leaves_at,
                "cut_from": reels.get(cable.run.id),
            }
            for cable in pull.cables
        ],
    }


def _bill(bill: Bill) -> dict[str, Any]:
    return {
        "currency": bill.currency,
        "lines": [_line(line) for line in bill.lines],
        "direct": str(money(bill.direct_cents)),
        "hours": round(bill.hours, 3),
        "below": [_below(line) for line in bill.below],
        "below_total": str(money(bill.below_cents)),
    }


def _line(line: BillLine) -> dict[str, Any]:
    return {
        "heading": line.heading,
        "item": line.item,
        "name": line.name,
        "quantity": round(line.quantity, 2),
        "unit": line.unit,
        "material": str(money(line.material_cents)),
        "labour": str(money(line.labour_cents)),
        "total": str(money(line.total_cents)),
    }


def _below(line: BelowLine) -> dict[str, Any]:
    return {
        "why": line.why,
        "item": line.item,
        "name": line.name,
        "quantity": round(line.quantity, 2),
        "unit": line.unit,
        "total": str(money(line.total_cents)),
        "note": line.note,
    }
