"""The packaged library: everything the trade needs is there, priced, sourced, on the grid and in range."""

from __future__ import annotations

import itertools

import pytest

from service.engine.plant.cables import Cable
from service.engine.plant.parts import Part
from service.engine.plant.permits import allowed_jackets
from service.library import library

LIBRARY = library()
PARTS = LIBRARY.catalogue.parts
CABLES = LIBRARY.catalogue.cables
TERRESTRIAL_MHZ = (54.0, 1002.0)


def ids(prefix: str) -> set[str]:
    return {part.id for part in PARTS if part.id.startswith(prefix)}


def even_counts() -> set[int]:
    return {
        part.port_count
        for part in PARTS
        if len(part.groups) == 1 and part.active is None and part.port_count > 1 and "tap" not in part.id
    }


def test_the_library_is_read_once() -> None:
    assert library() is LIBRARY


def test_ids_are_unique() -> None:
    assert len({part.id for part in PARTS}) == len(PARTS)
    assert len({cable.id for cable in CABLES}) == len(CABLES)


def test_every_size_of_splitter_is_there() -> None:
    assert even_counts() == {2, 3, 4, 6, 8, 16}
    uneven = LIBRARY.catalogue.part("split-3u")
    assert [(group.name, group.count) for group in uneven.groups] == [("low", 1), ("high", 2)]


@pytest.mark.parametrize(("ports", "values"), [(1, 9), (2, 9), (4, 8), (8, 7)])
def test_taps_come_in_the_usual_values_of_three_db(ports: int, values: int) -> None:
    taps = [part for part in PARTS if part.id.startswith(f"tap-{ports}-") and part.group("through")]
    found = sorted(-part.group("tap").gain_db.at_one(54.0) for part in taps)
    assert len(found) == values
    assert {round(b - a, 6) for a, b in itertools.pairwise(found)} == {3.0}


@pytest.mark.parametrize("ports", [2, 4, 8])
def test_the_lowest_tap_of_each_size_terminates_itself(ports: int) -> None:
    last = [part for part in PARTS if part.id.startswith(f"tap-{ports}-") and part.id.endswith("-end")]
    assert [[(group.name, group.count) for group in part.groups] for part in last] == [[("tap", ports)]]


def test_pads_come_in_every_decibel_to_twenty() -> None:
    assert ids("pad-") == {f"pad-{value}" for value in range(1, 21)}


@pytest.mark.parametrize(("part_id", "stopped_mhz"), [("trap-fm", 98.0), ("filter-mobile-617", 640.0)])
def test_filters_stop_their_band_and_pass_the_rest(part_id: str, stopped_mhz: float) -> None:
    (group,) = LIBRARY.catalogue.part(part_id).groups
    assert group.gain_db.at_one(stopped_mhz) <= -20.0
    assert group.gain_db.at_one(200.0) >= -2.0


def test_an_equaliser_takes_most_at_the_low_end() -> None:
    (group,) = LIBRARY.catalogue.part("equaliser-9").groups
    assert group.gain_db.at_one(1002.0) - group.gain_db.at_one(54.0) == pytest.approx(9.0, abs=0.1)


def test_amplifiers_of_every_kind_are_there() -> None:
    assert len(ids("launch-")) >= 3
    assert {"floor-amp", "line-amp", "mast-preamp", "dist-4", "dist-8"} <= {part.id for part in PARTS}
    assert LIBRARY.catalogue.part("line-amp").power.supply == "line"


@pytest.mark.parametrize("part", [part for part in PARTS if part.active], ids=lambda part: part.id)
def test_every_amplifier_states_both_ratings_and_its_noise_over_its_range(part: Part) -> None:
    active = part.active
    assert active is not None
    assert {rating.basis for rating in active.ratings} == {"total power", "per carrier"}
    assert active.noise_figure_db.low_mhz <= part.low_mhz
    assert active.noise_figure_db.high_mhz >= part.high_mhz
    assert active.gain_db.allows(max(part.groups[0].gain_db.value))


@pytest.mark.parametrize("part_id", ["dist-4", "dist-8"])
def test_a_distribution_amplifier_holds_each_output_at_its_input_level_or_better(part_id: str) -> None:
    part = LIBRARY.catalogue.part(part_id)
    assert part.port_count == int(part_id.removeprefix("dist-"))
    assert min(value for group in part.groups for value in group.gain_db.value) >= 0.0


def test_a_mast_preamplifier_can_be_powered_from_below() -> None:
    preamplifier = LIBRARY.catalogue.part("mast-preamp")
    inserter = LIBRARY.catalogue.part("inserter-up")
    assert preamplifier.power.supply == "line"
    assert inserter.power.injects_into == "input"
    assert inserter.power.injects_v > preamplifier.power.least_v
    assert inserter.power.injects_v * inserter.power.injects_a > preamplifier.power.draws_w


@pytest.mark.parametrize("part", [part for part in PARTS if part.active is None], ids=lambda part: part.id)
def test_losses_lie_on_the_tenth_of_a_decibel(part: Part) -> None:
    for group in part.groups:
        for value in group.gain_db.value:
            assert value * 10.0 == pytest.approx(round(value * 10.0), abs=1e-6)


