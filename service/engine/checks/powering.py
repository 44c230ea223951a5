"""DC on the cable: enough voltage where it is needed, none where people plug in."""

from __future__ import annotations

from collections.abc import Iterator

from service.engine.checks.case import Case
from service.engine.checks.grouping import SLACK, counted, grouped
from service.engine.findings import Finding


def check_line_voltage(case: Case) -> Iterator[Finding]:
    """Line-powered devices below the least voltage they work with, or without any supply."""
    rows = [
        (row.device, row.voltage_v, row.least_v)
        for row in case.report.power.devices
        if row.supply and (row.voltage_v < row.least_v - SLACK or row.voltage_v <= 0.0)
    ]
    yield from grouped(rule="line-voltage", severity="breaks", what="Voltage too low", missed=rows, unit="V")
    unfed = tuple(sorted(row.device for row in case.report.power.devices if not row.supply))
    if unfed:
        text = f"No supply reaches {counted(len(unfed), 'line-powered device')}"
        yield Finding(rule="no-line-power", severity="breaks", where=unfed, text=text)


def check_supply_load(case: Case) -> Iterator[Finding]:
    """Supplies that give more current than they can."""
    rows = [
        (device, load_a, case.parts[device].power.injects_a)
        for device, load_a in case.report.power.supply_load_a
        if load_a > case.parts[device].power.injects_a + SLACK
    ]
    what = "Supply overloaded"
    yield from grouped(rule="supply-load", severity="breaks", what=what, missed=rows, unit="A")


def check_live_outlets(case: Case) -> Iterator[Finding]:
    """Outlets that carry voltage."""
    live = tuple(sorted(case.report.power.live_outlets))
    if live:
        text = f"Voltage at {counted(len(live), 'outlet')}: block DC at every port that serves a flat"
        yield Finding(rule="live-outlet", severity="breaks", where=live, text=text)
