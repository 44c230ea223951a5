"""Falling values: along a leg no device has a larger value than the one whose through port feeds it.

Tables don't know the value before them. Each closet of a leg is given a band: the last tap that a feed goes on from
stays at or above a threshold, the first tap of the next closet at or below the same one, and thresholds fall.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import accumulate, pairwise

from service.engine.placement.binding import Binding
from service.engine.placement.recipes import ANY_VALUE
from service.engine.placement.trace import Visit


def legs(root: Visit) -> list[list[Visit]]:
    """The visits whose devices feed each other through through ports, leg by leg."""
    found: list[list[Visit]] = []
    stack: list[tuple[Visit, list[Visit] | None]] = [(root, None)]
    while stack:
        visit, leg = stack.pop()
        if leg is None or visit.starts:
            leg = []
            found.append(leg)
        if visit.recipe.falls:
            leg.append(visit)
        goes_on = visit.recipe.runs_on or visit.recipe.pick is None
        stack.extend((onward, leg if goes_on else None) for onward in visit.onward)
    return [leg for leg in found if leg]


def _upper(leg: list[Visit]) -> list[int]:
    """Thresholds as high as the devices that stand behind them ask for."""
    asked = [max(a.recipe.falls[-1], b.recipe.falls[0]) for a, b in pairwise(leg)]
    return list(accumulate(reversed(asked), max))[::-1]


def _lower(leg: list[Visit]) -> list[int]:
    """Thresholds as low as the devices before them ask for."""
    asked = [min(a.recipe.falls[-1], b.recipe.falls[0]) for a, b in pairwise(leg)]
    return list(accumulate(asked, min))


def _between(root: Visit, thresholds: Callable[[list[Visit]], list[int]]) -> dict[int, tuple[int, int]]:
    """The least last and the largest first value of every closet on a leg."""
    falls: dict[int, tuple[int, int]] = {}
    for leg in legs(root):
        between = thresholds(leg)
        for visit, least, most in zip(leg, [*between, 0], [ANY_VALUE, *between], strict=True):
            falls[visit.closet] = (least, most)
    return falls


def falling(binding: Binding, root: Visit) -> Iterator[Binding]:
    """Bindings under which the legs of a design fall: thresholds above and below where its values rise."""
    for thresholds in (_upper, _lower):
        yield replace(binding, falls=_between(root, thresholds))
