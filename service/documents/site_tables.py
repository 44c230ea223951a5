"""What inspector and crew leader read before work begins: bonding, cautions, ways and pull loads."""

from __future__ import annotations

from service.documents.measures import Measures
from service.documents.table import Column, Formula, Table, Value
from service.engine.works.bonding import LONGEST_BOND_M, Bond, Edition
from service.engine.works.mast import FALL_HEIGHTS, LEAST_FALL_M, PROOF_ABOVE_NM, TUBE_DRAG, wind_pa
from service.engine.works.pathways import PATHWAYS_STAND_ON, PullLoad, WayFill
from service.engine.works.safety import Caution

_N_PER_LBF = 4.4482216152605
_M_PER_FT = 0.3048
_PA_PER_PSF = _N_PER_LBF / _M_PER_FT**2
#: Share of what a bundle bears above which its pull is listed.
_WORTH_A_LINE = 0.1
#: Antennas that the mast's sheet has lines for.
_ANTENNAS = 6


def bonding_table(bonds: tuple[Bond, ...], edition: Edition, measures: Measures) -> Table:
    """What is bonded to what, with the length to be filled in."""
    rows: tuple[tuple[Value, ...], ...] = tuple(
        (bond.what, bond.where, bond.to, bond.conductor, None, bond.article, bond.note, None)
        for bond in bonds
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
        f"A conductor longer than {longest} is a finding."
    )
    return Table(id="bonding", title="Bonding", columns=columns, rows=rows, note=note)


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
    """Every way that several new cables share, and the smallest raceway that holds them."""
    shared = tuple(fill for fill in fills if fill.cables > 1)
    american = measures.paper == "Letter"
    kind = "EMT, trade size" if american else "trunking"
    rows: tuple[tuple[Value, ...], ...] = tuple(
        (
            fill.way,
            fill.start,
            fill.end,
            fill.kind,
            fill.cables,
            fill.cable_mm2 / (25.4**2 if measures.length_unit == "ft" else 1.0),
            fill.least_size or "none is great enough: more than one",
        )
        for fill in shared
    )
    columns = (
        Column(name="way", width=16),
        Column(name="from", width=16),
        Column(name="to", width=16),
        Column(name="kind", width=12),
        Column(name="new cables", kind="whole", width=10),
        Column(name="area of cable", unit=f"{measures.size_unit}²", kind="exact", width=12),
        Column(name=f"smallest {kind}", width=22),
    )
    rule = "53 % one cable, 31 % two, 40 % more" if american else "45 % of trunking"
    alone = len(fills) - len(shared)
    note = (
        f"Where a raceway is used; {alone} ways with one cable are left out. Fill is a design rule for coax, a "
        f"warning and no violation: {rule}."
    )
    return Table(id="ways", title="Raceways", columns=columns, rows=rows, note=note, portrait=True)


def load_table(loads: tuple[PullLoad, ...], measures: Measures) -> Table:
    """The hard pulls: those that a rule speaks about, those above a tenth of what they bear, and the hardest."""
    hardest = max(loads, key=_share, default=None)
    listed = [row for row in loads if row.findings or _share(row) > _WORTH_A_LINE or row is hardest]
    feet = measures.length_unit == "ft"
    force, per = ("lbf", "lb/ft") if feet else ("N", "N/m")
    scale, side = (_N_PER_LBF, _N_PER_LBF / _M_PER_FT) if feet else (1.0, 1.0)
    rows: list[tuple[Value, ...]] = []
    marks: list[tuple[int, str]] = []
    for load in listed:
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
        note=f"{len(loads) - len(listed)} easy pulls are left out. {PATHWAYS_STAND_ON}",
        portrait=True,
    )


def _share(load: PullLoad) -> float:
    return load.tension.greatest_n / load.limit_n if load.limit_n else 0.0


def mast_table(roof_m: float, measures: Measures) -> Table:
    """The mast, filled in on the roof: fall distance first, then moments that the sheet works out.

    `roof_m` is the height of the roof, by which the wind pressure is chosen.
    """
    feet = measures.length_unit == "ft"
    newton, metre = (_N_PER_LBF, _M_PER_FT) if feet else (1.0, 1.0)
    force, moment = ("lbf", "lbf·ft") if feet else ("N", "Nm")
    pressure = wind_pa(roof_m)
    tube = TUBE_DRAG * pressure / 2.0 / (newton * metre) * metre**2 / (1000.0 / (25.4 if feet else 1.0))
    wind = f"{pressure / _PA_PER_PSF:.1f} lb/ft²" if feet else f"{pressure:g} N/m²"
    least, proof = LEAST_FALL_M / metre, PROOF_ABOVE_NM / (newton * metre)
    fall = (
        'IF(OR([height or length]="",[distance]=""),"look before anything is raised",'
        f"IF([distance]<MAX({least:.2f},{FALL_HEIGHTS:g}*[height or length]),"
        '"STOP: call the utility","out of reach as stated: look again on the day"))'
    )
    own = f'IF(OR([tube]="",[height or length]=""),0,[tube]*[height or length]^2*{tube:.6g})'
    antenna = 'IF([wind load]="",0,[wind load]*[height or length])'
    rows: list[tuple[Value, ...]] = [
        ("Fall distance", "whole height with antenna; nearest power line", *_open(), Formula(text=fall))
    ]
    rows += [
        (
            f"Antenna {at}",
            "wind load by its maker; height above the upper clamp",
            *_open(),
            Formula(text=antenna),
        )
        for at in range(1, _ANTENNAS + 1)
    ]
    note = f"outer diameter; length above the upper clamp; {wind}, drag {TUBE_DRAG:g}"
    rows.append(("Tube", note, *_open(), Formula(text=own)))
    above = f"INDEX([height or length#{len(rows)}],{len(rows)})"
    held = (
        'IF([height or length]="","",'
        f'IF([height or length]<({above}+[height or length])/6,"hold more of it",""))'
    )
    total = f"SUM([result#{len(rows)}])"
    proof_text = f'IF({total}>{proof:.1f},"structural proof wanted","")'
    rows += [
        (f"Moment at the upper clamp, {moment}", "antennas and tube", *_open(), Formula(text=total)),
        (f"Above {proof:,.0f} {moment}", "by a qualified person", *_open(), Formula(text=proof_text)),
        ("Held between the clamps", "at least a sixth of the whole mast", *_open(), Formula(text=held)),
    ]
    columns = (
        Column(name="item", width=30),
        Column(name="what to fill in", kind="wide", width=48),
        Column(name="wind load", unit=force, kind="blank", width=11),
        Column(name="height or length", unit=measures.length_unit, kind="blank", width=11),
        Column(name="tube", unit=measures.size_unit, kind="blank", width=9),
        Column(name="distance", unit=measures.length_unit, kind="blank", width=11),
        Column(name="result", kind="exact", width=40),
    )
    note = (
        "EN 60728-11, from second hand: verify with the authority. Fall distance is the first check; no figure "
        "here is a clearance."
    )
    return Table(id="mast", title="Mast", columns=columns, rows=tuple(rows), note=note)


def _open() -> tuple[None, None, None, None]:
    """Cells to be filled in."""
    return (None, None, None, None)
