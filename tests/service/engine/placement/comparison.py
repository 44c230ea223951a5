"""One seeded small building: its design beside the cheapest network of all that passes as a finished network."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from exhaustive import Enumeration
from exhaustive_networks import Bench, Walk, parentings
from finished import broken, cents, window
from tiny import tiny

#: How much dearer than the design, and how much more money for each rung, networks are looked for.
DEARER = 1.12
FIRST_RUNG, LAST_RUNG, RUNG_GROWTH = 1200, 30000, 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """What the design costs, which rules it breaks, and what the cheapest network that breaks none costs (None: there
    is none). `judged` networks were built and measured for it; `outlets` are those of the building."""

    cost_cents: int
    broken: tuple[str, ...]
    least_cents: int | None
    judged: int
    outlets: int


def compare(seed: int, desk: Any) -> Compared:
    """Design a seeded building and look for the cheapest network that is right."""
    building = desk.building(tiny(seed))
    chosen = desk.design(building).chosen
    rules = {row.rule for row in chosen.findings}
    policy = building.policy
    low, high = window(building, desk, 0.0 if "policy-unit-reserve" in rules else policy.unit_reserve_db)
    found = tuple(broken(chosen.network, building, desk, low, high))
    tariff = desk.library.tariffs[building.tariff]
    pulls = {row.kind: row.first_h_per_m - row.further_h_per_m for row in tariff.pulls}
    # The first cable of every way costs more labour, whatever is built.
    always = sum(way.pulled_m * pulls[way.kind] for way in building.ways) * tariff.labour_cents_per_h
    dear = DEARER if found else 1.0
    most = int((chosen.cost_cents - always) * dear) + len(building.ways)
    least, judged = cheapest(building, desk, low, high, most)
    return Compared(
        cost_cents=chosen.cost_cents,
        broken=found,
        least_cents=least,
        judged=judged,
        outlets=len(building.outlets),
    )


def rungs(enumeration: Enumeration, floor: int, most: int) -> list[int]:
    """Caps to try in turn, a little over what each launch costs at least."""
    joint = np.asarray(enumeration.joint)
    lifts = [row.cents for row in enumeration.amplified(enumeration.feed - joint, enumeration.head)]
    found = {most}
    for extra in (0, *lifts):
        step = float(FIRST_RUNG)
        while step < LAST_RUNG:
            found.add(min(most, floor + extra + int(step)))
            step *= RUNG_GROWTH
    return sorted(found)


def cheapest(building: Any, desk: Any, low: Any, high: Any, most: int) -> tuple[int | None, int]:
    """Direct cost of the cheapest network that passes, none dearer than a cap, and how many were judged.

    Caps rise rung by rung. Under each, all networks that could pass are listed by cost; the first that passes is the
    cheapest of all.
    """
    enumeration = Enumeration(building, desk, low, high)
    walks = [
        Walk(enumeration, series, parents) for series in ("6", "11") for parents in parentings(enumeration)
    ]
    floor = min(walk.fixed + walk.subtree(enumeration.head) for walk in walks)
    least, judged = None, 0
    for cap in rungs(enumeration, floor, most):
        enumeration.cap = cap
        for walk in walks:
            for spent, thing in sorted(walk.candidates(), key=lambda row: row[0]):
                if spent > enumeration.cap:
                    break
                network = Bench(enumeration, walk.series).network(thing)
                judged += 1
                if not broken(network, building, desk, low, high):
                    cost = cents(network, building, desk)
                    least = cost if least is None else min(least, cost)
                    enumeration.cap = spent - 1
                    break
        if least is not None:
            break
    return least, judged
