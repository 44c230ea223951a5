"""Bonding: what is to be bonded to what, by which conductor, at which article of which code.

A schedule for a licensed person and the authority to judge. Articles are from memory, sizes from second hand;
every row says so, and no row is a permission. Sources: NEC 250.94, 800.100 (820.100 before 2020), 810.20 and 810.21;
EN 60728-11; Real Decreto 346/2011.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from service.engine.building.places import BondLength, BondWhat, Building
from service.engine.findings import Finding
from service.engine.works.runs import region_of

ASK = "verify with the authority"
#: Length to stay below: written for one- and two-family dwellings, aimed at everywhere. 20 ft.
LONGEST_BOND_M = 6.096
#: American wire gauges, copper: the least and the greatest that a shield's conductor need be, a mast's, and
#: the one that joins a separate electrode. Mast conductors of copper-clad steel may be thinner.
SHIELD_AWG, SHIELD_ENOUGH_AWG, MAST_AWG, MAST_CLAD_AWG, JOIN_AWG = 14, 6, 10, 17, 6
#: mm² of copper: mast and shield by EN 60728-11, mast in Spain. Aluminium and steel instead of mast copper.
MAST_MM2, MAST_ALUMINIUM_MM2, MAST_STEEL_MM2, SHIELD_MM2, MAST_SPAIN_MM2 = 16.0, 25.0, 50.0, 4.0, 25.0
#: First edition in which the communication articles were merged into 800.
_MERGED = 2020
_LONG_BLOCKS_M = 100.0
_MOST_NAMED = 4
_OUTSIDE = frozenset({"outdoor", "buried"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Bond:
    """One bond: what, where, to what, by which conductor, by which article, and what to mind.

    `length_m` is the conductor's as stated, None where nobody said; `kind` and `at` are what a statement names it by.
    """

    what: str
    where: str
    to: str
    conductor: str
    article: str
    note: str
    kind: BondWhat | None = None
    at: str = ""
    length_m: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Edition:
    """The code set of a building: region, year of the edition (0 where unsaid), and how it is written."""

    american: bool
    year: int
    spain: bool

    @classmethod
    def of(cls, building: Building) -> Edition:
        """Read from the building's code set, for example us-2023, eu, eu-spain."""
        words = building.rules.codes.split("-")
        year = next((int(word) for word in words if word.isdigit()), 0)
        spain = "spain" in words or building.rules.limits == "spain"
        return cls(american=region_of(building) == "us", year=year, spain=spain)

    @property
    def title(self) -> str:
        """The code and its edition, as printed."""
        if self.american:
            return f"NEC {self.year}" if self.year else "NEC, edition not stated"
        return "EN 60728-11 with Real Decreto 346/2011" if self.spain else "EN 60728-11"

    def article(self, merged: str, before: str = "") -> str:
        """An article as printed: the older number where the edition is older, always with the reservation."""
        number = before if before and 0 < self.year < _MERGED else merged
        return f"{self.title}, {number} (from memory): {ASK}" if number else f"{self.title}: {ASK}"


def shield_conductor_awg(sheath_awg: int) -> int:
    """Gauge of the conductor that bonds a shield: no thinner than 14, carrying what the shield carries, and no
    thicker than 6 need be. `sheath_awg` is the gauge of copper with the ampacity of the shield.

    >>> [shield_conductor_awg(gauge) for gauge in (20, 14, 10, 4)]
    [14, 14, 10, 6]
    """
    return max(SHIELD_ENOUGH_AWG, min(SHIELD_AWG, sheath_awg))


def mast_conductor_mm2(*, spain: bool = False) -> float:
    """Least copper section of a mast's conductor in Europe, and in Spain."""
    return MAST_SPAIN_MM2 if spain else MAST_MM2


