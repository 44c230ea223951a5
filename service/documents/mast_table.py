"""The mast's sheet: fall distance first, then what bends and holds it, as stated or to be filled in."""

from __future__ import annotations

from service.documents.measures import Measures
from service.documents.table import Column, Formula, Table, Value
from service.engine.building.mast import Mast, MountedAntenna
from service.engine.works.mast import (
    FALL_HEIGHTS,
    LEAST_CLAMPED,
    LEAST_FALL_M,
    PROOF_ABOVE_NM,
    TUBE_DRAG,
    antenna_moment_nm,
    fall_distance_m,
    mast_moment_nm,
    tube_moment_nm,
    unknown_of,
    wind_pa,
)

_N_PER_LBF = 4.4482216152605
_M_PER_FT = 0.3048
_PA_PER_PSF = _N_PER_LBF / _M_PER_FT**2
#: Antennas that the sheet has lines for at least.
_ANTENNAS = 6
_LOOK = "look before anything is raised"
_STOP = "STOP: call the utility"
_OUT = "out of reach as stated: look again on the day"
_NOTE = (
    "EN 60728-11, from second hand: verify with the authority. Fall distance is the first check; no figure here is a "
    "clearance."
)
_Row = tuple[Value, ...]


def mast_table(mast: Mast | None, roof_m: float, measures: Measures) -> Table:
    """The sheet of a mast, with what was stated filled in; `roof_m` picks the wind pressure where there is no mast.

    Where the mast can fall onto a line, as stated, nothing else is worked out.
    """
    sheet = _Sheet(mast, wind_pa(roof_m) if mast is None else _wind(mast), measures)
    feet = measures.length_unit == "ft"
    columns = (
        Column(name="item", width=30),
        Column(name="what to fill in", kind="wide", width=48),
        Column(name="wind load", unit="lbf" if feet else "N", kind="blank", width=11),
        Column(name="height or length", unit=measures.length_unit, kind="blank", width=11),
        Column(name="tube", unit=measures.size_unit, kind="blank", width=9),
        Column(name="distance", unit=measures.length_unit, kind="blank", width=11),
        Column(name="result", kind="exact", width=40),
    )
    stopped = sheet.stopped
    rows = [sheet.fall()] if stopped else [sheet.fall(), *sheet.antennas(), sheet.tube()]
    if not stopped:
        rows += sheet.sums(len(rows))
    unknown = "" if mast is None or stopped else ", ".join(unknown_of(mast))
    note = f"Not stated: {unknown}. {_NOTE}" if unknown else _NOTE
    marks = ((0, "bad"),) if stopped else ()
    return Table(id="mast", title="Mast", columns=columns, rows=tuple(rows), marks=marks, note=note)


def _wind(mast: Mast) -> float:
    return wind_pa(mast.above_ground_m, exposed=mast.exposed)


