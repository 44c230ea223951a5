"""Ports: what stands open, and what is left for one more outlet."""

from __future__ import annotations

from collections.abc import Iterator

from service.engine.checks.case import Case
from service.engine.checks.grouping import SLACK, counted, shown
from service.engine.findings import Finding

#: Share of a building's ports that a new one keeps free: common practice.
SPARE_SHARE = 0.10


def check_open_ports(case: Case) -> Iterator[Finding]:
    """Ports made for a cable that neither a run, an outlet nor a terminator closes."""
    open_ports = tuple(str(port) for port in case.open_ports)
    if open_ports:
        text = f"{counted(len(open_ports), 'port')} without cable or terminator: {', '.join(open_ports[:5])}"
        yield Finding(rule="open-port", severity="warns", where=open_ports, text=text)


def check_spare_ports(case: Case) -> Iterator[Finding]:
    """Less than a tenth of the ports made for a cable is spare."""
    ports, spare = case.cable_ports, case.spare_ports
    asked = SPARE_SHARE * len(ports)
    if case.margins and ports and len(spare) < asked - SLACK:
        share = 100.0 * len(spare) / len(ports)
        yield Finding(
            rule="spare-ports",
            severity="notes",
            where=(case.network.id,),
            measured=share,
            limit=100.0 * SPARE_SHARE,
            unit="%",
            text=f"{len(spare)} of {len(ports)} ports are spare: {shown(share, '%')}, aim 10 %",
        )
