"""Time of analysing a network, and how it grows; run `python tests/benchmarks/analysis.py`.

An invented building in blocks: an amplifier, a splitter to eight risers, twelve taps along each, one drop
and outlet a tap port. The same levels are also worked out port by port in plain Python in the same
run, and the largest difference is shown.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable

import numpy as np

from service.engine.plant.cables import Cable
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Device, Network, Port, Run, Served, Settings
from service.engine.plant.parts import Active, GroupIsolation, Part, PortGroup, Rating, SettingRange
from service.engine.propagation.amplifiers import report_amplifiers
from service.engine.propagation.distortion import sort_lineup, stage_ci_db
from service.engine.propagation.isolation import least_isolation
from service.engine.propagation.ladder import build_ladder
from service.engine.propagation.levels import carriers_of, run_levels
from service.engine.propagation.noise import stage_cn_db
from service.engine.propagation.powering import line_power
from service.engine.propagation.report import SignalReport
from service.engine.propagation.signals import propagate
from service.engine.propagation.spread import AS_DRAWN, OutletLimits, spread_levels
from service.engine.signal.curves import Curve, flat
from service.engine.signal.spectrum import Carrier, Feed, FeedCarrier, Service

RISERS, TAPS, TAP_PORTS = 8, 12, 8
PASSBAND_MHZ = (54.0, 1002.0)
SERVICES = {
    "qam": Service(
        id="qam", name="QAM", modulation="digital", band="cable", noise_bandwidth_mhz=5.38, source="invented"
    )
}


def catalogue() -> Catalogue:
    """Invented parts, the taps falling along a riser, and a cable."""

    def part(name: str, *groups: PortGroup, isolation: float = 25.0, active: Active | None = None) -> Part:
        rows = tuple(
            GroupIsolation(group_a=a.name, group_b=b.name, isolation_db=flat(isolation))
            for position, a in enumerate(groups)
            for b in groups[position:]
        )
        return Part(id=name, family="invented", name=name, groups=groups, isolation=rows, active=active)

    def group(name: str, count: int, low: float, high: float) -> PortGroup:
        return PortGroup(name=name, count=count, gain_db=Curve(frequency_mhz=(5, 1002), value=(-low, -high)))

    amplifier = Active(
        noise_figure_db=flat(7.0),
        ratings=(Rating(basis="total power", output_dbmv=64.0, ratio_db=50.0),),
        gain_db=SettingRange(low=24.0, high=34.0, step=0.5),
        slope_db=SettingRange(low=0.0, high=8.0, step=1.0),
        slope_low_mhz=54.0,
        slope_high_mhz=1002.0,
    )
    cable = Cable(
        id="six",
        series="6",
        name="invented series 6",
        jacket="CATVR",
        loss_db_per_100m=Curve(frequency_mhz=(5, 55, 500, 1002), value=(1.9, 5.2, 15.3, 21.5)),
        loop_resistance_ohm_per_km=120.0,
        outer_diameter_mm=7.0,
        mass_kg_per_km=40.0,
        pull_limit_n=200.0,
        bend_installed_mm=70.0,
        bend_pulling_mm=140.0,
        screening_class="A",
        connector="",
        put_ups_m=(),
    )
    parts = (
        part("amplifier", PortGroup(name="out", count=1, gain_db=flat(34.0)), active=amplifier),
        part("split", group("out", RISERS, 10.5, 12.5)),
        *(
            part(
                f"tap{n}", group("through", 1, 0.6, 1.0), group("tap", TAP_PORTS, 30.0 - 2 * n, 30.8 - 2 * n)
            )
            for n in range(TAPS)
        ),
        part("outlet", group("user", 1, 0.3, 0.8)),
    )
    return Catalogue(parts=parts, cables=(cable,))


def building(outlets: int, carriers: int) -> Network:
    """A network of that many outlets; outlets of one tap belong to four users."""
    line = tuple(
        FeedCarrier(
            carrier=Carrier(id=f"{n:03}", frequency_mhz=f, low_mhz=f - 3.0, high_mhz=f + 3.0, service="qam"),
            level_dbmv=12.0,
            cn_db=45.0,
        )
        for n, f in enumerate(np.linspace(60.0, 996.0, carriers).tolist())
    )
    devices: list[Device] = []
    runs: list[Run] = []
    served: list[Served] = []
    blocks = -(-outlets // (RISERS * TAPS * TAP_PORTS))
    for block in range(blocks):
        most = outlets - len(served)
        _add_block(f"B{block:02}", block + 1, min(most, RISERS * TAPS * TAP_PORTS), devices, runs, served)
    feed = Feed(id="HE", carriers=line, outputs=blocks)
    return Network(
        id="benchmark", feeds=(feed,), devices=tuple(devices), runs=tuple(runs), served=tuple(served)
    )


def _add_block(
    block: str, output: int, outlets: int, devices: list[Device], runs: list[Run], served: list[Served]
) -> None:
    """An amplifier, a splitter and its risers, on one output of the head-end."""

    def join(start: Port, end: str, length_m: float) -> None:
        runs.append(Run(id=end, start=start, end=end, cable="six", length_m=length_m, ambient="riser"))

    settings = Settings(gain_db=32.0, slope_db=4.0)
    devices += [
        Device(id=f"{block}.A", part="amplifier", settings=settings),
        Device(id=f"{block}.S", part="split"),
    ]
    join(Port(device="HE", group="out", number=output), f"{block}.A", 3.0)
    join(Port(device=f"{block}.A", group="out"), f"{block}.S", 3.0)
    ends = [Port(device=f"{block}.S", group="out", number=n + 1) for n in range(RISERS)]
    for tap in range(-(-outlets // TAP_PORTS)):
        riser, name = tap % RISERS, f"{block}.T{tap:02}"
        devices.append(Device(id=name, part=f"tap{tap // RISERS}"))
        join(ends[riser], name, 3.0)
        ends[riser] = Port(device=name, group="through")
        for number in range(1, min(TAP_PORTS, outlets - TAP_PORTS * tap) + 1):
            outlet = f"{name}.{number}"
            devices.append(Device(id=outlet, part="outlet"))
            join(Port(device=name, group="tap", number=number), outlet, 8.0 + number)
            port = Port(device=outlet, group="user")
            served.append(Served(outlet=outlet, port=port, user=f"{name}.{(number + 1) // 2}"))


def port_by_port(network: Network, stock: Catalogue) -> dict[str, np.ndarray]:
    """Levels at the outlets' ports by walking the tree in plain Python, one port at a time."""
    devices = {device.id: device for device in network.devices}
    leaving: dict[Port, Run] = {run.start: run for run in network.runs}
    frequency = np.array([line.carrier.frequency_mhz for line in network.feeds[0].carriers])
    joint = network.joint_loss_db_at_1ghz * np.sqrt(frequency / 1000.0)
    found: dict[str, np.ndarray] = {}
    levels = np.array([line.level_dbmv for line in network.feeds[0].carriers])
    feed = network.feeds[0]
    todo = [(Port(device=feed.id, group="out", number=n + 1), levels) for n in range(feed.outputs)]
    while todo:
        port, level = todo.pop()
        run = leaving.get(port)
        if run is None:
            found[str(port)] = level
            continue
        loss = run.joints * joint
        if run.cable:
            loss = loss + stock.cable(run.cable).loss_db_per_100m.at(frequency) * run.length_m / 100.0
        device = devices[run.end]
        part = stock.part(device.part)
        for group in part.groups:
            gain = group.gain_db.at(frequency)
            if part.active is not None and device.settings.gain_db is not None:
                low, high = np.sqrt(part.active.slope_low_mhz), np.sqrt(part.active.slope_high_mhz)
                share = np.clip((high - np.sqrt(frequency)) / (high - low), 0.0, 1.0)
                lowered = part.active.gain_db.high - device.settings.gain_db
                gain = gain - lowered - device.settings.slope_db * share
            for number in range(1, group.count + 1):
                todo.append((Port(device=device.id, group=group.name, number=number), level - loss + gain))
    return found


