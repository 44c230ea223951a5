"""Open and spare ports."""

from dataclasses import replace

import pytest


def test_an_open_cable_port_warns_and_a_terminator_closes_it(judged, grow, feed):
    network = grow(
        feed(("14", 473.0, 8.0)), ("S", "two-way", "HE:out"), ("P", "plate", "S:out.1"), served=("P:user",)
    )
    (finding,) = judged(network, "open-port")
    assert (finding.severity, finding.where) == ("warns", ("S:out.2",))
    closed = replace(
        network, terminated=(replace(network.served[0].port, device="S", group="out", number=2),)
    )
    assert not judged(closed, "open-port")


def test_a_port_for_a_receiver_may_stand_open(judged, small):
    assert not judged(replace(small, served=small.served[:1]), "open-port")


def test_an_unused_output_of_a_feed_is_open(judged, small):
    network = replace(small, feeds=(replace(small.feeds[0], outputs=2),))
    (finding,) = judged(network, "open-port")
    assert finding.where == ("HE:out.2",)


def test_fewer_spare_ports_than_a_tenth_are_noted(judged, small, grow, feed):
    (finding,) = judged(small, "spare-ports")
    assert (finding.severity, finding.measured, finding.limit) == ("notes", 0.0, pytest.approx(10.0))
    spare = grow(
        feed(("14", 473.0, 8.0)), ("S", "two-way", "HE:out"), ("P", "plate", "S:out.1"), served=("P:user",)
    )
    assert not judged(spare, "spare-ports")
    assert not judged(small, "spare-ports", margins=False)
