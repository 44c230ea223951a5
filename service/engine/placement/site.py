"""One building made ready for placement: what must be met, what may be placed, what feeds it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from service.engine.building.places import Building
from service.engine.placement.cabling import DROP_SERIES, Cabling
from service.engine.placement.layout import Closet, Layout, lay_out
from service.engine.placement.legs import Plan
from service.engine.placement.lifts import Lift, make_lift
from service.engine.placement.menu import Menu, Offer, build_menu
from service.engine.placement.patterns import Cook
from service.engine.placement.pins import Pins, pins_of
from service.engine.placement.rounds import Judge
from service.engine.placement.springs import Spring, launch_springs, riser_springs
from service.engine.placement.stages import Kitchen, StageRules
from service.engine.placement.windows import Target, Tilt, field_of, no_bias, plan_item, way_losses
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Network
from service.engine.plant.tariff import Tariff, WayKind
from service.engine.routes.plan import RoutePlan
from service.engine.signal.limits import Limits, design_window
from service.engine.signal.spectrum import FeedCarrier, Service
from service.engine.signal.units import thermal_noise_dbmv

Floats = NDArray[np.float64]

JOINT_LOSS_DB_AT_1GHZ = 0.1
#: Loss that may lie behind a closet's port at the low end of the band: a drop, a panel's splitter, an outlet.
BEHIND_A_PORT_DB = 8.0
#: Kept back of every carrier-to-noise ratio for intermodulation and rounding.
SPENT_ELSEWHERE_DB = 0.5
#: Amplifiers tried along the riser, cheapest first.
RISER_LIFTS = 3
#: Steps of D that the tables hold: fifty-two decibels of device loss.
DEPTH = 520


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """A building with its price sheet, parts and limits, and what follows from them for every candidate."""

    building: Building
    catalogue: Catalogue
    tariff: Tariff
    limits: Limits
    services: Mapping[str, Service]
    layout: Layout
    menu: Menu
    plate: Offer
    feed_dbmv: Floats
    frequency_mhz: Floats
    analogue: NDArray[np.bool_]
    target: Target
    least_output_dbmv: Floats
    reference: int
    all_lifts: tuple[Lift, ...]
    kitchen: Kitchen
    cabling: Cabling
    judge: Judge
    keep: Network | None
    pins: Pins

    @property
    def ways(self) -> dict[str, WayKind]:
        """Ways as the tariff reads them."""
        return {
            way.id: WayKind(way=way.id, kind=way.kind, length_m=way.pulled_m) for way in self.building.ways
        }


def every_lift(
    catalogue: Catalogue, tariff: Tariff, frequency_mhz: Floats, reference: int
) -> tuple[Lift, ...]:
    """All priced amplifiers that reach every frequency, cheaper equals kept too: a pin may name any of them."""
    low, high = float(frequency_mhz.min()), float(frequency_mhz.max())
    made = [
        make_lift(part, tariff.device_cents(part.id), frequency_mhz, reference)
        for part in sorted(catalogue.parts, key=lambda row: row.id)
        if part.active is not None
        and tariff.prices_part(part.id)
        and all(group.gain_db.covers(low) and group.gain_db.covers(high) for group in part.groups)
    ]
    return tuple(lift for lift in made if lift is not None)


def choose_plate(building: Building, menu: Menu) -> Offer:
    """The outlet plate: the one wished for, else the cheapest with one user port and the least loss."""
    wished = [plate for plate in menu.plates if plate.part == building.wishes.outlet_part]
    if wished:
        return wished[0]
    single = [plate for plate in menu.plates if plate.ports == 1] or list(menu.plates)
    return min(single, key=lambda plate: (plate.cents, plate.arms[0].steps, plate.part))


def line_up(building: Building) -> list[FeedCarrier]:
    """The feed's carriers in the order of every array: by frequency, then id."""
    return sorted(
        building.feed.carriers,
        key=lambda line: (line.carrier.frequency_mhz, line.carrier.id, line.carrier.service),
    )


