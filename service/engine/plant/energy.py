"""What no passive part can beat: over all its ports it gives out no more power than it takes.

Also the bounds that follow from it, and the longest reach of a set of splitters.
"""

from __future__ import annotations

import math

import numpy as np

from service.engine.plant.parts import Part


def energy_by_frequency(part: Part) -> tuple[tuple[float, float], ...]:
    """Pairs (frequency_mhz, Σ over all ports of 10^(gain/10)) at every tabulated frequency of the part.

    At a frequency only the groups that have a figure there count. Between two tabulated frequencies the sum
    is a sum of exponentials of straight lines, so convex: nowhere greater than at one of the two.
    """
    frequencies = sorted({frequency for group in part.groups for frequency in group.gain_db.frequency_mhz})
    if not frequencies:
        return ()
    grid = np.asarray(frequencies, dtype=np.float64)
    total = np.zeros_like(grid)
    for group in part.groups:
        inside = (grid >= group.gain_db.low_mhz) & (grid <= group.gain_db.high_mhz)
        total[inside] += group.count * 10.0 ** (group.gain_db.at(grid[inside], part.id) / 10.0)
    return tuple(zip(frequencies, (float(value) for value in total), strict=True))


def energy_excess(part: Part) -> float:
    """By how much a part gives out more than it takes: max over frequency of Σ 10^(gain/10), less 1.

    At most 0 for every passive part that can exist. Says nothing about an amplifier. A part without groups
    gives −1: it gives nothing out. Source: conservation of energy.
    """
    return max((total for _, total in energy_by_frequency(part)), default=0.0) - 1.0


def least_split_loss_db(ports: int) -> float:
    """Least loss from the input to each of `ports` like ports of a passive part: 10 lg n.

    >>> round(least_split_loss_db(2), 3)
    3.01
    """
    return 10.0 * math.log10(ports)


def least_through_loss_db(tap_db: float, ports: int) -> float:
    """Least loss of the through port of a passive part with `ports` ports at `tap_db` below its input.

    Infinite where the ports alone take all there is.

    >>> round(least_through_loss_db(20.0, 4), 3)
    0.177
    """
    left = 1.0 - ports * 10.0 ** (-tap_db / 10.0)
    return -10.0 * math.log10(left) if left > 0.0 else math.inf


def least_equal_loss_db(branch_losses_db: tuple[float, ...]) -> float:
    """Least loss at which a passive network meets every outlet alike, behind the given fixed branch losses.

    10 lg Σ 10^(c/10): each outlet needs its branch's loss more power at the network's port. Source:
    conservation of energy.

    >>> round(least_equal_loss_db((0.0, 0.0)), 3)
    3.01
    """
    return 10.0 * math.log10(sum(10.0 ** (loss / 10.0) for loss in branch_losses_db))


def most_outlets(splitters: tuple[tuple[int, float], ...], loss_db: float) -> int:
    """Most outlets that trees of splitters reach with a summed loss of at most `loss_db` on every path.

    `splitters` are pairs (ports, loss of each port in dB). The exact programme M(L) = max over the splitters
    of ports · M(L − loss), M = 1 where none fits; losses count in whole thousandths of a decibel. Raises
    ValueError for a loss of 0 or less.
    """
    steps = tuple((ports, round(loss * 1000.0)) for ports, loss in splitters)
    if any(step <= 0 for _, step in steps):
        raise ValueError("a splitter's loss must be greater than 0 dB")
    known: dict[int, int] = {}

    def reach(left: int) -> int:
        if left not in known:
            known[left] = max(
                (ports * reach(left - step) for ports, step in steps if step <= left), default=1
            )
            known[left] = max(known[left], 1)
        return known[left]

    return reach(round(loss_db * 1000.0)) if loss_db >= 0.0 else 0


def least_worst_loss_db(splitters: tuple[tuple[int, float], ...], outlets: int) -> float:
    """Least worst-case loss at which a tree of the given splitters reaches `outlets` outlets.

    The inverse of `most_outlets`. Infinite when the splitters don't multiply. Works through the sums of
    losses in ascending order.
    """
    if outlets <= 1:
        return 0.0
    if not any(ports > 1 for ports, _ in splitters):
        return math.inf
    sums = {0}
    while True:
        least = min(sums)
        if most_outlets(splitters, least / 1000.0) >= outlets:
            return least / 1000.0
        sums.remove(least)
        sums |= {least + round(loss * 1000.0) for _, loss in splitters}
