"""The questions before anyone signs."""

from dataclasses import replace

import numpy as np
import pytest

from service.engine.checks.answers import answer_questions
from service.engine.checks.margins import outlet_margins
from service.engine.plant.network import Settings


@pytest.fixture
def answered(case_for):
    def run(network, **changes):
        case = case_for(network, **changes)
        rows = answer_questions(case, outlet_margins(case.report, case.limits, margins=case.margins))
        assert [row.question for row in rows] == list(range(1, len(rows) + 1))
        return {row.question: row for row in rows}

    return run


@pytest.fixture
def building(grow, feed):
    """An amplifier, a tap with a plate on its through port and a two-way on a tapped one."""
    network = grow(
        feed(("14", 473.0, 8.0), ("16", 485.0, 8.0)),
        ("A@HE", "amp", "HE:out"),
        ("T@C1", "tap-14", "A:out"),
        ("S", "two-way", "T:tap.1"),
        ("P1", "plate", "T:through"),
        ("P2", "plate", "S:out.1"),
        ("P3", "plate", "S:out.2"),
        served=("P1:user", "P2:user", "P3:user"),
    )
    devices = tuple(
        replace(row, settings=Settings(gain_db=12.0)) if row.id == "A" else row for row in network.devices
    )
    return replace(network, devices=devices)


def values(answer, name):
    return {(row.where, row.carrier): row.value for row in answer.figures if row.name == name}


def test_the_first_answer_tells_what_is_left_at_each_edge(answered, building):
    answer = answered(building, spread=True)[1]
    assert values(answer, "left above the lower limit") == {
        ("O2", "14"): pytest.approx(12.0),
        ("O2", "16"): pytest.approx(12.0),
    }
    assert values(answer, "left below the upper limit")["O1", "14"] == pytest.approx(-3.0)
    assert answer.text.startswith("O1 has least left: -3 dB to the high edge on 14.")
    low = values(answer, "left above the lower limit in 95 % of draws")
    assert all(value < 12.0 for value in low.values())
    assert len(values(answer, "left below the upper limit when cold")) == 2


def test_the_first_answer_says_so_where_nothing_can_be_judged(answered, building, limits):
    answer = answered(building, limits=replace(limits, services=()))[1]
    assert answer.text == "No outlet has a signal that limits can judge."


def test_the_second_answer_names_the_amplifier_with_least_headroom(answered, building):
    answer = answered(building)[2]
    # 20 dBmV a carrier, two carriers: 23.0 dBmV against 50 dBmV less 4.8 dB for six carriers.
    assert values(answer, "headroom with 6 carriers") == {("A", ""): pytest.approx(22.22, abs=0.01)}
    assert values(answer, "gain left") == {("A", ""): pytest.approx(8.0)}
    assert answer.text == "A, with 22.22 dB of headroom tomorrow. Each has 3 dB of gain left."


def test_the_second_answer_names_amplifiers_short_of_gain(answered, building):
    full = tuple(replace(row, settings=Settings()) for row in building.devices)
    assert answered(replace(building, devices=full))[2].text.endswith("Less than 3 dB of gain is left in A.")


def test_the_second_answer_of_a_passive_network_says_so(answered, small):
    assert answered(small)[2].text == "There is no amplifier."


def test_the_third_answer_splits_noise_by_stage(answered, building):
    answer = answered(building)[3]
    shares = values(answer, "share of noise and intermodulation")
    assert sum(shares.values()) == pytest.approx(100.0)
    assert [where for where, _ in shares] == ["HE", "A"]
    assert "HE makes" in answer.text
    (ratio,) = values(answer, "C/(N+I)").values()
    assert 31.0 < ratio < 32.0


def test_the_third_answer_says_when_no_noise_is_known(answered, case_for, small):
    clean = np.full_like(case_for(small).report.cni_db, np.inf)
    assert answered(small, cni_db=clean)[3].text == "Nothing is known to add noise or intermodulation."


def test_the_fourth_answer_counts_who_is_dark(answered, building):
    answer = answered(building)[4]
    assert values(answer, "outlets dark without it") == {("A", ""): 3.0, ("T", ""): 3.0, ("S", ""): 2.0}
    assert "A (3 outlets, at HE)" in answer.text
    assert "S (2 outlets, place not given)" in answer.text


def test_the_fifth_answer_counts_kinds_and_floor_patterns(answered, building):
    floors = tuple(replace(row, floor=floor) for row, floor in zip(building.served, "122", strict=True))
    answer = answered(replace(building, served=floors))[5]
    assert values(answer, "different parts") == {("", ""): 4.0}
    assert values(answer, "different floors") == {("", ""): 2.0}
    alike = tuple(replace(row, floor=floor) for row, floor in zip(building.served, "123", strict=True))
    assert values(answered(replace(building, served=alike))[5], "different floors") == {("", ""): 1.0}


def test_the_sixth_answer_counts_outlets_without_room_for_one_more_set(answered, building, grow, feed):
    answer = answered(building)[6]
    assert values(answer, "outlets below the limit with one more two-way") == {("", ""): 0.0}
    assert values(answer, "spare ports") == {("", ""): 1.0}
    assert values(answer, "ports for a tenth more outlets") == {("", ""): 1.0}
    assert "At 1002 MHz the lowest level would be 2 dBmV." in answer.text
    tight = grow(feed(("14", 473.0, -6.5)), ("P", "plate", "HE:out"), served=("P:user",))
    assert values(answered(tight)[6], "outlets below the limit with one more two-way") == {("", ""): 1.0}


def test_the_seventh_answer_tells_the_least_isolation_and_the_limit(answered, building, limits):
    answer = answered(building)[7]
    assert answer.text == "25 dB from O2 to O3 on 14; the limit there is 18 dB."
    silent = answered(building, limits=replace(limits, isolation=()))[7]
    assert silent.text.endswith("the limits are silent.")


def test_the_seventh_answer_of_one_user_says_so(answered, grow, feed):
    one = grow(feed(("14", 473.0, 8.0)), ("P", "plate", "HE:out"), served=("P:user",))
    assert answered(one)[7].text == "There are no two users on one feed."
