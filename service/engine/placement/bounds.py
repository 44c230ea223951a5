"""Lower bounds: what no design can beat, in cents and in launch level.

None of them uses the tables of the programme, so a design that reaches one is proven.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from service.engine.placement.grove import Grove
from service.engine.placement.task import Choice

Cents = np.ndarray[Any, np.dtype[np.int64]]

NEVER = np.int64(1) << 40
"""Cents that stand for "cannot be done"."""


def extra_feed_prices(menu: Sequence[Choice], terminator_cents: int) -> list[int]:
    """Least price of one device that turns one feed into x + 1 used ones, for x = 1, 2, …; index 0 is x =
    1.
    """
    most = max((sum(n for _, n in choice.ports) for choice in menu), default=1)
    prices = [int(NEVER)] * (most - 1)
    for choice in menu:
        ports = sum(n for _, n in choice.ports)
        for used in range(2, ports + 1):
            cents = choice.cents + (ports - used) * terminator_cents
            prices[used - 2] = min(prices[used - 2], cents)
    return prices


def _merged(left: Cents, right: Cents) -> Cents:
    """Min-plus convolution of two cost tables over feed counts; index k is k feeds."""
    if len(left) < len(right):
        left, right = right, left
    out = np.full(len(left) + len(right) - 1, NEVER)
    for k, cents in enumerate(right):
        if cents < NEVER:
            np.minimum(out[k : k + len(left)], left + cents, out=out[k : k + len(left)])
    return out


def _fewer(need: Cents, prices: Sequence[int]) -> Cents:
    """f(k) = min over j >= k of need(j) + cheapest devices that make j feeds out of k."""
    f = need.tolist()
    for k in range(len(f) - 2, -1, -1):
        best = f[k]
        for x, cents in enumerate(prices, start=1):
            if k + x >= len(f):
                break
            best = min(best, f[k + x] + cents)
        f[k] = best
    f[0] = int(NEVER)
    return np.array(f, dtype=np.int64)


def feed_counts(grove: Grove) -> dict[int, Cents]:
    """Per spot: the least cost of everything below it when k feeds arrive, whatever their levels.

    A design restricted to the spots below v, with k feeds entering, uses at each place devices whose ports
    add up; leaving the levels away can only make it cheaper. Valid for every passive design, parallel cables
    and any losses included; an amplifier adds cost and no feeds, so it stays valid then too.
    """
    prices = [extra_feed_prices(menu, grove.task.terminator_cents) for menu in grove.task.menus]
    tables: dict[int, Cents] = {}
    for spot in grove.from_leaves():
        if grove.spots[spot].is_outlet:
            tables[spot] = np.array([NEVER, 0], dtype=np.int64)
            continue
        need = np.zeros(1, dtype=np.int64)
        for child in grove.children[spot]:
            cable = np.arange(len(tables[child])) * grove.spots[child].edge_cents
            need = _merged(need, np.minimum(tables[child] + cable, NEVER))
        tables[spot] = _fewer(need, prices[grove.spots[spot].menu])
    return tables


def count_bound(grove: Grove) -> int:
    """Cents that no design on this tree can be below: the feed counts with one feed at the root."""
    return int(feed_counts(grove)[0][1]) + grove.always


def one_feed_is_enough(grove: Grove) -> frozenset[int]:
    """Places for which, by the feed counts, a second feed never saves what the cheapest extra feed costs.

    Only a guide for choosing families: levels may still ask for more feeds.
    """
    prices = [
        p
        for menu in grove.task.menus
        for x, cents in enumerate(extra_feed_prices(menu, grove.task.terminator_cents), start=1)
        for p in [cents / x]
    ]
    cheapest = min(prices, default=0.0)
    tables = feed_counts(grove)
    enough = set()
    for spot, table in tables.items():
        if grove.spots[spot].is_outlet or spot == 0 or len(table) < 2:
            continue
        extra = np.arange(len(table) - 1) * (cheapest + grove.spots[spot].edge_cents)
        if (table[1:] + extra >= table[1]).all():
            enough.add(spot)
    return frozenset(enough)


def kraft_base(choices: Iterable[Choice]) -> float:
    """β of a catalogue: over its devices the largest root of Σ ports·β^(−loss) = 1, loss in grid steps.

    Then Σ over the outlets of β^(−D) ≤ 1 in every tree built from these devices. 1.0 where no device divides;
    math.inf where one divides without loss.
    """
    base = 1.0
    for choice in choices:
        if sum(n for _, n in choice.ports) < 2:
            continue
        if sum(n for loss, n in choice.ports if loss == 0) > 1:
            return math.inf
        low, high = 1.0, 2.0
        while sum(n * high**-loss for loss, n in choice.ports) > 1:
            high *= 2
        if any(loss == 0 for loss, _ in choice.ports):
            return math.inf
        for _ in range(200):
            middle = (low + high) / 2
            if sum(n * middle**-loss for loss, n in choice.ports) > 1:
                low = middle
            else:
                high = middle
        base = max(base, high)
    return base


def kraft_room_steps(budgets_steps: Iterable[float], base: float) -> float:
    """Grid steps that are left between the budgets and the catalogue's Kraft bound; negative: nothing can
    work.

    `budgets_steps` are the largest D of the outlets, as real numbers where known. The launch level cannot be
    lowered by more than this. Not valid across an amplifier.
    """
    if not 1 < base < math.inf:
        return math.inf
    return -math.log(sum(base**-b for b in budgets_steps), base)


def energy_launch_dbmv(cable_losses_db: Iterable[float], lowest_dbmv: float) -> float:
    """Launch level below which energy alone forbids `lowest_dbmv` at all outlets, for lossless dividing."""
    return lowest_dbmv + 10 * math.log10(sum(10 ** (loss / 10) for loss in cable_losses_db))


def spread_bound_db(tilts_db: Sequence[float]) -> float:
    """Least band that holds all outlets at both pilots: half the range of (high − low) cable loss.

    Valid for devices with equal loss at both pilots and any launch slope, without equalisers.
    """
    return (max(tilts_db) - min(tilts_db)) / 2
