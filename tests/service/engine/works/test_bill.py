"""The bill: reckoned by hand, to the cent."""

from dataclasses import replace

import pytest

from service.engine.errors import UnknownIdError
from service.engine.works.bill import bill_of
from service.engine.works.pulls import run_hours


@pytest.fixture
def bill(house):
    return bill_of(house.building, house.network, house.catalogue, house.tariff)


def test_the_direct_cost_is_the_sum_reckoned_by_hand(bill):
    # At 60.00 an hour: a splitter 3.00 and half an hour, four of them; the amplifier 100.00 and three hours;
    # four outlets of 4.00 and 0.3 h; a terminator of 1.00 and 0.1 h.
    parts = 4 * 3300 + 28000 + 4 * 2200 + 700
    # Seven runs, each 0.4 h for ends and test; two have ends of 2.00, five of 1.00.
    ends = 2 * (400 + 2400) + 5 * (200 + 2400)
    flats = (4200 + 1050 + 1160 + 115) + (1320 + 1750 + 1450 + 115)
    panel = 2950 + 1805 + 2095
    risers = (7000 + 3080 + 500) + (2200 + 500)
    assert bill.direct_cents == parts + ends + flats + panel + risers == 100590


def test_the_direct_cost_is_what_placement_makes_least(house, bill):
    assert bill.direct_cents == house.design().chosen.cost_cents


def test_lines_split_into_material_and_labour(bill):
    lines = {(line.sort, line.item): line for line in bill.lines}
    splitter = lines["part", "split-2"]
    assert (splitter.quantity, splitter.material_cents, splitter.labour_cents) == (4.0, 1200, 12000)
    riser = lines["cable", "11-catvr"]
    assert (riser.quantity, riser.material_cents) == (pytest.approx(34.4), 3440)
    ends = lines["ends", "connector-11"]
    assert (ends.quantity, ends.material_cents, ends.labour_cents) == (2.0, 800, 4800)
    assert all(line.material_cents >= 0 and line.labour_cents >= 0 for line in bill.lines)


def test_hours_of_cable_are_those_of_the_pulls(house, bill):
    cable = sum(line.hours for line in bill.lines if line.sort != "part")
    hours = run_hours(house.building, house.network, house.tariff)
    assert cable == pytest.approx(sum(hours.values()))
    assert bill.hours == pytest.approx(cable + 4 * 0.5 + 3.0 + 4 * 0.3 + 0.1)


def test_waste_packs_and_spares_stand_below_the_direct_cost(house, bill):
    rows = {(line.why, line.item): line for line in bill.below}
    # 34.4 m of riser cable: 8 % waste, two boxes of 152 or one of each size that it is sold in, one spare.
    waste = rows["waste", "11-catvr"]
    assert (waste.quantity, waste.total_cents) == (pytest.approx(2.752), 275)
    put_up = min(house.catalogue.cable("11-catvr").put_ups_m)
    assert rows["packs", "11-catvr"].quantity == pytest.approx(2 * put_up - 34.4 * 1.08)
    assert rows["spares", "11-catvr"].quantity == put_up
    assert (rows["spares", "split-2"].quantity, rows["spares", "split-2"].total_cents) == (1.0, 300)
    assert ("spares", "launch-small") not in rows
    assert bill.below_cents == sum(line.total_cents for line in bill.below)


def test_an_amplifier_used_often_has_a_spare(house):
    devices = tuple(
        replace(device, part="launch-small") if device.part == "split-2" else device
        for device in house.network.devices
    )
    bill = bill_of(house.building, replace(house.network, devices=devices), house.catalogue, house.tariff)
    assert [line.quantity for line in bill.below if line.item == "launch-small"] == [1.0]


def test_existing_cable_costs_nothing(house, bill):
    runs = tuple(replace(run, existing=run.id == "2A.1") for run in house.network.runs)
    kept = bill_of(house.building, replace(house.network, runs=runs), house.catalogue, house.tariff)
    assert bill.direct_cents - kept.direct_cents == 2950 + 200 + 2400


def test_a_part_without_a_price_is_refused(house):
    short = replace(house.tariff, parts=tuple(row for row in house.tariff.parts if row.part != "outlet-end"))
    with pytest.raises(UnknownIdError, match="outlet-end"):
        bill_of(house.building, house.network, house.catalogue, short)
