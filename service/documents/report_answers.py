"""The ten questions to be answered before anyone signs, with the figures behind each answer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from service.documents.measures import Measures
from service.engine.checks.answers import Answer, Figure, answer_questions
from service.engine.checks.case import open_case
from service.engine.placement.proposal import Design
from service.engine.plant.catalogue import Catalogue
from service.engine.propagation.signals import propagate
from service.engine.signal.limits import Limits
from service.engine.signal.spectrum import Service
from service.engine.works.bill import Bill
from service.engine.works.pulls import Firestop
from service.engine.works.runs import CableRun
from service.engine.works.setup import AmplifierSetup

_LONGER = 1.1


def ten_answers(
    design: Design,
    catalogue: Catalogue,
    limits: Limits,
    services: Mapping[str, Service],
    *,
    bill: Bill,
    runs: tuple[CableRun, ...],
    firestops: tuple[Firestop, ...],
    setups: tuple[AmplifierSetup, ...],
) -> tuple[Answer, ...]:
    """Seven answers of the signals and the network, three of what the crew gets, by number."""
    chosen, margins = design.chosen, design.building.policy.margins
    case = open_case(chosen.network, catalogue, limits, services, chosen.report, margins=margins)
    signals = answer_questions(case, chosen.margins)
    return (
        *signals,
        _jackets(runs, firestops),
        _one_source(design, bill, _with_longer_runs(design, catalogue, limits, services)),
        _from_the_sheet(design, setups),
    )


def _jackets(runs: tuple[CableRun, ...], firestops: tuple[Firestop, ...]) -> Answer:
    asks = "Is every jacket right for every space, every wall counted and sealed, every entrance and mast bonded?"
    new = [run for run in runs if not run.existing]
    wrong = [run.id for run in new if not run.jacket_fits]
    text = f"{len(new) - len(wrong)} of {len(new)} new cables have a jacket that every space on their way allows. "
    text += f"{len(firestops)} sleeves and seals are counted and numbered. "
    text += "Bonds are listed in the bonding schedule; local codes and licensed practice decide."
    figures = (
        Figure(name="cables whose jacket is to be settled", value=float(len(wrong)), unit=""),
        Figure(name="sleeves and seals", value=float(len(firestops)), unit=""),
    )
    return Answer(question=8, asks=asks, text=text, figures=figures)


def _one_source(design: Design, bill: Bill, least_db: float | None) -> Answer:
    asks = (
        "Do price, bill and pull sheet come from the same runs; what is excluded; what if ways are 10 % longer or "
        "15 % of the doors stay shut?"
    )
    same = bill.direct_cents == design.chosen.cost_cents
    text = (
        "Yes: cost, bill and pull schedule are made from the same runs and agree to the cent. "
        if same
        else "Cost and bill differ: see the findings. "
    )
    text += "Excluded: lumps, overhead, mark-up, tax and contingency. "
    if least_db is not None:
        kept = "every outlet keeps its limits" if least_db >= 0 else "limits are broken"
        text += f"With every cable 10 % longer {kept}: the least that is left is {least_db:.1f} dB."
    text += " The estimate has the price of both."
    figures = (
        () if least_db is None else (Figure(name="least left, ways 10 % longer", value=least_db, unit="dB"),)
    )
    return Answer(question=9, asks=asks, text=text, figures=figures)


def _with_longer_runs(
    design: Design, catalogue: Catalogue, limits: Limits, services: Mapping[str, Service]
) -> float | None:
    """What the worst outlet has left to its limits when every new cable is a tenth longer, all settings kept."""
    chosen, report = design.chosen, design.chosen.report
    runs = tuple(
        run if run.existing else replace(run, length_m=run.length_m * _LONGER) for run in chosen.network.runs
    )
    network = replace(chosen.network, runs=runs)
    edges = report.frequency_mhz[len(report.carriers) :]
    band = (float(edges[0]), float(edges[-1])) if edges.size else limits.passband_mhz(satellite=False)
    longer = propagate(network, catalogue, services, passband_mhz=band)
    moved = longer.outlet_level_dbmv - report.outlet_level_dbmv
    left = np.fmin(chosen.margins.low_db + moved, chosen.margins.high_db - moved)
    return float(np.nanmin(left)) if np.isfinite(left).any() else None


def _from_the_sheet(design: Design, setups: tuple[AmplifierSetup, ...]) -> Answer:
    asks = (
        "Can a technician who never saw the design set each amplifier and judge each outlet from the sheet, and "
        "can it be issued again without renumbering what is pulled?"
    )
    unit = Measures.of(design.building).level_unit
    count = len(setups)
    sheets = (
        "There is no amplifier to set"
        if not count
        else f"{count} set-up sheet{'s say' if count > 1 else ' says'} what to set and read"
    )
    text = (
        f"{sheets}; every outlet has its level in {unit} and what is left to each limit, to be moved by that day's "
        "input: expected = design + input measured − input designed. A run is named by what it feeds, so a "
        "revision keeps the names of what stays."
    )
    return Answer(question=10, asks=asks, text=text)
