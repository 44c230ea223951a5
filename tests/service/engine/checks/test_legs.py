"""Legs: through ports, falling values, variety, trimming."""

import pytest


@pytest.fixture
def leg(grow, feed):
    """A leg of the given tap parts, one plate on the first."""

    def build(*parts):
        rows = [("T1", parts[0], "HE:out")]
        rows += [(f"T{n}", part, f"T{n - 1}:through") for n, part in enumerate(parts[1:], start=2)]
        return grow(feed(("14", 473.0, 30.0)), *rows, ("P", "plate", "T1:tap.1"), served=("P:user",))

    return build


def test_a_thirteenth_through_port_in_a_leg_is_one_too_many(judged, leg):
    assert not judged(leg(*["tap-23"] * 13), "through-ports")
    (finding,) = judged(leg(*["tap-23"] * 15), "through-ports")
    assert (finding.severity, finding.where, finding.measured) == ("warns", ("T15",), 14.0)
    assert finding.limit == 12.0


def test_a_tap_port_begins_a_new_leg(judged, grow, feed):
    rows = [("T1", "tap-23", "HE:out")] + [(f"T{n}", "tap-23", f"T{n - 1}:through") for n in range(2, 10)]
    rows += [("T10", "tap-11", "T9:tap.1")] + [
        (f"T{n}", "tap-11", f"T{n - 1}:through") for n in range(11, 18)
    ]
    network = grow(feed(("14", 473.0, 30.0)), *rows, ("P", "plate", "T1:tap.1"), served=("P:user",))
    assert not judged(network, "through-ports")


def test_values_fall_along_a_leg_or_are_told(judged, leg):
    assert not judged(leg("tap-23", "tap-20", "tap-20", "tap-11"), "falling-values")
    (finding,) = judged(leg("tap-20", "tap-14", "tap-17"), "falling-values")
    assert (finding.severity, finding.where, finding.measured, finding.limit) == (
        "warns",
        ("T3",),
        17.0,
        14.0,
    )


def test_a_fifth_kind_of_tap_with_one_port_count_is_noted(judged, leg):
    assert not judged(leg("tap-23", "tap-20", "tap-17", "tap-14"), "tap-variety")
    (finding,) = judged(leg("tap-23", "tap-20", "tap-17", "tap-14", "tap-11"), "tap-variety")
    assert (finding.severity, finding.measured, finding.limit) == ("notes", 5.0, 4.0)
    assert finding.where == ("tap-11", "tap-14", "tap-17", "tap-20", "tap-23")


def test_a_pad_before_an_outlet_warns_and_one_ahead_of_a_splitter_does_not(judged, grow, feed):
    before = grow(
        feed(("14", 473.0, 8.0)), ("X", "pad", "HE:out"), ("P", "plate", "X:out"), served=("P:user",)
    )
    (finding,) = judged(before, "trimmed-outlet")
    assert (finding.severity, finding.where) == ("warns", ("X",))
    ahead = grow(
        feed(("14", 473.0, 8.0)),
        ("X", "pad", "HE:out"),
        ("S", "two-way", "X:out"),
        ("P", "plate", "S:out.1"),
        served=("P:user",),
    )
    assert not judged(ahead, "trimmed-outlet")
