"""Power on the cable: which line-powered devices get what voltage, and which outlets carry one."""

from __future__ import annotations

from dataclasses import dataclass, field

from service.engine.propagation.ladder import Ladder
from service.engine.propagation.report import LinePower, PowerReport

_SWEEPS = 1000
_SETTLED_V = 1e-9
_M_PER_KM = 1000.0


@dataclass(slots=True)
class _Zone:
    """What one supply reaches, as a tree of points in order from the supply.

    `parent` is the position of the point before (-1 at the supply), `ohm` the loop resistance between,
    `watts` what is drawn there and `device` who draws it (-1 for nobody).
    """

    supply: int
    parent: list[int] = field(default_factory=list)
    ohm: list[float] = field(default_factory=list)
    watts: list[float] = field(default_factory=list)
    device: list[int] = field(default_factory=list)

    def add(self, parent: int, ohm: float) -> int:
        self.parent.append(parent)
        self.ohm.append(ohm)
        self.watts.append(0.0)
        self.device.append(-1)
        return len(self.parent) - 1


def line_power(ladder: Ladder) -> PowerReport:
    """Solve the voltage along every powered path.

    A supply pushes its voltage into its input or into an output group. It travels along runs with their loop
    resistance, and through parts between input and the groups that pass power. A line-powered device takes
    constant power at whichever of its ports the voltage reaches first. A part of the plant that two supplies
    reach is solved from the first by id; the other then bears nothing. A line that can't bear its load is
    reported at 0 V, with the current its devices would draw at the supply's own voltage. Copper at 20 °C.
    """
    order = sorted(range(len(ladder.devices)), key=lambda d: ladder.devices[d].id)
    supplies = [d for d in order if ladder.parts[d].power.injects_v > 0]
    hungry = [d for d in order if ladder.parts[d].power.supply == "line"]
    walk = _Walk(ladder)
    got: dict[int, LinePower] = {}
    loads: list[tuple[str, float]] = []
    for supply in supplies:
        zone = walk.zone(supply)
        volts, amperes = _solve(zone, ladder.parts[supply].power.injects_v)
        drawn = 0.0
        for point, device in enumerate(zone.device):
            if device < 0:
                continue
            drawn += amperes[point]
            got[device] = LinePower(
                device=ladder.devices[device].id,
                supply=ladder.devices[supply].id,
                voltage_v=volts[point],
                current_a=amperes[point],
                least_v=ladder.parts[device].power.least_v,
            )
        loads.append((ladder.devices[supply].id, drawn))
    return PowerReport(
        devices=tuple(got.get(d) or _unfed(ladder, d) for d in hungry),
        supply_load_a=tuple(loads),
        live_outlets=tuple(
            served.outlet
            for served, row in zip(ladder.outlets, ladder.outlet_rows, strict=True)
            if int(row) in walk.live_rows
        ),
    )


def _unfed(ladder: Ladder, device: int) -> LinePower:
    return LinePower(
        device=ladder.devices[device].id,
        supply="",
        voltage_v=0.0,
        current_a=0.0,
        least_v=ladder.parts[device].power.least_v,
    )


class _Walk:
    """Where power goes: from port to port, each visited once."""

    def __init__(self, ladder: Ladder) -> None:
        self.live_rows: set[int] = set()
        self._live_inputs: set[int] = set()
        self._fed: set[int] = set()
        self._ladder = ladder
        self._below = {int(row): device for device, row in enumerate(ladder.run_row)}

    def zone(self, supply: int) -> _Zone:
        """Everything that the supply reaches and no earlier one did."""
        zone = _Zone(supply=supply)
        start = zone.add(-1, 0.0)
        into = self._ladder.parts[supply].power.injects_into
        if into == "input":
            todo = [self._input(zone, supply, start, 0.0)]
        else:
            todo = [
                self._row(zone, row, start, 0.0) for row in self._rows(supply) if self._group(row) == into
            ]
        while todo:
            todo = [step for point in todo if point is not None for step in self._onwards(zone, *point)]
        return zone

    def _onwards(self, zone: _Zone, point: int, kind: str, place: int) -> list[tuple[int, str, int] | None]:
        if kind == "input":
            ohm = self._run_ohm(place)
            steps = [self._row(zone, int(self._ladder.run_row[place]), point, ohm)]
            passing = [row for row in self._rows(place) if self._passes(row)]
            return steps + [self._row(zone, row, point, 0.0) for row in passing]
        steps = []
        if self._passes(place):
            steps.append(self._input(zone, int(self._ladder.row_device[place]), point, 0.0))
        if place in self._below:
            below = self._below[place]
            steps.append(self._input(zone, below, point, self._run_ohm(below)))
        return steps

    def _input(self, zone: _Zone, device: int, parent: int, ohm: float) -> tuple[int, str, int] | None:
        if device in self._live_inputs:
            return None
        self._live_inputs.add(device)
        return self._arrive(zone, device, parent, ohm), "input", device

    def _row(self, zone: _Zone, row: int, parent: int, ohm: float) -> tuple[int, str, int] | None:
        if row in self.live_rows:
            return None
        self.live_rows.add(row)
        return self._arrive(zone, int(self._ladder.row_device[row]), parent, ohm), "row", row

    def _arrive(self, zone: _Zone, device: int, parent: int, ohm: float) -> int:
        point = zone.add(parent, ohm)
        if device >= 0 and device not in self._fed and self._ladder.parts[device].power.supply == "line":
            self._fed.add(device)
            zone.device[point] = device
            zone.watts[point] = self._ladder.parts[device].power.draws_w
        return point

    def _rows(self, device: int) -> range:
        return range(int(self._ladder.first_row[device]), int(self._ladder.first_row[device + 1]))

    def _group(self, row: int) -> str:
        return self._ladder.ports[row].group

    def _passes(self, row: int) -> bool:
        gain = int(self._ladder.row_gain[row])
        return gain >= 0 and self._ladder.gains[gain].group.passes_power

    def _run_ohm(self, device: int) -> float:
        cable = int(self._ladder.run_cable[device])
        if cable < 0:
            return 0.0
        per_km = self._ladder.cables[cable].loop_resistance_ohm_per_km
        return per_km * float(self._ladder.run_length_m[device]) / _M_PER_KM


def _solve(zone: _Zone, supply_v: float) -> tuple[list[float], list[float]]:
    """Voltage at, and current drawn at, every point: sweeps back for currents and forth for voltages."""
    count = len(zone.parent)
    volts = [supply_v] * count
    for _ in range(_SWEEPS):
        drawn = [watts / v for watts, v in zip(zone.watts, volts, strict=True)]
        flow = list(drawn)
        for point in range(count - 1, 0, -1):
            flow[zone.parent[point]] += flow[point]
        before = volts
        volts = [supply_v] * count
        for point in range(1, count):
            volts[point] = volts[zone.parent[point]] - zone.ohm[point] * flow[point]
        # Below half the supply's voltage more current brings less power: there is no steady state.
        if min(volts) < supply_v / 2:
            break
        if max(abs(a - b) for a, b in zip(volts, before, strict=True)) < _SETTLED_V:
            return volts, drawn
    return [0.0] * count, [watts / supply_v for watts in zone.watts]
