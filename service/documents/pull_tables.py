"""What the crew works from: order of work, pull schedule, labels and routes, seals, and reels."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby

from service.documents.measures import Measures
from service.documents.mounting_table import key_to
from service.documents.table import Column, Table, Value
from service.engine.building.places import Building, Place
from service.engine.works.pulls import Firestop, Pull, PulledCable
from service.engine.works.reels import ReelPlan, reel_of_run
from service.engine.works.runs import CableRun

_MOST_NAMED = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Works:
    """What the tables of this module are made from."""

    building: Building
    runs: tuple[CableRun, ...]
    pulls: tuple[Pull, ...]
    firestops: tuple[Firestop, ...]
    reels: tuple[ReelPlan, ...]


def pull_tables(works: Works, measures: Measures) -> tuple[Table, ...]:
    """Order of work, pull schedule, labels, sleeves and firestops, reels; none of them without a row."""
    tables = (
        work_order_table(works, measures),
        pull_table(works, measures),
        run_table(works, measures),
        firestop_table(works, measures),
        reel_table(works, measures),
    )
    return tuple(table for table in tables if table.rows)


def work_order_table(works: Works, measures: Measures) -> Table:
    """One row a place where the boxes stand: how many cables go from there, and how long it takes."""
    rows: list[tuple[Value, ...]] = []
    for (phase, place, _), group in groupby(works.pulls, key=_station):
        pulls = tuple(group)
        numbers = f"{pulls[0].name} to {pulls[-1].name}" if len(pulls) > 1 else pulls[0].name
        jackets = sorted({cable.run.jacket for pull in pulls for cable in pull.cables})
        rows.append(
            (
                phase,
                pulls[0].zone,
                place,
                numbers,
                len(pulls),
                sum(len(pull.cables) for pull in pulls),
                max(len(pull.cables) for pull in pulls),
                ", ".join(jackets),
                measures.length(sum(pull.length_m for pull in pulls)),
                measures.length(max(pull.longest_m for pull in pulls)),
                sum(pull.hours for pull in pulls),
                None,
                None,
            )
        )
    columns = _work_order_columns(measures.length_unit)
    starts = tuple(at for at, row in enumerate(rows) if at and row[0] != rows[at - 1][0])
    note = (
        "In working order. Hours are pulling, both ends, labels and continuity tests at the tariff's rates; what is "
        "mounted stands in the sheet Mounting, and its hours in the sheet Cost."
    )
    return Table(
        id="work-order",
        title="Work order",
        columns=columns,
        rows=tuple(rows),
        starts=starts,
        totals=("number of pulls", "cables", "cable", "person-hours"),
        note=note,
    )


def _work_order_columns(unit: str) -> tuple[Column, ...]:
    return (
        Column(name="phase", width=16),
        Column(name="zone", width=16),
        Column(name="boxes stand at", width=16),
        Column(name="pulls", width=15),
        Column(name="number of pulls", kind="whole", width=9),
        Column(name="cables", kind="whole"),
        Column(name="most boxes at once", kind="whole", width=9),
        Column(name="jackets", width=16),
        Column(name="cable", unit=unit, kind="number"),
        Column(name="longest pull", unit=unit, kind="number"),
        Column(name="person-hours", unit="h", kind="number", width=9),
        Column(name="crew", kind="blank", width=14),
        Column(name="day", kind="blank", width=12),
    )


def _station(pull: Pull) -> tuple[str, str, str]:
    """Pulls from one place in one phase; flats of a floor count as one."""
    if pull.phase == "flats" and pull.start_place.unit:
        return (pull.phase, "each flat's panel", pull.zone)
    return (pull.phase, pull.start_place.id, "")


def pull_table(works: Works, measures: Measures) -> Table:
    """The schedule, one row a cable, with columns to fill in by hand."""
    reels = reel_of_run(works.reels)
    rows: list[tuple[Value, ...]] = []
    starts: list[int] = []
    station: tuple[str, str, str] | None = None
    for pull in works.pulls:
        if _station(pull) != station:
            station = _station(pull)
            starts.append(len(rows))
        rows += [_pull_row(pull, cable, measures, reels, works.building) for cable in pull.cables]
    unit = measures.length_unit
    columns = (
        Column(name="pull", width=6),
        Column(name="zone", width=10),
        Column(name="from device and port", width=16),
        Column(name="to", width=9),
        Column(name="room", width=12),
        Column(name="label", width=14),
        Column(name="type and jacket", width=10),
        Column(name="box", width=7),
        Column(name="leaves bundle at", width=8),
        Column(name="length as pulled", unit=unit, kind="number", width=8),
        Column(name="left at start / end", unit=unit, width=10),
        Column(name="spaces crossed", width=12),
        Column(name="sleeves and firestops", width=13),
        Column(name="hours", unit="h", kind="exact", width=7),
        Column(name="cut from", width=11),
        Column(name="start mark", kind="blank", width=7),
        Column(name="end mark", kind="blank", width=7),
        Column(name="as pulled", unit=unit, kind="blank", width=8),
        Column(name="key or time", width=8),
        Column(name="continuity", kind="blank", width=8),
        Column(name="crew, day, initials", kind="blank", width=9),
    )
    note = (
        "Boxes stand at the start, one for each cable of a pull, and the pull goes to the end. Both ends "
        "carry the label, with /A at the start and /B at the end. Lengths hold what is left at both ends. Where a "
        "cable leaves its bundle it ends or goes on alone to where it ends."
    )
    return Table(
        id="pulls",
        title="Pull schedule",
        columns=columns,
        rows=tuple(rows),
        starts=tuple(starts),
        totals=("length as pulled", "hours"),
        note=note,
    )


def _pull_row(
    pull: Pull, cable: PulledCable, measures: Measures, reels: Mapping[str, str], building: Building
) -> tuple[Value, ...]:
    run = cable.run
    return (
        pull.name,
        pull.zone,
        str(run.start),
        run.end_place.id,
        run.room or _what(run.end_place),
        run.label,
        f"{run.series} {run.jacket}",
        f"{cable.box} of {len(pull.cables)}",
        cable.leaves_at,
        measures.length(run.length_m),
        f"{measures.length(run.left_start_m):.1f} / {measures.length(run.left_end_m):.1f}",
        ", ".join(run.spaces),
        _span(run.firestops),
        cable.hours,
        reels.get(run.id, "length of its own"),
        None,
        None,
        None,
        key_to(building, (run.start_place, run.end_place)),
        None,
        None,
    )


def _span(names: tuple[str, ...]) -> str:
    """A few names in full, of many the first and the last."""
    if len(names) <= 2:
        return ", ".join(names)
    return f"{len(names)}: {names[0]} … {names[-1]}"


def _what(place: Place) -> str:
    return {"panel": "panel", "closet": "closet", "headend": "head-end"}.get(place.kind, "")


def run_table(works: Works, measures: Measures) -> Table:
    """Every cable with both its labels, its route stop by stop, and why it has its jacket."""
    rows: list[tuple[Value, ...]] = []
    marks: list[tuple[int, str]] = []
    for at, run in enumerate(works.runs):
        if not run.existing and not run.jacket_fits:
            marks.append((at, "look"))
        allowed = ", ".join(run.permitted) or "no one jacket"
        rows.append(
            (
                run.label,
                run.start_label,
                run.end_label,
                f"{run.series} {run.jacket}",
                "stays" if run.existing else "new",
                " – ".join(run.stops),
                measures.length(run.way_m),
                measures.length(run.left_start_m + run.left_end_m),
                measures.length(run.length_m),
                run.strictest,
                allowed,
                run.connector,
            )
        )
    unit = measures.length_unit
    columns = (
        Column(name="label", width=16),
        Column(name="on the start", width=27),
        Column(name="on the end", width=25),
        Column(name="type and jacket", width=12),
        Column(name="cable", width=7),
        Column(name="route, stop by stop", kind="wide", width=30),
        Column(name="in the ways", unit=unit, kind="number", width=9),
        Column(name="left at ends", unit=unit, kind="number", width=9),
        Column(name="length", unit=unit, kind="number", width=9),
        Column(name="strictest space", width=16),
        Column(name="jackets allowed", width=25),
        Column(name="both ends", width=13),
    )
    note = "Labels in the manner of ANSI/TIA-606: block, floor, space, number. Jackets: ask the authority."
    return Table(
        id="labels",
        title="Labels and routes",
        columns=columns,
        rows=tuple(rows),
        marks=tuple(marks),
        totals=("length",),
        note=note,
    )


def firestop_table(works: Works, measures: Measures) -> Table:
    """Every sleeve to be sealed and what goes through it."""
    floors = {place.id: place.floor for place in works.building.places}
    rows = tuple(
        (
            stop.name,
            stop.way,
            "slab" if floors.get(stop.start) != floors.get(stop.end) else "wall",
            f"{stop.start} – {stop.end}",
            ", ".join(stop.spaces),
            len(stop.runs),
            measures.size(stop.least_sleeve_mm),
            ", ".join(stop.runs[:_MOST_NAMED]) + (" …" if len(stop.runs) > _MOST_NAMED else ""),
            None,
            None,
            None,
        )
        for stop in works.firestops
    )
    columns = (
        Column(name="number", width=16),
        Column(name="way", width=12),
        Column(name="through", width=8),
        Column(name="between", width=20),
        Column(name="spaces", width=20),
        Column(name="cables", kind="whole"),
        Column(name="least inner diameter", unit=measures.size_unit, kind="exact", width=11),
        Column(name="runs", kind="wide", width=34),
        Column(name="rating wanted", kind="blank", width=11),
        Column(name="sealed, system", kind="blank", width=14),
        Column(name="initials, date", kind="blank", width=12),
    )
    note = (
        "New cables only. The diameter keeps the Chapter 9 fill, a design rule for coax. "
        "Ratings come from the building's fire plan, which is not known here. Seal by a system listed for the rating; "
        "verify with the authority."
    )
    return Table(
        id="firestops",
        title="Sleeves and firestops",
        columns=columns,
        rows=rows,
        totals=("cables",),
        note=note,
    )


def reel_table(works: Works, measures: Measures) -> Table:
    """Which run is cut from which box, in working order."""
    names = {run.id: run.label for run in works.runs}
    rows: list[tuple[Value, ...]] = []
    starts: list[int] = []
    for plan in works.reels:
        for reel in plan.reels:
            starts.append(len(rows))
            left = reel.left_m
            rows.append(
                (
                    reel.name,
                    plan.cable,
                    measures.length(reel.put_up_m),
                    len(reel.cuts),
                    pull_names(tuple(cut.pull for cut in reel.cuts)),
                    measures.length(reel.put_up_m - left),
                    measures.length(left),
                    "scrap" if reel.scrap else "",
                )
            )
        rows += [
            (
                "length of its own",
                plan.cable,
                measures.length(cut.take_m),
                1,
                f"P{cut.pull:03d} {names[cut.run]}",
                measures.length(cut.take_m),
                0.0,
                "longer than any put-up",
            )
            for cut in plan.too_long
        ]
    unit = measures.length_unit
    columns = (
        Column(name="box or reel", width=16),
        Column(name="cable", width=12),
        Column(name="put-up", unit=unit, kind="number"),
        Column(name="runs", kind="whole"),
        Column(name="pulls, in order", kind="wide", width=70),
        Column(name="used", unit=unit, kind="number"),
        Column(name="left over", unit=unit, kind="number"),
        Column(name="note", width=14),
    )
    return Table(
        id="reels",
        title="Boxes and reels",
        columns=columns,
        rows=tuple(rows),
        starts=tuple(starts),
        totals=("put-up", "runs", "used", "left over"),
        note=_reel_note(works.reels, measures),
    )


def pull_names(numbers: tuple[int, ...]) -> str:
    """Pulls by their names, neighbours drawn together.

    >>> pull_names((1, 2, 3, 7))
    'P001 to P003, P007'
    """
    spans: list[list[int]] = []
    for number in numbers:
        if spans and number == spans[-1][-1] + 1:
            spans[-1] = [spans[-1][0], number]
        else:
            spans.append([number])
    return ", ".join(" to ".join(f"P{number:03d}" for number in span) for span in spans)


def pull_spans(names: tuple[str, ...]) -> str:
    """The same of pulls by name.

    >>> pull_spans(("P001", "P002", "P009"))
    'P001 to P002, P009'
    """
    return pull_names(tuple(sorted(int(name[1:]) for name in names)))


def _reel_note(plans: tuple[ReelPlan, ...], measures: Measures) -> str:
    if not plans:
        return ""
    waste = plans[0].waste_share
    made = sum(len(plan.reels) for plan in plans)
    bought = sum(reel.put_up_m for plan in plans for reel in plan.reels)
    least = sum(plan.least_m for plan in plans)
    holds = f"{measures.length(bought):,.0f} {measures.length_unit}"
    bound = f"no plan buys less than {measures.length(least):,.0f} {measures.length_unit}"
    proof = "no plan buys less" if bought <= least + 1e-6 else bound
    return (
        f"Lengths hold {waste:.0%} waste. {made} boxes of {holds}; {proof}. "
        "No two cables of a pull share a box. Buy one spare box of each type."
    )