def bonds_of(building: Building) -> tuple[Bond, ...]:
    """The bonding schedule of a building: mast and discharge unit, shields at every entrance, electrodes.

    Rows for a mast stand where the feed comes off the air. Each block is a building of its own. Stated lengths stand
    in their rows; those that fit none have rows of their own at the end.
    """
    edition = Edition.of(building)
    blocks = entrances(building)
    off_air = building.feed.kind == "off-air"
    made = _american if edition.american else _european
    rows = made(building, edition, blocks, off_air)
    if building.lightning_system:
        rows.append(
            Bond(
                what="everything on the roof",
                where="roof",
                to="as the lightning protection specialist decides",
                conductor="as the specialist decides",
                article=f"{edition.title} and the lightning protection standard: {ASK}",
                note="Separation distance and protected volume first. Earthing a mast is no lightning "
                "protection. Bond nothing to the lightning system without the specialist.",
            )
        )
    return _measured(edition, rows, building.bonds)


def _measured(edition: Edition, rows: list[Bond], stated: tuple[BondLength, ...]) -> tuple[Bond, ...]:
    """The rows with the lengths that somebody stated; one without a place counts for every row of its kind."""
    found: list[Bond] = []
    used: set[BondLength] = set()
    for row in rows:
        mine = [bond for bond in stated if bond.what == row.kind and bond.at in ("", row.at)]
        used |= set(mine)
        length_m = max((bond.length_m for bond in mine), default=None)
        found.append(replace(row, length_m=length_m))
    for bond in stated:
        if bond not in used:
            found.append(
                Bond(
                    what=f"{bond.what}, as stated",
                    where=bond.at or "not stated",
                    to="as a licensed person decides",
                    conductor="as a licensed person decides",
                    article=edition.article(""),
                    note="The schedule has no such row: find out what it is.",
                    length_m=bond.length_m,
                )
            )
    return tuple(found)


def bond_findings(bonds: tuple[Bond, ...]) -> tuple[Finding, ...]:
    """A warning for every conductor whose stated length is long."""
    found = [
        length_finding(f"{row.what}, {row.where}", row.length_m) for row in bonds if row.length_m is not None
    ]
    return tuple(row for row in found if row is not None)


def entrances(building: Building) -> tuple[str, ...]:
    """Every building that cables enter, by name: the blocks, the places where ways from outside end, or the one.

    Without blocks, a way outdoors or in the ground enters a building at the head-end and at every place from
    which a way leads on indoors: houses of a row have no blocks, and each is a building of its own.
    """
    blocks = {place.block for place in building.places if place.block}
    if blocks:
        return tuple(sorted(blocks))
    outside = [way for way in building.ways if _OUTSIDE & set(way.spaces)]
    indoors = {end for way in building.ways if way not in outside for end in (way.start, way.end)}
    indoors.add(building.headend)
    met = {end for way in outside for end in (way.start, way.end)} & indoors
    return tuple(sorted(met)) or (building.name or building.id,)


def _american(building: Building, edition: Edition, blocks: tuple[str, ...], off_air: bool) -> list[Bond]:
    straight = (
        "Straight, short, no loops, one conductor without a splice; aim at 20 ft (6 m) or less everywhere."
    )
    rows: list[Bond] = []
    if off_air:
        mast = f"at least {MAST_AWG} AWG copper or {MAST_CLAD_AWG} AWG copper-clad steel"
        for what, number in (("mast", "810.21"), ("antenna discharge unit", "810.20 and 810.21")):
            rows.append(
                Bond(
                    what=what,
                    where="roof" if what == "mast" else "where the lead-in enters",
                    to="intersystem bonding termination",
                    conductor=mast,
                    article=edition.article(number),
                    note=straight,
                    kind="mast" if what == "mast" else "discharge-unit",
                )
            )
    for block in blocks:
        rows.append(
            Bond(
                what="shield of every coax that enters, on a bonded block",
                where=f"entrance of {block}",
                to="intersystem bonding termination of that building",
                conductor=f"at least {SHIELD_AWG} AWG copper, carrying what the shield carries; "
                f"need not exceed {SHIELD_ENOUGH_AWG} AWG",
                article=edition.article("800.100 and 250.94", "820.100 and 250.94"),
                note=straight,
                kind="entrance",
                at=block,
            )
        )
    rows += _bars(building, edition, "intersystem bonding termination of the building")
    rows.append(
        Bond(
            what="a separate electrode, where there is one",
            where="at the electrode",
            to="the building's grounding electrode system",
            conductor=f"at least {JOIN_AWG} AWG copper",
            article=edition.article("800.100(D) and 810.21(J)", "820.100(D) and 810.21(J)"),
            note="It must be joined: never leave an electrode of its own.",
        )
    )
    return [*rows, *_services(edition, blocks)]


