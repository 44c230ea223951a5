"""Feeds and amplifiers with several outputs: each output starts a leg or a flat's cable of its own."""

from __future__ import annotations

from typing import Any

from service.engine.placement.proposal import Design, Proposal
from service.engine.works.bill import bill_of


def home_runs(flats: int, level_dbmv: float, outputs: int = 1) -> dict[str, Any]:
    """So many flats run home to the head-end, 12 m each."""
    letters = "ABCDEFGHIJKL"[:flats]
    return {
        "document": "evendrop/building",
        "version": 1,
        "id": "home-runs",
        "name": "Invented",
        "headend": {"id": "HE", "floor": 2, "mains": True},
        "floors": [{"label": "1"}, {"label": "2"}],
        "units": [{"id": f"1{letter}", "floor": "1"} for letter in letters],
        "outlets": [
            {"id": f"1{letter}-1", "unit": f"1{letter}", "at": "HE", "drop_m": 12.0} for letter in letters
        ],
        "prices": "demo-usd",
        "feed": {
            "outputs": outputs,
            "carriers": [{"channel": name, "level_dbmv": level_dbmv, "cn_db": 40.0} for name in ("8", "36")],
        },
    }


def stair(*, mains: str, level_dbmv: float = 4.0, run_m: float = 4.0) -> dict[str, Any]:
    """A riser of two floors with three flats each; house power at the named closet alone."""
    document = home_runs(0, level_dbmv)
    document["headend"] = {"id": "HE", "floor": 3, "mains": False}
    document["floors"] = [{"label": str(n)} for n in (1, 2, 3)]
    document["closets"] = [
        {"id": "C2", "floor": 2, "from": "HE", "run_m": run_m, "mains": mains == "C2"},
        {"id": "C1", "floor": 1, "from": "C2", "run_m": run_m, "mains": mains == "C1"},
    ]
    names = [f"{floor}{letter}" for floor in (1, 2) for letter in "ABC"]
    document["units"] = [{"id": name, "floor": name[0]} for name in names]
    document["outlets"] = [
        {"id": f"{name}-1", "unit": name, "at": f"C{name[0]}", "drop_m": 12.0} for name in names
    ]
    return document


def fed_from(proposal: Proposal, device: str) -> set[str]:
    """Ports of a device or feed that something hangs on."""
    return {str(run.start) for run in proposal.network.runs if run.start.device == device}


def sound(desk: Any, design: Design) -> None:
    """Serves all, breaks and warns nothing, and the bill comes to the cost that the design was chosen by."""
    chosen, tariff = design.chosen, desk.library.tariffs[design.building.tariff]
    assert chosen.serves_all
    assert [finding.rule for finding in chosen.findings if finding.severity in ("breaks", "warns")] == []
    assert chosen.certificate.bound_cents <= chosen.cost_cents
    bill = bill_of(design.building, chosen.network, desk.library.catalogue, tariff)
    assert bill.direct_cents == chosen.cost_cents


def test_an_amplifier_with_several_outputs_stands_where_a_splitter_would_need_more_gain(desk: Any) -> None:
    design = desk.design(desk.building(home_runs(4, 6.0)))
    chosen = design.chosen
    parts = {device.part: device.id for device in chosen.network.devices}
    assert "dist-4" in parts
    assert len(fed_from(chosen, parts["dist-4"])) > 1
    sound(desk, design)


def test_outputs_that_nothing_hangs_on_are_closed(desk: Any) -> None:
    chosen = desk.design(desk.building(home_runs(4, 6.0))).chosen
    amplifier = next(device.id for device in chosen.network.devices if device.part == "dist-4")
    closed = {str(port) for port in chosen.network.terminated if port.device == amplifier}
    assert len(closed) + len(fed_from(chosen, amplifier)) == 4
    assert not closed & fed_from(chosen, amplifier)


def test_an_amplifier_with_several_outputs_stands_on_the_riser_too(desk: Any) -> None:
    design = desk.design(desk.building(stair(mains="C2", level_dbmv=8.0)))
    amplifiers = [device for device in design.chosen.network.devices if device.part.startswith("dist-")]
    assert [device.place for device in amplifiers] == ["C2"]
    assert len(fed_from(design.chosen, amplifiers[0].id)) > 1
    sound(desk, design)


def test_a_feed_with_several_outputs_needs_no_splitter_ahead_of_its_legs(desk: Any) -> None:
    one = desk.design(desk.building(home_runs(6, 14.0)))
    two = desk.design(desk.building(home_runs(6, 14.0, outputs=2)))
    assert fed_from(two.chosen, "HE") == {"HE:out.1", "HE:out.2"}
    assert two.chosen.cost_cents < one.chosen.cost_cents
    sound(desk, two)


def test_outputs_of_a_feed_that_stay_unused_are_closed_and_paid_for(desk: Any) -> None:
    one = desk.design(desk.building(home_runs(3, 16.0)))
    three = desk.design(desk.building(home_runs(3, 16.0, outputs=8)))
    leaving = fed_from(three.chosen, "HE")
    closed = {str(port) for port in three.chosen.network.terminated if port.device == "HE"}
    assert len(leaving) + len(closed) == 8
    assert one.chosen.cost_cents != three.chosen.cost_cents
    sound(desk, three)


def test_more_outputs_never_make_a_design_dearer_than_closing_them(desk: Any) -> None:
    tariff = desk.library.tariffs["demo-usd"]
    end_cents = tariff.device_cents(tariff.terminator)
    for flats in (2, 5, 8):
        wishes = {"aim": "cheapest"}
        one = desk.design(desk.building(home_runs(flats, 14.0), wishes=wishes)).chosen
        four = desk.design(desk.building(home_runs(flats, 14.0, outputs=4), wishes=wishes)).chosen
        assert four.cost_cents <= one.cost_cents + 3 * end_cents
