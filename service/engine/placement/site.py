"""One building made ready for placement: what must be met, what may be placed, what feeds it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.building.places import Building, Place
from service.engine.placement.cabling import Cabling
from service.engine.placement.layout import Layout, lay_out
from service.engine.placement.lifts import Lift
from service.engine.placement.menu import Menu, Offer
from service.engine.placement.patterns import Cook
from service.engine.placement.pins import Pins, pins_of
from service.engine.placement.rounds import Judge
from service.engine.placement.stages import Kitchen, StageRules
from service.engine.placement.stock import choose_plate, cooks_for, every_lift, leaky_parts
from service.engine.placement.windows import Target
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Network
from service.engine.plant.tariff import Tariff, WayKind
from service.engine.routes.plan import RoutePlan
from service.engine.signal.limits import Limits, design_window
from service.engine.signal.spectrum import FeedCarrier, Service
from service.engine.signal.units import thermal_noise_dbmv

Floats = NDArray[np.float64]

JOINT_LOSS_DB_AT_1GHZ = 0.1
#: Kept back of every carrier-to-noise ratio for intermodulation and rounding.
SPENT_ELSEWHERE_DB = 0.5
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


def window_of(building: Building, limits: Limits) -> Target:
    """The window that the design aims at, carrier by carrier; open where the profile is silent."""
    low, high = [], []
    for line in line_up(building):
        limit = limits.service(line.carrier.service)
        window = design_window(limit, margins=building.policy.margins) if limit else (-np.inf, np.inf)
        low.append(window[0])
        high.append(window[1])
    return Target(low_dbmv=np.asarray(low), high_dbmv=np.asarray(high))


def panel_rules(panel: Place | None, pins: Pins) -> StageRules:
    """What binds a flat's panel: parts pinned or barred there, and what its box takes."""
    if panel is None:
        return StageRules(ends_leg_spare=False)
    return StageRules(
        barred=frozenset(panel.never),
        most_devices=panel.most_devices,
        most_ports=panel.most_ports,
        ends_leg_spare=False,
        required=pins.passive.get(panel.id, ()),
    )


def make_kitchen(layout: Layout, pins: Pins, closet_cook: Cook, panel_cook: Cook) -> Kitchen:
    """The kitchen that knows every class of panel in a building."""
    places = {place.id: place for place in layout.building.places}
    classes = {
        (len(item.drops), panel_rules(places.get(item.panel), pins))
        for closet in layout.closets
        for item in closet.items
    }
    return Kitchen(
        depth=DEPTH,
        closet_cook=closet_cook,
        panel_cook=panel_cook,
        classes=tuple(sorted(classes, key=lambda row: (row[0], row[1].order))),
    )


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
    layout = lay_out(building, route)
    pins = pins_of(building, keep, catalogue)
    barred = leaky_parts(building, catalogue, limits, frequency)
    trim_free = building.policy.no_trimming_at_outlets
    menu, *cooks = cooks_for(catalogue, tariff, tuple(frequency.tolist()), barred, trim_free=trim_free)
    satellite = any(services[line.carrier.service].band == "satellite" for line in lines)
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
        target=window_of(building, limits),
        least_output_dbmv=least_outputs(building, limits, services),
        reference=reference,
        all_lifts=every_lift(catalogue, tariff, frequency, reference),
        kitchen=make_kitchen(layout, pins, cooks[0], cooks[1]),
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
            passband_mhz=limits.passband_mhz(satellite=satellite),
        ),
        keep=keep,
        pins=pins,
    )
