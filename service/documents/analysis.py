"""An analysis as a document: what arrives at every port and outlet, what is wrong, and the answers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.documents.faces import Rounded, as_json, rounded_rows
from service.engine.analysis import Analysis
from service.engine.checks.answers import Answer
from service.engine.checks.margins import Edge
from service.engine.findings import Finding
from service.engine.propagation.report import AmplifierReport, IsolationReport, PowerReport
from service.engine.signal.limits import design_window

Floats = NDArray[np.float64]
Figures = tuple[float | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CarrierFace:
    """A carrier, and the levels and the ratio asked of its service; null where nothing is asked."""

    id: str
    frequency_mhz: float
    low_mhz: float
    high_mhz: float
    service: str
    low_dbmv: float | None
    high_dbmv: float | None
    design_low_dbmv: float | None
    design_high_dbmv: float | None
    cn_db: float | None
    point: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OutletFace:
    """An outlet, its figures in the order of `carriers`; null where nothing arrives or nothing adds.

    `margin_low_db` is what is left above the lower limit at the worst carrier, `margin_high_db` below the
    upper one; negative outside. `least_dbmv` and `most_dbmv` are the 5th and 95th percentile over the
    draws, empty where the spread is off.
    """

    outlet: str
    user: str
    unit: str
    floor: str
    at: str
    inside: bool
    margin_low_db: float | None
    margin_high_db: float | None
    level_dbmv: Figures
    cn_db: Figures
    cni_db: Figures
    least_dbmv: Figures
    most_dbmv: Figures


@dataclass(frozen=True, slots=True, kw_only=True)
class PortFace:
    """An output port: levels in the order of `frequency_mhz`, and highest carrier less lowest."""

    port: str
    level_dbmv: Figures
    slope_db: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceFace:
    """A device: levels at its input in the order of `frequency_mhz`."""

    id: str
    part: str
    place: str
    input_dbmv: Figures


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadFace:
    """Tolerances and temperature: the share of draws in which every outlet stays inside its limits."""

    draws: int
    yield_share: float
    statement: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AnalysisFace:
    """What a network as it stands delivers.

    `frequency_mhz` holds the carriers' frequencies and then the two passband edges, drawn in to where every
    part in use has a figure. Levels are dBmV across 75 Ω: channel power for digital, peak power for analogue
    services.
    """

    document: str
    version: int
    network: str
    name: str
    source: str
    limits: str
    statement: str
    serves_all: bool
    worst: Edge | None
    best: Edge | None
    spread: SpreadFace | None
    frequency_mhz: tuple[float, ...]
    carriers: tuple[CarrierFace, ...]
    findings: tuple[Finding, ...]
    answers: tuple[Answer, ...]
    outlets: tuple[OutletFace, ...]
    amplifiers: tuple[AmplifierReport, ...]
    isolation: tuple[IsolationReport, ...]
    power: PowerReport
    devices: tuple[DeviceFace, ...]
    ports: tuple[PortFace, ...]


def analysis_face(analysis: Analysis, *, margins: bool = True, source: str = "") -> AnalysisFace:
    """An analysis, rounded: levels to 0.01 dB, nothing that is not finite."""
    report = analysis.report
    spread = report.spread
    return AnalysisFace(
        document="evendrop/analysis",
        version=1,
        network=analysis.network.id,
        name=analysis.network.name,
        source=source,
        limits=analysis.limits.id,
        statement=analysis.limits.statement,
        serves_all=analysis.serves_all,
        worst=analysis.margins.worst,
        best=analysis.margins.best,
        spread=None
        if spread is None
        else SpreadFace(draws=spread.draws, yield_share=spread.yield_share, statement=spread.statement),
        frequency_mhz=tuple(report.frequency_mhz.tolist()),
        carriers=_carriers(analysis, margins),
        findings=analysis.findings,
        answers=analysis.answers,
        outlets=_outlets(analysis),
        amplifiers=report.amplifiers,
        isolation=report.isolation,
        power=report.power,
        devices=_devices(analysis),
        ports=_ports(analysis),
    )


def _carriers(analysis: Analysis, margins: bool) -> tuple[CarrierFace, ...]:
    faces = []
    for carrier in analysis.report.carriers:
        asked = analysis.limits.service(carrier.service)
        low, high = (None, None) if asked is None else design_window(asked, margins=margins)
        faces.append(
            CarrierFace(
                id=carrier.id,
                frequency_mhz=carrier.frequency_mhz,
                low_mhz=carrier.low_mhz,
                high_mhz=carrier.high_mhz,
                service=carrier.service,
                low_dbmv=None if asked is None else asked.low_dbmv,
                high_dbmv=None if asked is None else asked.high_dbmv,
                design_low_dbmv=low,
                design_high_dbmv=high,
                cn_db=None if asked is None else asked.cn_db,
                point="" if asked is None else asked.point,
                source="" if asked is None else asked.source,
            )
        )
    return tuple(faces)


def _rows(values: Floats) -> list[Figures]:
    return [Rounded(row) for row in rounded_rows(values, "dbmv")]


def _least(values: Floats) -> list[float | None]:
    return rounded_rows(np.fmin.reduce(values, axis=1, initial=np.inf), "db")


def _outlets(analysis: Analysis) -> tuple[OutletFace, ...]:
    report, margins = analysis.report, analysis.margins
    rows, count = report.outlet_rows, len(report.carriers)
    levels = _rows(report.outlet_level_dbmv)
    noise = _rows(report.cn_db[rows, :count])
    both = _rows(report.cni_db[rows, :count])
    spread = report.spread
    silent: list[Figures] = [Rounded()] * len(levels)
    least = silent if spread is None else _rows(spread.low_dbmv)
    most = silent if spread is None else _rows(spread.high_dbmv)
    low, high = _least(margins.low_db), _least(margins.high_db)
    inside = margins.least_db >= 0.0
    return tuple(
        OutletFace(
            outlet=served.outlet,
            user=served.user,
            unit=served.unit,
            floor=served.floor,
            at=str(served.port),
            inside=bool(inside[n]),
            margin_low_db=low[n],
            margin_high_db=high[n],
            level_dbmv=levels[n],
            cn_db=noise[n],
            cni_db=both[n],
            least_dbmv=least[n],
            most_dbmv=most[n],
        )
        for n, served in enumerate(report.outlets)
    )


def _devices(analysis: Analysis) -> tuple[DeviceFace, ...]:
    known = {device.id: device for device in analysis.network.devices}
    levels = _rows(analysis.report.input_dbmv)
    return tuple(
        DeviceFace(id=name, part=known[name].part, place=known[name].place, input_dbmv=row)
        for name, row in zip(analysis.report.devices, levels, strict=True)
    )


def _ports(analysis: Analysis) -> tuple[PortFace, ...]:
    report = analysis.report
    slopes: list[float | None] = rounded_rows(report.slope_db, "db")
    levels = _rows(report.level_dbmv)
    return tuple(
        PortFace(port=str(port), level_dbmv=row, slope_db=slope)
        for port, row, slope in zip(report.ports, levels, slopes, strict=True)
    )


def analysis_document(analysis: Analysis, *, margins: bool = True, source: str = "") -> dict[str, Any]:
    """The same as JSON."""
    document: dict[str, Any] = as_json(analysis_face(analysis, margins=margins, source=source))
    return document
