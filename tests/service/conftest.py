"""A small house, made by hand, whose runs, pulls and cost can be reckoned on paper. Its prices are invented."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from service.engine.analysis import analyse
from service.engine.building.places import Building, Floor, Outlet, Paper, Place, Rules, Unit, Way
from service.engine.placement.proposal import Certificate, Design, Proposal
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Device, Network, Port, Run, Served
from service.engine.plant.tariff import CablePrice, PartPrice, PullRate, Tariff, WayKind, network_cents
from service.engine.routes.tree import tree_route
from service.engine.signal.spectrum import Carrier, Feed, FeedCarrier
from service.library.contents import library
from service.library.profiles import load_limits, load_plans, load_services

CABLES = ("11-catvr", "6-catv", "6-catvp", "6-catvx", "6-buried")


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    """A building with its network, and what they are read against."""

    building: Building
    network: Network
    catalogue: Catalogue
    tariff: Tariff

    def design(self, building: Building | None = None) -> Design:
        """The network as a design, judged by the building's limits."""
        building = building or self.building
        told = analyse(
            self.network, self.catalogue, load_limits()[building.rules.limits], load_services(), spread=False
        )
        ways = {way.id: WayKind(way=way.id, kind=way.kind, length_m=way.pulled_m) for way in building.ways}
        cost = network_cents(self.network, self.tariff, ways)
        chosen = Proposal(
            label="made by hand",
            network=self.network,
            cost_cents=cost,
            report=told.report,
            margins=told.margins,
            findings=told.findings,
            certificate=Certificate(cost_cents=cost, bound_cents=0, proven=False, statement="Made by hand."),
        )
        return Design(building=building, route=tree_route(building), chosen=chosen)


def _way(id: str, start: str, end: str, pulled_m: float, kind: str, spaces: str, firestops: int = 0) -> Way:
    return Way(
        id=id,
        start=start,
        end=end,
        length_m=pulled_m,
        pulled_m=pulled_m,
        kind=kind,
        spaces=tuple(spaces.split()),
        firestops=firestops,
    )


def _building() -> Building:
    plan = load_plans()["us-broadcast"]
    carriers = []
    for name, level in (("14", 14.0), ("36", 13.0)):
        channel = plan.channel(name)
        assert channel is not None
        carrier = Carrier(
            id=name,
            frequency_mhz=channel.frequency_mhz,
            low_mhz=channel.low_mhz,
            high_mhz=channel.high_mhz,
            service=plan.service,
        )
        carriers.append(FeedCarrier(carrier=carrier, level_dbmv=level, cn_db=35.0))
    places = [
        Place(id="HE", kind="headend", floor="3", mains=True),
        Place(id="C2", kind="closet", floor="2"),
        Place(id="C1", kind="closet", floor="1"),
        Place(id="J1", kind="junction", floor="1"),
        Place(id="2A", kind="panel", floor="2", unit="2A"),
        Place(id="1A", kind="junction", floor="1", unit="1A"),
        Place(id="1B", kind="junction", floor="1", unit="1B"),
    ]
    outlets = [("2A-1", "2A"), ("2A-2", "2A"), ("1A-1", "1A"), ("1B-1", "1B")]
    places += [Place(id=id, kind="outlet", floor=unit[0], unit=unit) for id, unit in outlets]
    ways = (
        _way("R2", "HE", "C2", 10.0, "riser", "riser", 1),
        _way("R1", "C2", "C1", 4.4, "riser", "riser", 1),
        _way("K1", "C1", "J1", 12.0, "corridor", "unknown-ceiling"),
        _way("K1A", "J1", "1A", 3.0, "corridor", "unknown-ceiling", 1),
        # Drawn from the flat towards the corridor: runs follow it backwards.
        _way("K1B", "1B", "J1", 5.0, "corridor", "unknown-ceiling", 1),
        _way("K2A", "C2", "2A", 8.0, "corridor", "general", 1),
        _way("D2A1", "2A", "2A-1", 6.0, "open", "unit"),
        _way("D2A2", "2A", "2A-2", 7.0, "open", "unit"),
        _way("D1A1", "1A", "1A-1", 4.0, "open", "unit"),
        _way("D1B1", "1B", "1B-1", 5.0, "open", "unit"),
    )
    return Building(
        id="house",
        name="House & garden (invented)",
        headend="HE",
        floors=tuple(
            Floor(label=label, order=order, elevation_m=3.0 * order) for order, label in enumerate("123")
        ),
        places=tuple(places),
        ways=ways,
        units=tuple(Unit(id=unit, floor=unit[0], user=unit) for unit in ("1A", "1B", "2A")),
        outlets=tuple(Outlet(id=id, unit=unit, user=unit, room="living room") for id, unit in outlets),
        feed=Feed(id="HE", carriers=tuple(carriers)),
        rules=Rules(limits="us-off-air", plan="us-broadcast", codes="us-2023"),
        tariff="by-hand",
        paper=Paper(revision="B", status="for construction", date="2026-02-03"),
    )


