"""Complaints about what is fed from where: references, circles, places out of reach, flats through flats."""

from __future__ import annotations

from collections.abc import Iterator

from service.engine.building.complaints import fault, nearest
from service.engine.building.rows import Rows
from service.engine.building.sketch import OutletRow, PlaceRow, Sketch
from service.engine.findings import Fault


def wiring_faults(sketch: Sketch, rows: Rows) -> Iterator[Fault]:
    """Every complaint about the ways of a building and the flats on them."""
    broken = list(_end_faults(rows))
    circles = list(_loop_faults(rows))
    yield from broken
    yield from circles
    if not broken and not circles:
        yield from _reach_faults(rows)
    yield from _flat_faults(sketch, rows)
    yield from _block_faults(rows)


def _end_faults(rows: Rows) -> Iterator[Fault]:
    """Ways whose ends do not exist, or stand at an outlet."""
    places = {row.id for row in rows.places}
    outlets = {row.id for row in rows.outlets}
    known = [row.id for row in rows.places]
    for row in rows.ways:
        own = row.end if row.end in outlets and row.end_field != row.start_field and row.id == row.end else ""
        for name, field in ((row.start, row.start_field), (row.end, row.end_field)):
            if name in places or name == own:
                continue
            subject = f"way to {row.end}"
            if name in outlets:
                wrong, right = (
                    "this is an outlet",
                    "a closet, a panel or a junction; an outlet names its place with at",
                )
                yield fault("outlet-is-leaf", row.path, field, subject, name, wrong, right)
            else:
                right = nearest(name, known)
                yield fault("unknown-place", row.path, field, subject, name, "there is no such place", right)


def _loop_faults(rows: Rows) -> Iterator[Fault]:
    """Places that are fed from each other in a circle, and ways that lead back to where they start."""
    for way in rows.ways:
        if way.start == way.end:
            right = "two different places"
            wrong = "the way leads back to where it starts"
            yield fault("loop", way.path, way.start_field, f"way {way.id}", way.start, wrong, right)
    source: dict[str, PlaceRow] = {row.id: row for row in reversed(rows.places)}
    done: set[str] = set()
    for row in rows.places:
        chain: list[str] = []
        here: str | None = row.id
        while here is not None and here in source and here not in done:
            done.add(here)
            chain.append(here)
            here = source[here].source
        if here in chain and source[here].source != here:
            circle = sorted(chain[chain.index(here) :])
            top = source[here]
            wrong = f"these places feed each other in a circle: {', '.join(circle)}"
            right = f"every place fed from above, the topmost from {rows.headend.id}"
            yield fault(
                "loop", top.path, top.source_field, f"{top.kind} {here}", str(top.source), wrong, right
            )


def _reach_faults(rows: Rows) -> Iterator[Fault]:
    """Outlets, or else places, that no way connects to the head-end."""
    beside: dict[str, list[str]] = {}
    for way in rows.ways:
        beside.setdefault(way.start, []).append(way.end)
        beside.setdefault(way.end, []).append(way.start)
    reached = {rows.headend.id}
    stack = [rows.headend.id]
    while stack:
        for name in beside.get(stack.pop(), ()):
            if name not in reached:
                reached.add(name)
                stack.append(name)
    lost: list[OutletRow | PlaceRow] = [row for row in rows.outlets if row.id not in reached]
    if not lost:
        lost = [row for row in rows.places if row.id not in reached]
    for row in lost:
        noun = row.kind if isinstance(row, PlaceRow) else "outlet"
        wrong = f"no way leads from {rows.headend.id} to it"
        yield fault(
            "unreachable", row.path, "", f"{noun} {row.id}", row.id, wrong, "a way to every place in use"
        )


def _flat_faults(sketch: Sketch, rows: Rows) -> Iterator[Fault]:
    """Flats fed through other flats, and flats fed in two ways."""
    panels = {row.id: row for row in rows.places if row.kind == "panel"}
    retrofit = sketch.new_build is False or (sketch.new_build is None and sketch.year_built is not None)
    if sketch.policy.no_flat_through_flat and not retrofit:
        own = {row.id: row.unit for row in rows.places} | {row.id: row.unit for row in rows.outlets}
        for way in rows.ways:
            for here, there, field in (
                (way.start, way.end, way.start_field),
                (way.end, way.start, way.end_field),
            ):
                if here in panels and own.get(there, "") not in ("", panels[here].unit) and way.start == here:
                    wrong = f"{here} is the panel of flat {panels[here].unit}"
                    right = "a closet, or the flat's own panel: in new work no flat is fed through another"
                    yield fault("flat-through-flat", way.path, field, f"way to {there}", here, wrong, right)
    by_panel: dict[str, OutletRow] = {}
    by_run: dict[str, OutletRow] = {}
    known = {row.id for row in rows.places}
    for row in rows.outlets:
        if row.at in known:
            (by_panel if row.at in panels else by_run).setdefault(row.unit, row)
    for unit in sorted(by_panel.keys() & by_run.keys()):
        row = by_run[unit]
        wrong = f"outlet {by_panel[unit].id} of the same flat hangs on its panel, this one is run home"
        right = "one way of feeding for all outlets of a flat"
        yield fault("mixed-unit-feed", row.path, row.at_field, f"outlet {row.id}", row.at, wrong, right)
    said = {row.id: row for row in sketch.units if row.feed is not None}
    for unit in sorted(said):
        real = by_panel if said[unit].feed == "home-run" else by_run
        if unit in real and not (unit in by_panel and unit in by_run):
            other = "outlets that hang on a panel" if real is by_panel else "outlets that are run home"
            wrong = f"it has {other}"
            right = "panel where the flat has one, home-run where it has none"
            path = said[unit].path
            yield fault("mixed-unit-feed", path, "feed", f"unit {unit}", str(said[unit].feed), wrong, right)


def _block_faults(rows: Rows) -> Iterator[Fault]:
    """Flats served from another block."""
    blocks = {row.id: row.block or "" for row in rows.places}
    units = {row.id: row.block or "" for row in rows.units}
    panels = {row.id: row for row in rows.places if row.kind == "panel"}
    for row in rows.outlets:
        if row.at in blocks and row.unit in units and blocks[row.at] != units[row.unit]:
            yield _other(row.path, row.at_field, f"outlet {row.id}", row.at, blocks[row.at], units[row.unit])
    for way in rows.ways:
        panel = panels.get(way.end)
        if panel is not None and way.start in blocks and blocks[way.start] != (panel.block or ""):
            yield _other(
                way.path,
                way.start_field,
                f"panel {panel.id}",
                way.start,
                blocks[way.start],
                panel.block or "",
            )


def _other(path: tuple[str | int, ...], field: str, subject: str, at: str, there: str, here: str) -> Fault:
    wrong = f"{at} stands in block {there or '(none)'}, the flat in block {here or '(none)'}"
    return fault("other-block", path, field, subject, at, wrong, f"a place in block {here or '(none)'}")
