"""Five floors, one RG-11 to each floor closet, +3 to +10 dBmV at every outlet: a question asked in public.

Source of the inputs: cabling-design.com, helpdesk, answer 996. The first floor's closet lies 260 ft from the
head-end; there the feed splits east (50 ft to a tap for 8 sets) and west (15 ft to taps for 8, then 4, 8 and 2
sets, each 50 ft further); RG-6 to the rooms; 49 to 750 MHz; 42 dBmV at the head-end. No answer was published,
so these are assumed: the closets of floors 2 to 5 lie 12 ft further each, every room drop is 60 ft, RG-11 between
the taps, no length left at the ends, the same level at 49, 200, 400 and 750 MHz, and a wall outlet with its two
joints at each set. Design margins, spare ports and reserves are off: they would leave no window.
"""

from __future__ import annotations

from typing import Any

import pytest

from service.documents.network import network_document
from service.engine.analysis import analyse
from service.engine.placement.proposal import Design
from service.engine.signal.limits import Limits, ServiceLimit
from service.forms.network import read_network

FEET_M = 0.3048
LAUNCH_DBMV = 42.0
LOW_DBMV, HIGH_DBMV = 3.0, 10.0
MHZ = (49.0, 200.0, 400.0, 750.0)
#: Taps of one floor: name, what feeds it, feet of RG-11 between, sets.
TAPS = (
    ("E", "F", 50, 8),
    ("W1", "F", 15, 8),
    ("W2", "W1", 50, 4),
    ("W3", "W2", 50, 8),
    ("W4", "W3", 50, 2),
)
DROP_FT = 60


def closet_ft(floor: int) -> int:
    return 260 + 12 * (floor - 1)


def limits() -> Limits:
    return Limits(
        id="five-floors",
        name="Five floors",
        region="us",
        services=(
            ServiceLimit(
                service="qam256",
                low_dbmv=LOW_DBMV,
                high_dbmv=HIGH_DBMV,
                source="cabling-design.com helpdesk answer 996",
            ),
        ),
        passband_low_mhz=MHZ[0],
        passband_high_mhz=MHZ[-1],
        bands=("cable",),
        source="cabling-design.com helpdesk answer 996",
    )


def document(*, powered: bool) -> dict[str, Any]:
    closets, units, outlets = [], [], []
    for floor in range(1, 6):
        rows = [("F", "HE", closet_ft(floor), 0), *TAPS]
        for name, above, feet, sets in rows:
            place = f"{name}.{floor}"
            closets.append(
                {
                    "id": place,
                    "floor": floor,
                    "from": above if above == "HE" else f"{above}.{floor}",
                    "run_ft": feet,
                    "spaces": ["riser" if above == "HE" else "general"],
                    "survey": "walked",
                    "mains": powered and name == "F",
                }
            )
            for number in range(1, sets + 1):
                outlet = f"{place}-{number}"
                units.append({"id": outlet, "floor": str(floor), "unit_type": "room"})
                outlets.append(
                    {"id": outlet, "unit": outlet, "at": place, "drop_ft": DROP_FT, "spaces": ["general"]}
                )
    return {
        "document": "evendrop/building",
        "version": 1,
        "id": "five-floors",
        "name": "Five floors",
        "length_unit": "ft",
        "floor_height_ft": 10,
        "headend": {"id": "HE", "floor": 1, "mains": False},
        "floors": [{"label": str(floor), "floor_type": "rooms"} for floor in range(1, 6)],
        "rules": {"limits": "us-cable-qam", "plan": "us-cable", "codes": "us-2023"},
        "ends": {"outlet_ft": 0, "panel_ft": 0, "closet_ft": 0, "headend_ft": 0},
        "feed": {
            "kind": "provider",
            "carriers": [
                {"frequency_mhz": mhz, "id": f"{mhz:.0f}", "service": "qam256", "level_dbmv": LAUNCH_DBMV}
                for mhz in MHZ
            ],
        },
        "closets": closets,
        "units": units,
        "outlets": outlets,
        "policy": {"margins": False, "spare": False},
        "wishes": {"riser_cable": "11-catvr", "drop_cable": "6-catv"},
        "prices": "demo-usd",
    }