class _Sheet:
    """A mast, perhaps unknown, in the units of its building."""

    def __init__(self, mast: Mast | None, pressure_pa: float, measures: Measures) -> None:
        self.mast, self.pressure_pa, self.measures = mast, pressure_pa, measures
        feet = measures.length_unit == "ft"
        self.newton, self.metre = (_N_PER_LBF, _M_PER_FT) if feet else (1.0, 1.0)
        self.feet, self.moment = feet, "lbf·ft" if feet else "Nm"

    @property
    def stopped(self) -> bool:
        """True where the mast, falling, reaches a power line as stated."""
        line = None if self.mast is None else self.mast.line_m
        return self.mast is not None and line is not None and line < fall_distance_m(self.mast.height_m)

    def length(self, length_m: float | None) -> float | None:
        """A length in the building's unit."""
        return None if length_m is None else round(self.measures.length(length_m), 2)

    def nm(self, moment_nm: float) -> float:
        """A moment in the sheet's unit."""
        return moment_nm / (self.newton * self.metre)

    def fall(self) -> _Row:
        """The first check."""
        least = LEAST_FALL_M / self.metre
        text = (
            f'IF(OR([height or length]="",[distance]=""),"{_LOOK}",'
            f"IF([distance]<MAX({least:.2f},{FALL_HEIGHTS:g}*[height or length]),"
            f'"{_STOP}","{_OUT}"))'
        )
        mast = self.mast
        height = None if mast is None else self.length(mast.height_m)
        line = None if mast is None else self.length(mast.line_m)
        shown = None if mast is None else _STOP if self.stopped else _LOOK if mast.line_m is None else _OUT
        what = "whole height with antenna; nearest power line"
        return ("Fall distance", what, None, height, None, line, Formula(text=text, shown=shown))

    def antennas(self) -> list[_Row]:
        """A line an antenna, and open ones."""
        stated = () if self.mast is None else self.mast.antennas
        rows = [self.antenna(row.name, row) for row in stated]
        return rows + [self.antenna(f"Antenna {at}", None) for at in range(len(stated) + 1, _ANTENNAS + 1)]

    def antenna(self, name: str, row: MountedAntenna | None) -> _Row:
        """One antenna's moment."""
        text = 'IF([wind load]="",0,[wind load]*[height or length])'
        what = "wind load by its maker; height above the upper clamp"
        if row is None:
            return (name, what, None, None, None, None, Formula(text=text))
        wind = None if row.wind_n is None else round(row.wind_n / self.newton, 2)
        shown = self.nm(antenna_moment_nm([row]))
        return (name, what, wind, self.length(row.height_m), None, None, Formula(text=text, shown=shown))

    def tube(self) -> _Row:
        """The tube's own moment."""
        side = 1000.0 / (25.4 if self.feet else 1.0)
        factor = TUBE_DRAG * self.pressure_pa / 2.0 / (self.newton * self.metre) * self.metre**2 / side
        text = f'IF(OR([tube]="",[height or length]=""),0,[tube]*[height or length]^2*{factor:.6g})'
        wind = f"{self.pressure_pa / _PA_PER_PSF:.1f} lb/ft²" if self.feet else f"{self.pressure_pa:g} N/m²"
        what = f"outer diameter; length above the upper clamp; {wind}, drag {TUBE_DRAG:g}"
        mast = self.mast
        if mast is None:
            return ("Tube", what, None, None, None, None, Formula(text=text))
        wide = None if mast.tube_mm is None else round(self.measures.size(mast.tube_mm), 3)
        own = tube_moment_nm(mast.tube_mm or 0.0, mast.free_m, self.pressure_pa)
        shown = self.nm(own)
        return ("Tube", what, None, self.length(mast.free_m), wide, None, Formula(text=text, shown=shown))

    def sums(self, above: int) -> list[_Row]:
        """Moment, proof and hold, from the `above` rows."""
        mast, proof = self.mast, self.nm(PROOF_ABOVE_NM)
        free = f"INDEX([height or length#{above}],{above})"
        held = (
            'IF([height or length]="","",'
            f'IF([height or length]<({free}+[height or length])/6,"hold more of it",""))'
        )
        total = f"SUM([result#{above}])"
        wanted = f'IF({total}>{proof:.1f},"structural proof wanted","")'
        moment_nm = None if mast is None else mast_moment_nm(mast)
        shown = None if moment_nm is None else self.nm(moment_nm)
        over = "structural proof wanted" if moment_nm is not None and moment_nm > PROOF_ABOVE_NM else None
        clamped = None if mast is None else mast.clamped_m
        short = (
            mast is not None
            and clamped is not None
            and clamped < LEAST_CLAMPED * (mast.free_m + clamped) - 1e-9
        )
        hold = Formula(text=held, shown="hold more of it" if short else None)
        empty = (None, None, None, None)
        return [
            (
                f"Moment at the upper clamp, {self.moment}",
                "antennas and tube",
                *empty,
                Formula(text=total, shown=shown),
            ),
            (
                f"Above {proof:,.0f} {self.moment}",
                "by a qualified person",
                *empty,
                Formula(text=wanted, shown=over),
            ),
            (
                "Held between the clamps",
                "at least a sixth of the whole mast",
                None,
                self.length(clamped),
                None,
                None,
                hold,
            ),
        ]