def least_outputs(building: Building, limits: Limits, services: Mapping[str, Service]) -> Floats:
    """For each carrier, noise floor plus the carrier-to-noise that one amplifier of a chain must keep, in dBmV.

    What the feed leaves of the ratio is shared out evenly over the launch amplifier and those that may follow it.
    The design ratio counts where the feed is better than that, else the limit itself.
    """
    stages = 1 + building.policy.most_amplifiers_in_series
    rows = []
    for line in line_up(building):
        limit = limits.service(line.carrier.service)
        floor = thermal_noise_dbmv(services[line.carrier.service].noise_bandwidth_mhz)
        asked = [
            value
            for value in (
                (limit.cni_design_db, limit.cn_design_db, limit.cni_db, limit.cn_db) if limit else ()
            )
            if value is not None
        ]
        feed = 10.0 ** (-line.cn_db / 10.0) if line.cn_db is not None else 0.0
        kept = [value for value in asked if 10.0 ** (-(value + SPENT_ELSEWHERE_DB) / 10.0) > feed]
        if not asked:
            rows.append(-np.inf)
            continue
        ratio = max(kept) + SPENT_ELSEWHERE_DB if kept else max(asked) + 10.0
        left = max(10.0 ** (-ratio / 10.0) - feed, 1e-9)
        rows.append(floor - 10.0 * np.log10(left / stages))
    return np.asarray(rows, dtype=np.float64)


@lru_cache(maxsize=32)
def cooks_for(
    catalogue: Catalogue,
    tariff: Tariff,
    frequency_mhz: tuple[float, ...],
    barred: frozenset[str],
    *,
    trim_free: bool,
) -> tuple[Menu, Cook, Cook]:
    """Menu and recipe lists of a line-up, made once for every building that shares it.

    `trim_free` keeps a flat's panel to parts that split.
    """
    menu = build_menu(
        catalogue,
        tariff,
        np.asarray(frequency_mhz),
        len(frequency_mhz) - 1,
        isolates=lambda part: part.id not in barred,
    )
    return menu, Cook(menu, panel=False), Cook(menu, panel=trim_free)


def leaky_parts(
    building: Building, catalogue: Catalogue, limits: Limits, frequency_mhz: Floats
) -> frozenset[str]:
    """Parts that can't keep two users apart even with the most that can lie behind their ports.

    Two ways of loss L1 and L2 behind a group with isolation I give I + L1 + L2. What lies behind is not known yet, so
    a part is barred only when it fails with a panel's splitter and outlet on both sides; the exact check decides.
    """
    if not building.policy.isolation:
        return frozenset()
    asked = [limits.isolation_db(float(f)) for f in frequency_mhz]
    barred = set()
    for part in catalogue.parts:
        for group in part.groups:
            curve = part.isolation_between(group.name, group.name)
            if group.count < 2 or curve is None or group.ends_in != "cable":
                continue
            for frequency, limit in zip(frequency_mhz, asked, strict=True):
                if limit is not None and curve.covers(float(frequency)):
                    most = curve.at_one(float(frequency)) + 2.0 * BEHIND_A_PORT_DB
                    if most < limit.isolation_db:
                        barred.add(part.id)
    return frozenset(barred)


