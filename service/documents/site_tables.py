"""What inspector and crew leader read before work begins: bonding, cautions, raceways and pull loads."""

from __future__ import annotations

from service.documents.measures import Measures
from service.documents.table import Column, Table, Value
from service.engine.works.bonding import LONGEST_BOND_M, Bond, Edition, bond_is_long
from service.engine.works.pathways import PATHWAYS_STAND_ON, PullLoad, WayFill
from service.engine.works.safety import Caution

_N_PER_LBF = 4.4482216152605
_M_PER_FT = 0.3048


def bonding_table(bonds: tuple[Bond, ...], edition: Edition, measures: Measures) -> Table:
    """What is bonded to what, with the length as stated or to be filled in."""
    rows: tuple[tuple[Value, ...], ...] = tuple(
        (
            bond.what,
            bond.where,
            bond.to,
            bond.conductor,
            None if bond.length_m is None else round(measures.length(bond.length_m), 2),
            bond.article,
            bond.note,
            None,
        )
        for bond in bonds
    )
    long = tuple(
        (at, "look")
        for at, bond in enumerate(bonds)
        if bond.length_m is not None and bond_is_long(bond.length_m)
    )
    columns = (
        Column(name="what", width=24),
        Column(name="where", width=18),
        Column(name="to", width=24),
        Column(name="conductor", width=24),
        Column(name="length", unit=measures.length_unit, kind="blank", width=9),
        Column(name="article", width=28),
        Column(name="note", kind="wide", width=42),
        Column(name="done by, date", kind="blank", width=13),
    )
    longest = f"{measures.length(LONGEST_BOND_M):.0f} {measures.length_unit}"
    note = (
        f"{edition.title}. A list for a licensed person and the authority to judge, no permission. "
        f"A conductor longer than {longest} is a finding. Lengths left open are not stated."
    )
    return Table(id="bonding", title="Bonding", columns=columns, rows=rows, marks=long, note=note)


def caution_table(cautions: tuple[Caution, ...]) -> Table:
    """Cautions in the order in which they are to be read, with room to sign."""
    rows: tuple[tuple[Value, ...], ...] = tuple(
        (caution.topic, caution.because, caution.text, caution.decides, None) for caution in cautions
    )
    columns = (
        Column(name="caution", width=22),
        Column(name="because", width=26),
        Column(name="before work begins", kind="wide", width=70),
        Column(name="who decides", width=24),
        Column(name="seen by, date", kind="blank", width=14),
    )
    note = (
        "Local codes, licensed practice and the site's safety plan decide; this list replaces none of them."
    )
    return Table(id="safety", title="Safety", columns=columns, rows=rows, note=note)


def way_table(fills: tuple[WayFill, ...], measures: Measures) -> Table:
    """Every way that several new cables share or whose raceway is stated, and the smallest that holds them."""
    shared = tuple(fill for fill in fills if fill.cables > 1 or fill.stated)
    american = measures.paper == "Letter"
    kind = "EMT, trade size" if american else "trunking"
    rows: tuple[tuple[Value, ...], ...] = tuple(
        (
            fill.way,
            fill.start,
            fill.end,
            fill.kind,
            fill.cables,
            fill.existing,
            fill.cable_mm2 / (25.4**2 if measures.length_unit == "ft" else 1.0),
            fill.least_size or "none is great enough: more than one",
            fill.bends_deg,
            fill.pull_points,
            fill.fill.size if fill.fill else None,
            fill.fill.share if fill.fill else None,
            fill.fill.limit if fill.fill else None,
            _overfull(fill),
        )
        for fill in shared
    )
    marks = tuple(
        (at, "look") for at, fill in enumerate(shared) if fill.fill is not None and not fill.fill.fits
    )
    columns = (
        Column(name="way", width=16),
        Column(name="from", width=16),
        Column(name="to", width=16),
        Column(name="kind", width=12),
        Column(name="new cables", kind="whole", width=7),
        Column(name="old ones that stay", kind="whole", width=8),
        Column(name="area of cable", unit=f"{measures.size_unit}²", kind="exact", width=12),
        Column(name=f"smallest {kind}", width=17),
        Column(name="bends", unit="°", kind="whole", width=7),
        Column(name="pull points", kind="whole", width=7),
        Column(name="raceway stated", kind="blank", width=13),
        Column(name="filled", kind="share", width=8),
        Column(name="rule", kind="share", width=8),
        Column(name="note", kind="wide", width=24),
    )
    rule = "53 % one cable, 31 % two, 40 % more" if american else "45 % of trunking"
    alone = len(fills) - len(shared)
    note = (
        f"Where a raceway is used; {alone} ways with one cable and no stated raceway are left out. Fill is a design "
        f"rule for coax, a warning and no violation: {rule}. A raceway left open is not stated."
    )
    return Table(id="ways", title="Raceways", columns=columns, rows=rows, marks=marks, note=note)


def _overfull(fill: WayFill) -> str:
    if fill.fill is None or fill.fill.fits:
        return ""
    return f"next size that fits: {fill.fill.next_size or 'none listed'}"


def load_table(loads: tuple[PullLoad, ...], measures: Measures) -> Table:
    """Every pull, as hard as it gets between two pull points, beside what its cables bear."""
    feet = measures.length_unit == "ft"
    force, per = ("lbf", "lb/ft") if feet else ("N", "N/m")
    scale, side = (_N_PER_LBF, _N_PER_LBF / _M_PER_FT) if feet else (1.0, 1.0)
    rows: list[tuple[Value, ...]] = []
    marks: list[tuple[int, str]] = []
    for load in loads:
        if any(found.severity == "warns" for found in load.findings):
            marks.append((len(rows), "look"))
        rows.append(
            (
                load.pull,
                load.cables,
                measures.length(load.way_m),
                load.tension.bends_deg,
                load.tension.greatest_n / scale,
                load.limit_n / scale,
                load.tension.sidewall_n_per_m / side,
                " ".join(found.text for found in load.findings),
            )
        )
    columns = (
        Column(name="pull", width=8),
        Column(name="cables", kind="whole"),
        Column(name="furthest way", unit=measures.length_unit, kind="number"),
        Column(name="bends", unit="°", kind="whole"),
        Column(name="tension", unit=force, kind="number"),
        Column(name="bundle bears", unit=force, kind="number"),
        Column(name="at bends", unit=per, kind="number"),
        Column(name="note", kind="wide", width=46),
    )
    return Table(
        id="pull-loads",
        title="Pull loads",
        columns=columns,
        rows=tuple(rows),
        marks=tuple(marks),
        note=PATHWAYS_STAND_ON,
        portrait=True,
    )
