"""The packaged services, limits and plans, and what their reader refuses."""

import pytest

from service.engine.signal.limits import design_window
from service.engine.signal.pairing import pairing_problem
from service.library.profiles import ProfileError, limits_from_text, load_limits, load_plans, load_services

SOURCES = {"common practice": "A rule of the trade."}

PROFILE = """
id = "p"
name = "P"
region = "us"
bands = ["terrestrial"]
passband_low_mhz = 54.0
passband_high_mhz = 1002.0
source = "common practice"

[[services]]
service = "atsc"
low_dbuv = 50.0
high_dbmv = 15.0
source = "common practice"
"""


def test_every_limit_names_a_known_service_and_a_source() -> None:
    services = load_services()
    for limits in load_limits().values():
        assert limits.source
        for row in (*limits.services, *limits.isolation, *limits.response):
            assert row.source
        for row in limits.services:
            assert row.service in services
            assert row.level_source


def test_every_stated_carrier_to_noise_names_its_source() -> None:
    for limits in load_limits().values():
        for row in limits.services:
            stated = (row.cn_db, row.cn_design_db, row.cni_db, row.cni_design_db, row.ci_db)
            assert bool(row.cn_source) == any(value is not None for value in stated), (limits.id, row.service)


def test_every_own_design_window_names_its_source_and_lies_inside_the_limits() -> None:
    for limits in load_limits().values():
        for row in limits.services:
            own = row.design_low_dbmv is not None or row.design_high_dbmv is not None
            assert bool(row.design_source) == own, (limits.id, row.service)
            low, high = design_window(row)
            assert row.low_dbmv <= low < high <= row.high_dbmv


def test_every_service_is_judged_by_some_profile_or_is_analogue_television_of_europe() -> None:
    judged = {row.service for limits in load_limits().values() for row in limits.services}
    assert set(load_services()) - judged == {"pal"}


def test_every_channel_holds_its_frequency_and_ids_are_unique() -> None:
    for plan in load_plans().values():
        assert len({channel.id for channel in plan.channels}) == len(plan.channels)
        for channel in plan.channels:
            assert channel.low_mhz < channel.frequency_mhz < channel.high_mhz


def test_levels_in_dbuv_and_dbmv_may_stand_side_by_side() -> None:
    limits = limits_from_text(PROFILE, "p.toml", SOURCES, load_services())
    assert (limits.services[0].low_dbmv, limits.services[0].high_dbmv) == (-10.0, 15.0)


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ('service = "atsc"', 'service = "nothing"', "nothing"),
        ("low_dbuv = 50.0", "lowest_dbuv = 50.0", "lowest_dbuv"),
        ("low_dbuv = 50.0", "low_dbuv = 50.0\nlow_dbmv = 3.0", "low_dbmv"),
        ("low_dbuv = 50.0", 'low_dbuv = "much"', "low_dbuv"),
        ("low_dbuv = 50.0", "low_dbuv = 90.0", "atsc"),
        ("low_dbuv = 50.0", "", ""),
        ('bands = ["terrestrial"]', 'bands = ["cable"]', "atsc"),
        ('high_dbmv = 15.0\nsource = "common practice"', 'high_dbmv = 15.0\nsource = "hearsay"', "source"),
    ],
)
def test_the_reader_names_the_file_and_the_key_it_refuses(old: str, new: str, key: str) -> None:
    with pytest.raises(ProfileError) as caught:
        limits_from_text(PROFILE.replace(old, new), "p.toml", SOURCES, load_services())
    assert (caught.value.file, caught.value.key) == ("p.toml", key)


def test_a_satellite_service_is_refused_under_terrestrial_limits() -> None:
    problem = pairing_problem(load_services()["dvb-s2"], load_limits()["us-off-air"])
    assert problem is not None
    assert "satellite" in problem
    assert "terrestrial" in problem


def test_a_service_without_figures_is_refused_and_one_with_figures_is_not() -> None:
    limits = load_limits()["us-off-air"]
    problem = pairing_problem(load_services()["dvb-t"], limits)
    assert problem is not None
    assert "written for atsc" in problem
    assert pairing_problem(load_services()["atsc"], limits) is None
    assert pairing_problem(load_services()["dvb-s2"], load_limits()["spain"]) is None


def test_the_passband_reaches_the_satellite_band_only_with_a_satellite_service() -> None:
    spain = load_limits()["spain"]
    assert spain.passband_mhz(satellite=False) == (47.0, 862.0)
    assert spain.passband_mhz(satellite=True) == (47.0, 2150.0)
    assert load_limits()["us-off-air"].passband_mhz(satellite=True) == (54.0, 1002.0)
