"""The policy on the finished network: rules that only the building can tell, and thresholds of its own."""

from __future__ import annotations

from collections.abc import Iterator

from service.engine.building.places import Building, Policy
from service.engine.findings import Finding
from service.engine.placement.layout import Layout
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Network

COMMON_PRACTICE = "common practice"
#: Years that coax usually lasts. Common practice, from memory.
OLD_COAX_YEARS = 25.0

#: Rules of the checks that a switch of the policy turns off.
_SWITCHED = {
    "falling-values": "falling_values",
    "tap-variety": "parts_variety",
    "spare-ports": "spare",
    "through-ports": "fault_domain",
    "fault-domain": "fault_domain",
    "isolation": "isolation",
    "trimmed-outlet": "no_trimming_at_outlets",
}


def within_policy(findings: tuple[Finding, ...], policy: Policy) -> tuple[Finding, ...]:
    """The findings less those of rules that the building switched off or asks less of than is common."""
    return tuple(
        finding
        for finding in findings
        if (finding.rule not in _SWITCHED or getattr(policy, _SWITCHED[finding.rule]))
        and not _allowed(finding, policy)
    )


def _allowed(finding: Finding, policy: Policy) -> bool:
    """True where the building's own figure allows what the check's usual one doesn't."""
    if finding.measured is None:
        return False
    if finding.rule == "spare-ports":
        return finding.measured >= 100.0 * policy.spare_share
    return finding.rule == "tap-variety" and finding.measured <= policy.most_tap_values


def policy_findings(layout: Layout, network: Network, catalogue: Catalogue) -> tuple[Finding, ...]:
    """Every rule of the policy that needs the building, checked on the finished network."""
    building = layout.building
    found: list[Finding] = []
    policy = building.policy
    if policy.own_floor:
        found += _own_floor(layout)
    if policy.no_flat_through_flat:
        found += _flat_through_flat(layout)
    if policy.accessible_places:
        found += _places(building, network)
    if policy.amplifiers_on_house_power:
        found += _house_power(building, network, catalogue)
    if policy.parts_variety:
        found += _jackets(building, network, catalogue)
    if policy.fault_domain:
        found += _flats_behind(building, network, catalogue)
    found += _existing_coax(building, network)
    found += _power_in_flats(building)
    return tuple(found)


def _power_in_flats(building: Building) -> Iterator[Finding]:
    """House power noted at a flat's panel is not used: amplifiers don't stand in flats."""
    panels = tuple(sorted(place.id for place in building.places if place.kind == "panel" and place.mains))
    if panels:
        yield Finding(
            rule="policy-power-in-flats",
            severity="notes",
            where=panels,
            source=COMMON_PRACTICE,
            text="house power at a flat's panel is not used: amplifiers stand in common closets alone",
        )


def _existing_coax(building: Building, network: Network) -> Iterator[Finding]:
    """Coax that lies there and stays is tested before it is counted on, old coax above all."""
    used = {way for run in network.runs if run.existing for way in run.ways}
    lying = {way.id: way.existing for way in building.ways if way.id in used and way.existing is not None}
    if not lying:
        return
    doubtful = sorted(name for name, coax in lying.items() if coax.fate == "keep-if-tests-well")
    ages = [coax.age_years for coax in lying.values() if coax.age_years is not None]
    text = f"{len(lying)} ways keep the coax that lies there: measure loss and shield before it is counted on"
    if ages:
        text += f"; the oldest is {max(ages):g} years old, {OLD_COAX_YEARS:g} is as long as it usually lasts"
    yield Finding(
        rule="policy-existing-coax",
        severity="warns" if doubtful or (ages and max(ages) > OLD_COAX_YEARS) else "notes",
        where=tuple(doubtful or sorted(lying)),
        measured=max(ages, default=None),
        limit=OLD_COAX_YEARS if ages else None,
        unit="years" if ages else "",
        source=COMMON_PRACTICE,
        text=text,
    )


def _own_floor(layout: Layout) -> Iterator[Finding]:
    """A closet feeds its own floor, or floors within the reach that the building states."""
    building = layout.building
    orders = {(floor.block, floor.label): floor.order for floor in building.floors}
    places = {place.id: place for place in building.places}
    far: list[str] = []
    for closet in layout.closets:
        here = orders.get((closet.place.block, closet.place.floor))
        for item in closet.items:
            leaf = places[item.panel or item.drops[0].outlet]
            there = orders.get((leaf.block, leaf.floor))
            if here is None or there is None or closet.place.kind == "headend":
                continue
            if abs(here - there) > building.policy.own_floor_reach:
                far.append(f"{closet.place.id}→{item.unit}")
    if far:
        yield Finding(
            rule="policy-own-floor",
            severity="warns",
            where=tuple(sorted(far)),
            source=COMMON_PRACTICE,
            text="closets that feed flats of another floor: who works there later will look on the flat's own floor",
        )


