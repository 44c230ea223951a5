"""Channel edges and pilots as published, the source beside each."""

from itertools import pairwise

import pytest

from service.engine.signal.spectrum import eight_vsb_pilot_mhz
from service.library.profiles import load_plans

# 47 CFR 73.603: channels 2 to 4, 5 and 6, 7 to 13, 14 to 36 are 6 MHz wide and touch within each group.
GROUPS = [(2, 4, 54.0), (5, 6, 76.0), (7, 13, 174.0), (14, 36, 470.0)]


@pytest.mark.parametrize(("first", "last", "low_mhz"), GROUPS)
def test_edges_of_united_states_channels(first, last, low_mhz):
    plan = load_plans()["us-broadcast"]
    for number in range(first, last + 1):
        channel = plan.channel(str(number))
        edge = low_mhz + 6.0 * (number - first)
        assert (channel.low_mhz, channel.high_mhz, channel.frequency_mhz) == (edge, edge + 6.0, edge + 3.0)


def test_united_states_channels_end_at_36():
    plan = load_plans()["us-broadcast"]
    assert len(plan.channels) == 35
    assert plan.channel("37") is None
    assert plan.channels[-1].high_mhz == 608.0


@pytest.mark.parametrize(("name", "low_mhz"), [("2", 54.0), ("14", 470.0), ("36", 602.0)])
def test_pilot_of_an_eight_vsb_channel(name, low_mhz):
    # 47 CFR 73.603 with the ATSC symbol rate: 309,440.559 Hz above the lower edge.
    channel = load_plans()["us-broadcast"].channel(name)
    assert 1e6 * (eight_vsb_pilot_mhz(channel) - low_mhz) == pytest.approx(309_440.559, abs=0.001)


def test_cable_channels_2_to_13_are_the_broadcast_ones():
    cable, air = load_plans()["us-cable"], load_plans()["us-broadcast"]
    for number in range(2, 14):
        assert cable.channel(str(number)).low_mhz == air.channel(str(number)).low_mhz


@pytest.mark.parametrize(
    ("name", "low_mhz"),
    [
        ("95", 90.0),
        ("99", 114.0),
        ("14", 120.0),
        ("22", 168.0),
        ("23", 216.0),
        ("94", 642.0),
        ("100", 648.0),
        ("158", 996.0),
    ],
)
def test_edges_of_united_states_cable_channels(name, low_mhz):
    # EIA-542 standard frequencies, from memory.
    channel = load_plans()["us-cable"].channel(name)
    assert (channel.low_mhz, channel.high_mhz) == (low_mhz, low_mhz + 6.0)
    vision = load_plans()["us-cable-analogue"].channel(name)
    assert vision.frequency_mhz == low_mhz + 1.25


@pytest.mark.parametrize(
    "plan", ["us-broadcast", "us-cable", "us-cable-analogue", "europe-uhf", "europe-cable"]
)
def test_channels_of_a_raster_never_overlap(plan):
    channels = load_plans()[plan].channels
    for lower, upper in pairwise(channels):
        assert lower.high_mhz <= upper.low_mhz


@pytest.mark.parametrize(
    ("plan", "name", "low_mhz", "high_mhz"),
    [
        # European and Japanese rasters, from memory.
        ("europe-uhf", "21", 470.0, 478.0),
        ("europe-uhf", "48", 686.0, 694.0),
        ("europe-vhf-iii", "5", 174.0, 181.0),
        ("europe-vhf-iii", "12", 223.0, 230.0),
        ("europe-cable", "S21", 302.0, 310.0),
        ("europe-cable", "69", 854.0, 862.0),
        ("japan-uhf", "13", 470.0, 476.0),
        ("japan-uhf", "52", 704.0, 710.0),
    ],
)
def test_edges_of_other_rasters(plan, name, low_mhz, high_mhz):
    channel = load_plans()[plan].channel(name)
    assert (channel.low_mhz, channel.high_mhz) == (low_mhz, high_mhz)


@pytest.mark.parametrize(
    ("plan", "name", "frequency_mhz"),
    [
        # ETSI EN 300 401 and Japanese satellite IF, from memory.
        ("dab", "5A", 174.928),
        ("dab", "11D", 222.064),
        ("dab", "13F", 239.2),
        ("japan-satellite-if", "BS1", 1049.48),
        ("japan-satellite-if", "BS23", 1471.44),
        ("japan-satellite-if", "ND24", 2053.0),
        ("japan-uhf", "13", 473.142857),
        ("fm", "100.0", 100.0),
    ],
)
def test_centre_frequencies_of_other_plans(plan, name, frequency_mhz):
    assert load_plans()[plan].channel(name).frequency_mhz == pytest.approx(frequency_mhz, abs=1e-6)


def test_satellite_if_fills_950_to_2150_mhz():
    channels = load_plans()["satellite-if"].channels
    assert channels[0].low_mhz >= 950.0
    assert channels[-1].high_mhz <= 2150.0
