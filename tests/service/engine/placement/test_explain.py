"""Each sentence about a device is held to a propagation of the network it speaks of."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from service.engine.design import design
from service.engine.placement.proposal import Design
from service.engine.propagation.signals import propagate
from service.engine.propagation.spread import Conditions
from service.engine.signal.limits import design_window
from service.forms.building import read_building
from service.forms.known import Known
from service.library import library
from service.library.profiles import load_limits, load_plans, load_services

BUILDINGS = Path(__file__).parents[4] / "fixtures" / "buildings"


@pytest.fixture(scope="module")
def slab() -> Design:
    known = Known(
        catalogue=library().catalogue, limits=load_limits(), plans=load_plans(), services=load_services()
    )
    document = json.loads((BUILDINGS / "slab_1968.json").read_text(encoding="utf-8"))
    building = read_building(document, known, library().tariffs).building
    assert building is not None
    return design(
        building,
        known.catalogue,
        library().tariffs[building.tariff],
        known.limits[building.rules.limits],
        known.services,
    )


def test_every_device_but_the_outlets_has_a_sentence(slab: Design) -> None:
    network = slab.chosen.network
    outlets = {served.port.device for served in network.served}
    assert [name for name, _ in slab.chosen.reasons] == [
        device.id for device in network.devices if device.id not in outlets
    ]


def test_the_margin_named_for_another_value_is_what_a_propagation_gives(slab: Design) -> None:
    network, services, limits = slab.chosen.network, load_services(), load_limits()["us-off-air"]
    limit = limits.service("atsc")
    assert limit is not None
    low, high = design_window(limit)
    tried = 0
    for name, text in slab.chosen.reasons:
        found = re.search(r"With (\S+) the smallest margin behind it would be (\d+\.\d) dB", text)
        if found is None:
            continue
        tried += 1
        other = replace(
            network,
            devices=tuple(
                replace(device, part=found[1]) if device.id == name else device for device in network.devices
            ),
        )
        report = propagate(
            other,
            library().catalogue,
            services,
            passband_mhz=(54.0, 1002.0),
            conditions=Conditions(spread=False),
        )
        above = {run.end: run.start.device for run in network.runs}
        rows = []
        for row, served in enumerate(report.outlets):
            here = served.port.device
            while here in above and here != name:
                here = above[here]
            if here == name:
                rows.append(row)
        level = report.outlet_level_dbmv[rows]
        left = float(np.minimum(level - low, high - level).min())
        assert left == pytest.approx(float(found[2]), abs=0.051)
    assert tried > 3


def test_an_amplifier_says_what_would_be_missing_without_it(slab: Design) -> None:
    sentence = dict(slab.chosen.reasons)["HE.1"]
    assert re.match(r"Lifts .* dBmV to .* dBmV for 90 outlets: without it the worst would lie \d", sentence)
