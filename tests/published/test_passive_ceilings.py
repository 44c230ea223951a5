"""What no passive part can beat: printed ceilings, and every part of the library under them.

Each figure is computed from the formula named beside it; tolerance is half of the last printed digit.
"""

from __future__ import annotations

import math

import pytest

from service.engine.plant.energy import (
    energy_by_frequency,
    energy_excess,
    least_equal_loss_db,
    least_split_loss_db,
    least_through_loss_db,
    least_worst_loss_db,
    most_outlets,
)
from service.engine.plant.parts import Part, PortGroup
from service.library import library

PASSIVE = tuple(part for part in library().catalogue.parts if part.active is None and part.groups)

#: Least loss of an n-way splitter: 10 lg n. Source: conservation of energy.
SPLIT_DB = {2: "3.010", 3: "4.771", 4: "6.021", 6: "7.782", 8: "9.031", 12: "10.792", 16: "12.041"}

#: Least through loss of a tap of value T with k ports: −10 lg(1 − k·10^(−T/10)). Source: energy is conserved.
THROUGH_DB = {
    (8, 1): "0.749",
    (8, 2): "1.656",
    (8, 4): "4.365",
    (10, 1): "0.458",
    (10, 2): "0.969",
    (10, 4): "2.218",
    (10, 8): "6.99",
    (12, 1): "0.283",
    (12, 2): "0.586",
    (12, 4): "1.263",
    (12, 8): "3.05",
    (14, 1): "0.18",
    (14, 2): "0.36",
    (14, 4): "0.75",
    (14, 8): "1.67",
    (16, 1): "0.110",
    (16, 2): "0.224",
    (16, 4): "0.460",
    (16, 8): "0.97",
    (20, 1): "0.044",
    (20, 2): "0.088",
    (20, 4): "0.177",
    (20, 8): "0.36",
}

#: Ideal bus of six equal drops: taps and through losses in order. Source: each takes its share of the rest.
BUS_TAPS_DB = ("7.782", "6.990", "6.021", "4.771", "3.010")
BUS_THROUGH_DB = ("0.792", "0.969", "1.249", "1.761", "3.010")

#: Least worst-case loss for N equal outlets from these splitters. Source: M(L) = max over k of k·M(L − c_k).
SPLITTERS = ((2, 3.8), (3, 6.0), (4, 7.5), (6, 9.5), (8, 11.0))
WORST_DB = {
    2: 3.8,
    3: 6.0,
    4: 7.5,
    6: 9.5,
    8: 11.0,
    9: 12.0,
    12: 13.3,
    16: 14.8,
    24: 17.0,
    32: 18.5,
    48: 20.5,
    64: 22.0,
}


def half_digit(printed: str) -> float:
    """Half of the last printed digit, with room for binary rounding."""
    return 0.5 * 10.0 ** -len(printed.partition(".")[2]) + 1e-9


def losses_db(group: PortGroup) -> dict[float, float]:
    """Loss of a group at each of its tabulated frequencies."""
    gain = group.gain_db
    return {frequency: -value for frequency, value in zip(gain.frequency_mhz, gain.value, strict=True)}


@pytest.mark.parametrize("part", PASSIVE, ids=lambda part: part.id)
def test_no_part_of_the_library_gives_out_more_than_it_takes(part: Part) -> None:
    assert energy_excess(part) <= 1e-9
    assert all(total <= 1.0 + 1e-9 for _, total in energy_by_frequency(part))


@pytest.mark.parametrize(("ports", "printed"), SPLIT_DB.items())
def test_the_least_loss_of_a_splitter_is_the_printed_one(ports: int, printed: str) -> None:
    assert least_split_loss_db(ports) == pytest.approx(float(printed), abs=half_digit(printed))


def test_every_even_part_of_the_library_loses_at_least_the_printed_split() -> None:
    counts = set()
    for part in PASSIVE:
        if len(part.groups) == 1 and part.groups[0].count in SPLIT_DB:
            counts.add(part.groups[0].count)
            least = float(SPLIT_DB[part.groups[0].count])
            assert min(losses_db(part.groups[0]).values()) >= least - 0.0005, part.id
    assert counts == {2, 3, 4, 6, 8, 16}


@pytest.mark.parametrize(("tap", "printed"), THROUGH_DB.items())
def test_the_least_through_loss_of_a_tap_is_the_printed_one(tap: tuple[int, int], printed: str) -> None:
    value_db, ports = tap
    assert least_through_loss_db(value_db, ports) == pytest.approx(float(printed), abs=half_digit(printed))


def test_a_tap_whose_ports_take_everything_has_no_through_port() -> None:
    assert least_through_loss_db(8.0, 8) == math.inf


def test_every_through_port_of_the_library_loses_at_least_what_the_other_ports_take() -> None:
    seen = 0
    for part in PASSIVE:
        through, *others = part.groups
        if len(others) != 1 or through.count != 1:
            continue
        for frequency, loss in losses_db(through).items():
            tap_db = -others[0].gain_db.at_one(frequency)
            assert loss >= least_through_loss_db(tap_db, others[0].count), (part.id, frequency)
        seen += 1
    assert seen > 40


def test_every_tap_of_a_printed_value_loses_at_least_the_printed_through_loss() -> None:
    seen = set()
    for part in PASSIVE:
        through, tap = part.group("through"), part.group("tap")
        if through is None or tap is None:
            continue
        value = (round(losses_db(tap)[54.0]), tap.count)
        if value in THROUGH_DB:
            seen.add(value)
            assert min(losses_db(through).values()) >= float(THROUGH_DB[value]), part.id
    assert {(8, 2), (12, 1), (14, 2), (14, 4), (14, 8), (20, 2), (20, 4), (20, 8)} <= seen


def test_the_best_equal_loss_of_outlets_behind_unlike_cables_is_their_power_sum() -> None:
    assert least_equal_loss_db((0.0,) * 6) == pytest.approx(7.782, abs=0.0005)
    assert least_equal_loss_db((3.0, 5.0, 8.0)) == pytest.approx(
        10.0 * math.log10(10**0.3 + 10**0.5 + 10**0.8)
    )


def test_the_ideal_bus_of_six_equal_drops_is_the_printed_one() -> None:
    for left, (tap, through) in enumerate(
        zip(reversed(BUS_TAPS_DB), reversed(BUS_THROUGH_DB), strict=True), 2
    ):
        assert least_split_loss_db(left) == pytest.approx(float(tap), abs=half_digit(tap))
        assert least_through_loss_db(least_split_loss_db(left), 1) == pytest.approx(
            float(through), abs=half_digit(through)
        )


@pytest.mark.parametrize(("outlets", "worst_db"), WORST_DB.items())
def test_the_least_worst_loss_from_real_splitters_is_the_printed_one(outlets: int, worst_db: float) -> None:
    assert least_worst_loss_db(SPLITTERS, outlets) == pytest.approx(worst_db, abs=1e-9)
    assert most_outlets(SPLITTERS, worst_db) >= outlets
    assert most_outlets(SPLITTERS, worst_db - 0.001) < outlets


def test_our_splitters_reach_no_set_of_outlets_with_less_loss_than_the_energy_allows() -> None:
    splitters = tuple(
        (part.port_count, min(losses_db(part.groups[0]).values()))
        for part in PASSIVE
        if len(part.groups) == 1 and part.port_count > 1
    )
    for outlets in (2, 5, 16, 40, 64):
        assert least_worst_loss_db(splitters, outlets) >= least_split_loss_db(outlets)
