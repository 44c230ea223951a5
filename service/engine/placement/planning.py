"""From a site to a plan: runs laid, rules bound, springs listed, for one riser cable and one target."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from service.engine.building.places import Building
from service.engine.placement.cabling import DROP_SERIES
from service.engine.placement.layout import Closet
from service.engine.placement.legs import Plan
from service.engine.placement.lifts import Lift
from service.engine.placement.menu import Offer
from service.engine.placement.site import DEPTH, Site, panel_rules
from service.engine.placement.springs import Spring, feed_springs, launch_springs, riser_springs
from service.engine.placement.stages import StageRules
from service.engine.placement.windows import (
    Planned,
    Target,
    Tilt,
    field_of,
    no_bias,
    plan_item,
    way_losses,
)

Floats = NDArray[np.float64]

#: Amplifiers tried along the riser, cheapest first.
RISER_LIFTS = 3
#: Amplifiers tried on the line, cheapest first.
LINE_LIFTS = 1


def relaxed(site: Site) -> Site:
    """The site with amplifiers that take any input and any share of noise."""
    lifts = tuple(replace(lift, input_low_dbmv=None) for lift in site.menu.lifts)
    return replace(
        site,
        menu=replace(site.menu, lifts=lifts),
        least_output_dbmv=np.full_like(site.least_output_dbmv, -np.inf),
    )


def lean(offers: tuple[Offer, ...], arm: str, reference: int) -> Floats:
    """Middle of how much more the arms of that name ("": any) lose than at the reference, at each frequency."""
    rows = [
        one.loss_db - one.loss_db[reference]
        for offer in offers
        for one in offer.arms
        if not arm or one.name == arm
    ]
    if not rows:
        return np.zeros(reference + 1)
    return np.asarray(np.median(np.stack(rows), axis=0), dtype=np.float64)


def passed_lean(site: Site, riser_series: str) -> Floats:
    """How device loss and landings lean on the way from the head-end to each closet, closets × frequencies."""
    through = lean(site.menu.through, "through", site.reference)
    closets = site.layout.closets
    rows: list[Floats] = [np.zeros_like(site.frequency_mhz)]
    for closet in closets[1:]:
        above = closets[closet.parent]
        ends = site.cabling.lay(closet.ways, above.place.id, closet.place.id, riser_series).ends_db
        step = ends - ends[site.reference]
        rows.append(rows[closet.parent] + step + (through if above.items else 0.0))
    return np.stack(rows)


def planned_items(site: Site) -> tuple[tuple[Planned, ...], ...]:
    """The items of every closet with their runs laid and their plates chosen."""
    drop_series = site.building.wishes.drop_cable or DROP_SERIES[0]
    plates = {plate.part: plate for plate in site.menu.plates}
    places = {place.id: place for place in site.building.places}
    return tuple(
        tuple(
            plan_item(
                item,
                closet,
                site.cabling,
                tuple(plates.get(site.pins.plates.get(drop.outlet, ""), site.plate) for drop in item.drops),
                panel_rules(places.get(item.panel), site.pins),
                drop_series,
            )
            for item in closet.items
        )
        for closet in site.layout.closets
    )


def closet_rules(site: Site) -> tuple[StageRules, ...]:
    """What binds the recipes of each closet before any pattern is chosen."""
    return tuple(
        StageRules(
            most_devices=closet.place.most_devices,
            most_ports=closet.place.most_ports,
            barred=frozenset(closet.place.never),
            ends_leg_spare=site.building.policy.spare,
            required=site.pins.passive.get(closet.place.id, ()),
        )
        for closet in site.layout.closets
    )


def make_plan(site: Site, riser_series: str, target: Target) -> Plan:
    """A plan of one riser cable and one target, its tables still empty."""
    policy = site.building.policy
    planned = planned_items(site)
    field = field_of(planned)
    count = len(site.layout.closets)
    longest = policy.most_throughs_in_leg + 1 if policy.fault_domain else count
    return Plan(
        layout=site.layout,
        field=field,
        tilt=Tilt(
            passed_db=passed_lean(site, riser_series),
            split_db=lean(site.menu.even, "", site.reference),
        ),
        cabling=site.cabling,
        riser_series=riser_series,
        planned=planned,
        above_db=np.stack(way_losses(site.layout, site.cabling, riser_series)),
        target=target,
        bias=no_bias(field),
        rules=closet_rules(site),
        kitchen=site.kitchen,
        depth=DEPTH,
        longest_leg=min(longest, count),
        reference=site.reference,
        forced=frozenset(
            closet.index for closet in site.layout.closets[1:] if closet.place.id in site.pins.lifts
        ),
        risers={
            closet.index: riser_springs(
                pinned_lifts(site, closet),
                closet.index,
                site.feed_dbmv - site.feed_dbmv[site.reference],
                site.analogue,
                site.reference,
                site.least_output_dbmv,
            )
            for closet in site.layout.closets[1:]
            if powered(site.building, closet)
        },
        line={
            closet.index: riser_springs(
                line_lifts(site, closet),
                closet.index,
                site.feed_dbmv - site.feed_dbmv[site.reference],
                site.analogue,
                site.reference,
                site.least_output_dbmv,
            )
            for closet in site.layout.closets[1:]
            if takes_line_power(site.building, closet)
        },
        powered=frozenset(closet.index for closet in site.layout.closets if powered(site.building, closet)),
        pads=site.menu.pads,
        inserters=site.menu.inserters,
    )


def powered(building: Building, closet: Closet) -> bool:
    """True where an amplifier may sit: house power, or anywhere when the building gives that rule up."""
    return closet.place.mains or not building.policy.amplifiers_on_house_power


def takes_line_power(building: Building, closet: Closet) -> bool:
    """True where an amplifier may live on the line: no house power, and the building allows it."""
    return building.policy.line_power and not powered(building, closet)


def line_lifts(site: Site, closet: Closet) -> tuple[Lift, ...]:
    """The amplifiers that may live on the line at a closet: the one pinned there, else the cheapest, or all."""
    part = site.pins.lifts.get(closet.place.id)
    if part is not None:
        return tuple(lift for lift in site.all_lifts if lift.part.id == part and lift.on_line)
    every = site.building.wishes.effort == "thorough"
    return site.menu.line_lifts if every else site.menu.line_lifts[:LINE_LIFTS]


def pinned_lifts(site: Site, closet: Closet) -> tuple[Lift, ...]:
    """The amplifiers that may stand at a closet: the one pinned there, else all that live on house power.

    Along the riser only the cheapest few are tried unless the effort is thorough, and the cheapest of each number
    of outputs: each further one costs tables of its own for every powered place.
    """
    part = site.pins.lifts.get(closet.place.id)
    if part is not None:
        return tuple(lift for lift in site.all_lifts if lift.part.id == part and not lift.on_line)
    if closet.index == 0 or site.building.wishes.effort == "thorough":
        return site.menu.lifts
    single = [lift for lift in site.menu.lifts if lift.outputs == 1][:RISER_LIFTS]
    fans = {lift.outputs: lift for lift in reversed(site.menu.lifts) if lift.outputs > 1}
    return (*single, *(lift for _, lift in sorted(fans.items())))


def springs_of(site: Site) -> list[Spring]:
    """Every way to launch; amplifiers only where the head-end has house power, and a pinned one always."""
    springs = every_launch(site)
    pinned = site.layout.closets[0].place.id in site.pins.lifts
    return [spring for spring in springs if spring.lift is not None] if pinned else springs


def every_launch(site: Site) -> list[Spring]:
    """The feed, the feed behind pad and equaliser, and each amplifier at each slope."""
    feed, menu = site.building.feed, site.menu
    bare = feed_springs(
        site.feed_dbmv, site.reference, feed.outputs, menu.pads, menu.equalisers, menu.terminator_cents
    )
    if not powered(site.building, site.layout.closets[0]):
        return bare
    return bare + launch_springs(
        pinned_lifts(site, site.layout.closets[0]),
        site.feed_dbmv,
        site.analogue,
        site.reference,
        feed.max_level_dbmv,
        site.least_output_dbmv,
        (feed.outputs - 1) * menu.terminator_cents,
    )
