"""Safety: the cautions that a building's data switch on, and those that always stand.

Common practice, from memory. They remind people who know the work; local codes, licensed practice and the safety
plan of the site decide. What the document doesn't say counts as the worse case.
"""

from __future__ import annotations

from dataclasses import dataclass

from service.engine.building.places import Building
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Network
from service.engine.plant.permits import FORBIDDEN_SPACES
from service.engine.works.bonding import entrances
from service.engine.works.runs import region_of

#: Building years up to which old plaster is suspect: asbestos in the United States and in Europe, lead paint.
ASBESTOS_BEFORE = {"us": 1981, "europe": 2006}
LEAD_BEFORE = {"us": 1978, "europe": 1993}


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One caution: its topic, what switched it on, what to do before work begins, and who decides."""

    topic: str
    because: str
    text: str
    decides: str


def cautions_of(building: Building, network: Network, catalogue: Catalogue) -> tuple[Caution, ...]:
    """Every caution of a building, power lines first; the standing ones at the end."""
    return (
        *_roof(building),
        *_radio(building),
        *_lightning(building),
        *_shields(building),
        *_old_walls(building),
        *_holes(building),
        *_places(building),
        *_people(building),
        *_wires(building),
        *_power(network, catalogue),
        *_STANDING,
    )


def _roof(building: Building) -> list[Caution]:
    if building.feed.kind != "off-air":
        return []
    return [
        Caution(
            topic="power lines",
            because="antennas are raised",
            text="First of all: the mast with its antenna, falling, must reach no line. Keep 1.5 times its "
            "height, never less than 3 m (10 ft). Inside that: stop, and call the utility.",
            decides="the utility",
        ),
        Caution(
            topic="work on the roof",
            because="antennas are raised",
            text="Fall protection, two persons at least, no work in wind, rain, ice or thunder, nobody alone.",
            decides="the site's safety plan",
        ),
    ]


def _radio(building: Building) -> list[Caution]:
    """Mobile antennas on the roof, also those that nobody looked for where people go up."""
    raised = building.feed.kind == "off-air"
    if building.roof_transmitters is False or (building.roof_transmitters is None and not raised):
        return []
    known = building.roof_transmitters is True
    because = (
        "mobile antennas on the roof" if known else "not stated whether mobile antennas stand on the roof"
    )
    return [
        Caution(
            topic="radio waves on the roof",
            because=because,
            text="Mobile antennas may transmit: read the signs, ask the site's owner, keep away or have them "
            "switched off before work in front of them.",
            decides="the operator of the antennas",
        )
    ]


def _lightning(building: Building) -> list[Caution]:
    raised = building.feed.kind == "off-air"
    if building.lightning_system is False or (building.lightning_system is None and not raised):
        return []
    known = building.lightning_system is True
    return [
        Caution(
            topic="lightning protection",
            because="the building has a lightning protection system"
            if known
            else "not stated whether the building has a lightning protection system",
            text="A specialist decides on separation distance and protected volume. Earthing a mast is no "
            "lightning protection.",
            decides="a lightning protection specialist",
        )
    ]


def _shields(building: Building) -> list[Caution]:
    old = any(way.existing is not None for way in building.ways)
    several = len(entrances(building)) > 1
    if not old and not several and building.new_build:
        return []
    because = "existing coax" if old else "several buildings" if several else "work in an existing building"
    return [
        Caution(
            topic="voltage between shields",
            because=because,
            text="Parted shields may carry a dangerous voltage. Measure, and bridge before parting a riser.",
            decides="a licensed electrician",
        )
    ]


def _old_walls(building: Building) -> list[Caution]:
    if building.new_build:
        return []
    region, year = region_of(building), building.year_built
    rows: list[Caution] = []
    for topic, before in (("asbestos", ASBESTOS_BEFORE[region]), ("lead paint", LEAD_BEFORE[region])):
        if year is None or year < before:
            built = "year of building not stated" if year is None else f"built {year}"
            rows.append(
                Caution(
                    topic=topic,
                    because=built,
                    text="Have old plaster, boards, sealants and paint examined before anything is drilled, "
                    "cut or scraped.",
                    decides="a licensed surveyor",
                )
            )
    return rows


def _holes(building: Building) -> list[Caution]:
    slab, holes = building.slab.casefold(), sum(way.firestops for way in building.ways)
    rows: list[Caution] = []
    if "post" in slab and "tension" in slab:
        because, text = (
            f"slab: {building.slab}",
            "Scan and mark tendons before any core or anchor; none is cut.",
        )
        rows.append(
            Caution(topic="tendons in slabs", because=because, text=text, decides="a structural engineer")
        )
    elif not slab and (holes or not building.new_build):
        text = "Find out before coring: a post-tensioned slab is scanned first."
        rows.append(
            Caution(
                topic="tendons in slabs",
                because="slab type not stated",
                text=text,
                decides="a structural engineer",
            )
        )
    if holes or not building.new_build:
        because = f"{holes} rated walls and slabs on the ways" if holes else "walls are drilled"
        text = "Drilling masonry and concrete: water or suction at the tool, and masks, against silica dust."
        rows.append(
            Caution(topic="silica dust", because=because, text=text, decides="the site's safety plan")
        )
    if holes:
        text = "Every hole through a rated wall or slab is sealed by a listed system on the day it is made."
        because = f"{holes} rated walls and slabs on the ways"
        rows.append(Caution(topic="firestops", because=because, text=text, decides="the authority"))
    return rows


def _places(building: Building) -> list[Caution]:
    spaces = {space for way in building.ways for space in way.spaces}
    rows: list[Caution] = []
    if "attic" in spaces:
        text = "Heat: early hours, water, breaks, a second person; step on joists only."
        rows.append(
            Caution(
                topic="heat in attics", because="ways through an attic", text=text, decides="the crew leader"
            )
        )
    if "buried" in spaces:
        text = "Have buried services located and marked before digging."
        rows.append(
            Caution(
                topic="digging", because="buried ways", text=text, decides="the utilities' locating service"
            )
        )
    crossed = sorted(spaces & set(FORBIDDEN_SPACES))
    if crossed:
        text = "No way may go there: find another before anything is pulled."
        rows.append(
            Caution(
                topic="forbidden spaces",
                because=f"ways through {', '.join(crossed)}",
                text=text,
                decides="the authority",
            )
        )
    return rows


def _people(building: Building) -> list[Caution]:
    occupied = sum(1 for unit in building.units if unit.occupied)
    if not occupied:
        return []
    text = (
        f"Notice {building.rates.notice_days} days ahead and appointment, two workers or a witness, dust and "
        "furniture covered, children and pets away, keys signed for; the service stays on until cut-over."
    )
    return [
        Caution(
            topic="people at home",
            because=f"{occupied} occupied flats",
            text=text,
            decides="owner and residents",
        )
    ]


def _wires(building: Building) -> list[Caution]:
    """Wires in a building that stands already belong to somebody."""
    if building.new_build:
        return []
    text = (
        "Wires and boxes of a provider belong to the provider: not cut, moved, fed or taken out. Find their owner "
        "before an old cable is parted."
    )
    return [
        Caution(
            topic="wires of others",
            because="an existing building",
            text=text,
            decides="the owner of the wires",
        )
    ]


def _power(network: Network, catalogue: Catalogue) -> list[Caution]:
    parts = [catalogue.part(device.part) for device in network.devices]
    supplied = [part for part in parts if part.power.supply != "none" or part.power.injects_v]
    if not supplied:
        return []
    text = (
        "Powered coax runs between closets only, labelled, blocked for DC at every flat's port; a volt at an "
        "outlet is an error. No power supply's cord goes above a ceiling."
    )
    return [
        Caution(
            topic="power on coax",
            because=f"{len(supplied)} devices with a supply",
            text=text,
            decides="an electrician",
        )
    ]


_STANDING = (
    Caution(
        topic="ways",
        because="always",
        text="No cable in exit stairs, hoistways, refuse chutes or air ducts.",
        decides="the authority",
    ),
    Caution(
        topic="working alone",
        because="always",
        text="Nobody works alone on roofs, in shafts, in attics or on live parts.",
        decides="the site's safety plan",
    ),
    Caution(
        topic="entry of cables",
        because="always",
        text="A drip loop before each entrance, the hole sloping outwards and sealed, connectors outdoors "
        "weatherproofed, cables held by their jackets without crushing.",
        decides="the crew leader",
    ),
)
