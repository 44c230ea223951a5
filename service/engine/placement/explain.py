"""Why each device stands where it stands, in one sentence from the figures, and what its neighbours would do.

The next smaller or larger value of a passive part moves the levels behind each of its groups by the difference of
gains, carrier by carrier: that is exact for everything passive, and what is said stops at the next amplifier.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.placement.windows import Target
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Device, Network
from service.engine.plant.parts import Part
from service.engine.propagation.report import SignalReport

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """A finished network as the sentences need it: what hangs where, levels, and the window."""

    catalogue: Catalogue
    parts: dict[str, Part]
    below: dict[tuple[str, str], tuple[int, ...]]
    input_dbmv: dict[str, Floats]
    output_dbmv: dict[str, Floats]
    outlet_dbmv: Floats
    frequency_mhz: Floats
    target: Target


def _look(network: Network, catalogue: Catalogue, report: SignalReport, target: Target) -> _Seen:
    parts = {device.id: catalogue.part(device.part) for device in network.devices}
    into = {run.end: run.start for run in network.runs}
    behind: dict[tuple[str, str], list[int]] = {}
    for row, served in enumerate(report.outlets):
        port = into.get(served.port.device)
        passive = True
        while port is not None and port.device in parts:
            if passive:
                behind.setdefault((port.device, port.group), []).append(row)
            if parts[port.device].active is not None:
                behind.setdefault((port.device, ""), []).append(row)
                passive = False
            port = into.get(port.device)
    carriers = len(report.carriers)
    outputs: dict[str, Floats] = {}
    for row, port_ in enumerate(report.ports):
        outputs.setdefault(port_.device, report.level_dbmv[row, :carriers])
    return _Seen(
        catalogue=catalogue,
        parts=parts,
        below={key: tuple(rows) for key, rows in behind.items()},
        input_dbmv={name: report.input_dbmv[row, :carriers] for row, name in enumerate(report.devices)},
        output_dbmv=outputs,
        outlet_dbmv=report.outlet_level_dbmv,
        frequency_mhz=report.frequency_mhz[:carriers],
        target=target,
    )


def explain(
    network: Network, catalogue: Catalogue, report: SignalReport, target: Target
) -> tuple[tuple[str, str], ...]:
    """Pairs of device id and sentence for every device but the outlets, by id."""
    seen = _look(network, catalogue, report, target)
    outlets = {served.port.device for served in network.served}
    sentences = []
    for device in sorted(network.devices, key=lambda row: row.id):
        if device.id in outlets:
            continue
        text = _lifts(seen, device) if seen.parts[device.id].active is not None else _splits(seen, device)
        sentences.append((device.id, text))
    return tuple(sentences)


def _span(levels: Floats) -> str:
    return f"{float(levels.min()):.1f} to {float(levels.max()):.1f} dBmV"


def _outlets(count: int) -> str:
    return f"{count} outlet" + ("" if count == 1 else "s")


def _lifts(seen: _Seen, device: Device) -> str:
    """An amplifier: what it gets and gives, and where its outlets would be without it."""
    rows = np.asarray(seen.below.get((device.id, ""), ()), dtype=np.int64)
    arriving, leaving = seen.input_dbmv[device.id], seen.output_dbmv[device.id]
    text = f"Lifts {_span(arriving)} to {_span(leaving)}"
    if rows.size == 0:
        return f"{text}; nothing hangs on it."
    without = seen.outlet_dbmv[rows] - (leaving - arriving)
    worst = float((without - seen.target.low_dbmv).min())
    if worst < 0:
        return (
            f"{text} for {_outlets(rows.size)}: without it the worst would lie {-worst:.1f} dB under the "
            "window it aims at."
        )
    return f"{text} for {_outlets(rows.size)}; it makes room for the losses behind it."


def _splits(seen: _Seen, device: Device) -> str:
    """A passive part: what it hands to whom, and what the next values would do."""
    part = seen.parts[device.id]
    arriving = seen.input_dbmv[device.id]
    told = []
    for group in part.groups:
        rows = seen.below.get((device.id, group.name), ())
        loss = -group.gain_db.at(seen.frequency_mhz, part.id)
        told.append(f"{group.name} {float(loss[-1]):.1f} dB down, toward {_outlets(len(rows))}")
    text = f"Gets {_span(arriving)}: {'; '.join(told)}."
    return " ".join([text, *_neighbours(seen, device, part)])


def _neighbours(seen: _Seen, device: Device, part: Part) -> list[str]:
    """What the next smaller and the next larger value of the same kind would do to the outlets behind."""
    shape = [(group.name, group.count, group.ends_in) for group in part.groups]
    own = _value(part, seen)
    alike = sorted(
        (_value(other, seen), other.id, other)
        for other in seen.catalogue.parts
        if other.active is None
        and other.high_mhz == part.high_mhz
        and [(group.name, group.count, group.ends_in) for group in other.groups] == shape
        and all(
            group.gain_db.covers(float(seen.frequency_mhz[0]))
            and group.gain_db.covers(float(seen.frequency_mhz[-1]))
            for group in other.groups
        )
    )
    smaller = [row for row in alike if row[0] < own - 0.5][-1:]
    larger = [row for row in alike if row[0] > own + 0.5][:1]
    return [_instead(seen, device, part, other) for _, _, other in (*smaller, *larger)]


def _value(part: Part, seen: _Seen) -> float:
    """Largest loss of its groups at the highest carrier: what a tap's value names."""
    top = float(seen.frequency_mhz[-1])
    return max(
        (-group.gain_db.at_one(top) for group in part.groups if group.gain_db.covers(top)), default=0.0
    )


def _instead(seen: _Seen, device: Device, part: Part, other: Part) -> str:
    """The margin that would be left, or missing, with another part in its place."""
    least = np.inf
    for group in part.groups:
        rows = np.asarray(seen.below.get((device.id, group.name), ()), dtype=np.int64)
        twin = other.group(group.name)
        if rows.size == 0 or twin is None:
            continue
        moved = seen.outlet_dbmv[rows] + (
            twin.gain_db.at(seen.frequency_mhz) - group.gain_db.at(seen.frequency_mhz)
        )
        left = np.minimum(moved - seen.target.low_dbmv, seen.target.high_dbmv - moved)
        least = min(least, float(left.min()))
    if not np.isfinite(least):
        return ""
    if least < 0:
        return f"With {other.id} an outlet would leave the window by {-least:.1f} dB."
    return f"With {other.id} the smallest margin behind it would be {least:.1f} dB."
