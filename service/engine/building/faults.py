"""The semantic validator of a building: every complaint at once, none raised.

A building that passes has unique ids, floors whose order is known, ways that reach every outlet, flats that
are fed in one way, spaces that cables may cross, and a feed whose services its limits are written for.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from service.engine.building.complaints import alike, fault, meant, nearest
from service.engine.building.places import Rules
from service.engine.building.rows import Rows
from service.engine.building.sketch import PlaceRow, Sketch, UnitRow
from service.engine.building.types import MOST_OUTLETS
from service.engine.building.wiring_faults import wiring_faults
from service.engine.findings import Fault
from service.engine.signal.limits import Limits
from service.engine.signal.spectrum import Service

_CODES = re.compile("(us|eu)(-[a-z0-9]+)*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """What a building may refer to, by id."""

    limits: Mapping[str, Limits]
    services: Mapping[str, Service]
    plans: frozenset[str]
    tariffs: frozenset[str]
    parts: frozenset[str]
    cables: frozenset[str]
    forbidden_spaces: tuple[str, ...]


def building_faults(
    sketch: Sketch, rows: Rows, rules: Rules, shelf: Shelf, expanded: bool = True
) -> list[Fault]:
    """Every complaint about a building; faults that only follow from another fault are left out.

    `expanded` False says that types could not be expanded in full: sums are then not judged.
    """
    return [
        *_empty_faults(sketch, rows, expanded),
        *_id_faults(rows),
        *_floor_faults(sketch, rows),
        *wiring_faults(sketch, rows),
        *_space_faults(rows, shelf),
        *_bond_faults(sketch, rows),
        *_reference_faults(sketch, rows, rules, shelf),
        *_feed_faults(sketch, rules, shelf),
        *(_count_faults(sketch, rows) if expanded else ()),
    ]


def _empty_faults(sketch: Sketch, rows: Rows, expanded: bool) -> Iterator[Fault]:
    if not rows.outlets and expanded:
        right = "at least one outlet, or unit types on floors"
        yield fault("empty-building", ("outlets",), "", "building", "", "the building has no outlet", right)
    if len(rows.outlets) > MOST_OUTLETS and expanded:
        wrong = f"{len(rows.outlets)} outlets in one building"
        yield fault(
            "too-many", ("outlets",), "", "building", len(rows.outlets), wrong, f"at most {MOST_OUTLETS}"
        )
    if sketch.tariff is None:
        yield fault("missing", (), "prices", "building", "", "it is missing", "the id of a price sheet")
    if sketch.feed is None:
        yield fault("missing", (), "feed", "building", "", "it is missing", "what the head-end receives")


def _id_faults(rows: Rows) -> Iterator[Fault]:
    """Places and outlets share one set of ids; ways and flats have their own."""
    places = [(row.kind, row.id, row.path) for row in rows.places]
    places += [("outlet", row.id, row.path) for row in rows.outlets]
    ways = [("way", row.id, row.path) for row in rows.ways]
    units = [("unit", row.id, row.path) for row in rows.units]
    told: set[str] = set()
    for group in (places, units, ways):
        first: dict[str, str] = {}
        for noun, name, path in group:
            if name not in first:
                first[name] = noun
            elif group is not ways or name not in told:
                told.add(name)
                wrong = f"another {first[name]} has this id"
                yield fault("duplicate-id", path, "id", f"{noun} {name}", name, wrong, "an id of its own")
    closets = [(row.id, row.path) for row in rows.places if row.kind in ("headend", "closet", "junction")]
    for noun, named in (("place", closets), ("unit", [(row.id, row.path) for row in rows.units])):
        read: dict[str, str] = {}
        for name, path in named:
            other = read.setdefault(alike(name), name)
            if other != name:
                wrong = f"people will take it for {other}"
                yield fault(
                    "look-alike-id", path, "id", f"{noun} {name}", name, wrong, "one spelling for one thing"
                )


def _floor_faults(sketch: Sketch, rows: Rows) -> Iterator[Fault]:
    known = {(floor.block, floor.label) for floor in rows.floors}
    labels: dict[str, list[str]] = {}
    for floor in rows.floors:
        labels.setdefault(floor.block, []).append(floor.label)
    seats: list[PlaceRow | UnitRow] = [*rows.places, *rows.units]
    for row in seats:
        subject = f"{row.kind if isinstance(row, PlaceRow) else 'unit'} {row.id}"
        if row.floor is None or (not row.floor and not known):
            continue
        if (row.block or "", row.floor) not in known and (sketch.floors or not known):
            own = labels.get(row.block or "", [])
            wrong = "the building has no such floor" + (f" in block {row.block}" if row.block else "")
            right = meant(row.floor, own) or f"one of {', '.join(own) or 'floors'}"
            yield fault("unknown-floor", row.path, "floor", subject, row.floor, wrong, right)


def _space_faults(rows: Rows, shelf: Shelf) -> Iterator[Fault]:
    for row in rows.ways:
        for space in row.span.spaces or ():
            if space in shelf.forbidden_spaces:
                wrong = "no cable may cross this space"
                right = "another route: a riser shaft, a corridor, a ceiling"
                yield fault("forbidden-space", row.path, "spaces", f"way to {row.end}", space, wrong, right)


def _bond_faults(sketch: Sketch, rows: Rows) -> Iterator[Fault]:
    """A bonding conductor is stated at a block or a place, once, and an entrance of several is named."""
    known = sorted({row.block for row in rows.places if row.block} | {row.id for row in rows.places})
    seen: set[tuple[str, str]] = set()
    for position, bond in enumerate(sketch.bonds):
        path, subject = ("bonds", position), f"bond of {bond.what}"
        if bond.at and bond.at not in known:
            yield _unknown("unknown-place", path, "at", subject, bond.at, known)
        if (bond.what, bond.at) in seen:
            wrong = "its length stands in another row"
            yield fault("duplicate-id", path, "what", subject, bond.what, wrong, "one row for each conductor")
        seen.add((bond.what, bond.at))


def _unknown(
    code: str, path: tuple[str | int, ...], field: str, subject: str, name: str, known: list[str]
) -> Fault:
    return fault(code, path, field, subject, name, "there is no such id", nearest(name, known))


def _reference_faults(sketch: Sketch, rows: Rows, rules: Rules, shelf: Shelf) -> Iterator[Fault]:
    """Ids of the library: rules, prices, cables and parts."""
    if rules.limits not in shelf.limits:
        yield _unknown("unknown-limits", ("rules",), "limits", "rules", rules.limits, sorted(shelf.limits))
    if rules.plan not in shelf.plans:
        yield _unknown("unknown-plan", ("rules",), "plan", "rules", rules.plan, sorted(shelf.plans))
    if not _CODES.fullmatch(rules.codes):
        wrong, right = "there is no such code set", "us-2023, or eu for European fire classes"
        yield fault("unknown-codes", ("rules",), "codes", "rules", rules.codes, wrong, right)
    if sketch.tariff is not None and sketch.tariff not in shelf.tariffs:
        yield _unknown("unknown-prices", (), "prices", "building", sketch.tariff, sorted(shelf.tariffs))
    for name in ("riser_cable", "drop_cable"):
        cable = getattr(sketch.wishes, name)
        if cable is not None and cable not in shelf.cables:
            yield _unknown("unknown-cable", ("wishes",), name, "wishes", cable, sorted(shelf.cables))
    for at, put_up in enumerate(sketch.rates.put_ups):
        if put_up.cable is not None and put_up.cable not in shelf.cables:
            here = ("estimate", "put_ups", at)
            yield _unknown("unknown-cable", here, "cable", "estimate", put_up.cable, sorted(shelf.cables))
    outlet = sketch.wishes.outlet_part
    if outlet is not None and outlet not in shelf.parts:
        yield _unknown("unknown-part", ("wishes",), "outlet_part", "wishes", outlet, sorted(shelf.parts))
    for row in rows.ways:
        existing = row.span.existing
        if existing is not None and existing.cable is not None and existing.cable not in shelf.cables:
            path = (*row.path, "existing")
            yield _unknown(
                "unknown-cable", path, "cable", f"way to {row.end}", existing.cable, sorted(shelf.cables)
            )
        if existing is not None and (existing.loss_db is None) != (existing.loss_mhz is None):
            path, wrong = (*row.path, "existing"), "a measured loss needs its frequency"
            yield fault(
                "not-together", path, "", f"way to {row.end}", "", wrong, "loss_db and loss_mhz, or neither"
            )
    for place in rows.places:
        for part in place.never:
            if part not in shelf.parts:
                yield _unknown(
                    "unknown-part", place.path, "never", f"{place.kind} {place.id}", part, sorted(shelf.parts)
                )


def _feed_faults(sketch: Sketch, rules: Rules, shelf: Shelf) -> Iterator[Fault]:
    """Each carrier once, for a service that the limits are written for."""
    if sketch.feed is None:
        return
    if not sketch.feed.carriers and not sketch.carrier_positions:
        yield fault(
            "no-carriers", ("feed",), "carriers", "feed", "[]", "the feed has no carrier", "one or more"
        )
    limits = shelf.limits.get(rules.limits)
    written = [] if limits is None else [row.service for row in limits.services]
    bands = {shelf.services[name].band for name in written if name in shelf.services}
    seen: set[str] = set()
    for position, row in zip(sketch.carrier_positions, sketch.feed.carriers, strict=True):
        carrier = row.carrier
        path, subject = ("feed", "carriers", position), f"carrier {carrier.id}"
        if carrier.id in seen:
            yield fault(
                "duplicate-id",
                path,
                "",
                subject,
                carrier.id,
                "the feed has this carrier already",
                "one entry each",
            )
        seen.add(carrier.id)
        service = shelf.services.get(carrier.service)
        if service is None:
            yield _unknown(
                "unknown-service", path, "service", subject, carrier.service, sorted(shelf.services)
            )
        elif limits is not None and limits.service(carrier.service) is None:
            code = "service-without-limit" if service.band in bands else "wrong-band"
            wrong = f"limits {limits.id} are not written for the {service.band} service {service.id}"
            right = f"limits written for it, or a service of these limits: {', '.join(written)}"
            yield fault(code, path, "", subject, carrier.service, wrong, right)


def _count_faults(sketch: Sketch, rows: Rows) -> Iterator[Fault]:
    """Control sums that the document gives against what its rows add up to."""
    flats = sum(1 for row in rows.units if row.user != "common")
    for name, said, counted in (
        ("expected_units", sketch.expected_units, flats),
        ("expected_outlets", sketch.expected_outlets, len(rows.outlets)),
    ):
        if said is not None and said != counted:
            noun = name.removeprefix("expected_")
            wrong = f"the rows add up to {counted} {noun}"
            yield fault(
                "count-differs",
                (),
                name,
                "building",
                said,
                wrong,
                f"{counted}, or rows that add up to {said}",
            )
