"""What a traced design uses: tap values, spare ports, spread."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from service.engine.building.places import Wishes
from service.engine.placement.recipes import ANY_VALUE
from service.engine.placement.trace import Visit
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Network
from service.engine.propagation.report import SignalReport

#: So little over a wished spread counts as kept.
SLACK_DB = 0.05


def visits(root: Visit) -> Iterator[Visit]:
    """Every visit of a design, parents first."""
    stack = [root]
    while stack:
        visit = stack.pop()
        yield visit
        stack.extend(reversed(visit.onward))


def values_used(root: Visit) -> dict[int, dict[str, int]]:
    """By tap port count, how often each tap of several arms stands in a design's closets."""
    used: dict[int, dict[str, int]] = {}
    for visit in visits(root):
        for part, ports in visit.recipe.taps:
            counts = used.setdefault(ports, {})
            counts[part] = counts.get(part, 0) + 1
    return used


def spare_share(network: Network, catalogue: Catalogue) -> float:
    """Share of the ports made for a cable that are closed by a terminator."""
    ports = sum(
        group.count
        for device in network.devices
        for group in catalogue.part(device.part).groups
        if group.ends_in == "cable"
    )
    return len(network.terminated) / ports if ports else 1.0


def rising_values(root: Visit) -> bool:
    """True when a device that is fed through another's through port has a larger value than that."""
    stack: list[tuple[Visit, int]] = [(root, ANY_VALUE)]
    while stack:
        visit, before = stack.pop()
        values = (ANY_VALUE if visit.starts else before, *visit.recipe.falls)
        if any(after > ahead for ahead, after in pairwise(values)):
            return True
        goes_on = visit.recipe.runs_on or visit.recipe.pick is None
        stack.extend((onward, values[-1] if goes_on else ANY_VALUE) for onward in visit.onward)
    return False


def building_spread_db(report: SignalReport) -> float:
    """Highest less lowest outlet, on the carrier where they lie furthest apart."""
    level = report.outlet_level_dbmv
    return float(np.max(level.max(axis=0) - level.min(axis=0))) if level.size else 0.0


def unit_spreads_db(report: SignalReport) -> dict[str, float]:
    """By unit, highest less lowest of its outlets, on the carrier where they lie furthest apart."""
    rows: dict[str, list[int]] = {}
    for at, served in enumerate(report.outlets):
        rows.setdefault(served.unit, []).append(at)
    level = report.outlet_level_dbmv
    return {
        unit: float(np.max(level[at].max(axis=0) - level[at].min(axis=0))) if level.shape[1] else 0.0
        for unit, at in rows.items()
        if unit
    }


def keeps_spread(wishes: Wishes, report: SignalReport) -> bool:
    """True when no spread is further than wished for, over the building or within a unit."""
    if wishes.spread_db is not None and building_spread_db(report) > wishes.spread_db + SLACK_DB:
        return False
    most = wishes.unit_spread_db
    return most is None or all(apart <= most + SLACK_DB for apart in unit_spreads_db(report).values())


def kinds_of(network: Network) -> frozenset[str]:
    """The different parts of a network."""
    return frozenset(device.part for device in network.devices)