def survey(
    building: Building,
    route: RoutePlan,
    catalogue: Catalogue,
    tariff: Tariff,
    limits: Limits,
    services: Mapping[str, Service],
    keep: Network | None = None,
) -> Site:
    """Gather what every candidate of one building shares."""
    lines = line_up(building)
    frequency = np.asarray([line.carrier.frequency_mhz for line in lines], dtype=np.float64)
    reference = len(lines) - 1
    low, high = [], []
    for line in lines:
        limit = limits.service(line.carrier.service)
        window = design_window(limit, margins=building.policy.margins) if limit else (-np.inf, np.inf)
        low.append(window[0])
        high.append(window[1])
    layout = lay_out(building, route)
    pins = pins_of(building, keep, catalogue)
    menu, *cooks = cooks_for(
        catalogue,
        tariff,
        tuple(frequency.tolist()),
        leaky_parts(building, catalogue, limits, frequency),
        trim_free=building.policy.no_trimming_at_outlets,
    )
    return Site(
        building=building,
        catalogue=catalogue,
        tariff=tariff,
        limits=limits,
        services=services,
        layout=layout,
        menu=menu,
        plate=choose_plate(building, menu),
        feed_dbmv=np.asarray([line.level_dbmv for line in lines], dtype=np.float64),
        frequency_mhz=frequency,
        analogue=np.asarray([services[line.carrier.service].modulation == "analogue" for line in lines]),
        target=Target(low_dbmv=np.asarray(low), high_dbmv=np.asarray(high)),
        least_output_dbmv=least_outputs(building, limits, services),
        reference=reference,
        all_lifts=every_lift(catalogue, tariff, frequency, reference),
        kitchen=Kitchen(
            depth=DEPTH,
            closet_cook=cooks[0],
            panel_cook=cooks[1],
            classes=tuple(
                sorted(
                    {
                        (len(item.drops), pins.passive.get(item.panel, ()))
                        for closet in layout.closets
                        for item in closet.items
                    }
                )
            ),
        ),
        cabling=Cabling(
            pins=pins,
            building=building,
            catalogue=catalogue,
            tariff=tariff,
            frequency_mhz=frequency,
            joint_loss_db_at_1ghz=JOINT_LOSS_DB_AT_1GHZ,
        ),
        judge=Judge(
            catalogue=catalogue,
            services=services,
            passband_mhz=limits.passband_mhz(
                satellite=any(services[line.carrier.service].band == "satellite" for line in lines)
            ),
        ),
        keep=keep,
        pins=pins,
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


def relaxed(site: Site) -> Site:
    """The site with amplifiers that take any input and any share of noise."""
    lifts = tuple(replace(lift, input_low_dbmv=None) for lift in site.menu.lifts)
    return replace(
        site,
        menu=replace(site.menu, lifts=lifts),
        least_output_dbmv=np.full_like(site.least_output_dbmv, -np.inf),
    )


def make_plan(site: Site, riser_series: str, target: Target) -> Plan:
    """A plan of one riser cable and one target, its tables still empty."""
    building = site.building
    cabling = site.cabling
    drop_series = building.wishes.drop_cable or DROP_SERIES[0]
    plates = {plate.part: plate for plate in site.menu.plates}
    planned = tuple(
        tuple(
            plan_item(
                item,
                closet,
                cabling,
                tuple(plates.get(site.pins.plates.get(drop.outlet, ""), site.plate) for drop in item.drops),
                site.pins.passive.get(item.panel, ()),
                drop_series,
            )
            for item in closet.items
        )
        for closet in site.layout.closets
    )
    rules = tuple(
        StageRules(
            most_devices=closet.place.most_devices,
            most_ports=closet.place.most_ports,
            barred=frozenset(closet.place.never),
            ends_leg_spare=building.policy.spare,
            required=site.pins.passive.get(closet.place.id, ()),
        )
        for closet in site.layout.closets
    )
    longest = building.policy.most_throughs_in_leg + 1 if building.policy.fault_domain else len(rules)
    field = field_of(planned)
    above_db = np.stack(way_losses(site.layout, cabling, riser_series))
    return Plan(
        layout=site.layout,
        field=field,
        tilt=Tilt(
            passed_db=passed_lean(site, riser_series),
            split_db=lean(site.menu.even, "", site.reference),
        ),
        cabling=cabling,
        riser_series=riser_series,
        planned=planned,
        above_db=above_db,
        target=target,
        bias=no_bias(field),
        rules=rules,
        kitchen=site.kitchen,
        depth=DEPTH,
        longest_leg=min(longest, max(len(rules), 1)),
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
            for closet in site.layout.closets
            if powered(site.building, closet) and closet.index > 0
        },
    )


def powered(building: Building, closet: Closet) -> bool:
    """True where an amplifier may sit: house power, or anywhere when the building gives that rule up."""
    return closet.place.mains or not building.policy.amplifiers_on_house_power


def pinned_lifts(site: Site, closet: Closet) -> tuple[Lift, ...]:
    """The amplifiers that may stand at a closet: the one pinned there, else all.

    Along the riser only the cheapest few are tried unless the effort is thorough: each further one costs tables
    of its own for every powered place.
    """
    part = site.pins.lifts.get(closet.place.id)
    if part is not None:
        return tuple(lift for lift in site.all_lifts if lift.part.id == part)
    few = closet.index > 0 and site.building.wishes.effort != "thorough"
    return site.menu.lifts[:RISER_LIFTS] if few else site.menu.lifts


def springs_of(site: Site) -> list[Spring]:
    """Every way to launch; amplifiers only where the head-end has house power, and a pinned one always."""
    springs = every_launch(site)
    pinned = site.layout.closets[0].place.id in site.pins.lifts
    return [spring for spring in springs if spring.lift is not None] if pinned else springs


def every_launch(site: Site) -> list[Spring]:
    """The feed, the feed behind each pad, and each amplifier at each slope."""
    return launch_springs(
        pinned_lifts(site, site.layout.closets[0]) if powered(site.building, site.layout.closets[0]) else (),
        site.menu.pads,
        site.feed_dbmv,
        site.analogue,
        site.reference,
        site.building.feed.max_level_dbmv,
        site.least_output_dbmv,
    )
