"""Isolation: the tree's answer is that of trying every pair of outlets, both ways."""

from __future__ import annotations

import itertools
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st


def isolation_one_by_one(bench, frequencies):
    """Least isolation at each frequency over all pairs of outlets of different users, both ways."""
    parts = {part.id: part for part in bench.parts}
    devices = {device.id: device for device in bench.devices}
    feeds = {feed.id: feed for feed in bench.feeds}
    into = {run.end: run for run in bench.runs}
    cables = {cable.id: cable for cable in bench.cables}

    def gain(at, f):
        return parts[devices[at.device].part].group(at.group).gain_db.at_one(f)

    def path(port):
        """Ports from an outlet's up to the feed's."""
        found = [port]
        while port.device in into:
            port = into[port.device].start
            found.append(port)
        return found

    def run_loss(device, f):
        run = into[device]
        loss = 0.0 if run.cable is None else run.length_m / 100 * cables[run.cable].loss_db_per_100m.at_one(f)
        return loss + run.joints * bench.joint_loss_db_at_1ghz * np.sqrt(f / 1000)

    def branch(ports, f, up):
        """Loss along the ports of one branch, the one at the join left out."""
        loss = 0.0
        for at in ports[:-1]:
            active = parts[devices[at.device].part].active
            loss += active.reverse_isolation_db if active and up else -gain(at, f)
            loss += run_loss(at.device, f)
        return loss

    def across(a, b, f):
        if a.device in feeds:
            return feeds[a.device].output_isolation_db
        curve = parts[devices[a.device].part].isolation_between(a.group, b.group)
        return max(0.0, -gain(a, f), -gain(b, f)) if curve is None else curve.at_one(f)

    least = [np.inf] * len(frequencies)
    for one, two in itertools.permutations(bench.served, 2):
        if one.user == two.user:
            continue
        a, b = path(one.port), path(two.port)
        while len(a) > 1 and len(b) > 1 and a[-1] == b[-1] and a[-2].device == b[-2].device:
            a, b = a[:-1], b[:-1]
            if a[-1] != b[-1]:
                break
        if a[-1] == b[-1] or a[-1].device != b[-1].device:
            continue
        for n, f in enumerate(frequencies):
            loss = branch(a, f, up=True) + across(a[-1], b[-1], f) + branch(b, f, up=False)
            least[n] = min(least[n], loss)
    return least


def test_two_outlets_of_a_splitter_are_apart_by_it_and_their_branches(bench):
    bench.feed(frequencies=(400.0,)).cable().part("split", [("out", 2, -4.0)], [("out", "out", 22.0)])
    bench.part("outlet", [("user", 1, -1.0)]).put("S", "split", "F:out")
    bench.put("O1", "outlet", "S:out.1", "c", 0.0).put("O2", "outlet", "S:out.2")
    (found,) = bench.serve("u1", "O1:user").serve("u2", "O2:user").report().isolation
    assert found.isolation_db == pytest.approx(1.0 + 22.0 + 1.0)
    assert (found.carrier, found.outlet_a, found.outlet_b) == ("d400", "u1", "u2")


def test_outlets_of_one_user_do_not_count(bench):
    bench.feed(frequencies=(400.0,)).part("tap", [("tap", 4, -12.0)], [("tap", "tap", 22.0)])
    bench.part("outlet", [("user", 1, 0.0)]).part("far", [("user", 1, -9.0)]).put("T", "tap", "F:out")
    bench.put("O1", "outlet", "T:tap.1").put("O2", "outlet", "T:tap.2").put("O3", "far", "T:tap.3")
    bench.serve("u1", "O1:user", "ann").serve("u2", "O2:user", "ann").serve("u3", "O3:user", "bob")
    (found,) = bench.report().isolation
    assert found.isolation_db == pytest.approx(31.0)
    assert found.outlet_b == "u3"
    bench.served = bench.served[:2]
    assert bench.report().isolation == ()


def test_the_way_up_an_amplifier_costs_its_reverse_isolation_and_the_way_down_gives_its_gain(bench):
    bench.feed(frequencies=(400.0,)).amplifier(gain=20.0, reverse_isolation_db=45.0)
    bench.part("split", [("out", 2, -4.0)], [("out", "out", 30.0)]).put("S", "split", "F:out")
    bench.put("A", "amp", "S:out.1").serve("u1", "A:out").serve("u2", "S:out.2")
    (found,) = bench.report().isolation
    assert found.isolation_db == pytest.approx(30.0 - 20.0)
    assert (found.outlet_a, found.outlet_b) == ("u1", "u2")