@pytest.mark.parametrize("part", [part for part in PARTS if part.groups], ids=lambda part: part.id)
def test_parts_cover_the_terrestrial_band_and_their_isolation_the_whole_of_their_table(part: Part) -> None:
    assert part.low_mhz <= TERRESTRIAL_MHZ[0]
    assert part.high_mhz >= TERRESTRIAL_MHZ[1]
    for row in part.isolation:
        assert row.isolation_db.low_mhz <= part.low_mhz
        assert row.isolation_db.high_mhz >= part.high_mhz


@pytest.mark.parametrize("part", [part for part in PARTS if part.port_count > 1], ids=lambda part: part.id)
def test_isolation_is_stated_between_any_two_ports(part: Part) -> None:
    for position, group in enumerate(part.groups):
        if group.count > 1:
            assert part.isolation_between(group.name, group.name) is not None
        for other in part.groups[position + 1 :]:
            assert part.isolation_between(group.name, other.name) is not None


@pytest.mark.parametrize("what", ["split-sat-", "tap-sat-", "outlet-three-", "pad-", "launch-sat"])
def test_parts_of_the_satellite_range_reach_2150_mhz(what: str) -> None:
    assert ids(what)
    assert all(LIBRARY.catalogue.part(part_id).high_mhz >= 2150.0 for part_id in ids(what))


def test_european_parts_isolate_users_as_spain_asks() -> None:
    """38 dB from 47 to 300 MHz, 30 dB to 862, 20 dB from 950 to 2150. Source: Real Decreto 346/2011."""
    for part in PARTS:
        for row in part.isolation:
            if part.id.startswith(("tap-sat-", "outlet-three-")):
                for frequency, least in ((47, 38), (300, 38), (862, 30), (950, 20), (2150, 20)):
                    assert row.isolation_db.at_one(frequency) >= least, (part.id, frequency)


def test_every_part_and_cable_has_a_price_in_every_tariff() -> None:
    assert set(LIBRARY.tariffs) == {"demo-usd", "demo-eur"}
    for tariff in LIBRARY.tariffs.values():
        assert all(tariff.prices_part(part.id) for part in PARTS)
        assert all(tariff.prices_cable(cable.id) for cable in CABLES)
        assert tariff.terminator in {part.id for part in PARTS}
        assert "nvented" in tariff.note


def test_labour_is_that_of_the_trade() -> None:
    """20 m take 0.6 h in open studs, 1.1 above ceilings, 2.3 fished, 0.15 beside another. Common practice."""
    tariff = LIBRARY.tariffs["demo-usd"]
    pulls = {row.kind: row for row in tariff.pulls}
    assert set(pulls) == {
        *("riser", "corridor", "ceiling", "open", "drop", "fished", "buried", "messenger", "direct", "slack")
    }
    for kind, hours in (("open", 0.6), ("ceiling", 1.1), ("fished", 2.3)):
        assert 20.0 * pulls[kind].first_h_per_m == pytest.approx(hours)
        assert 20.0 * pulls[kind].further_h_per_m == pytest.approx(0.15)
    assert pulls["slack"].first_h_per_m == pulls["slack"].further_h_per_m == 0.0
    mounted = {row.part: row.labour_h for row in tariff.parts}
    assert (mounted["tap-8-20"], mounted["outlet-end"], mounted["split-4"]) == (0.8, 0.3, 0.3)
    assert (mounted["launch-large"], mounted["floor-amp"], tariff.end_h) == (3.0, 2.0, 0.12)


def test_every_series_and_jacket_of_the_trade_is_there() -> None:
    assert {"59", "6", "6t", "6q", "7", "11", "500", "6sat"} <= {cable.series for cable in CABLES}
    jackets = {cable.jacket for cable in CABLES}
    for space in ("plenum", "riser", "general", "unit", "outdoor", "buried"):
        assert set(allowed_jackets("us", space)) | set(allowed_jackets("europe", space)) <= jackets


@pytest.mark.parametrize("cable", CABLES, ids=lambda cable: cable.id)
def test_every_cable_names_a_connector_and_reaches_its_band(cable: Cable) -> None:
    row = cable
    assert LIBRARY.catalogue.part(row.connector).groups == ()
    assert row.loss_db_per_100m.low_mhz <= 5.0
    assert row.loss_db_per_100m.high_mhz >= (2150.0 if row.series.endswith("sat") else 1218.0)
    assert row.bend_installed_mm == pytest.approx(10.0 * row.outer_diameter_mm, abs=0.6)
    assert row.bend_pulling_mm == pytest.approx(20.0 * row.outer_diameter_mm, abs=0.6)


def test_every_figure_has_a_source_that_stands_in_the_list() -> None:
    for thing in (*PARTS, *CABLES):
        assert thing.sources
        assert all(key in LIBRARY.sources for _, key in thing.sources)


def test_the_families_file_says_what_every_family_means() -> None:
    assert {part.family for part in PARTS} == set(LIBRARY.families)
    prefixes = [family.prefix for family in LIBRARY.families.values()]
    assert len(set(prefixes)) == len(prefixes)
