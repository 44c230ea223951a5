"""Unit types, floor types and risers: what is alike is written once and expands to rows of its own.

Made ids are derived, so they stay the same across revisions: a riser's closet is `<block>.<riser>.<floor>`, a
flat `<block>.<floor><position>`, its outlets `<flat>.<outlet of the type>`; without blocks the first part is
left out.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from service.engine.building.complaints import fault, meant
from service.engine.building.floors import labels_of
from service.engine.building.places import Floor
from service.engine.building.sketch import (
    FloorType,
    OutletRow,
    PlaceRow,
    RiserRow,
    Sketch,
    Span,
    TypeUnit,
    UnitRow,
    UnitType,
)
from service.engine.findings import Fault

MOST_OUTLETS = 20_000


@dataclass(slots=True, kw_only=True)
class Expanded:
    """Rows made from types, beside those that stand in the document."""

    places: list[PlaceRow] = field(default_factory=list)
    units: list[UnitRow] = field(default_factory=list)
    outlets: list[OutletRow] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    def complain(self, complaint: Fault) -> None:
        """Add a complaint about a row that expands many times, once."""
        if all((row.code, row.path) != (complaint.code, complaint.path) for row in self.faults):
            self.faults.append(complaint)


def joined(block: str, name: str) -> str:
    """A made id inside its block."""
    return f"{block}.{name}" if block else name


def expand_types(sketch: Sketch, floors: list[Floor]) -> Expanded:
    """Closets of risers, flats of floor types, panels and outlets of unit types."""
    made = Expanded()
    reached: dict[tuple[str, str], dict[str, str]] = {}
    for riser in sketch.risers:
        reached.setdefault((riser.block, riser.id), {}).update(_riser(riser, floors, made))
    floor_types = {row.id: row for row in sketch.floor_types}
    unit_types = {row.id: row for row in sketch.unit_types}
    _type_faults(sketch, floor_types, unit_types, made)
    for unit in sketch.units:
        by_type = unit.at is not None and unit.unit_type in unit_types
        if by_type and not _furnish(unit, unit_types[unit.unit_type], made):
            return made
    for floor in floors:
        if floor.floor_type not in floor_types:
            continue
        for row in floor_types[floor.floor_type].units:
            closet = _closet_on(row, floor, reached, made)
            if closet is None or row.unit_type not in unit_types:
                continue
            unit = UnitRow(
                path=row.path,
                id=joined(floor.block, floor.label + row.id),
                floor=floor.label,
                block=floor.block,
                unit_type=row.unit_type,
                user=row.user,
                stack=row.stack or row.id,
                at=closet,
                span=row.span,
            )
            made.units.append(unit)
            if not _furnish(unit, unit_types[row.unit_type], made):
                return made
    return made


def _type_faults(
    sketch: Sketch, floor_types: dict[str, FloorType], unit_types: dict[str, UnitType], made: Expanded
) -> None:
    """Types named twice, and references to types that do not exist."""
    for kind, rows in (("unit type", sketch.unit_types), ("floor type", sketch.floor_types)):
        seen: set[str] = set()
        for row in rows:
            if row.id in seen:
                wrong = f"another {kind} has this id"
                made.faults.append(
                    fault("duplicate-id", row.path, "id", f"{kind} {row.id}", row.id, wrong, "one id each")
                )
            seen.add(row.id)
    uses = [
        (row.path, "unit_type", f"unit {row.id}", row.unit_type)
        for row in sketch.units
        if row.at is not None or (row.unit_type and unit_types)
    ]
    uses += [
        (unit.path, "unit_type", f"unit {unit.id} of floor type {row.id}", unit.unit_type)
        for row in sketch.floor_types
        for unit in row.units
    ]
    for path, name, subject, value in uses:
        if value not in unit_types:
            right = (
                meant(value, sorted(unit_types)) or f"one of {', '.join(sorted(unit_types)) or 'unit_types'}"
            )
            wrong = "there is no such unit type"
            if not value:
                wrong = "a flat with a run of its own takes its outlets from a unit type, and none is named"
                right += "; or, where each outlet has its own row, the run on the row of the flat's panel"
            made.faults.append(fault("unknown-type", path, name, subject, value, wrong, right))
    if floor_types:
        for floor in sketch.floors:
            if floor.floor_type and floor.floor_type not in floor_types:
                right = (
                    meant(floor.floor_type, sorted(floor_types)) or f"one of {', '.join(sorted(floor_types))}"
                )
                subject = f"floor {floor.label or floor.labels}"
                wrong = "there is no such floor type"
                made.faults.append(
                    fault("unknown-type", floor.path, "floor_type", subject, floor.floor_type, wrong, right)
                )


def _riser(riser: RiserRow, floors: list[Floor], made: Expanded) -> dict[str, str]:
    """Closets of a riser, each fed from its neighbour toward the floor where the riser is entered."""
    own = [floor for floor in floors if floor.block == riser.block]
    known = {floor.label: floor for floor in own}
    subject = f"riser {riser.id}"
    labels = labels_of(riser.floors) if riser.floors else tuple(known)
    if labels is None:
        wrong, right = "the floors can't be counted from this text", 'for example "1-12, 14"'
        made.faults.append(fault("wrong-range", riser.path, "floors", subject, riser.floors, wrong, right))
        return {}
    listed = set(labels)
    # A range such as 1-14 passes over labels that the building leaves out; one that stands alone must exist.
    alone = [part.strip() for part in riser.floors.split(",") if part.strip() in listed]
    for name, names in (("floors", alone), ("mains_floors", riser.mains_floors)):
        for label in names:
            if label not in known:
                right = meant(label, list(known)) or f"a floor of the block: {', '.join(known)}"
                wrong = "there is no such floor"
                made.faults.append(fault("unknown-floor", riser.path, name, subject, label, wrong, right))
    passed = [floor for floor in own if floor.label in listed]
    if not passed:
        return {}
    entered = _entered(riser, passed, made)
    at = passed.index(entered)
    closets: dict[str, str] = {}
    elsewhere = False if riser.mains is None and riser.mains_floors else riser.mains
    for position, floor in enumerate(passed):
        name = joined(riser.block, f"{riser.id}.{floor.label}")
        closets[floor.label] = name
        toward = passed[position + (1 if position < at else -1)] if position != at else None
        source = riser.source if toward is None else joined(riser.block, f"{riser.id}.{toward.label}")
        made.places.append(
            PlaceRow(
                path=riser.path,
                id=name,
                kind="closet",
                floor=floor.label,
                block=riser.block,
                access=riser.access,
                mains=True if floor.label in riser.mains_floors else elsewhere,
                most_devices=riser.most_devices,
                most_ports=riser.most_ports,
                never=riser.never,
                source=source,
                span=riser.span if toward is None else riser.between,
            )
        )
    return closets


def _entered(riser: RiserRow, passed: list[Floor], made: Expanded) -> Floor:
    """Where the riser is entered: as said, else at its lower end."""
    if riser.enters is None:
        return passed[0]
    found = next((floor for floor in passed if floor.label == riser.enters), None)
    if found is None:
        right = f"one of {', '.join(floor.label for floor in passed)}"
        wrong = "the riser doesn't pass this floor"
        made.faults.append(
            fault("riser-skips", riser.path, "enters", f"riser {riser.id}", riser.enters, wrong, right)
        )
    return found or passed[0]


def _closet_on(
    row: TypeUnit, floor: Floor, reached: dict[tuple[str, str], dict[str, str]], made: Expanded
) -> str | None:
    """The closet of the named riser on a floor; None with a complaint where there is none."""
    closets = reached.get((floor.block, row.at))
    if closets is not None and floor.label in closets:
        return closets[floor.label]
    known = sorted(name for block, name in reached if block == floor.block)
    if closets is None:
        wrong = f"there is no riser {row.at}" + (f" in block {floor.block}" if floor.block else "")
        right = meant(row.at, known) or f"one of {', '.join(known) or 'risers'}"
        made.complain(fault("unknown-place", row.path, "at", f"unit {row.id}", row.at, wrong, right))
    else:
        wrong = f"riser {row.at} doesn't pass floor {floor.label}"
        right = "a riser that passes every floor of the type"
        made.complain(fault("riser-skips", row.path, "at", f"unit {row.id}", row.at, wrong, right))
    return None


def _home(span: Span, drop: Span) -> Span:
    """The way of an outlet that is run home: from the closet to the flat's door, and on to the outlet."""
    length = None if span.length_m is None or drop.length_m is None else span.length_m + drop.length_m
    spaces = None if span.spaces is None else (*span.spaces, *(drop.spaces or ("unit",)))
    return replace(
        drop,
        length_m=length,
        kind=drop.kind or span.kind,
        spaces=spaces,
        firestops=drop.firestops if span.firestops is None else span.firestops,
        existing=drop.existing or span.existing,
        survey=drop.survey or span.survey,
    )


