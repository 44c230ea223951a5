"""Rows of a building document as rows of the engine: field by field, nothing judged."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from service.engine.building.places import ExistingCable, LengthUnit, PlaceKind
from service.engine.building.sketch import (
    FloorRow,
    FloorType,
    OutletRow,
    PlaceRow,
    RiserRow,
    Span,
    TypeOutlet,
    TypeUnit,
    UnitRow,
    UnitType,
    WayRow,
)
from service.engine.signal.units import m_from_ft
from service.forms.reading import Json, Path


@dataclass(slots=True, kw_only=True)
class Lengths:
    """Reads lengths in either unit, and remembers which unit stands where and which rows give two."""

    used: dict[LengthUnit, list[Path]] = field(default_factory=lambda: {"m": [], "ft": []})
    twice: list[Path] = field(default_factory=list)

    def read(self, row: Json, path: Path, name: str) -> tuple[float | None, str]:
        """The length in metres, and the name of the field that gave it."""
        metres, feet = f"{name}_m", f"{name}_ft"
        if metres in row and feet in row:
            self.twice.append((*path, feet))
        if feet in row:
            self.used["ft"].append((*path, feet))
            return m_from_ft(float(row[feet])), feet
        if metres in row:
            self.used["m"].append((*path, metres))
            return float(row[metres]), metres
        return None, metres


def named(row: Json, raw: Json, attribute: str, key: str = "") -> str:
    """A name as posted, even where its form is wrong: what refers to it is not complained about again."""
    posted = raw.get(key or attribute)
    return str(row[attribute]) if attribute in row else posted if isinstance(posted, str) else ""


def items(valid: Json, document: Json, section: str, path: Path = ()) -> Iterator[tuple[Path, Json, Json]]:
    """Path, valid fields and item as posted, for every item of an array that is an object."""
    posted = document.get(section)
    if isinstance(posted, list):
        for position, (raw, row) in enumerate(zip(posted, valid.get(section, ()), strict=False)):
            if isinstance(raw, dict):
                yield (*path, section, position), row, raw


def span_of(row: Json, path: Path, lengths: Lengths, name: str = "run") -> Span:
    """What a row says of its way."""
    length_m, used = lengths.read(row, path, name)
    existing = row.get("existing")
    return Span(
        length_m=length_m,
        length_field=used,
        kind=row.get("kind"),
        spaces=tuple(row["spaces"]) if "spaces" in row else None,
        survey=row.get("survey"),
        firestops=row.get("firestops"),
        existing=ExistingCable(**existing) if existing and "fate" in existing else None,
        raceway=row.get("raceway", ""),
        bends_deg=row.get("bends_deg"),
        pull_points=row.get("pull_points", 0),
    )


def _box(row: Json) -> dict[str, Any]:
    return {
        "access": row.get("access"),
        "most_devices": row.get("most_devices"),
        "most_ports": row.get("most_ports"),
        "never": tuple(row.get("never", ())),
    }


def headend_row(row: Json, raw: Json) -> PlaceRow:
    """The head-end."""
    name = named(row, raw, "id") or "HE"
    return PlaceRow(
        path=("headend",),
        id=name,
        kind="headend",
        floor=row.get("floor"),
        block=row.get("block"),
        mains=row.get("mains"),
        **_box(row),
    )


def place_rows(valid: Json, document: Json, lengths: Lengths) -> list[PlaceRow]:
    """Closets and panels of the short form, and places of the graph form."""
    rows = []
    sections: tuple[tuple[str, PlaceKind | None], ...] = (
        ("closets", "closet"),
        ("panels", "panel"),
        ("places", None),
    )
    for section, kind in sections:
        for path, row, raw in items(valid, document, section):
            name = named(row, raw, "id")
            if not name or not (kind or "kind" in row):
                continue
            rows.append(
                PlaceRow(
                    path=path,
                    id=name,
                    kind=kind or row["kind"],
                    floor=row.get("floor"),
                    block=row.get("block"),
                    unit=named(row, raw, "unit"),
                    mains=row.get("mains"),
                    source=named(row, raw, "source", "from") or None if kind else None,
                    span=span_of(row, path, lengths) if kind else Span(),
                    **_box(row),
                )
            )
    return rows


def way_rows(valid: Json, document: Json, lengths: Lengths) -> list[WayRow]:
    """Ways of the graph form; one left without id is named by its ends."""
    rows = []
    for path, row, raw in items(valid, document, "ways"):
        start, end = named(row, raw, "start", "from"), named(row, raw, "end", "to")
        if start and end:
            name = named(row, raw, "id") or f"{start}-{end}"
            rows.append(WayRow(path=path, id=name, start=start, end=end, span=span_of(row, path, lengths)))
    return rows


def outlet_rows(valid: Json, document: Json, lengths: Lengths) -> list[OutletRow]:
    """Outlets of every form."""
    rows = []
    for path, row, raw in items(valid, document, "outlets"):
        name, unit, at = (named(row, raw, key) for key in ("id", "unit", "at"))
        if name and unit and at:
            span = span_of(row, path, lengths, "drop")
            room, user = row.get("room", ""), row.get("user", "")
            rows.append(OutletRow(path=path, id=name, unit=unit, at=at, room=room, user=user, span=span))
    return rows


def unit_rows(valid: Json, document: Json, lengths: Lengths) -> list[UnitRow]:
    """Flats and common areas that the document lists."""
    return [
        UnitRow(
            path=path,
            id=named(row, raw, "id"),
            floor=row.get("floor"),
            block=row.get("block"),
            unit_type=named(row, raw, "unit_type"),
            user=row.get("user", ""),
            stack=row.get("stack", ""),
            occupied=row.get("occupied"),
            feed=row.get("feed"),
            at=named(row, raw, "at") or None,
            span=span_of(row, path, lengths),
        )
        for path, row, raw in items(valid, document, "units")
        if named(row, raw, "id")
    ]


def unit_types(valid: Json, document: Json, lengths: Lengths) -> list[UnitType]:
    """Unit types with their outlets."""
    types = []
    for path, row, raw in items(valid, document, "unit_types"):
        outlets = [
            TypeOutlet(
                path=place,
                id=named(outlet, posted, "id"),
                room=outlet.get("room", ""),
                span=span_of(outlet, place, lengths, "drop"),
            )
            for place, outlet, posted in items(row, raw, "outlets", path)
        ]
        types.append(
            UnitType(path=path, id=named(row, raw, "id"), feed=row.get("feed"), outlets=tuple(outlets))
        )
    return types


def floor_types(valid: Json, document: Json, lengths: Lengths) -> list[FloorType]:
    """Floor types with their flats."""
    types = []
    for path, row, raw in items(valid, document, "floor_types"):
        units = [
            TypeUnit(
                path=place,
                id=named(unit, posted, "id"),
                unit_type=named(unit, posted, "unit_type"),
                at=named(unit, posted, "at"),
                user=unit.get("user", ""),
                stack=unit.get("stack", ""),
                span=span_of(unit, place, lengths),
            )
            for place, unit, posted in items(row, raw, "units", path)
        ]
        types.append(FloorType(path=path, id=named(row, raw, "id"), units=tuple(units)))
    return types


def floor_rows(valid: Json, document: Json, lengths: Lengths) -> list[FloorRow]:
    """Floors of the document, in its order."""
    rows = []
    for path, row, _ in items(valid, document, "floors"):
        blocks = tuple(row.get("blocks", ())) or (row.get("block", ""),)
        rows.append(
            FloorRow(
                path=path,
                label=row.get("label", ""),
                labels=row.get("labels", ""),
                missing=tuple(row.get("missing", ())),
                order=row.get("order"),
                elevation_m=lengths.read(row, path, "elevation")[0],
                height_m=lengths.read(row, path, "storey")[0],
                blocks=blocks,
                floor_type=row.get("floor_type", ""),
            )
        )
    return rows


def riser_rows(valid: Json, document: Json, lengths: Lengths) -> list[RiserRow]:
    """Risers of the document."""
    rows = []
    for path, row, raw in items(valid, document, "risers"):
        rows.append(
            RiserRow(
                path=path,
                id=named(row, raw, "id"),
                source=named(row, raw, "source", "from"),
                block=row.get("block", ""),
                floors=row.get("floors", ""),
                enters=row.get("enters"),
                span=span_of(row, path, lengths),
                between=span_of(row.get("between", {}), (*path, "between"), lengths),
                mains=row.get("mains"),
                mains_floors=tuple(row.get("mains_floors", ())),
                **_box(row),
            )
        )
    return rows
