"""The catalogue as it is answered: a line a part and a cable, and each in full with its sources."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from service.documents.plant import cable_document, part_document
from service.engine.plant.cables import Cable
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.parts import Part


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupLine:
    """A group of output ports."""

    name: str
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLine:
    """A part in the list."""

    id: str
    name: str
    family: str
    groups: tuple[GroupLine, ...]
    low_mhz: float
    high_mhz: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CableLine:
    """A cable in the list."""

    id: str
    name: str
    series: str
    jacket: str
    low_mhz: float
    high_mhz: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CatalogueFace:
    """Every part and cable, by id."""

    parts: tuple[PartLine, ...]
    cables: tuple[CableLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceLine:
    """Where a figure comes from: its key, and what stands behind the key."""

    figure: str
    source: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PartFace:
    """A part as a network document may bring it along, and its sources."""

    part: Mapping[str, Any]
    sources: tuple[SourceLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CableFace:
    """A cable as a network document may bring it along, what else the catalogue knows, and its sources."""

    cable: Mapping[str, Any]
    outer_diameter_mm: float
    mass_kg_per_km: float
    pull_limit_n: float
    bend_installed_mm: float
    bend_pulling_mm: float
    screening_class: str
    connector: str
    put_ups_m: tuple[float, ...]
    sources: tuple[SourceLine, ...]


def catalogue_face(catalogue: Catalogue) -> CatalogueFace:
    """The list, by id."""
    parts = tuple(
        PartLine(
            id=part.id,
            name=part.name,
            family=part.family,
            groups=tuple(GroupLine(name=group.name, count=group.count) for group in part.groups),
            low_mhz=part.low_mhz,
            high_mhz=part.high_mhz,
        )
        for part in sorted(catalogue.parts, key=lambda part: part.id)
    )
    cables = tuple(
        CableLine(
            id=cable.id,
            name=cable.name,
            series=cable.series,
            jacket=cable.jacket,
            low_mhz=cable.loss_db_per_100m.low_mhz,
            high_mhz=cable.loss_db_per_100m.high_mhz,
        )
        for cable in sorted(catalogue.cables, key=lambda cable: cable.id)
    )
    return CatalogueFace(parts=parts, cables=cables)


def _sources(rows: tuple[tuple[str, str], ...], texts: Mapping[str, str]) -> tuple[SourceLine, ...]:
    return tuple(SourceLine(figure=figure, source=key, text=texts.get(key, key)) for figure, key in rows)


def part_face(part: Part, texts: Mapping[str, str]) -> PartFace:
    """One part; `texts` tells what stands behind a source key."""
    return PartFace(part=part_document(part), sources=_sources(part.sources, texts))


def cable_face(cable: Cable, texts: Mapping[str, str]) -> CableFace:
    """One cable; `texts` tells what stands behind a source key."""
    return CableFace(
        cable=cable_document(cable),
        outer_diameter_mm=cable.outer_diameter_mm,
        mass_kg_per_km=cable.mass_kg_per_km,
        pull_limit_n=cable.pull_limit_n,
        bend_installed_mm=cable.bend_installed_mm,
        bend_pulling_mm=cable.bend_pulling_mm,
        screening_class=cable.screening_class,
        connector=cable.connector,
        put_ups_m=cable.put_ups_m,
        sources=_sources(cable.sources, texts),
    )
