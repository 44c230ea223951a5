"""Each switch of the policy and each wish changes a design or what is said about it."""

from __future__ import annotations

from collections import Counter
from typing import Any

import numpy as np
import pytest

from service.engine.placement.proposal import Design, Proposal


def riser(
    floors: int = 3,
    flats: int = 2,
    outlets: int = 1,
    *,
    level_dbmv: float = 10.0,
    run_m: float = 4.0,
    powered: bool = False,
) -> dict[str, Any]:
    """A riser of alike floors, every flat 12 m from its closet."""
    document: dict[str, Any] = {
        "document": "evendrop/building",
        "version": 1,
        "id": "riser",
        "name": "Invented",
        "headend": {"id": "HE", "floor": floors + 1, "mains": True},
        "floors": [{"label": str(n), "floor_type": "flats"} for n in range(1, floors + 1)]
        + [{"label": str(floors + 1)}],
        "closets": [],
        "panels": [],
        "units": [],
        "outlets": [],
        "prices": "demo-usd",
        "feed": {
            "carriers": [{"channel": name, "level_dbmv": level_dbmv, "cn_db": 40.0} for name in ("8", "36")]
        },
    }
    above = "HE"
    for floor in range(floors, 0, -1):
        closet = f"C{floor}"
        row = {"id": closet, "floor": floor, "from": above, "run_m": run_m, "spaces": ["riser"]}
        document["closets"].append(row | ({"mains": True} if powered else {}))
        above = closet
        for letter in "ABCDEFGH"[:flats]:
            unit = f"{floor}{letter}"
            document["units"].append({"id": unit, "floor": str(floor)})
            if outlets > 1:
                document["panels"].append({"id": unit, "unit": unit, "from": closet, "run_m": 12.0})
            for number in range(outlets):
                at, drop = (unit, 5.0) if outlets > 1 else (closet, 12.0)
                document["outlets"].append(
                    {"id": f"{unit}-{number + 1}", "unit": unit, "at": at, "drop_m": drop}
                )
    return document


def rules_of(proposal: Proposal) -> set[str]:
    return {finding.rule for finding in proposal.findings}


def parts_of(design: Design) -> Counter[str]:
    return Counter(device.part for device in design.chosen.network.devices)


def test_a_flat_fed_from_another_floor_is_told_unless_that_is_allowed(desk: Any) -> None:
    document = riser()
    document["outlets"][0]["at"] = "C1"
    strict = desk.design(desk.building(document)).chosen
    told = [finding for finding in strict.findings if finding.rule == "policy-own-floor"]
    assert [finding.where for finding in told] == [("C1→3A",)]
    for policy in ({"own_floor": False}, {"own_floor_reach": 2}):
        assert "policy-own-floor" not in rules_of(desk.design(desk.building(document, policy)).chosen)
    near = desk.design(desk.building(document, {"own_floor_reach": 1})).chosen
    assert "policy-own-floor" in rules_of(near)


def test_nothing_stands_in_a_ceiling_unless_that_is_allowed(desk: Any) -> None:
    document = riser()
    document["closets"][1]["access"] = "ceiling"
    strict = desk.design(desk.building(document))
    free = desk.design(desk.building(document, {"accessible_places": False}))
    assert "C2" not in {device.place for device in strict.chosen.network.devices}
    assert "C2" in {device.place for device in free.chosen.network.devices}
    assert strict.chosen.serves_all
    assert free.chosen.serves_all


def test_amplifiers_stand_on_house_power_alone_unless_that_is_given_up(desk: Any) -> None:
    document = riser(flats=4, level_dbmv=2.0)
    document["headend"]["mains"] = False
    strict = desk.design(desk.building(document))
    free = desk.design(desk.building(document, {"amplifiers_on_house_power": False}))
    catalogue = desk.library.catalogue

    def amplifiers(design: Design) -> int:
        return sum(catalogue.part(row.part).active is not None for row in design.chosen.network.devices)

    assert not strict.chosen.serves_all
    assert amplifiers(strict) == 0
    assert free.chosen.serves_all
    assert amplifiers(free) >= 1


def test_the_policy_says_how_many_amplifiers_may_follow_the_launch(desk: Any) -> None:
    document = riser(flats=4, level_dbmv=5.0, run_m=150.0, powered=True)
    alone = desk.design(desk.building(document, {"most_amplifiers_in_series": 0}))
    assert not alone.chosen.serves_all
    for most in (1, 2):
        design = desk.design(desk.building(document, {"most_amplifiers_in_series": most}))
        assert design.chosen.serves_all
        assert longest_chain(design, desk) <= most + 1
        assert longest_chain(design, desk) > 1


def longest_chain(design: Design, desk: Any) -> int:
    """Most amplifiers on the way to any outlet."""
    network = design.chosen.network
    above = {run.end: run.start.device for run in network.runs}
    active = {row.id for row in network.devices if desk.library.catalogue.part(row.part).active is not None}
    longest = 0
    for served in network.served:
        here, count = served.port.device, 0
        while here in above:
            count += here in active
            here = above[here]
        longest = max(longest, count)
    return longest


