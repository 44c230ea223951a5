"""What the technician measures: one row a reading, with the expected level worked out in the sheet."""

from __future__ import annotations

from service.documents.measures import Measures
from service.documents.table import Column, Formula, Table, Value
from service.engine.works.testsheet import TOLERANCE_DB, Reading

_FILL_IN = ("meter", "serial number", "calibrated until", "tested by", "date")
_HEADS = {
    "launch": "Launch, read first",
    "outlet": "Outlets, ends",
}


def reading_table(readings: tuple[Reading, ...], measures: Measures) -> Table:
    """The sheet: who measures with what, launches, then outlets leg by leg.

    Expected is design + launch measured − launch designed, empty until that launch is filled in. The result
    wants the level within the tolerance of what is expected and inside the limits, and the ratio where one is asked.
    """
    launches = [row for row in readings if row.kind == "launch"]
    others = [row for row in readings if row.kind != "launch"]
    rows: list[tuple[Value, ...]] = [_blank(name) for name in _FILL_IN]
    marks = [(len(rows), "head")]
    rows.append(_blank(_HEADS["launch"]))
    rows += [_row(row, measures, 0) for row in launches]
    upto = len(rows)
    marks.append((upto, "head"))
    rows.append(_blank(_HEADS["outlet"]))
    starts: list[int] = []
    leg = ""
    for row in others:
        if row.leg != leg:
            leg = row.leg
            starts.append(len(rows))
        if row.kind == "worst":
            marks.append((len(rows), "look"))
        rows.append(_row(row, measures, upto))
    return Table(
        id="test",
        title="Test sheet",
        columns=_columns(measures.level_unit),
        rows=tuple(rows),
        marks=tuple(marks),
        starts=tuple(starts),
        note=(
            "Read the launch at its test point first, on the day of the test. "
            f"Expected = design + launch measured − launch designed; ±{TOLERANCE_DB:g} dB. Amber: the worst "
            "outlet of a leg. All carriers at the worst and best outlet of each leg and at its end."
        ),
    )


def _columns(unit: str) -> tuple[Column, ...]:
    return (
        Column(name="point", width=17),
        Column(name="kind", width=10),
        Column(name="leg", width=9),
        Column(name="floor", width=6),
        Column(name="room", width=12),
        Column(name="launch", width=8),
        Column(name="carrier", width=8),
        Column(name="frequency", unit="MHz", kind="number", width=10),
        Column(name="design", unit=unit, kind="exact", width=8),
        Column(name="expected", unit=unit, kind="exact", width=9),
        Column(name="measured", unit=unit, kind="blank", width=9),
        Column(name="lowest", unit=unit, kind="exact", width=8),
        Column(name="highest", unit=unit, kind="exact", width=8),
        Column(name="C/N design", unit="dB", kind="exact", width=8),
        Column(name="C/N or MER, least", unit="dB", kind="exact", width=9),
        Column(name="C/N or MER read", unit="dB", kind="blank", width=9),
        Column(name="result", kind="exact", width=10),
        Column(name="continuity, initials", kind="blank", width=11),
    )


def _blank(text: str) -> tuple[Value, ...]:
    return (text, *(None for _ in range(17)))


def _row(row: Reading, measures: Measures, upto: int) -> tuple[Value, ...]:
    def level(value: float | None) -> Value:
        return None if value is None else measures.level(value)

    judged = row.kind != "launch"
    return (
        row.point,
        row.kind,
        row.leg,
        row.floor,
        row.room,
        row.launch,
        row.carrier,
        row.frequency_mhz,
        measures.level(row.designed_dbmv),
        _expected(upto) if judged else None,
        None,
        level(row.low_dbmv),
        level(row.high_dbmv),
        row.ratio_db,
        row.least_ratio_db,
        None,
        _result() if judged else None,
        None,
    )


def _expected(upto: int) -> Formula:
    """Design, moved by what the launch is off that day; empty until the launch is read."""
    same = f"([point#{upto}]=[launch])*([carrier#{upto}]=[carrier])"
    read = f'SUMPRODUCT({same}*([measured#{upto}]<>""))'
    off = f"SUMPRODUCT({same},[measured#{upto}])-SUMPRODUCT({same},[design#{upto}])"
    return Formula(text=f'IF({read}=0,"",[design]+{off})')


def _result() -> Formula:
    """Pass or fail, or what is still to be read."""
    near = f"ABS([measured]-[expected])<={TOLERANCE_DB:g}"
    above, below = 'OR([lowest]="",[measured]>=[lowest])', 'OR([highest]="",[measured]<=[highest])'
    level = f"AND({near},{above},{below})"
    ratio = "[C/N or MER read]>=[C/N or MER, least]"
    return Formula(
        text=(
            'IF([measured]="","",IF([expected]="","read launch",'
            'IF(AND([C/N or MER, least]<>"",[C/N or MER read]=""),"read C/N",'
            f'IF(AND({level},OR([C/N or MER, least]="",{ratio})),"pass","fail"))))'
        )
    )
