"""The least bill: what no design inside the policy can cost less than, levels counted at one carrier at a time."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from service.engine.placement.cabling import Laid
from service.engine.placement.legs import Plan
from service.engine.placement.one_carrier import CarrierProgramme, Reading
from service.engine.placement.planning import make_plan
from service.engine.placement.site import Site
from service.engine.placement.starts import Freedom, freedom_taken
from service.engine.placement.windows import Target
from service.engine.plant.network import Network
from service.engine.plant.tariff import Tariff
from service.engine.propagation.report import SignalReport

#: Outlets up to which a second carrier is looked at.
SECOND_LOOK = 30


def carriers_to_try(site: Site, plan: Plan) -> tuple[int, ...]:
    """The carrier that most is missing of at the outlets, and in a small building the one that least is."""
    field = plan.field
    lost = plan.above_db[field.closet_of] + field.fixed_db
    need = np.mean(lost, axis=0) + plan.target.low_dbmv - site.feed_dbmv
    scarce = int(np.argmax(need))
    ample = int(np.argmin(np.mean(lost, axis=0) + plan.target.high_dbmv - site.feed_dbmv))
    return tuple(dict.fromkeys((scarce, ample))) if len(field.outlets) <= SECOND_LOOK else (scarce,)


def first_cents(tariff: Tariff, laid: Laid, way: str, kind: str, length_m: float) -> int:
    """What the first cable of a way costs more than a further one, where this run lies in it: its labour."""
    if laid.existing or way not in laid.ways:
        return 0
    further = tariff.leg_cents(laid.cable, kind, length_m, first=False)
    return tariff.leg_cents(laid.cable, kind, length_m, first=True) - further


def always_cents(site: Site, plan: Plan) -> int:
    """What every design of a plan costs beyond its tables, whichever of the runs looked at it takes.

    The cables and plates of the flats, and the first cable of every way.
    """
    flats = [laid for planned in plan.planned for one in planned for laid in (*one.drops, one.feeder) if laid]
    runs = [*flats, *plan.runs]
    items = sum(one.cents for planned in plan.planned for one in planned)
    least: dict[str, int] = {}
    for laid in runs:
        for way in laid.ways:
            row = plan.cabling.ways[way]
            cents = first_cents(site.tariff, laid, way, row.kind, row.pulled_m)
            least[way] = min(least.get(way, cents), cents)
    return items + sum(least.values())


def least_bill(
    site: Site, riser_options: tuple[str, ...], target: Target, freedom: dict[int, Freedom] | None = None
) -> int | None:
    """Cents that no design with one of these riser cables is below whose levels are inside the target.

    None where no level can be right everywhere. A target counts as it is judged, without what it was narrowed for
    margin. `freedom` says by carrier how far amplifiers may go beyond a set-up with reserves.
    """
    judged = replace(target, shrink_db=0.0)
    plans = [make_plan(site, series, judged) for series in riser_options]
    carriers = carriers_to_try(site, plans[0])
    lifts = site.building.policy.most_amplifiers_in_series
    tables: list[int | None] = [0] * len(plans)
    for carrier in carriers:
        reading = Reading(site, judged, carrier, (freedom or {}).get(carrier, Freedom()))
        for row, plan in enumerate(plans):
            found = CarrierProgramme(reading, plan).least_cents(lifts)
            before = tables[row]
            tables[row] = None if found is None or before is None else max(found, before)
    bounds = [
        cents + always_cents(site, plan)
        for cents, plan in zip(tables, plans, strict=True)
        if cents is not None
    ]
    return min(bounds, default=None)


def freedoms(site: Site, network: Network, report: SignalReport) -> dict[int, Freedom]:
    """By carrier, how far a network's amplifiers go beyond a set-up with reserves."""
    known = {lift.part.id: lift for lift in site.all_lifts}
    lifts = {device.id: known[device.part] for device in network.devices if device.part in known}
    return {carrier: freedom_taken(site, report, lifts, carrier) for carrier in range(len(site.feed_dbmv))}