def test_outputs_of_a_feed_have_its_isolation(bench):
    bench.feed(frequencies=(400.0,), outputs=2, output_isolation_db=33.0)
    (found,) = bench.serve("u1", "F:out.1").serve("u2", "F:out.2").report().isolation
    assert found.isolation_db == pytest.approx(33.0)


def test_two_feeds_share_nothing(bench):
    bench.feed(name="A").feed(name="B").serve("u1", "A:out").serve("u2", "B:out")
    assert bench.report().isolation == ()


def test_where_the_library_is_silent_the_larger_port_loss_counts(bench):
    bench.feed(frequencies=(400.0,)).part("tap", [("through", 1, -1.0), ("tap", 1, -12.0)])
    bench.put("T", "tap", "F:out").serve("u1", "T:through").serve("u2", "T:tap")
    assert bench.report().isolation[0].isolation_db == pytest.approx(12.0)


@st.composite
def trees(draw):
    """A random tree of splitters, taps and amplifiers, outlets on some ports, few users."""
    kinds = {
        "split": [("out", 3)],
        "tap": [("through", 1), ("tap", 2)],
        "amp": [("out", 2)],
        "pad": [("out", 1)],
    }
    free = ["F:out.1", "F:out.2"]
    devices, served = [], []
    for n in range(draw(st.integers(1, 9))):
        start = free.pop(draw(st.integers(0, len(free) - 1)))
        kind = draw(st.sampled_from(sorted(kinds)))
        devices.append((f"D{n}", kind, start, draw(st.sampled_from([0.0, 3.0, 40.0]))))
        free += [f"D{n}:{g}.{k}" for g, count in kinds[kind] for k in range(1, count + 1)]
    for n, start in enumerate(free):
        if draw(st.booleans()):
            served.append((f"u{n:02}", start, draw(st.sampled_from(["ann", "bob", "cid"]))))
    return devices, served


@settings(max_examples=150, deadline=None)
@given(tree=trees())
def test_the_tree_finds_what_trying_every_pair_finds(new_bench, tree):
    devices, served = tree
    bench = stocked(new_bench())
    for name, kind, start, length in devices:
        bench.put(name, kind, start, "c", length, joints=2)
    for name, start, user in served:
        bench.serve(name, start, user)
    report = bench.report()
    frequencies = [carrier.frequency_mhz for carrier in report.carriers]
    expected = isolation_one_by_one(bench, frequencies)
    found = {one.carrier: one for one in report.isolation}
    users = {one.outlet: one.user for one in bench.served}
    for carrier, value in zip(report.carriers, expected, strict=True):
        if np.isinf(value):
            assert carrier.id not in found
            continue
        assert found[carrier.id].isolation_db == pytest.approx(value)
        only = SimpleNamespace(**vars(bench))
        pair = found[carrier.id].outlet_a, found[carrier.id].outlet_b
        only.served = [one for one in bench.served if one.outlet in pair]
        assert users[pair[0]] != users[pair[1]]
        assert isolation_one_by_one(only, [carrier.frequency_mhz]) == pytest.approx([value])


def stocked(bench):
    """The bench with every kind of part that the random trees are made of."""
    bench.joint_loss_db_at_1ghz = 0.1
    bench.feed(frequencies=(100.0, 700.0), outputs=2).cable()
    bench.part("split", [("out", 3, -6.0)], [("out", "out", 20.0)]).part("pad", [("out", 1, -3.0)])
    bench.part(
        "tap", [("through", 1, -1.0), ("tap", 2, -12.0)], [("through", "tap", 30.0), ("tap", "tap", 8.0)]
    )
    return bench.amplifier(gain=14.0, reverse_isolation_db=25.0, outputs=(("out", 2, None),))


def test_each_feed_has_its_own_isolation_between_outputs(bench):
    bench.feed(name="A", frequencies=(400.0,), outputs=2, output_isolation_db=33.0)
    bench.feed(name="B", frequencies=(600.0,), outputs=2, output_isolation_db=21.0)
    for n in (1, 2):
        bench.serve(f"a{n}", f"A:out.{n}").serve(f"b{n}", f"B:out.{n}")
    assert [one.isolation_db for one in bench.report().isolation] == [33.0, 21.0]