def _furnish(unit: UnitRow, unit_type: UnitType, made: Expanded) -> bool:
    """Panel and outlets of one flat; False when the building has grown past the documented limit."""
    home_run = (unit.feed or unit_type.feed) == "home-run"
    assert unit.at is not None
    if not home_run:
        made.places.append(
            PlaceRow(
                path=unit.path,
                id=unit.id,
                kind="panel",
                floor=unit.floor,
                block=unit.block,
                unit=unit.id,
                source=unit.at,
                source_field="at",
                span=unit.span,
            )
        )
    for row in unit_type.outlets:
        made.outlets.append(
            OutletRow(
                path=row.path if not home_run else unit.path,
                id=f"{unit.id}.{row.id}",
                unit=unit.id,
                at=unit.at if home_run else unit.id,
                room=row.room,
                user=unit.user,
                span=_home(unit.span, row.span) if home_run else row.span,
            )
        )
    return _within_limit(made)


def _within_limit(made: Expanded) -> bool:
    if len(made.outlets) <= MOST_OUTLETS:
        return True
    wrong = f"the types expand to more than {MOST_OUTLETS} outlets"
    right = "a building of its own for each part of the estate"
    made.faults.append(fault("too-many", ("unit_types",), "", "building", len(made.outlets), wrong, right))
    return False
