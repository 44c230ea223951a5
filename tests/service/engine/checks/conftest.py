"""A small network of made-up parts, and a way to judge it after a change."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from service.engine.checks.case import Case, open_case
from service.engine.checks.judge import judge_case
from service.engine.findings import Finding
from service.engine.plant.cables import Cable
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Device, Network, Port, Run, Served
from service.engine.plant.parts import (
    Active,
    GroupIsolation,
    Part,
    PortGroup,
    Power,
    Rating,
    SettingRange,
)
from service.engine.propagation.signals import propagate
from service.engine.propagation.spread import OutletLimits
from service.engine.signal.curves import flat
from service.engine.signal.limits import IsolationLimit, Limits, ServiceLimit
from service.engine.signal.spectrum import Carrier, Feed, FeedCarrier, Service

Judge = Callable[..., tuple[Finding, ...]]


def passive(part_id: str, *groups: tuple[str, int, float], ends_in: Any = "cable") -> Part:
    """A passive part with groups of (name, count, loss), 25 dB apart from each other."""
    names = [name for name, _, _ in groups]
    pairs = [(a, b) for i, a in enumerate(names) for b in names[i:]]
    return Part(
        id=part_id,
        family="any",
        name=part_id,
        groups=tuple(
            PortGroup(name=name, count=count, gain_db=flat(-loss), ends_in=ends_in)
            for name, count, loss in groups
        ),
        isolation=tuple(GroupIsolation(group_a=a, group_b=b, isolation_db=flat(25.0)) for a, b in pairs),
    )


AMPLIFIER = Part(
    id="amp",
    family="any",
    name="amp",
    groups=(PortGroup(name="out", count=1, gain_db=flat(20.0)),),
    active=Active(
        noise_figure_db=flat(6.0),
        ratings=(Rating(basis="total power", output_dbmv=50.0, ratio_db=40.0),),
        gain_db=SettingRange(low=0.0, high=20.0, step=0.0),
        slope_db=SettingRange(low=0.0, high=8.0, step=0.0),
        input_pad_db=SettingRange(low=0.0, high=20.0, step=1.0),
        slope_low_mhz=54.0,
        slope_high_mhz=1002.0,
        input_low_dbmv=0.0,
        input_high_dbmv=25.0,
    ),
)

LINE_AMPLIFIER = replace(AMPLIFIER, id="line-amp", power=Power(supply="line", draws_w=6.0, least_v=11.0))

INSERTER = replace(
    passive("inserter", ("out", 1, 0.5)),
    power=Power(injects_v=15.0, injects_a=1.0, injects_into="out"),
)


@pytest.fixture
def catalogue() -> Catalogue:
    """Parts and cables of the tests."""
    cable = Cable(
        id="drop",
        series="6",
        name="drop",
        jacket="CATV",
        loss_db_per_100m=flat(10.0),
        loop_resistance_ohm_per_km=100.0,
        outer_diameter_mm=7.0,
        mass_kg_per_km=40.0,
        pull_limit_n=200.0,
        bend_installed_mm=70.0,
        bend_pulling_mm=140.0,
        screening_class="A",
        connector="f",
        put_ups_m=(305.0,),
    )
    return Catalogue(
        parts=(
            passive("two-way", ("out", 2, 4.0)),
            passive("pad", ("out", 1, 6.0)),
            passive("tap-11", ("through", 1, 3.5), ("tap", 2, 11.0)),
            passive("tap-14", ("through", 1, 2.0), ("tap", 2, 14.0)),
            *(passive(f"tap-{value}", ("through", 1, 1.0), ("tap", 2, value)) for value in (17, 20, 23)),
            passive("plate", ("user", 1, 0.0), ends_in="user"),
            AMPLIFIER,
            LINE_AMPLIFIER,
            INSERTER,
        ),
        cables=(cable,),
    )


@pytest.fixture
def services() -> dict[str, Service]:
    """One digital, one analogue and one satellite service."""
    rows: tuple[tuple[str, Any, Any], ...] = (
        ("digital", "digital", "terrestrial"),
        ("analogue", "analogue", "cable"),
        ("sky", "digital", "satellite"),
    )
    return {
        name: Service(
            id=name,
            name=name,
            modulation=modulation,
            band=band,
            noise_bandwidth_mhz=6.0,
            source="made up",
        )
        for name, modulation, band in rows
    }


@pytest.fixture
def limits() -> Limits:
    """Limits of the digital service alone."""
    return Limits(
        id="test",
        name="test",
        region="us",
        services=(
            ServiceLimit(
                service="digital",
                low_dbmv=-10.0,
                high_dbmv=15.0,
                design_low_dbmv=-5.0,
                design_high_dbmv=10.0,
                cn_db=20.0,
                cn_design_db=25.0,
                cni_db=20.0,
                cni_design_db=25.0,
                source="the rule",
                level_source="the level rule",
                cn_source="the noise rule",
            ),
        ),
        isolation=(IsolationLimit(low_mhz=54.0, high_mhz=1002.0, isolation_db=18.0, source="the rule"),),
        passband_low_mhz=54.0,
        passband_high_mhz=1002.0,
        source="the rule",
    )


def carrier(name: str, frequency_mhz: float, service: str = "digital") -> Carrier:
    """A carrier 6 MHz wide."""
    return Carrier(
        id=name,
        frequency_mhz=frequency_mhz,
        low_mhz=frequency_mhz - 3.0,
        high_mhz=frequency_mhz + 3.0,
        service=service,
    )


def feed_of(*rows: tuple[str, float, float], service: str = "digital", **changes: Any) -> Feed:
    """A feed of (carrier, MHz, level) rows with 32 dB of C/N."""
    lines = tuple(
        FeedCarrier(carrier=carrier(name, mhz, service), level_dbmv=level, cn_db=32.0)
        for name, mhz, level in rows
    )
    return replace(Feed(id="HE", carriers=lines), **changes)


def tree(feed: Feed, *rows: tuple[str, str, str], served: tuple[str, ...] = (), **changes: Any) -> Network:
    """A network of (device, part, port it hangs on) rows and served ports, joined without cable.

    A device named `X@place` stands at that place. Outlets get the names O1, O2 …, users and flats U1, U2 …
    """
    devices = []
    runs = []
    for name, part, port in rows:
        device, _, place = name.partition("@")
        devices.append(Device(id=device, part=part, place=place))
        runs.append(
            Run(id=f"R-{device}", start=port_of(port), end=device, cable=None, length_m=0.0, joints=0)
        )
    outlets = tuple(
        Served(outlet=f"O{n}", port=port_of(port), user=f"U{n}", unit=f"U{n}")
        for n, port in enumerate(served, start=1)
    )
    network = Network(
        id="N",
        feeds=(feed,),
        devices=tuple(devices),
        runs=tuple(runs),
        served=outlets,
        joint_loss_db_at_1ghz=0.0,
    )
    return replace(network, **changes)


def port_of(text: str) -> Port:
    """A port from `device:group.number`."""
    device, _, rest = text.partition(":")
    group, _, number = rest.partition(".")
    return Port(device=device, group=group, number=int(number or 1))


@pytest.fixture
def feed() -> Callable[..., Feed]:
    """Makes a feed, see `feed_of`."""
    return feed_of


@pytest.fixture
def grow() -> Callable[..., Network]:
    """Makes a network, see `tree`."""
    return tree


@pytest.fixture
def small() -> Network:
    """One feed, a two-way, a plate for each of two users: 4 dB of loss, nothing wrong."""
    return tree(
        feed_of(("14", 473.0, 8.0), ("16", 485.0, 8.0)),
        ("S", "two-way", "HE:out"),
        ("P1", "plate", "S:out.1"),
        ("P2", "plate", "S:out.2"),
        served=("P1:user", "P2:user"),
    )


@pytest.fixture
def case_for(catalogue: Catalogue, limits: Limits, services: Mapping[str, Service]) -> Callable[..., Case]:
    """A case of a network after changes to its limits or its report."""

    def build(network: Network, *, margins: bool = True, spread: bool = False, **changes: Any) -> Case:
        asked = changes.pop("limits", limits)
        count = len({line.carrier.id for feed in network.feeds for line in feed.carriers})
        bounds = OutletLimits(low_dbmv=np.full(count, -10.0), high_dbmv=np.full(count, 15.0))
        report = propagate(
            network,
            catalogue,
            services,
            passband_mhz=(54.0, 1002.0),
            outlet_limits=bounds if spread else None,
        )
        report = replace(report, **changes)
        return open_case(network, catalogue, asked, services, report, margins=margins)

    return build


@pytest.fixture
def judged(case_for: Callable[..., Case]) -> Judge:
    """Findings of a network, optionally those of one rule."""

    def run(network: Network, rule: str = "", **changes: Any) -> tuple[Finding, ...]:
        findings = judge_case(case_for(network, **changes))
        return tuple(finding for finding in findings if not rule or finding.rule == rule)

    return run