def _european(building: Building, edition: Edition, blocks: tuple[str, ...], off_air: bool) -> list[Bond]:
    rows: list[Bond] = []
    if off_air:
        copper = mast_conductor_mm2(spain=edition.spain)
        others = f", or {MAST_ALUMINIUM_MM2:g} mm² aluminium, {MAST_STEEL_MM2:g} mm² steel"
        rows.append(
            Bond(
                what="mast",
                where="roof",
                to="main earthing terminal of the building",
                conductor=f"at least {copper:g} mm² copper{'' if edition.spain else others}",
                article=edition.article(""),
                note="Straight and short, along the outside where it can be.",
                kind="mast",
            )
        )
    for block in blocks:
        rows.append(
            Bond(
                what="screens of every coax that enters, on a bonding bar",
                where=f"entrance of {block}",
                to="equipotential bonding bar of that building",
                conductor=f"at least {SHIELD_MM2:g} mm² copper",
                article=edition.article(""),
                note="Bridge the screens before a cable is parted or a device taken out. Aim at 6 m (20 ft) or less.",
                kind="entrance",
                at=block,
            )
        )
    rows += _bars(building, edition, "equipotential bonding bar of the building")
    rows.append(
        Bond(
            what="a separate electrode, where there is one",
            where="at the electrode",
            to="the building's earthing system",
            conductor="as the national rules have it",
            article=edition.article(""),
            note="It must be joined: never leave an electrode of its own.",
        )
    )
    return [*rows, *_services(edition, blocks)]


def _bars(building: Building, edition: Edition, to: str) -> list[Bond]:
    """The ground bars that shields and device housings of closets and head-end go to. Common practice."""
    closets = [place.id for place in building.places if place.kind == "closet"]
    if not closets:
        return []
    named = ", ".join(closets[:_MOST_NAMED]) + (" …" if len(closets) > _MOST_NAMED else "")
    least = f"{SHIELD_AWG} AWG" if edition.american else f"{SHIELD_MM2:g} mm²"
    return [
        Bond(
            what="ground bar of the head-end and of each closet: housings of devices and shields on it",
            where=f"{building.headend}; {len(closets)} closets: {named}",
            to=to,
            conductor=f"as a licensed person decides; no thinner than a shield's, {least} copper",
            article=f"common practice, no article; {edition.article('')}",
            note="One bar after the other up the riser, or each for itself: as the authority has it. Bridge the "
            "shields before a device is taken out.",
        )
    ]


def _services(edition: Edition, blocks: tuple[str, ...]) -> list[Bond]:
    """Several blocks: shields between electrical services carry what their earths differ by."""
    if len(blocks) < 2:
        return []
    return [
        Bond(
            what="shields between blocks with electrical services of their own",
            where=", ".join(blocks),
            to="as a licensed electrician decides",
            conductor="as a licensed electrician decides",
            article=edition.article("250.94 and 800.100" if edition.american else ""),
            note="A shield carries what the earths differ by: measure first. Beyond "
            f"{_LONG_BLOCKS_M:g} to 150 m fibre or a second antenna is the sane answer.",
        )
    ]


def bond_is_long(length_m: float) -> bool:
    """True for a bonding conductor longer than 20 ft."""
    return length_m > LONGEST_BOND_M + 1e-9


def length_finding(where: str, length_m: float) -> Finding | None:
    """A warning for a bonding conductor longer than 20 ft; None for a shorter one, which says nothing more."""
    if not bond_is_long(length_m):
        return None
    return Finding(
        rule="bond-length",
        severity="warns",
        where=(where,),
        measured=round(length_m, 4),
        limit=LONGEST_BOND_M,
        unit="m",
        source=f"NEC 800.100(A)(4), written for one- and two-family dwellings, from memory: {ASK}",
        text="The bonding conductor is long: a separate electrode, joined to the building's, may be wanted.",
    )
