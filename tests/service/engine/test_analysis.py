"""Analysing a network as it stands, from the library's own parts and limits."""

from dataclasses import replace

import numpy as np
import pytest

from service.engine.analysis import analyse
from service.engine.findings import worst_first
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Device, Network, Port, Run, Served
from service.engine.plant.parts import GroupIsolation, Part, PortGroup
from service.engine.signal.curves import flat
from service.engine.signal.spectrum import Carrier, Feed, FeedCarrier
from service.library.profiles import load_limits, load_services

SPLITTER = Part(
    id="two-way",
    family="any",
    name="two-way",
    groups=(PortGroup(name="out", count=2, gain_db=flat(-4.0, 5.0, 1218.0)),),
    isolation=(GroupIsolation(group_a="out", group_b="out", isolation_db=flat(25.0, 5.0, 2400.0)),),
)
WIDE = replace(SPLITTER, id="wide", groups=(PortGroup(name="out", count=2, gain_db=flat(-4.0, 5.0, 2400.0)),))
CATALOGUE = Catalogue(parts=(SPLITTER, WIDE), cables=())


def network(part, level_dbmv, *rows):
    lines = tuple(
        FeedCarrier(
            carrier=Carrier(
                id=name, frequency_mhz=mhz, low_mhz=mhz - 3.0, high_mhz=mhz + 3.0, service=service
            ),
            level_dbmv=level_dbmv,
            cn_db=32.0,
        )
        for name, mhz, service in rows
    )
    ports = [Port(device="S", group="out", number=number) for number in (1, 2)]
    return Network(
        id="N",
        feeds=(Feed(id="HE", carriers=lines),),
        devices=(Device(id="S", part=part),),
        runs=(
            Run(id="R", start=Port(device="HE", group="out"), end="S", cable=None, length_m=0.0, joints=0),
        ),
        served=tuple(Served(outlet=f"O{n}", port=port, user=f"U{n}") for n, port in enumerate(ports, 1)),
    )


def test_a_good_network_serves_all_with_margins_and_answers():
    analysis = analyse(
        network("two-way", 8.0, ("14", 473.0, "atsc")),
        CATALOGUE,
        load_limits()["us-off-air"],
        load_services(),
    )
    assert analysis.serves_all
    assert analysis.margins.low_db == pytest.approx(np.full((2, 1), 14.0), abs=1e-9)
    assert [answer.question for answer in analysis.answers] == [1, 2, 3, 4, 5, 6, 7]
    assert analysis.report.spread is not None
    assert analysis.findings == worst_first(analysis.findings)


def test_a_weak_network_does_not_serve_all_and_says_why_first():
    analysis = analyse(
        network("two-way", -8.0, ("14", 473.0, "atsc")),
        CATALOGUE,
        load_limits()["us-off-air"],
        load_services(),
    )
    assert not analysis.serves_all
    assert analysis.findings[0].rule == "level-low"
    assert analysis.margins.worst.margin_db == pytest.approx(-2.0)


def test_margins_off_leaves_limits_alone_and_spread_off_leaves_tolerances_out():
    weak = network("two-way", -3.0, ("14", 473.0, "atsc"))
    limits, services = load_limits()["us-off-air"], load_services()
    rules = [row.rule for row in analyse(weak, CATALOGUE, limits, services).findings]
    assert "design-level-low" in rules
    plain = analyse(weak, CATALOGUE, limits, services, margins=False, spread=False)
    assert plain.findings == ()
    assert plain.report.spread is None


def test_the_passband_reaches_the_satellite_band_with_a_satellite_service_only():
    limits, services = load_limits()["spain"], load_services()
    ground = analyse(network("wide", 5.0, ("21", 474.0, "dvb-t")), CATALOGUE, limits, services)
    assert ground.report.frequency_mhz[-2:].tolist() == [47.0, 862.0]
    rows = (("21", 474.0, "dvb-t"), ("S01", 970.0, "dvb-s2"))
    sky = analyse(network("wide", 5.0, *rows), CATALOGUE, limits, services)
    assert sky.report.frequency_mhz[-2:].tolist() == [47.0, 2150.0]


def test_the_same_network_gives_the_same_analysis_twice():
    one = network("two-way", -8.0, ("14", 473.0, "atsc"))
    limits, services = load_limits()["us-off-air"], load_services()
    first, second = (analyse(one, CATALOGUE, limits, services) for _ in range(2))
    assert first.findings == second.findings
    assert first.answers == second.answers
