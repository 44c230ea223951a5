"""The exact programme: every subset of outlets is a state, so nothing about the shape of a design is
assumed.
"""

from __future__ import annotations

from service.engine.placement.blocks import Family
from service.engine.placement.grove import Grove
from service.engine.placement.programme import Solved, run

ASSUMES = (
    "one cable type per way, so that cable loss depends on the place alone",
    "device losses are whole grid steps and equal at every carrier",
    "devices are passive; every place allows what the places above it allow",
)
"""What "proven" rests on."""


def solve_exactly(grove: Grove) -> Solved:
    """Solve over all subsets of outlets; the curve is the true optimum at every starting loss.

    Work grows threefold with each outlet: 14 take half a second, 15 some seconds, 16 twenty. Raises ValueError
    above 20 outlets.
    """
    if grove.below[0] > 20:
        raise ValueError(f"{grove.below[0]} outlets are too many for all subsets")
    solved = run(grove, Family(name="all subsets", subsets=True))
    assert solved is not None
    return solved