@pytest.fixture(scope="module")
def amplified(desk: Any) -> Design:
    """House power in each floor's closet."""
    return desk.design(desk.building(document(powered=True)), limits=limits())


@pytest.fixture(scope="module")
def passive(desk: Any) -> Design:
    """House power nowhere."""
    building = desk.building(document(powered=False), wishes={"effort": "quick"})
    return desk.design(building, limits=limits())


def test_with_an_amplifier_on_each_floor_every_outlet_is_inside(amplified: Design) -> None:
    assert len(amplified.chosen.network.served) == 150
    level = amplified.chosen.report.outlet_level_dbmv
    assert level.shape == (150, len(MHZ))
    assert float(level.min()) >= LOW_DBMV
    assert float(level.max()) <= HIGH_DBMV
    assert amplified.chosen.serves_all


def test_its_levels_stand_when_its_network_is_analysed_on_its_own(amplified: Design, desk: Any) -> None:
    posted = network_document(amplified.chosen.network, limits="us-cable-qam", margins=False)
    form, faults = read_network(posted, desk.known)
    assert faults == ()
    assert form is not None
    told = analyse(form.network, form.catalogue, limits(), desk.services, margins=False)
    assert told.serves_all
    assert float(told.report.outlet_level_dbmv.min()) >= LOW_DBMV
    assert float(told.report.outlet_level_dbmv.max()) <= HIGH_DBMV


def test_one_rg11_goes_to_each_floor_and_rg6_to_the_rooms(amplified: Design, desk: Any) -> None:
    places = {device.id: device.place for device in amplified.chosen.network.devices}
    series: dict[str, set[str]] = {}
    lengths: dict[str, float] = {}
    for run in amplified.chosen.network.runs:
        if run.cable is not None:
            place = places[run.end]
            kind = "room" if "-" in place else "tap" if place[0] in "EW" else "floor"
            series.setdefault(kind, set()).add(desk.library.catalogue.cable(run.cable).series)
            lengths[place] = run.length_m
    assert series["room"] == {"6"}
    assert series["tap"] == {"11"}
    assert series["floor"] == {"11"}
    for floor in range(1, 6):
        assert lengths[f"F.{floor}"] == pytest.approx(closet_ft(floor) * FEET_M)


def test_without_an_amplifier_no_network_can_do_it_and_the_design_says_so(passive: Design, desk: Any) -> None:
    # The head-end has one output, so every set lies behind a part that splits, and no part of the catalogue hands
    # on more than some four fifths of its power at 750 MHz. The shares of 150 sets at +3 dBmV, before their cables, add
    # up to more than that.
    splitting = [
        sum(group.count * 10.0 ** (group.gain_db.at_one(750.0) / 10.0) for group in part.groups)
        for part in desk.library.catalogue.parts
        if part.active is None
        and part.port_count > 1
        and all(group.gain_db.covers(750.0) for group in part.groups)
    ]
    handed_on = max(splitting)
    assert 0.7 < handed_on < 0.82
    cables = desk.library.catalogue.cables

    def loss_per_ft(series: str) -> float:
        per_100m = [row.loss_db_per_100m.at_one(750.0) for row in cables if row.series == series]
        return min(per_100m) / 100.0 * FEET_M

    asked = 0.0
    for floor in range(1, 6):
        feet = {"F": closet_ft(floor)}
        for name, above, further, sets in TAPS:
            feet[name] = feet[above] + further
            loss_db = feet[name] * loss_per_ft("11") + DROP_FT * loss_per_ft("6")
            asked += sets * 10.0 ** ((LOW_DBMV + loss_db - LAUNCH_DBMV) / 10.0)
    assert asked > handed_on
    assert not passive.chosen.serves_all
    low = [finding for finding in passive.chosen.findings if finding.rule == "level-low"]
    assert low
    assert min(finding.measured for finding in low) < LOW_DBMV
    assert not passive.chosen.certificate.proven
