"""The library as the rest of the service sees it: read once, never changed, overlaid by a user's folder."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass, replace
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType

from service.engine.plant.catalogue import Catalogue
from service.engine.plant.tariff import Tariff
from service.library.cable_rows import cables_from
from service.library.complaints import Complaint
from service.library.laying import apart_from, laid_over, without_repeats
from service.library.part_rows import parts_from
from service.library.reading import Reading, Row, read_folder, read_sources
from service.library.tariff_rows import tariffs_from


class LibraryDamagedError(Exception):
    """The packaged data contradicts itself: an error of the installation, not of a user."""

    def __init__(self, *, complaints: tuple[Complaint, ...]) -> None:
        self.complaints = complaints
        super().__init__("; ".join(str(complaint) for complaint in complaints[:5]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """What a family name means: its drawing symbol, the prefix of its labels, its heading in the bill."""

    name: str
    symbol: str
    prefix: str
    heading: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Library:
    """Parts and cables, tariffs by id, families by name, and what stands behind each source key.

    `rows` are the rows it was made from: a user's are laid over them.
    """

    catalogue: Catalogue
    tariffs: Mapping[str, Tariff]
    families: Mapping[str, Family]
    sources: Mapping[str, str]
    rows: tuple[Row, ...]


@functools.cache
def library() -> Library:
    """The packaged library, read on the first call. Raises LibraryDamagedError for data that is wrong."""
    package = files("service.library")
    data = read_folder(package / "data")
    sources, complaints = read_sources(package / "sources.toml")
    reading = replace(data, sources=sources, complaints=complaints + data.complaints)
    made, complaints = _made(reading, ())
    if complaints:
        raise LibraryDamagedError(complaints=complaints)
    return made


def overlaid(base: Library, folder: Path) -> tuple[Library, tuple[Complaint, ...]]:
    """A library with the files of a user's folder laid over `base` by id, and every complaint about them.

    The folder holds any of our tables under our file names, at any depth, and a sources.toml for keys of its
    own. With a complaint nothing is laid: the library that comes back is `base`.
    """
    if not folder.is_dir():
        wrong, right = "there is no such folder", "a folder with library tables"
        return base, (
            Complaint(
                file=folder.name, row=0, column="", code="bad-file", value="", wrong=wrong, right=right
            ),
        )
    over = read_folder(folder)
    families = {name: _words(family) for name, family in base.families.items()}
    reading = replace(over, sources={**base.sources, **over.sources}, families={**families, **over.families})
    made, complaints = _made(reading, base.rows)
    return (base, complaints) if complaints else (made, ())


def _words(family: Family) -> dict[str, str]:
    return {"symbol": family.symbol, "prefix": family.prefix, "heading": family.heading}


def _made(reading: Reading, under: tuple[Row, ...]) -> tuple[Library, tuple[Complaint, ...]]:
    """A library of what was read laid over the rows `under`, and all that is wrong."""
    read, repeats = without_repeats(reading.rows)
    complaints = [*reading.complaints, *repeats, *_unknown_sources(reading)]
    laid = laid_over(under, read)
    part_ids, cable_ids = (_ids(laid + reading.damaged, name) for name in ("part", "cable"))
    rows = apart_from(laid, reading.damaged)
    parts, found = parts_from(rows, reading.families)
    complaints += found
    cables, found = cables_from(rows, part_ids)
    complaints += found
    tariffs, found = tariffs_from(rows, part_ids, cable_ids)
    complaints += found
    families = {name: Family(name=name, **words) for name, words in reading.families.items()}
    made = Library(
        catalogue=Catalogue(parts=parts, cables=cables),
        tariffs=MappingProxyType(tariffs),
        families=MappingProxyType(families),
        sources=MappingProxyType(dict(reading.sources)),
        rows=laid,
    )
    return made, tuple(sorted(complaints))


def _ids(rows: tuple[Row, ...], name: str) -> frozenset[str]:
    """Ids that the table of parts, or of cables, names."""
    return frozenset(row.text(name) for row in rows if row.table == f"{name}s" and name in row.cells)


def _unknown_sources(reading: Reading) -> list[Complaint]:
    wrong, right = "no such source key", 'a key of sources.toml, for example "assumed" or "from memory"'
    return [
        row.complaint("source", "unknown-source", wrong, right)
        for row in (*reading.rows, *reading.damaged)
        if isinstance(row.cells.get("source"), str) and row.text("source") not in reading.sources
    ]
