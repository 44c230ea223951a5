"""Rules of the policy that show as findings, each with its switch on and off."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.engine.building.places import Building, Floor, Outlet, Place, Policy, Rules, Unit, Way
from service.engine.findings import Finding
from service.engine.placement.layout import lay_out
from service.engine.placement.policy import policy_findings, within_policy
from service.engine.placement.stock import cooks_for
from service.engine.plant.network import Network
from service.engine.routes.tree import tree_route
from service.engine.signal.spectrum import Carrier, Feed, FeedCarrier
from service.library import library


@pytest.mark.parametrize(
    ("rule", "switch"),
    [
        ("falling-values", "falling_values"),
        ("isolation", "isolation"),
        ("spare-ports", "spare"),
        ("through-ports", "fault_domain"),
        ("tap-variety", "parts_variety"),
        ("trimmed-outlet", "no_trimming_at_outlets"),
    ],
)
def test_a_rule_that_is_switched_off_is_not_told(rule: str, switch: str) -> None:
    told = (
        Finding(rule=rule, severity="warns", where=("X",)),
        Finding(rule="level-low", severity="breaks", where=()),
    )
    assert within_policy(told, Policy()) == told
    off = replace(Policy(), **{switch: False})
    assert [finding.rule for finding in within_policy(told, off)] == ["level-low"]


def test_a_building_may_ask_less_than_is_common() -> None:
    told = (
        Finding(rule="spare-ports", severity="notes", where=("X",), measured=6.0, limit=10.0),
        Finding(rule="tap-variety", severity="notes", where=("X",), measured=5.0, limit=4.0),
    )
    for share, most, left in ((0.05, 4, ["tap-variety"]), (0.1, 5, ["spare-ports"]), (0.06, 6, [])):
        policy = replace(Policy(), spare_share=share, most_tap_values=most)
        assert [finding.rule for finding in within_policy(told, policy)] == left


def test_taps_stand_in_a_flat_only_where_trimming_is_allowed() -> None:
    tariff = library().tariffs["demo-usd"]
    for trim_free in (True, False):
        _, _, panel_cook = cooks_for(
            library().catalogue, tariff, (57.0, 605.0), frozenset(), trim_free=trim_free
        )
        tapped = any(recipe.taps for recipe in panel_cook.recipes(3, 0))
        assert tapped is not trim_free


def chained(*, new_build: bool) -> Building:
    """A closet, the panel of flat A, and behind it the panel of flat B."""
    places = (
        Place(id="HE", kind="headend", floor="1", mains=True),
        Place(id="A", kind="panel", floor="1", unit="A", access="in-flat"),
        Place(id="B", kind="panel", floor="1", unit="B", access="in-flat"),
        *(Place(id=f"{unit}-{n}", kind="outlet", floor="1", unit=unit) for unit in "AB" for n in (1, 2)),
    )
    steps = [("HE", "A"), ("A", "B"), *((unit, f"{unit}-{n}") for unit in "AB" for n in (1, 2))]
    carrier = Carrier(id="14", frequency_mhz=473.0, low_mhz=470.0, high_mhz=476.0, service="atsc")
    return Building(
        id="chained",
        name="Chained flats (invented)",
        headend="HE",
        floors=(Floor(label="1", order=0, elevation_m=0.0),),
        places=places,
        ways=tuple(
            Way(id=end, start=start, end=end, length_m=5.0, pulled_m=5.5, kind="drop", spaces=("unit",))
            for start, end in steps
        ),
        units=(Unit(id="A", floor="1"), Unit(id="B", floor="1")),
        outlets=tuple(Outlet(id=f"{unit}-{n}", unit=unit, user=unit) for unit in "AB" for n in (1, 2)),
        feed=Feed(id="HE", carriers=(FeedCarrier(carrier=carrier, level_dbmv=20.0),)),
        rules=Rules(limits="us-off-air", plan="us-broadcast", codes="us-2023"),
        tariff="demo-usd",
        new_build=new_build,
    )


def told(building: Building) -> list[Finding]:
    layout = lay_out(building, tree_route(building))
    network = Network(id="n", feeds=(building.feed,), devices=(), runs=(), served=())
    found = policy_findings(layout, network, library().catalogue)
    return [finding for finding in found if finding.rule == "policy-flat-through-flat"]


def test_a_flat_fed_through_another_breaks_new_work_and_warns_in_old() -> None:
    (new,), (old,) = told(chained(new_build=True)), told(chained(new_build=False))
    assert (new.severity, old.severity) == ("breaks", "warns")
    assert new.where == ("B through A",)


def test_flats_through_flats_are_not_told_where_that_rule_is_off() -> None:
    building = chained(new_build=True)
    assert told(replace(building, policy=replace(building.policy, no_flat_through_flat=False))) == []