def test_flats_behind_one_amplifier_are_counted_unless_faults_may_spread(desk: Any) -> None:
    document = riser(flats=4, level_dbmv=5.0, run_m=150.0, powered=True)
    few = {"most_flats_behind_amplifier": 2}
    rule = "policy-flats-behind-amplifier"
    assert rule in rules_of(desk.design(desk.building(document, few)).chosen)
    assert rule not in rules_of(desk.design(desk.building(document, few | {"fault_domain": False})).chosen)
    assert rule not in rules_of(desk.design(desk.building(document)).chosen)


def test_a_leg_passes_as_many_closets_as_the_policy_says(desk: Any) -> None:
    document = riser(floors=6, level_dbmv=14.0)

    def most_closets(policy: dict[str, Any]) -> int:
        network = desk.design(desk.building(document, policy)).chosen.network
        places = {row.id: row.place for row in network.devices}
        above = {run.end: run.start.device for run in network.runs}
        longest = 0
        for served in network.served:
            passed, here = set(), served.port.device
            while here in above:
                if places[here].startswith("C"):
                    passed.add(places[here])
                here = above[here]
            longest = max(longest, len(passed))
        return longest

    assert most_closets({"most_throughs_in_leg": 1}) <= 2
    assert most_closets({"most_throughs_in_leg": 0}) <= 1


def test_spare_ports_cost_money_and_are_not_asked_for_when_switched_off(desk: Any) -> None:
    document = riser(floors=6, flats=4, level_dbmv=6.0)
    strict = desk.design(desk.building(document)).chosen
    free = desk.design(desk.building(document, {"spare": False})).chosen
    assert free.cost_cents < strict.cost_cents
    assert "spare-ports" not in rules_of(free)
    assert len(strict.network.terminated) > len(free.network.terminated)


def test_the_last_closet_of_a_leg_keeps_a_port_for_a_meter(desk: Any) -> None:
    network = desk.design(desk.building(riser(floors=2, level_dbmv=14.0))).chosen.network
    places = {row.id: row.place for row in network.devices}
    starts = {run.start.device for run in network.runs if places.get(run.end, "").startswith("C")}
    ends = {name for name, place in places.items() if place.startswith("C") and name not in starts}
    assert ends
    assert {port.device for port in network.terminated} >= ends


def test_more_spare_ports_are_placed_where_more_are_asked_for(desk: Any) -> None:
    document = riser(floors=6, flats=4, level_dbmv=6.0)
    none = desk.design(desk.building(document, {"spare_share": 0.0})).chosen
    tenth = desk.design(desk.building(document, {"spare_share": 0.1})).chosen
    assert len(tenth.network.terminated) > len(none.network.terminated)


def test_the_reserve_for_a_splitter_lifts_the_weakest_outlet(desk: Any) -> None:
    document = riser(floors=2, flats=2, outlets=2, level_dbmv=14.0)
    for reserve_db in (0.0, 4.0, 6.0):
        design = desk.design(desk.building(document, {"unit_reserve_db": reserve_db}))
        assert "policy-unit-reserve" not in rules_of(design.chosen)
        assert float(design.chosen.report.outlet_level_dbmv.min()) >= -5.0 + reserve_db - 0.02
    much = desk.design(desk.building(document, {"unit_reserve_db": 12.0}))
    assert "policy-unit-reserve" in rules_of(much.chosen)
    without = desk.design(desk.building(document, {"unit_reserve_db": 12.0, "spare": False}))
    assert "policy-unit-reserve" not in rules_of(without.chosen)


def test_the_number_of_jackets_is_counted_unless_variety_is_free(desk: Any) -> None:
    none = {"most_drop_jackets": 0}
    assert "policy-drop-jackets" in rules_of(desk.design(desk.building(riser(), none)).chosen)
    free = none | {"parts_variety": False}
    assert "policy-drop-jackets" not in rules_of(desk.design(desk.building(riser(), free)).chosen)


def values_by_size(design: Design, desk: Any) -> dict[int, set[str]]:
    """Distinct taps of a design by their count of tap ports."""
    found: dict[int, set[str]] = {}
    for part in parts_of(design):
        groups = desk.library.catalogue.part(part).groups
        if any(group.name == "through" for group in groups) and len(groups) == 2:
            size = max(group.count for group in groups if group.name != "through")
            found.setdefault(size, set()).add(part)
    return found


def test_fewer_tap_values_stand_where_fewer_are_allowed(desk: Any) -> None:
    document = riser(floors=6, flats=4, level_dbmv=6.0)
    most = {"most_tap_values": 1}
    strict = desk.design(desk.building(document, most, {"aim": "cheapest"}))
    free = desk.design(desk.building(document, most | {"parts_variety": False}, {"aim": "cheapest"}))
    assert all(len(values) == 1 for values in values_by_size(strict, desk).values())
    assert max(len(values) for values in values_by_size(free, desk).values()) > 1


