"""Compile every kernel before the first real design, for composition roots."""

from __future__ import annotations

from service.engine.building.places import Building, Floor, Outlet, Place, Rules, Unit, Way
from service.engine.design import design
from service.engine.placement import warm as free_placement
from service.engine.plant.cables import Cable
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.parts import Active, Part, PortGroup, Power, Rating, SettingRange
from service.engine.plant.tariff import CablePrice, PartPrice, PullRate, Tariff
from service.engine.signal.curves import flat
from service.engine.signal.limits import Limits, ServiceLimit
from service.engine.signal.spectrum import Carrier, Feed, FeedCarrier, Service


def _catalogue() -> Catalogue:
    """One part of each kind, losses flat."""
    out = PortGroup(name="out", count=2, gain_db=flat(-4.0))
    through = PortGroup(name="through", count=1, gain_db=flat(-2.0))
    taps = PortGroup(name="tap", count=2, gain_db=flat(-12.0))
    user = PortGroup(name="user", count=1, gain_db=flat(0.0), ends_in="user")
    lift = PortGroup(name="out", count=1, gain_db=flat(30.0))
    active = Active(
        noise_figure_db=flat(6.0),
        ratings=(Rating(basis="total power", output_dbmv=60.0, ratio_db=60.0),),
        gain_db=SettingRange(low=10.0, high=30.0, step=1.0),
        slope_low_mhz=54.0,
        slope_high_mhz=1002.0,
    )
    cable = Cable(
        id="cable",
        series="6",
        name="cable",
        jacket="CATVR",
        loss_db_per_100m=flat(10.0),
        loop_resistance_ohm_per_km=100.0,
        outer_diameter_mm=7.0,
        mass_kg_per_km=40.0,
        pull_limit_n=100.0,
        bend_installed_mm=70.0,
        bend_pulling_mm=140.0,
        screening_class="A",
        connector="end",
        put_ups_m=(100.0,),
    )
    parts = (
        Part(id="even", family="", name="even", groups=(out,)),
        Part(id="tap", family="", name="tap", groups=(through, taps)),
        Part(id="plate", family="", name="plate", groups=(user,)),
        Part(id="lift", family="", name="lift", groups=(lift,), active=active, power=Power(supply="mains")),
        Part(id="end", family="", name="end", groups=()),
    )
    return Catalogue(parts=parts, cables=(cable,))


def _tariff() -> Tariff:
    parts = ("even", "tap", "plate", "lift", "end")
    return Tariff(
        id="warm",
        currency="USD",
        labour_cents_per_h=100,
        parts=tuple(PartPrice(part=part, price_cents=100, labour_h=0.0) for part in parts),
        cables=(CablePrice(cable="cable", cents_per_m=10.0, end_cents=10),),
        pulls=tuple(
            PullRate(kind=kind, first_h_per_m=0.0, further_h_per_m=0.0) for kind in ("riser", "slack")
        ),
        end_h=0.0,
        test_h=0.0,
        terminator="end",
    )


def _building() -> Building:
    """Three closets under a head-end without power and a feed too weak for them: an amplifier must be found."""
    closets = ("C3", "C2", "C1")
    places = [Place(id="HE", kind="headend", floor="1")]
    places += [Place(id=name, kind="closet", floor="1", mains=name == "C3") for name in closets]
    ways = []
    outlets = []
    above = "HE"
    for name in closets:
        ways.append(_way(above, name))
        for number in (1, 2):
            outlet = f"{name}-{number}"
            places.append(Place(id=outlet, kind="outlet", floor="1", unit=name))
            ways.append(_way(name, outlet))
            outlets.append(Outlet(id=outlet, unit=name, user=name))
        above = name
    carrier = Carrier(id="14", frequency_mhz=473.0, low_mhz=470.0, high_mhz=476.0, service="warm")
    return Building(
        id="warm",
        name="warm",
        headend="HE",
        floors=(Floor(label="1", order=0, elevation_m=0.0),),
        places=tuple(places),
        ways=tuple(ways),
        units=tuple(Unit(id=name, floor="1", user=name, feed="home-run") for name in closets),
        outlets=tuple(outlets),
        feed=Feed(id="FEED", carriers=(FeedCarrier(carrier=carrier, level_dbmv=10.0),)),
        rules=Rules(limits="warm", plan="warm", codes="us"),
        tariff="warm",
    )


def _way(start: str, end: str) -> Way:
    return Way(
        id=end,
        start=start,
        end=end,
        length_m=3.0,
        pulled_m=3.0,
        kind="riser",
        spaces=("riser",),
        survey="walked",
    )


def warm_up() -> None:
    """Design a building of six outlets and solve a free task, so that every kernel is compiled."""
    limit = ServiceLimit(service="warm", low_dbmv=-10.0, high_dbmv=15.0, source="none")
    limits = Limits(
        id="warm",
        name="warm",
        region="us",
        services=(limit,),
        passband_low_mhz=54.0,
        passband_high_mhz=1002.0,
        source="none",
    )
    service = Service(
        id="warm",
        name="warm",
        modulation="digital",
        band="terrestrial",
        noise_bandwidth_mhz=6.0,
        source="none",
    )
    design(_building(), _catalogue(), _tariff(), limits, {"warm": service})
    free_placement.warm_up()
