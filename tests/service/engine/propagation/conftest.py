"""A workbench for small hand-made networks: parts, cables, runs and outlets in a line each."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pytest

from service.engine.plant.cables import Cable
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Device, Network, Port, Run, Served, Settings
from service.engine.plant.parts import (
    Active,
    GroupIsolation,
    Part,
    PortGroup,
    Power,
    Rating,
    SettingRange,
)
from service.engine.propagation.report import SignalReport
from service.engine.propagation.signals import propagate
from service.engine.propagation.spread import AS_DRAWN, Conditions, OutletLimits
from service.engine.signal.curves import Curve, flat
from service.engine.signal.spectrum import Carrier, Feed, FeedCarrier, Service

SERVICES = {
    "digital": Service(
        id="digital", name="", modulation="digital", band="cable", noise_bandwidth_mhz=4.0, source="invented"
    ),
    "wide": Service(
        id="wide", name="", modulation="digital", band="cable", noise_bandwidth_mhz=8.0, source="invented"
    ),
    "analogue": Service(
        id="analogue",
        name="",
        modulation="analogue",
        band="cable",
        noise_bandwidth_mhz=4.0,
        source="invented",
    ),
}


UNPOWERED = Power()


def port(text: str) -> Port:
    """`T3:tap.2` as a port; the number is 1 where it is left out."""
    device, rest = text.split(":")
    group, _, number = rest.partition(".")
    return Port(device=device, group=group, number=int(number or 1))


@dataclass
class Bench:
    """A network under construction."""

    parts: list[Part] = field(default_factory=list)
    cables: list[Cable] = field(default_factory=list)
    feeds: list[Feed] = field(default_factory=list)
    devices: list[Device] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    served: list[Served] = field(default_factory=list)
    joint_loss_db_at_1ghz: float = 0.0

    def feed(
        self,
        frequencies=(100.0, 400.0, 700.0),
        level=10.0,
        cn=None,
        service="digital",
        name="F",
        **more,
    ):
        lines = tuple(
            FeedCarrier(
                carrier=Carrier(
                    id=f"{service[0]}{f:g}",
                    frequency_mhz=f,
                    low_mhz=f - 3.0,
                    high_mhz=f + 3.0,
                    service=service,
                ),
                level_dbmv=level,
                cn_db=cn,
            )
            for f in frequencies
        )
        self.feeds.append(Feed(id=name, carriers=lines, **more))
        return self

    def cable(self, name="c", loss=((5.0, 2.0), (1000.0, 20.0)), ohm_per_km=50.0):
        curve = Curve(frequency_mhz=tuple(f for f, _ in loss), value=tuple(v for _, v in loss))
        self.cables.append(
            Cable(
                id=name,
                series="6",
                name=name,
                jacket="CATV",
                loss_db_per_100m=curve,
                loop_resistance_ohm_per_km=ohm_per_km,
                outer_diameter_mm=7.0,
                mass_kg_per_km=40.0,
                pull_limit_n=100.0,
                bend_installed_mm=70.0,
                bend_pulling_mm=140.0,
                screening_class="A",
                connector="",
                put_ups_m=(),
            )
        )
        return self

    def part(self, name, groups, isolation=(), passes=(), power=UNPOWERED, **more):
        """`groups`: (name, count, gain or curve); `isolation`: (group, group, value)."""
        made = tuple(
            PortGroup(
                name=g,
                count=n,
                gain_db=gain if isinstance(gain, Curve) else flat(gain),
                passes_power=g in passes,
            )
            for g, n, gain in groups
        )
        rows = tuple(GroupIsolation(group_a=a, group_b=b, isolation_db=flat(v)) for a, b, v in isolation)
        self.parts.append(
            Part(id=name, family="any", name=name, groups=made, isolation=rows, power=power, **more)
        )
        return self

    def amplifier(
        self,
        name="amp",
        gain=20.0,
        figure=8.0,
        ratings=(),
        outputs=(("out", 1, None),),
        power=UNPOWERED,
        **more,
    ):
        active = Active(
            noise_figure_db=flat(figure),
            ratings=tuple(
                Rating(basis=b, output_dbmv=level, ratio_db=ratio, carriers=n)
                for b, level, ratio, n in ratings
            ),
            gain_db=SettingRange(low=gain - 10.0, high=gain, step=0.5),
            slope_db=SettingRange(low=0.0, high=8.0, step=1.0),
            slope_low_mhz=100.0,
            slope_high_mhz=900.0,
            **more,
        )
        groups = tuple((g, n, gain if own is None else own) for g, n, own in outputs)
        return self.part(name, groups, active=active, power=power)

    def put(self, device, part, start, cable=None, length=0.0, *, joints=0, ambient="indoors", **settings):
        self.devices.append(Device(id=device, part=part, settings=Settings(**settings)))
        self.runs.append(
            Run(
                id=device,
                start=port(start),
                end=device,
                cable=cable,
                length_m=length,
                joints=joints,
                ambient=ambient,
            )
        )
        return self

    def serve(self, outlet, at, user=None):
        self.served.append(Served(outlet=outlet, port=port(at), user=user or outlet))
        return self

    @property
    def network(self) -> Network:
        return Network(
            id="bench",
            feeds=tuple(self.feeds),
            devices=tuple(self.devices),
            runs=tuple(self.runs),
            served=tuple(self.served),
            joint_loss_db_at_1ghz=self.joint_loss_db_at_1ghz,
        )

    @property
    def catalogue(self) -> Catalogue:
        return Catalogue(parts=tuple(self.parts), cables=tuple(self.cables))

    def report(
        self, limits: OutletLimits | None = None, conditions: Conditions = AS_DRAWN, passband=(54.0, 1000.0)
    ) -> SignalReport:
        return propagate(
            self.network,
            self.catalogue,
            SERVICES,
            passband_mhz=passband,
            conditions=conditions,
            outlet_limits=limits,
        )


def level_at(report: SignalReport, at: str) -> np.ndarray:
    """Levels at a port, carriers and edges."""
    return report.level_dbmv[report.ports.index(port(at))]


@pytest.fixture
def bench() -> Bench:
    return Bench()


@pytest.fixture(scope="session")
def new_bench() -> type[Bench]:
    """Makes benches: for tests that need many."""
    return Bench


@pytest.fixture
def at():
    return level_at


@pytest.fixture
def row():
    """Position of a port's row in a report."""
    return lambda report, text: report.ports.index(port(text))
