"""Amplifiers that live on the line: where the policy allows them, fed from a closet with house power."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from service.engine.placement.cabling import Laid
from service.engine.placement.leads import carries
from service.engine.placement.proposal import Design
from service.engine.placement.stock import cooks_for
from service.engine.works.bill import bill_of


def far_blocks(*, line_power: bool = True, run_m: float = 130.0) -> dict[str, Any]:
    """Two closets of eight flats without house power, each a long run from the one before."""
    document: dict[str, Any] = {
        "document": "evendrop/building",
        "version": 1,
        "id": "far-blocks",
        "name": "Invented",
        "headend": {"id": "HE", "floor": 3, "mains": True},
        "floors": [{"label": "1"}, {"label": "2"}, {"label": "3"}],
        "closets": [
            {"id": "C2", "floor": 2, "from": "HE", "run_m": run_m, "spaces": ["riser"]},
            {"id": "C1", "floor": 1, "from": "C2", "run_m": run_m, "spaces": ["riser"]},
        ],
        "units": [],
        "outlets": [],
        "prices": "demo-usd",
        "policy": {"line_power": line_power},
        "feed": {"carriers": [{"channel": name, "level_dbmv": 10.0, "cn_db": 40.0} for name in ("8", "36")]},
    }
    for floor in "12":
        for letter in "ABCDEFGH":
            unit = f"{floor}{letter}"
            document["units"].append({"id": unit, "floor": floor})
            document["outlets"].append({"id": f"{unit}-1", "unit": unit, "at": f"C{floor}", "drop_m": 12.0})
    return document


@pytest.fixture(scope="module")
def lined(desk: Any) -> Design:
    design: Design = desk.design(desk.building(far_blocks()))
    return design


def stands(design: Design) -> dict[str, str]:
    return {device.part: device.place for device in design.chosen.network.devices}


def test_an_amplifier_on_the_line_stands_where_no_house_power_is(desk: Any, lined: Design) -> None:
    assert stands(lined)["line-amp"] == "C2"
    assert stands(lined)["inserter-down"] == "HE"
    assert lined.chosen.serves_all
    assert [row.rule for row in lined.chosen.findings if row.severity in ("breaks", "warns")] == []
    tariff = desk.library.tariffs["demo-usd"]
    bill = bill_of(lined.building, lined.chosen.network, desk.library.catalogue, tariff)
    assert bill.direct_cents == lined.chosen.cost_cents
    assert lined.chosen.certificate.bound_cents <= lined.chosen.cost_cents


def test_without_the_switch_nothing_lives_on_the_line_and_the_reserve_is_lost(desk: Any) -> None:
    design = desk.design(desk.building(far_blocks(line_power=False)))
    assert "line-amp" not in stands(design)
    assert "policy-unit-reserve" in {row.rule for row in design.chosen.findings}


def test_power_reaches_the_amplifier_and_no_flat(lined: Design) -> None:
    power = lined.chosen.report.power
    assert len(power.devices) == 1
    assert power.devices[0].voltage_v >= power.devices[0].least_v
    assert power.devices[0].supply == next(
        device.id for device in lined.chosen.network.devices if device.part == "inserter-down"
    )
    assert power.live_outlets == ()


def test_its_own_network_kept_comes_back_unchanged(desk: Any, lined: Design) -> None:
    again = desk.design(lined.building, lined.chosen.network)
    assert again.chosen.network == lined.chosen.network


def test_a_run_too_long_for_the_voltage_takes_no_amplifier_on_the_line(desk: Any) -> None:
    catalogue = desk.library.catalogue
    frequency_mhz = (183.0, 605.0)
    menu, *_ = cooks_for(
        catalogue, desk.library.tariffs["demo-usd"], frequency_mhz, frozenset(), trim_free=True
    )
    (inserter,), lift = menu.inserters, menu.line_lifts[0]

    def run(length_m: float) -> Laid:
        nothing = np.zeros(len(frequency_mhz))
        return Laid(
            ways=(),
            cable="6-catvr",
            length_m=length_m,
            loss_db=nothing,
            ends_db=nothing,
            cents=0,
            existing=False,
        )

    ohm = catalogue.cable("6-catvr").loop_resistance_ohm_per_km
    # v² − 18 v + 3 W · R = 0 has no root above 12 V once 3 W · R exceeds 12 V · 6 V: 24 Ω, or 187.5 m at 128 Ω/km.
    assert ohm == 128.0
    assert carries(inserter, lift, run(187.0), ohm)
    assert not carries(inserter, lift, run(188.0), ohm)