def best_ms(work: Callable[[], object], rounds: int) -> float:
    """Shortest of several rounds, in milliseconds."""
    times = []
    for _ in range(rounds):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return 1000.0 * min(times)


def analyse(network: Network, stock: Catalogue, limits: OutletLimits | None = None) -> SignalReport:
    """One analysis as the service makes it."""
    return propagate(network, stock, SERVICES, passband_mhz=PASSBAND_MHZ, outlet_limits=limits)


def levels_alone(network: Network, stock: Catalogue) -> np.ndarray:
    """What the walk does and no more: index the network and work out every level."""
    ladder = build_ladder(network, stock)
    return run_levels(ladder, carriers_of(ladder.feeds), PASSBAND_MHZ).level_dbmv


def steps_ms(network: Network, stock: Catalogue, limits: OutletLimits, rounds: int) -> dict[str, float]:
    """Time of each step of one analysis."""
    ladder = build_ladder(network, stock)
    carriers = carriers_of(ladder.feeds)
    levels = run_levels(ladder, carriers, PASSBAND_MHZ)
    lineup = sort_lineup(carriers, SERVICES)
    steps: dict[str, Callable[[], object]] = {
        "ladder": lambda: build_ladder(network, stock),
        "levels": lambda: run_levels(ladder, carriers, PASSBAND_MHZ),
        "noise": lambda: stage_cn_db(ladder, levels, carriers, SERVICES),
        "distortion": lambda: stage_ci_db(ladder, levels, sort_lineup(carriers, SERVICES)),
        "amplifiers": lambda: report_amplifiers(ladder, levels, lineup),
        "isolation": lambda: least_isolation(ladder, levels, carriers),
        "power": lambda: line_power(ladder),
        "spread": lambda: spread_levels(ladder, levels, carriers, AS_DRAWN, limits),
    }
    return {name: best_ms(step, rounds) for name, step in steps.items()}