def _flat_through_flat(layout: Layout) -> Iterator[Finding]:
    """No way to a flat leads through another flat."""
    building = layout.building
    ways = {way.id: way for way in building.ways}
    places = {place.id: place for place in building.places}
    owners = {outlet.id: outlet.unit for outlet in building.outlets}
    crossed: list[str] = []
    for closet in layout.closets:
        for item in closet.items:
            for drop in item.drops:
                own = owners[drop.outlet]
                passed = {
                    place for way in (*item.ways, *drop.ways) for place in (ways[way].start, ways[way].end)
                }
                units = {places[place].unit for place in passed} - {"", own}
                crossed += [f"{own} through {unit}" for unit in sorted(units)]
    if crossed:
        yield Finding(
            rule="policy-flat-through-flat",
            severity="breaks" if building.new_build else "warns",
            where=tuple(sorted(set(crossed))),
            source=COMMON_PRACTICE,
            text="flats fed through another flat: who lives there can cut them off, and every repair needs two keys",
        )


def _places(building: Building, network: Network) -> Iterator[Finding]:
    """Devices stand in locked common closets, at the head-end, in a flat's own panel or as its outlets."""
    places = {place.id: place for place in building.places}
    wrong = [
        device.id
        for device in network.devices
        if (place := places.get(device.place)) is not None
        and (
            (place.kind in ("closet", "junction", "headend") and place.access != "common-locked")
            or (place.kind == "panel" and place.access not in ("in-flat", "common-locked"))
        )
    ]
    if wrong:
        yield Finding(
            rule="policy-accessible-places",
            severity="warns",
            where=tuple(sorted(wrong)),
            source=COMMON_PRACTICE,
            text="devices outside locked common places",
        )


def _house_power(building: Building, network: Network, catalogue: Catalogue) -> Iterator[Finding]:
    """Amplifiers stand where house power is."""
    mains = {place.id for place in building.places if place.mains}
    dark = [
        device.id
        for device in network.devices
        if catalogue.part(device.part).power.supply == "mains" and device.place not in mains
    ]
    if dark:
        yield Finding(
            rule="policy-house-power",
            severity="breaks",
            where=tuple(sorted(dark)),
            source=COMMON_PRACTICE,
            text="amplifiers where the building has no house power",
        )


def _jackets(building: Building, network: Network, catalogue: Catalogue) -> Iterator[Finding]:
    """At most so many kinds of jacket among the drops."""
    outlets = {outlet.id for outlet in building.outlets}
    places = {device.id: device.place for device in network.devices}
    jackets = {
        catalogue.cable(run.cable).jacket
        for run in network.runs
        if run.cable is not None and places[run.end] in outlets and not run.existing
    }
    most = building.policy.most_drop_jackets
    if len(jackets) > most:
        yield Finding(
            rule="policy-drop-jackets",
            severity="warns",
            where=tuple(sorted(jackets)),
            measured=float(len(jackets)),
            limit=float(most),
            unit="jackets",
            source=COMMON_PRACTICE,
            text="more kinds of drop cable on the truck than the policy allows",
        )


def _flats_behind(building: Building, network: Network, catalogue: Catalogue) -> Iterator[Finding]:
    """At most so many flats hang on one amplifier after the launch amplifier."""
    above = {run.end: run.start.device for run in network.runs}
    lifts = {device.id for device in network.devices if catalogue.part(device.part).active is not None}
    flats: dict[str, set[str]] = {}
    for served in network.served:
        here: str | None = served.port.device
        while here is not None:
            if here in lifts:
                flats.setdefault(here, set()).add(served.unit)
            here = above.get(here)
    launch = {name for name in lifts if not _has_lift_above(name, above, lifts)}
    most = building.policy.most_flats_behind_amplifier
    crowded = {name: len(units) for name, units in flats.items() if name not in launch and len(units) > most}
    if crowded:
        worst = max(crowded.values())
        yield Finding(
            rule="policy-flats-behind-amplifier",
            severity="warns",
            where=tuple(sorted(crowded, key=lambda name: (-crowded[name], name))),
            measured=float(worst),
            limit=float(most),
            unit="flats",
            source=COMMON_PRACTICE,
            text="if this amplifier dies, more flats are dark than the policy allows",
        )


def _has_lift_above(name: str, above: dict[str, str], lifts: set[str]) -> bool:
    here = above.get(name)
    while here is not None:
        if here in lifts:
            return True
        here = above.get(here)
    return False
