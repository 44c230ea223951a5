"""The finished network judged: exact levels in the target window, and every rule of the policy."""

from __future__ import annotations

from collections import Counter
from typing import Any

import numpy as np

from service.engine.analysis import analyse
from service.engine.placement.layout import lay_out
from service.engine.placement.policy import policy_findings, within_policy
from service.engine.plant.network import Network
from service.engine.plant.tariff import WayKind, network_cents
from service.engine.routes.tree import tree_route
from service.engine.signal.limits import design_window

#: What the policy leaves to the aims of a design, or tells without asking for anything.
LEFT_TO_AIMS = ("unit-spread", "building-spread", "pair-aim", "adjacent-aim", "policy-power-in-flats")
TOLERANCE = ("yield", "hot", "cold")


def window(building: Any, desk: Any, reserve_db: float) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """The design window at each carrier, its lower edge lifted by a reserve."""
    limits = desk.limits[building.rules.limits]
    rows = sorted(building.feed.carriers, key=lambda row: row.carrier.frequency_mhz)
    pairs = [
        design_window(limits.service(row.carrier.service), margins=building.policy.margins) for row in rows
    ]
    return tuple(low + reserve_db for low, _ in pairs), tuple(high for _, high in pairs)


def cents(network: Network, building: Any, desk: Any) -> int:
    """Direct cost of a network by the tariff."""
    ways = {way.id: WayKind(way=way.id, kind=way.kind, length_m=way.pulled_m) for way in building.ways}
    return network_cents(network, desk.library.tariffs[building.tariff], ways)


def broken(network: Network, building: Any, desk: Any, low: Any, high: Any) -> list[str]:
    """Rules that a finished network breaks: the window at every carrier, findings, test ports, patterns."""
    catalogue = desk.library.catalogue
    policy = building.policy
    told = analyse(
        network,
        catalogue,
        desk.limits[building.rules.limits],
        desk.services,
        margins=policy.margins,
        spread=False,
    )
    level = told.report.outlet_level_dbmv
    found = []
    if np.any(level < np.asarray(low) - 1e-6) or np.any(level > np.asarray(high) + 1e-6):
        found.append("window")
    layout = lay_out(building, tree_route(building))
    rows = within_policy((*told.findings, *policy_findings(layout, network, catalogue)), policy)
    found += [row.rule for row in rows if row.rule not in LEFT_TO_AIMS]
    if policy.spare:
        found += [f"no test port at {place}" for place in ends_without_port(network, building)]
    if policy.one_pattern:
        found += patterns_apart(network, building, catalogue)
    return found


def ends_without_port(network: Network, building: Any) -> list[str]:
    """Places of devices that nothing goes on from to another such place, without a closed port."""
    kinds = {place.id: place.kind for place in building.places}
    at = {device.id: device.place for device in network.devices}
    common = {place for place in at.values() if kinds[place] in ("closet", "headend")}
    onward = {
        at.get(run.start.device, building.headend)
        for run in network.runs
        if at[run.end] in common and run.cable is not None
    }
    closed = {at.get(port.device, building.headend) for port in network.terminated}
    return sorted(common - onward - closed)


def patterns_apart(network: Network, building: Any, catalogue: Any) -> list[str]:
    """Alike floors with unlike closets: port counts of the devices, how they hang on each other, and whether another
    port than the through port goes on; no values."""
    floors = {floor.label: floor.floor_type for floor in building.floors}
    places = {place.id: place for place in building.places}
    at = {device.id: device.place for device in network.devices}
    part = {device.id: catalogue.part(device.part) for device in network.devices}
    behind: dict[str, list[Any]] = {}
    for run in network.runs:
        behind.setdefault(run.start.device, []).append(run)

    def shape(name: str) -> Any:
        groups = {group.name: group.count for group in part[name].groups}
        users = sum(count for group, count in groups.items() if group != "through")
        inner = sorted(
            (run.start.group == "through", shape(run.end))
            for run in behind.get(name, [])
            if at[run.end] == at[name] and part[run.end].active is None
        )
        goes = any(
            run.start.group != "through" and places[at[run.end]].kind == "closet" and at[run.end] != at[name]
            for run in behind.get(name, [])
        )
        return users, goes, inner

    fed = {run.end: run.start.device for run in network.runs}
    seen: dict[Any, set[str]] = {}
    for device in network.devices:
        place = places[device.place]
        kind = floors.get(place.floor, "")
        if place.kind != "closet" or not kind or part[device.id].port_count < 2:
            continue
        above = fed[device.id]
        if at.get(above) == device.place and part[above].port_count > 1:
            continue
        flats = Counter()
        below = [way.end for way in building.ways if way.start == place.id]
        for end in below:
            if places[end].kind in ("panel", "outlet"):
                unit = next(row for row in building.units if row.id == places[end].unit)
                count = sum(way.start == end for way in building.ways)
                flats[unit.unit_type, places[end].kind, count] += 1
        seen.setdefault((kind, tuple(sorted(flats.items()))), set()).add(repr(shape(device.id)))
    return [
        f"alike floors of {kind} wired apart" for (kind, _), shapes in sorted(seen.items()) if len(shapes) > 1
    ]