def main() -> None:
    """Print the tables."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--outlets", type=int, nargs="*", default=[250, 1000, 5000, 20000])
    options.add_argument("--carriers", type=int, default=40)
    chosen = options.parse_args()
    stock = catalogue()
    limits = OutletLimits(low_dbmv=np.array([-10.0]), high_dbmv=np.array([15.0]))
    analyse(building(50, 4), stock, limits)
    print(f"{chosen.carriers} carriers; milliseconds, best of several rounds")
    print(
        "outlets  levels alone  port by port  largest difference dB  analysis  ns/outlet·carrier  with spread"
    )
    for count in chosen.outlets:
        network = building(count, chosen.carriers)
        rounds = 10 if count <= 1000 else 3
        report = analyse(network, stock)
        walked = port_by_port(network, stock)
        expected = np.array([walked[str(served.port)] for served in report.outlets])
        difference = float(np.max(np.abs(report.outlet_level_dbmv - expected)))
        alone = best_ms(lambda n=network: levels_alone(n, stock), rounds)
        fast = best_ms(lambda n=network: analyse(n, stock), rounds)
        plain = best_ms(lambda n=network: port_by_port(n, stock), rounds)
        full = best_ms(lambda n=network: analyse(n, stock, limits), 1 if count > 1000 else 3)
        each = 1e6 * fast / (count * chosen.carriers)
        print(
            f"{count:7d} {alone:13.1f} {plain:13.1f} {difference:22.1e} {fast:9.1f} {each:18.0f} {full:12.1f}"
        )
    network = building(1000, chosen.carriers)
    print("steps at 1000 outlets: ", end="")
    print(", ".join(f"{k} {v:.1f}" for k, v in steps_ms(network, stock, limits, 5).items()))


if __name__ == "__main__":
    main()
