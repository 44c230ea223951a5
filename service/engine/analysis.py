"""Analysing a network as it stands: what arrives, what is left, what fails, and the answers to give."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from service.engine.checks.answers import Answer, answer_questions
from service.engine.checks.case import open_case, windows_of
from service.engine.checks.judge import judge_case
from service.engine.checks.margins import OutletMargins, outlet_margins
from service.engine.findings import Finding
from service.engine.findings import serves_all as serves_all_of
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Network
from service.engine.propagation.levels import carriers_of
from service.engine.propagation.report import SignalReport
from service.engine.propagation.signals import propagate
from service.engine.propagation.spread import AS_DRAWN, Conditions, OutletLimits
from service.engine.signal.limits import Limits
from service.engine.signal.spectrum import Service


@dataclass(frozen=True, slots=True, kw_only=True)
class Analysis:
    """A network with its limits and everything found about it. `findings` come worst first."""

    network: Network
    limits: Limits
    report: SignalReport
    margins: OutletMargins
    findings: tuple[Finding, ...]
    answers: tuple[Answer, ...]
    serves_all: bool


def analyse(
    network: Network,
    catalogue: Catalogue,
    limits: Limits,
    services: Mapping[str, Service],
    *,
    conditions: Conditions = AS_DRAWN,
    margins: bool = True,
    spread: bool = True,
) -> Analysis:
    """Propagate a valid network and judge it by a profile.

    With `margins` off neither design windows nor reserves are asked for; with `spread` off tolerances and
    temperature are left out. The passband is the profile's, up to its satellite end when a satellite service
    is on the cable.

    Raises UnknownIdError, NotATreeError and OutsideTableError for a network that validation would refuse.
    """
    carriers = carriers_of(tuple(sorted(network.feeds, key=lambda feed: feed.id)))
    satellite = any(
        services[carrier.service].band == "satellite" for carrier in carriers if carrier.service in services
    )
    windows = windows_of(tuple(limits.service(carrier.service) for carrier in carriers), margins=margins)
    asked = OutletLimits(low_dbmv=windows.low_dbmv, high_dbmv=windows.high_dbmv)
    report = propagate(
        network,
        catalogue,
        services,
        passband_mhz=limits.passband_mhz(satellite=satellite),
        conditions=conditions,
        outlet_limits=asked if spread else None,
    )
    case = open_case(network, catalogue, limits, services, report, margins=margins)
    left = outlet_margins(report, limits, margins=margins)
    findings = judge_case(case)
    return Analysis(
        network=network,
        limits=limits,
        report=report,
        margins=left,
        findings=findings,
        answers=answer_questions(case, left),
        serves_all=serves_all_of(findings),
    )
