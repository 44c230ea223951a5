"""The launch is set between the limits: no other step of its gain leaves the worst outlet more."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from service.engine.analysis import analyse
from service.engine.design import design
from service.engine.signal.limits import design_window
from service.forms.building import read_building
from service.forms.known import Known
from service.library import library
from service.library.profiles import load_limits, load_plans, load_services

BUILDINGS = Path(__file__).parents[4] / "fixtures" / "buildings"


@pytest.mark.parametrize("name", ["townhouse_row", "europe_two_stairs"])
def test_no_other_gain_of_the_launch_leaves_the_worst_outlet_more(name: str) -> None:
    known = Known(
        catalogue=library().catalogue, limits=load_limits(), plans=load_plans(), services=load_services()
    )
    document = json.loads((BUILDINGS / f"{name}.json").read_text(encoding="utf-8"))
    building = read_building(document, known, library().tariffs).building
    assert building is not None
    building = replace(building, wishes=replace(building.wishes, aim="cheapest"))
    limits = known.limits[building.rules.limits]
    tariff = library().tariffs[building.tariff]
    answer = design(building, known.catalogue, tariff, limits, known.services)
    network = answer.chosen.network
    (launch,) = [row for row in network.devices if known.catalogue.part(row.part).active is not None]
    assert launch.settings is not None
    assert launch.settings.gain_db is not None
    windows = [limits.service(carrier.service) for carrier in answer.chosen.report.carriers]
    edges = np.array([design_window(row) for row in windows if row is not None])
    reserve = building.policy.unit_reserve_db if building.new_build else 0.0
    if any(row.rule == "policy-unit-reserve" for row in answer.chosen.findings):
        reserve = 0.0
    assert answer.chosen.margins.worst is not None
    left = answer.chosen.margins.worst.margin_db
    for step in (-3.0, -2.0, -1.0, 1.0, 2.0, 3.0):
        settings = replace(launch.settings, gain_db=launch.settings.gain_db + step)
        devices = tuple(
            replace(row, settings=settings) if row.id == launch.id else row for row in network.devices
        )
        moved = analyse(
            replace(network, devices=devices), known.catalogue, limits, known.services, spread=False
        )
        level = moved.report.outlet_level_dbmv
        inside = bool((level >= edges[:, 0] + reserve - 0.02).all() and (level <= edges[:, 1] + 0.02).all())
        worse = moved.margins.worst is None or moved.margins.worst.margin_db <= left + 0.51
        broken = any(row.severity == "breaks" or "amplifier" in row.rule for row in moved.findings)
        assert not inside or worse or broken
