"""Ports: what stands open, and what is left for one more outlet."""

from __future__ import annotations

from collections.abc import Iterator

from service.engine.checks.case import Case
from service.engine.checks.grouping import SLACK, counted, shown
from service.engine.findings import Finding
from service.engine.plant.network import Port

#: Share of a building's ports that a new one keeps free: common practice.
SPARE_SHARE = 0.10


def check_open_ports(case: Case) -> Iterator[Finding]:
    """Ports made for a cable that neither a run, an outlet nor a terminator closes."""
    open_ports = tuple(str(port) for port in open_cable_ports(case))
    if open_ports:
        text = f"{counted(len(open_ports), 'port')} without cable or terminator: {', '.join(open_ports[:5])}"
        yield Finding(rule="open-port", severity="warns", where=open_ports, text=text)


def check_spare_ports(case: Case) -> Iterator[Finding]:
    """Less than a tenth of the ports made for a cable is spare."""
    ports = _cable_ports(case)
    spare = spare_ports(case)
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


def open_cable_ports(case: Case) -> list[Port]:
    """Ports made for a cable that nothing closes, in order of their names."""
    used = {run.start for run in case.network.runs} | {served.port for served in case.network.served}
    used.update(case.network.terminated)
    return sorted(port for port in _cable_ports(case) if port not in used)


def spare_ports(case: Case) -> list[Port]:
    """Ports made for a cable that one more run could start from: terminated or open."""
    closed = set(case.network.terminated)
    return sorted(closed.intersection(_cable_ports(case)) | set(open_cable_ports(case)))


def _cable_ports(case: Case) -> list[Port]:
    """Output ports of feeds, and of devices where their group ends in a cable."""
    wanted = {
        (device, group.name)
        for device, part in case.parts.items()
        for group in part.groups
        if group.ends_in == "cable"
    }
    feeds = {feed.id for feed in case.network.feeds}
    return [port for port in case.report.ports if port.device in feeds or (port.device, port.group) in wanted]