def _network(building: Building) -> Network:
    def run(end: str, start: Port, cable: str | None, ways: str, length_m: float) -> Run:
        return Run(id=end, start=start, end=end, cable=cable, length_m=length_m, ways=tuple(ways.split()))

    devices = {"HE.1": "launch-small", "HE.2": "split-2", "C2.1": "split-2", "C1.1": "split-2"}
    devices |= {"2A.1": "split-2"}
    devices |= {f"{outlet.id}.1": "outlet-end" for outlet in building.outlets}
    runs = (
        run("HE.1", Port(device="HE", group="out"), None, "", 0.0),
        run("HE.2", Port(device="HE.1", group="out"), None, "", 0.0),
        run("C2.1", Port(device="HE.2", group="out", number=1), "11-catvr", "R2", 15.0),
        run("C1.1", Port(device="HE.2", group="out", number=2), "11-catvr", "R2 R1", 19.4),
        run("2A.1", Port(device="C2.1", group="out", number=1), "6-catv", "K2A", 11.0),
        run("2A-1.1", Port(device="2A.1", group="out", number=1), "6-catvx", "D2A1", 7.3),
        run("2A-2.1", Port(device="2A.1", group="out", number=2), "6-catvx", "D2A2", 8.3),
        run("1A-1.1", Port(device="C1.1", group="out", number=1), "6-catvp", "K1 K1A D1A1", 21.3),
        run("1B-1.1", Port(device="C1.1", group="out", number=2), "6-catvp", "K1 K1B D1B1", 24.3),
    )
    return Network(
        id="house",
        feeds=(building.feed,),
        devices=tuple(
            Device(id=id, part=part, place=id.rsplit(".", 1)[0]) for id, part in sorted(devices.items())
        ),
        runs=tuple(sorted(runs, key=lambda row: row.id)),
        served=tuple(
            Served(
                outlet=outlet.id,
                port=Port(device=f"{outlet.id}.1", group="user"),
                user=outlet.user,
                unit=outlet.unit,
                floor=outlet.unit[0],
            )
            for outlet in sorted(building.outlets, key=lambda row: row.id)
        ),
        terminated=(Port(device="C2.1", group="out", number=2),),
    )


def _tariff() -> Tariff:
    parts = [("launch-small", 10000, 3.0), ("split-2", 300, 0.5), ("outlet-end", 400, 0.3)]
    parts += [("terminator", 100, 0.1), ("connector-6", 90, 0.0), ("connector-11", 190, 0.0)]
    rates = [("riser", 0.1, 0.02), ("corridor", 0.05, 0.01), ("open", 0.04, 0.01), ("slack", 0.0, 0.0)]
    return Tariff(
        id="by-hand",
        currency="USD",
        labour_cents_per_h=6000,
        parts=tuple(PartPrice(part=part, price_cents=cents, labour_h=hours) for part, cents, hours in parts),
        cables=tuple(
            CablePrice(
                cable=cable,
                cents_per_m=100.0 if cable.startswith("11") else 50.0,
                end_cents=200 if cable.startswith("11") else 100,
            )
            for cable in CABLES
        ),
        pulls=tuple(
            PullRate(kind=kind, first_h_per_m=first, further_h_per_m=further)
            for kind, first, further in rates
        ),
        end_h=0.1,
        test_h=0.2,
        terminator="terminator",
        note="Invented.",
    )


@pytest.fixture(scope="session")
def house() -> House:
    building = _building()
    return House(
        building=building, network=_network(building), catalogue=library().catalogue, tariff=_tariff()
    )
