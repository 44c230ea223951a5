"""Pathways: the smallest raceway a way, the load of a pull, and when the rules speak."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.engine.building.mast import Mast, MountedAntenna
from service.engine.works.mast import fall_distance_m, mast_findings
from service.engine.works.pathways import pull_loads, way_fills
from service.engine.works.pulls import pulls_of
from service.engine.works.raceways import (
    EMT_IN2,
    IN2_PER_MM2,
    Stretch,
    bundle_limit_n,
    emt_fill,
    fill_finding,
    fill_limit,
    least_emt,
    least_trunking,
    pull_findings,
    tension_along,
    trunking_fill,
)


@pytest.fixture
def pulls(house):
    return pulls_of(house.building, house.network, house.catalogue, house.tariff)


def test_every_way_with_new_cables_is_listed_with_the_smallest_tube(house, pulls):
    fills = {row.way: row for row in way_fills(house.building, pulls, house.catalogue)}
    assert fills["R2"].cables == 2
    diameter = house.catalogue.cable("11-catvr").outer_diameter_mm
    area = 2 * 3.14159265 / 4 * diameter**2 * IN2_PER_MM2
    fitting = [size for size, inner in EMT_IN2 if area <= 0.31 * inner]
    assert fills["R2"].least_size == fitting[0]
    european = replace(house.building, rules=replace(house.building.rules, codes="eu"))
    assert "mm" in way_fills(european, pulls, house.catalogue)[0].least_size


def test_a_pull_up_a_riser_lifts_the_whole_bundle(house, pulls):
    loads = {row.pull: row for row in pull_loads(pulls, house.catalogue)}
    riser = next(pull for pull in pulls if {row.run.id for row in pull.cables} == {"C1.1", "C2.1"})
    weight = 2 * house.catalogue.cable("11-catvr").mass_kg_per_km / 1000.0 * 9.80665
    load = loads[riser.name]
    # 10.0 and 4.4 m straight up, one behind the other: no bend.
    assert load.tension.greatest_n == pytest.approx(14.4 * weight)
    assert load.tension.bends_deg == 0.0
    assert not load.findings


def test_places_passed_are_bends(house, pulls):
    loads = {row.pull: row for row in pull_loads(pulls, house.catalogue)}
    drops = next(pull for pull in pulls if "1A-1.1" in {row.run.id for row in pull.cables})
    assert loads[drops.name].tension.bends_deg == 180.0


def test_a_tube_never_gets_smaller_for_more_cable():
    order = [size for size, _ in EMT_IN2]
    for count in (1, 2, 3, 9):
        sizes = [least_emt(count, 40.0 * step) for step in range(1, 80)]
        places = [order.index(size) for size in sizes if size]
        assert places == sorted(places)
        for step, size in enumerate(sizes, start=1):
            if size:
                assert emt_fill(size, count, 40.0 * step).share <= fill_limit(count) + 1e-9


def test_overfill_warns_with_the_next_size_and_never_breaks():
    found = fill_finding(emt_fill("1/2", 2, 75.0), "K1", "by hand")
    assert found is not None
    assert found.severity == "warns"
    assert "3/4" in found.text
    assert fill_finding(emt_fill("4", 2, 75.0), "K1", "by hand") is None
    assert "no listed size" in fill_finding(emt_fill("4", 2, 9e4), "K1", "by hand").text


def test_a_size_that_there_is_not_is_refused():
    with pytest.raises(ValueError, match="no size 5"):
        emt_fill("5", 1, 1.0)


def test_trunking_fills_by_one_share():
    assert trunking_fill(50.0, 50.0, 10, 1125.0).fits
    over = trunking_fill(50.0, 50.0, 10, 1126.0)
    assert not over.fits
    assert over.next_size == least_trunking(1126.0) == "75 × 50 mm"


def test_a_hard_pull_is_warned_about_by_tension_sidewall_and_bends():
    turns = [Stretch(kind="bend", turn_deg=90.0, radius_m=0.1)] * 5
    pull = tension_along((Stretch(kind="straight", length_m=100.0), *turns), 2.0)
    rules = {row.rule: row.severity for row in pull_findings("P001", pull, 500.0, 100.0)}
    assert rules == {
        "pull-tension": "warns",
        "sidewall-load": "warns",
        "pull-bends": "warns",
        "pull-length": "notes",
    }
    soft = tension_along((Stretch(kind="straight", length_m=10.0),), 2.0)
    assert pull_findings("P001", soft, 500.0, 10.0) == ()


def test_a_bundle_bears_less_than_its_cables_together():
    assert bundle_limit_n([300.0]) == 300.0
    assert bundle_limit_n([300.0, 500.0]) == pytest.approx(480.0)
    assert bundle_limit_n([]) == 0.0


def mast_of(**changes):
    plain = Mast(
        free_m=3.0,
        clamped_m=0.6,
        tube_mm=60.0,
        antennas=(MountedAntenna(name="log-periodic", wind_n=100.0, height_m=2.8),),
        line_m=50.0,
    )
    return replace(plain, **changes)


def test_fall_distance_comes_first_and_ends_the_work_inside_it():
    heavy = (MountedAntenna(name="dish", wind_n=2000.0, height_m=2.0),)
    near = mast_findings(mast_of(line_m=5.0, antennas=heavy))
    assert [row.rule for row in near] == ["mast-fall"]
    assert near[0].severity == "breaks"
    assert near[0].limit == pytest.approx(5.4)
    assert "call the utility" in near[0].text
    far = mast_findings(mast_of(antennas=heavy))
    assert [(row.rule, row.severity) for row in far] == [("mast-fall", "notes"), ("mast-moment", "warns")]
    assert "no clearance" in far[0].text
    assert fall_distance_m(0.5) == 3.0


def test_a_distance_that_nobody_stated_is_asked_for():
    found = mast_findings(mast_of(line_m=None))
    assert (found[0].rule, found[0].severity, found[0].measured) == ("mast-fall", "warns", None)


def test_a_mast_held_by_less_than_a_sixth_is_warned_about():
    assert "mast-clamped" not in [row.rule for row in mast_findings(mast_of())]
    assert "mast-clamped" in [row.rule for row in mast_findings(mast_of(clamped_m=0.5))]