def test_alike_floors_get_one_pattern_unless_that_is_given_up(desk: Any) -> None:
    document = riser(flats=3, level_dbmv=5.0, run_m=6.0)
    for number, outlet in enumerate(document["outlets"]):
        outlet["drop_m"] = 8.0 + 20.0 * (number % 4)

    def patterns(policy: dict[str, Any]) -> int:
        design = desk.design(desk.building(document, policy, {"aim": "cheapest"}))
        catalogue = desk.library.catalogue
        by_floor: dict[str, list[tuple[int, ...]]] = {}
        for device in design.chosen.network.devices:
            if device.place.startswith("C"):
                counts = [
                    group.count for group in catalogue.part(device.part).groups if group.name != "through"
                ]
                by_floor.setdefault(device.place, []).append(tuple(counts))
        told = "policy-one-pattern" in rules_of(design.chosen)
        return -1 if told else len({tuple(sorted(rows)) for rows in by_floor.values()})

    assert patterns({}) == 1
    assert patterns({"one_pattern": False}) > 1


def test_margins_off_opens_the_window_to_the_limits(desk: Any) -> None:
    document = riser(flats=4, level_dbmv=11.0)
    document["headend"]["mains"] = False
    strict = desk.design(desk.building(document))
    free = desk.design(desk.building(document, {"margins": False}))
    assert not strict.chosen.serves_all or "policy-window" in rules_of(strict.chosen)
    assert free.chosen.serves_all
    assert float(free.chosen.report.outlet_level_dbmv.min()) >= -10.0


def test_cable_and_plate_are_those_that_were_wished_for(desk: Any) -> None:
    document = riser()

    def series(wishes: dict[str, Any], to: str) -> set[str]:
        network = desk.design(desk.building(document, None, wishes)).chosen.network
        places = {row.id: row.place for row in network.devices}
        return {
            desk.library.catalogue.cable(run.cable).series
            for run in network.runs
            if run.cable and places[run.end].startswith(to)
        }

    assert series({"riser_cable": "11"}, "C") == {"11"}
    assert series({"riser_cable": "6"}, "C") == {"6"}
    assert series({"drop_cable": "11"}, "1A-") == {"11"}
    assert series({}, "1A-") == {"6"}
    plates = parts_of(desk.design(desk.building(document, None, {"outlet_part": "outlet-three-end"})))
    assert plates["outlet-three-end"] == len(document["outlets"])
    assert plates["outlet-end"] == 0


def test_a_wish_may_name_a_cable_which_is_laid_where_its_jacket_is_permitted(desk: Any) -> None:
    document = riser()
    document["wishes"] = {"riser_cable": "7-catvr", "drop_cable": "11-catv"}
    network = desk.design(desk.building(document)).chosen.network
    places = {row.id: row.place for row in network.devices}
    cables = {places[run.end][0]: run.cable for run in network.runs if run.cable}
    assert cables["C"] == "7-catvr"
    # Nobody said what the drops cross, which counts as a plenum: the same series with that jacket.
    assert cables["1"] == "11-catvp"


def test_the_simplest_design_has_no_more_kinds_and_is_not_much_dearer_than_the_cheapest(desk: Any) -> None:
    document = riser(floors=6, flats=4, level_dbmv=6.0)
    cheapest, simplest, balanced = (
        desk.design(desk.building(document, None, {"aim": aim}))
        for aim in ("cheapest", "simplest", "balanced")
    )
    assert len(parts_of(simplest)) <= len(parts_of(cheapest))
    assert simplest.chosen.cost_cents <= 1.03 * cheapest.chosen.cost_cents
    assert balanced.chosen.cost_cents <= 1.011 * cheapest.chosen.cost_cents
    assert spread_db(balanced) <= spread_db(cheapest) + 1e-9


def spread_db(design: Design) -> float:
    level = design.chosen.report.outlet_level_dbmv
    return float(np.max(level.max(axis=0) - level.min(axis=0)))


def test_a_spread_that_was_wished_for_is_kept_or_its_loss_is_told(desk: Any) -> None:
    document = riser(floors=6, flats=4, level_dbmv=6.0)
    wished = desk.design(desk.building(document, {"spare": False}, {"spread_db": 6.0}))
    assert "policy-spread" in rules_of(wished.chosen) or spread_db(wished) <= 6.05
    hopeless = desk.design(desk.building(document, {"spare": False}, {"spread_db": 0.2}))
    assert "policy-spread" in rules_of(hopeless.chosen)


@pytest.mark.parametrize("flats", [1, 2])
def test_a_leg_may_end_in_a_closet_of_one_flat(flats: int, desk: Any) -> None:
    for outlets in (1, 2):
        design = desk.design(desk.building(riser(floors=3, flats=flats, outlets=outlets), {"spare": False}))
        assert design.chosen.serves_all
        assert len(design.chosen.network.served) == 3 * flats * outlets


def test_one_flat_may_hang_straight_on_the_launch_amplifier(desk: Any) -> None:
    document = riser(floors=1, flats=1, level_dbmv=-2.0)
    document["closets"] = []
    document["outlets"][0] |= {"at": "HE", "drop_m": 60.0}
    design = desk.design(desk.building(document, {"spare": False}))
    assert design.chosen.serves_all
    assert [device.place for device in design.chosen.network.devices] == ["1A-1", "HE"]
