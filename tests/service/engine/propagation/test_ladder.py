"""The ladder refuses what is not a tree, and its order never depends on the order of rows."""

from __future__ import annotations

import numpy as np
import pytest

from service.engine.errors import NotATreeError, UnknownIdError
from service.engine.plant.network import Network, Port, Run
from service.engine.propagation.ladder import build_ladder


def build(bench, **changed):
    network = bench.network
    fields = {name: getattr(network, name) for name in ("id", "feeds", "devices", "runs", "served")} | changed
    return build_ladder(Network(**fields), bench.catalogue)


@pytest.fixture
def two_floors(bench):
    bench.feed().cable().part("split", [("out", 2, -4.0)]).part("outlet", [("user", 1, -0.5)])
    bench.put("S", "split", "F:out", "c", 5.0).put("O2", "outlet", "S:out.2", "c", 9.0)
    return bench.put("O1", "outlet", "S:out.1", "c", 7.0).serve("u2", "O2:user").serve("u1", "O1:user")


def test_devices_go_by_depth_and_then_by_id(two_floors):
    ladder = build(two_floors)
    assert [device.id for device in ladder.devices] == ["S", "O1", "O2"]
    assert ladder.depth_start.tolist() == [0, 1, 3]
    assert [str(port) for port in ladder.ports] == ["F:out.1", "S:out.1", "S:out.2", "O1:user.1", "O2:user.1"]
    assert ladder.run_row.tolist() == [0, 1, 2]


def test_outlets_go_by_id_and_know_their_rows(two_floors):
    ladder = build(two_floors)
    assert [served.outlet for served in ladder.outlets] == ["u1", "u2"]
    assert ladder.outlet_rows.tolist() == [3, 4]


def test_alike_parts_under_alike_settings_share_one_gain_row(two_floors):
    ladder = build(two_floors)
    assert len(ladder.gains) == 2
    assert ladder.row_gain.tolist() == [-1, 0, 0, 1, 1]


def test_a_part_without_outputs_has_an_input_and_no_rows(two_floors):
    two_floors.part("load", []).runs.pop()
    two_floors.devices.pop()
    two_floors.served.pop()
    two_floors.put("Z", "load", "S:out.1")
    ladder = build(two_floors)
    assert ladder.devices[-1].id == "Z"
    assert ladder.first_row[-1] == ladder.first_row[-2] == len(ladder.ports)


def test_a_device_without_a_run_is_named(two_floors):
    with pytest.raises(NotATreeError) as caught:
        build(two_floors, runs=two_floors.network.runs[1:])
    assert caught.value.devices == ("O1", "O2", "S")


def test_a_loop_is_named(two_floors):
    runs = [run for run in two_floors.runs if run.end != "S"]
    runs.append(Run(id="S", start=Port(device="O1", group="user"), end="S", cable=None, length_m=0.0))
    with pytest.raises(NotATreeError) as caught:
        build(two_floors, runs=tuple(runs))
    assert caught.value.devices == ("O1", "O2", "S")


def test_a_device_fed_twice_is_named(two_floors):
    again = Run(id="x", start=Port(device="S", group="out", number=1), end="O2", cable=None, length_m=0.0)
    with pytest.raises(NotATreeError) as caught:
        build(two_floors, runs=(*two_floors.runs, again))
    assert caught.value.devices == ("O2",)


def test_two_runs_from_one_port_are_named(two_floors):
    two_floors.put("O3", "outlet", "S:out.2")
    with pytest.raises(NotATreeError) as caught:
        build(two_floors)
    assert caught.value.devices == ("O2", "O3")


@pytest.mark.parametrize("start", ["S:out.3", "S:in.1", "S:out.0"])
def test_a_port_that_is_not_there_is_named(two_floors, start):
    two_floors.put("O3", "outlet", start)
    with pytest.raises(UnknownIdError) as caught:
        build(two_floors)
    assert (caught.value.kind, caught.value.name) == ("port", start)


def test_a_run_from_or_to_nowhere_is_named(two_floors):
    away = Run(id="x", start=Port(device="S", group="out"), end="Q", cable=None, length_m=0.0)
    with pytest.raises(UnknownIdError) as caught:
        build(two_floors, runs=(*two_floors.runs, away))
    assert caught.value.name == "Q"
    two_floors.put("O3", "outlet", "P:out")
    with pytest.raises(UnknownIdError) as caught:
        build(two_floors)
    assert caught.value.name == "P"


def test_an_unknown_part_and_an_unknown_cable_are_named(two_floors):
    two_floors.put("O3", "magic", "F:out")
    two_floors.runs = [run for run in two_floors.runs if run.end != "S"]
    two_floors.devices = [device for device in two_floors.devices if device.id == "O3"]
    two_floors.runs = [run for run in two_floors.runs if run.end == "O3"]
    two_floors.served = []
    with pytest.raises(UnknownIdError, match="magic"):
        build(two_floors)


def test_two_feeds_make_a_forest(bench):
    bench.feed(name="B", frequencies=(300.0,)).feed(name="A").part("outlet", [("user", 1, 0.0)])
    bench.put("O1", "outlet", "B:out").put("O2", "outlet", "A:out").serve("u1", "O1:user")
    ladder = build(bench)
    assert [feed.id for feed in ladder.feeds] == ["A", "B"]
    assert np.array(ladder.row_feed).tolist() == [0, 1, 1, 0]
    assert ladder.device_feed.tolist() == [1, 0]
