"""What must hold for every network: energy, length, order of rows, runs in two, units."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.engine.plant.cables import Cable
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Device, Network, Port, Run, Served, Settings
from service.engine.plant.parts import Active, GroupIsolation, Part, PortGroup, Power, Rating, SettingRange
from service.engine.propagation.report import SignalReport
from service.engine.propagation.signals import propagate
from service.engine.propagation.spread import OutletLimits
from service.engine.signal.curves import Curve, flat
from service.engine.signal.spectrum import Carrier, Feed, FeedCarrier, Service
from service.engine.signal.units import (
    db_per_100m_from_db_per_100ft,
    dbm_from_dbmv,
    dbmv_from_dbm,
    dbmv_from_dbuv,
    dbuv_from_dbmv,
    ft_from_m,
    m_from_ft,
)

SERVICES = {
    "s": Service(
        id="s", name="", modulation="digital", band="cable", noise_bandwidth_mhz=6.0, source="invented"
    )
}
LIMITS = OutletLimits(low_dbmv=np.array([-20.0]), high_dbmv=np.array([20.0]))
CABLES = tuple(
    Cable(
        id=name,
        series=name,
        name=name,
        jacket="",
        loss_db_per_100m=Curve(frequency_mhz=(5.0, 1002.0), value=(loss / 10.0, loss)),
        loop_resistance_ohm_per_km=50.0,
        outer_diameter_mm=0.0,
        mass_kg_per_km=0.0,
        pull_limit_n=0.0,
        bend_installed_mm=0.0,
        bend_pulling_mm=0.0,
        screening_class="",
        connector="",
        put_ups_m=(),
    )
    for name, loss in (("thin", 27.0), ("thick", 14.0))
)
#: Output groups (name, count, loss in dB), none of which gives more than it gets.
PASSIVE = {
    "split": (("out", 2, 3.8),),
    "tap": (("through", 1, 2.0), ("tap", 4, 12.0)),
    "pad": (("out", 1, 6.0),),
    "barrel": (("out", 1, 0.0),),
}


def make_part(name: str, groups: tuple[tuple[str, int, float], ...], active: Active | None = None) -> Part:
    made = tuple(PortGroup(name=g, count=n, gain_db=flat(-loss), passes_power=True) for g, n, loss in groups)
    own = tuple(GroupIsolation(group_a=g, group_b=g, isolation_db=flat(20.0)) for g, _, _ in groups)
    return Part(id=name, family="any", name=name, groups=made, isolation=own, active=active)


AMPLIFIER = Active(
    noise_figure_db=flat(7.0),
    ratings=(Rating(basis="total power", output_dbmv=60.0, ratio_db=45.0),),
    gain_db=SettingRange(low=6.0, high=16.0, step=0.5),
    slope_db=SettingRange(low=0.0, high=6.0, step=1.0),
    slope_low_mhz=54.0,
    slope_high_mhz=1002.0,
)
STOCK = Catalogue(
    parts=(
        *(make_part(name, groups) for name, groups in PASSIVE.items()),
        make_part("amp", (("out", 1, -16.0),), AMPLIFIER),
        replace(
            make_part("inserter", (("out", 1, 0.5),)),
            power=Power(injects_v=30.0, injects_a=1.0, injects_into="out"),
        ),
    ),
    cables=CABLES,
)


@st.composite
def networks(draw: st.DrawFn, active: bool = True) -> Network:
    """A tree of one to ten devices under a feed, outlets on some of the open ports."""
    groups = {part.id: part.groups for part in STOCK.parts if active or part.active is None}
    line = tuple(
        FeedCarrier(
            carrier=Carrier(id=f"{f:g}", frequency_mhz=f, low_mhz=f - 3.0, high_mhz=f + 3.0, service="s"),
            level_dbmv=draw(st.floats(0.0, 20.0)),
            cn_db=draw(st.sampled_from([None, 40.0])),
        )
        for f in draw(st.lists(st.sampled_from([60.0, 333.0, 501.0, 999.0]), min_size=1, unique=True))
    )
    free = [Port(device="F", group="out", number=1), Port(device="F", group="out", number=2)]
    devices, runs = [], []
    for n in range(draw(st.integers(1, 10))):
        start = free.pop(draw(st.integers(0, len(free) - 1)))
        kind = draw(st.sampled_from(sorted(groups)))
        cable = draw(st.sampled_from([None, "thin", "thick"]))
        setting = Settings(gain_db=draw(st.sampled_from([None, 10.0]))) if kind == "amp" else Settings()
        devices.append(Device(id=f"D{n}", part=kind, settings=setting))
        length = draw(st.floats(0.1, 60.0)) if cable else 0.0
        runs.append(Run(id=f"R{n}", start=start, end=f"D{n}", cable=cable, length_m=length))
        free += [
            Port(device=f"D{n}", group=g.name, number=k) for g in groups[kind] for k in range(1, g.count + 1)
        ]
    served = [
        Served(outlet=f"u{n}", port=port, user=draw(st.sampled_from("abc")))
        for n, port in enumerate(free)
        if draw(st.booleans())
    ]
    feed = Feed(id="F", carriers=line, outputs=2)
    return Network(id="n", feeds=(feed,), devices=tuple(devices), runs=tuple(runs), served=tuple(served))


def analyse(network: Network, limits: OutletLimits | None = None) -> SignalReport:
    return propagate(network, STOCK, SERVICES, passband_mhz=(54.0, 1002.0), outlet_limits=limits)


@settings(max_examples=80, deadline=None)
@given(network=networks(active=False))
def test_passive_parts_never_give_more_than_they_get(network):
    report = analyse(network)
    ratio = 10.0 ** (report.level_dbmv / 10.0)
    for position, device in enumerate(report.devices):
        outputs = [n for n, port in enumerate(report.ports) if port.device == device]
        into = 10.0 ** (report.input_dbmv[position] / 10.0)
        assert (ratio[outputs].sum(axis=0) <= into * (1.0 + 1e-9)).all()
    used = {run.start for run in network.runs}
    open_ends = [n for n, port in enumerate(report.ports) if port not in used and port.device != "F"]
    launched = 2.0 * ratio[0]
    assert (ratio[open_ends].sum(axis=0) <= launched * (1.0 + 1e-9)).all()


@settings(max_examples=80, deadline=None)
@given(network=networks(), data=st.data())
def test_a_longer_cable_never_raises_a_level(network, data):
    laid = [run for run in network.runs if run.cable]
    if not laid:
        return
    chosen = data.draw(st.sampled_from(laid))
    longer = replace(chosen, length_m=chosen.length_m + data.draw(st.floats(0.1, 100.0)))
    before = analyse(network)
    after = analyse(replace(network, runs=tuple(longer if r is chosen else r for r in network.runs)))
    assert (after.level_dbmv <= before.level_dbmv + 1e-9).all()
    assert (after.cn_db <= before.cn_db + 1e-9).all()
    assert (after.level_dbmv < before.level_dbmv - 1e-6).any()


@settings(max_examples=60, deadline=None)
@given(network=networks(), data=st.data())
def test_the_order_of_rows_changes_nothing(network, data):
    feed = network.feeds[0]
    turned = replace(
        network,
        feeds=(replace(feed, carriers=tuple(data.draw(st.permutations(feed.carriers)))),),
        devices=tuple(data.draw(st.permutations(network.devices))),
        runs=tuple(data.draw(st.permutations(network.runs))),
        served=tuple(data.draw(st.permutations(network.served))),
    )
    before, after = analyse(network, LIMITS), analyse(turned, LIMITS)
    assert before.ports == after.ports
    assert before.outlets == after.outlets
    assert np.array_equal(before.level_dbmv, after.level_dbmv)
    assert np.array_equal(before.cni_db, after.cni_db)
    assert before.isolation == after.isolation
    assert before.power == after.power
    assert before.spread is not None
    assert after.spread is not None
    assert before.spread.yield_share == after.spread.yield_share
    assert np.array_equal(before.spread.low_dbmv, after.spread.low_dbmv)


@settings(max_examples=80, deadline=None)
@given(network=networks(), data=st.data())
def test_a_run_in_two_changes_only_its_joint(network, data):
    laid = [run for run in network.runs if run.cable]
    if not laid:
        return
    chosen = data.draw(st.sampled_from(laid))
    first = data.draw(st.floats(0.0, 1.0)) * chosen.length_m
    middle = Port(device="M", group="out")
    halves = (
        replace(chosen, id="M", end="M", length_m=first, joints=chosen.joints),
        replace(chosen, start=middle, length_m=chosen.length_m - first, joints=1),
    )
    cut = replace(
        network,
        devices=(*network.devices, Device(id="M", part="barrel")),
        runs=(*(run for run in network.runs if run is not chosen), *halves),
    )
    before, after = analyse(network), analyse(cut)
    below = {chosen.end}
    for _ in network.runs:
        below |= {run.end for run in network.runs if run.start.device in below}
    joint = network.joint_loss_db_at_1ghz * np.sqrt(before.frequency_mhz / 1000.0)
    for row, port in enumerate(before.ports):
        lost = joint if port.device in below else 0.0
        assert after.level_dbmv[after.ports.index(port)] == pytest.approx(
            before.level_dbmv[row] - lost, abs=1e-9
        )


@settings(max_examples=60, deadline=None)
@given(network=networks())
def test_noise_and_distortion_only_grow_along_the_tree(network):
    report = analyse(network)
    row = {port: n for n, port in enumerate(report.ports)}
    into = {run.end: run.start for run in network.runs}
    for port, n in row.items():
        if port.device in into:
            above = row[into[port.device]]
            assert (report.cn_db[n] <= report.cn_db[above] + 1e-9).all()
            assert (report.ci_db[n] <= report.ci_db[above] + 1e-9).all()
            assert (report.cni_db[n] <= np.minimum(report.cn_db[n], report.ci_db[n]) + 1e-9).all()


@given(level=st.floats(-120.0, 160.0))
def test_levels_come_back_from_every_unit(level):
    assert dbmv_from_dbuv(dbuv_from_dbmv(level)) == pytest.approx(level, abs=1e-9)
    assert dbmv_from_dbm(dbm_from_dbmv(level)) == pytest.approx(level, abs=1e-9)


@given(length=st.floats(0.0, 1e5))
def test_lengths_come_back_from_feet(length):
    assert m_from_ft(ft_from_m(length)) == pytest.approx(length)
    loss_per_100m = db_per_100m_from_db_per_100ft(6.0)
    assert loss_per_100m * length / 100.0 == pytest.approx(6.0 * ft_from_m(length) / 100.0)
