"""The estimate: direct cost to the cent, lines that add up, shares reckoned by hand, ranges and what-ifs."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from service.engine.building.places import ExistingCable
from service.engine.building.rates import Rates
from service.engine.works.bill import bill_of
from service.engine.works.estimate import estimate_of, survey_of


def made(house, building=None, rates=None, **options):
    building = replace(building or house.building, rates=rates or Rates())
    bill = bill_of(building, house.network, house.catalogue, house.tariff)
    return estimate_of(building, house.network, bill, house.tariff, **options)


def line_of(estimate, name):
    return next(line for line in estimate.lines if line.name == name)


def with_ways(building, **changes):
    return replace(building, ways=tuple(replace(way, **changes) for way in building.ways))


def occupied(building):
    return replace(building, units=tuple(replace(unit, occupied=True) for unit in building.units))


def test_the_first_line_is_the_direct_cost_that_placement_made_least(house):
    estimate = made(house)
    cost = house.design().chosen.cost_cents
    assert estimate.direct_cents == estimate.lines[0].total_cents == cost


def test_totals_are_the_sums_of_their_printed_lines(house):
    rates = Rates(tax_share=Decimal("0.0825"), permit_cents=12345)
    estimate = made(house, rates=rates)
    assert estimate.cost_cents == sum(
        line.material_cents + line.labour_cents + line.subcontract_cents for line in estimate.lines
    )
    assert estimate.price_cents == estimate.cost_cents + sum(
        line.amount_cents for line in estimate.price_lines
    )


def test_overhead_contingency_mark_up_and_tax_are_reckoned_in_that_order(house):
    rates = Rates(tax_share=Decimal("0.10"))
    estimate = made(house, rates=rates)
    material = Decimal(sum(line.material_cents for line in estimate.lines))
    labour = Decimal(sum(line.labour_cents for line in estimate.lines))
    loaded = Decimal("1.20")
    wanted = [
        ("Overhead", (material + labour) * Decimal("0.10")),
        ("Contingency", (material + labour) * Decimal("0.10")),
        ("Mark-up on material", material * loaded * Decimal("0.15")),
        ("Mark-up on labour", labour * loaded * Decimal("0.20")),
        ("Mark-up on subcontract", Decimal(0)),
    ]
    wanted.append(("Tax", (material + labour + sum(amount for _, amount in wanted)) * Decimal("0.10")))
    found = [(line.name, line.amount_cents) for line in estimate.price_lines]
    assert [name for name, _ in found] == [name for name, _ in wanted]
    for (_, paid), (_, amount) in zip(found, wanted, strict=True):
        assert paid == pytest.approx(float(amount), abs=0.6)


def test_margin_is_not_mark_up(house):
    # 20 % mark-up on everything is a margin of 16.7 %.
    fifth = Decimal("0.20")
    rates = Rates(markup_material_share=fifth, markup_labour_share=fifth, markup_subcontract_share=fifth)
    estimate = made(house, rates=rates)
    assert float(estimate.markup_share) == pytest.approx(0.20, abs=1e-5)
    assert float(estimate.margin_share) == pytest.approx(1 / 6, abs=1e-5)


@pytest.mark.parametrize(("survey", "share"), [("walked", 5), ("drawings", 10), ("outline", 20)])
def test_the_poorest_survey_sets_the_contingency(house, survey, share):
    walked = with_ways(house.building, survey="walked")
    first, *rest = walked.ways
    building = replace(walked, ways=(replace(first, survey=survey), *rest))
    assert survey_of(building, house.network) == survey
    estimate = made(house, building)
    line = next(row for row in estimate.price_lines if row.name == "Contingency")
    assert line.amount_cents == pytest.approx(estimate.cost_cents * share / 100, abs=0.6)


def test_tasks_take_their_hours_by_count(house):
    estimate = made(house)
    # Four outlets and three flats; holes on R2, R1, K1A, K1B, K2A.
    assert line_of(estimate, "Balance and test").hours == Decimal("0.90")
    seals = line_of(estimate, "Sleeves and firestops")
    assert (seals.hours, seals.material_cents) == (Decimal("1.5"), 5 * 1400)
    assert line_of(estimate, "Mobilisation").labour_cents == 8 * 6000
    # Corridors of 12 + 3 + 5 + 8 m, a support every 1.5 m.
    assert line_of(estimate, "Supports along corridors and ceilings").material_cents == 19 * 90


def test_supervision_is_a_tenth_of_all_other_hours(house):
    estimate = made(house)
    line = line_of(estimate, "Supervision")
    others = sum(row.hours for row in estimate.lines if row is not line)
    assert line.hours == others / 10
    assert estimate.lines[-1] is line


def test_people_at_home_cost_hours_and_an_empty_building_none(house):
    names = [line.name for line in made(house).lines]
    assert "Occupied flats" not in names
    lived_in = made(house, occupied(house.building))
    assert line_of(lived_in, "Doors that stay shut").hours == Decimal("0.3375")
    assert line_of(lived_in, "Occupied flats").hours > 0
    assert lived_in.price_cents > made(house).price_cents


def test_old_cable_comes_out_by_the_metre(house):
    first, *rest = house.building.ways
    old = replace(first, existing=ExistingCable(fate="abandon"))
    estimate = made(house, replace(house.building, ways=(old, *rest)))
    assert line_of(estimate, "Old cable out").hours == Decimal("0.5")


def test_floors_without_a_lift_cost_more_the_higher_they_are(house):
    with_lift = made(house, rates=Rates(floors_without_factor=1))
    without = made(house, rates=Rates(floors_without_factor=1, lift=False))
    assert "No lift" not in [line.name for line in with_lift.lines]
    assert line_of(without, "No lift").hours > 0


def test_the_price_lies_inside_its_range_which_widens_with_poorer_surveys(house):
    widths = []
    for survey in ("walked", "drawings", "outline"):
        estimate = made(house, with_ways(house.building, survey=survey))
        low, high = estimate.range_cents
        assert low < estimate.price_cents < high
        widths.append((high - low) / estimate.price_cents)
    assert widths == sorted(widths)


def test_longer_distances_and_shut_doors_cost_more(house):
    estimate = made(house)
    assert len(estimate.what_ifs) == 2
    assert all(price > estimate.price_cents for _, price in estimate.what_ifs)


def test_one_outlet_more_costs_more_than_its_part_and_less_than_its_share(house):
    estimate = made(house)
    assert house.tariff.device_cents("outlet-end") < estimate.extra_outlet_cents
    assert estimate.extra_outlet_cents < estimate.price_cents / 4


def test_alternates_add_and_deduct_in_proportion(house):
    direct = house.design().chosen.cost_cents
    estimate = made(
        house, alternates=[("same", direct), ("dearer", direct + 10000), ("cheaper", direct - 10000)]
    )
    found = dict(estimate.alternates)
    assert found["same"] == 0
    assert found["dearer"] == -found["cheaper"] > 10000


def test_lumps_left_at_nothing_are_excluded_by_name(house):
    assert "Permits and fees by others." in made(house).exclusions
    paid = made(house, rates=Rates(permit_cents=50000))
    assert "Permits and fees by others." not in paid.exclusions
    assert line_of(paid, "Permit").subcontract_cents == 50000


def test_negative_shares_are_refused():
    with pytest.raises(ValueError, match="not negative"):
        Rates(markup_labour_share=Decimal("-0.1"))
