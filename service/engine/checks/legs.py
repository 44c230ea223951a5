"""Legs: devices fed one after the other through their through ports.

A port group named `through` carries the signal on to the next device; any other group beside it taps some
off.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from service.engine.checks.case import Case
from service.engine.checks.grouping import SLACK, counted, grouped
from service.engine.findings import Finding
from service.engine.plant.parts import Part, PortGroup

THROUGH = "through"
#: Rules of the trade: common practice.
MOST_THROUGH_PORTS = 12
MOST_TAP_VALUES = 4
_TRIM_DB = 0.7


def check_through_ports(case: Case) -> Iterator[Finding]:
    """More than twelve through ports one after the other; a finding names the device at each leg's end."""
    passed: dict[str, int] = {}
    longest: dict[str, int] = {}
    ahead: set[str] = set()
    for name in case.report.devices:
        run = case.run_into[name]
        through = run.start.group == THROUGH
        passed[name] = passed.get(run.start.device, 0) + 1 if through else 0
        if through:
            ahead.add(run.start.device)
        if passed[name] > MOST_THROUGH_PORTS:
            longest[name] = passed[name]
    rows = [
        (name, float(count), float(MOST_THROUGH_PORTS))
        for name, count in longest.items()
        if name not in ahead
    ]
    what = "Too many through ports in a leg"
    yield from grouped(rule="through-ports", severity="warns", what=what, missed=rows, unit="")


def check_falling_values(case: Case) -> Iterator[Finding]:
    """Tap values that rise along a leg, at the lowest carrier."""
    if not case.report.carriers:
        return
    at_mhz = float(case.report.frequency_mhz[0])
    loss_db = {name: tap_loss_db(part, at_mhz) for name, part in _kinds(case).items()}
    rows: list[tuple[str, float, float]] = []
    for name in case.report.devices:
        start = case.run_into[name].start
        before = loss_db[case.parts[start.device].id] if start.group == THROUGH else None
        here = loss_db[case.parts[name].id]
        if before is not None and here is not None and here > before + SLACK:
            rows.append((name, here, before))
    what = "Tap value rises along a leg"
    yield from grouped(rule="falling-values", severity="warns", what=what, missed=rows, unit="dB")


def check_tap_variety(case: Case) -> Iterator[Finding]:
    """More than four kinds of tap with one port count in the building."""
    kinds: dict[int, set[str]] = {}
    for part in _kinds(case).values():
        group = tap_group(part)
        if group is not None and part.group(THROUGH) is not None:
            kinds.setdefault(group.count, set()).add(part.id)
    for ports, parts in sorted(kinds.items()):
        if len(parts) > MOST_TAP_VALUES:
            yield Finding(
                rule="tap-variety",
                severity="notes",
                where=tuple(sorted(parts)),
                measured=float(len(parts)),
                limit=float(MOST_TAP_VALUES),
                text=f"{len(parts)} kinds of {ports}-port tap on the truck, aim {MOST_TAP_VALUES}",
            )


def check_trimmed_outlets(case: Case) -> Iterator[Finding]:
    """A pad or equaliser right before an outlet: one way in, one way out, and nothing but loss."""
    if not case.report.carriers:
        return
    at_mhz = float(case.report.frequency_mhz[0])
    pads = {name for name, part in _kinds(case).items() if _only_loses(part, at_mhz)}
    found: set[str] = set()
    for served in case.report.outlets:
        near = islice(case.above(served.port.device), 2)
        found.update(name for name in near if case.parts[name].id in pads)
    if found:
        text = f"{counted(len(found), 'device')} trims a single outlet: trim in a closet instead"
        yield Finding(rule="trimmed-outlet", severity="warns", where=tuple(sorted(found)), text=text)


def _kinds(case: Case) -> dict[str, Part]:
    """The parts in use by id, each once."""
    return {part.id: part for part in case.parts.values()}


def tap_group(part: Part) -> PortGroup | None:
    """The group of a passive part that taps off beside its through port, or the only group of a last tap."""
    if part.active is not None:
        return None
    return next(
        (group for group in part.groups if group.name != THROUGH and group.ends_in != "nothing"), None
    )


def tap_loss_db(part: Part, at_mhz: float) -> float | None:
    """Loss to the tapped ports of a part in a leg, or None where it has none or no figure there."""
    group = tap_group(part)
    if group is None or not group.gain_db.covers(at_mhz):
        return None
    return -group.gain_db.at_one(at_mhz)


def _only_loses(part: Part, at_mhz: float) -> bool:
    if part.active is not None or len(part.groups) != 1 or part.groups[0].count != 1:
        return False
    group = part.groups[0]
    return (
        group.ends_in == "cable" and group.gain_db.covers(at_mhz) and group.gain_db.at_one(at_mhz) < -_TRIM_DB
    )
