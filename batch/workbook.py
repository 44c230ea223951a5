"""A workbook of buildings, read: a document for each building, every value with its cell, and what is wrong.

A complaint stops the buildings it concerns; the others are designed.
"""

from __future__ import annotations

import warnings
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from openpyxl import Workbook, load_workbook
from openpyxl.utils.exceptions import InvalidFileException
from openpyxl.worksheet.worksheet import Worksheet

from batch.columns import Sheet
from batch.estimates import KIT_ITEMS, PUT_UPS, RATES
from batch.grid import header_name, read_grid
from batch.origins import Origins
from batch.problems import Problem, Spot, in_order
from batch.records import EVERY, Record, read_records, shared_name
from batch.sheets import (
    BUILDINGS,
    FLOOR_TYPES,
    FLOORS,
    OUTLETS,
    PLACES,
    SHEETS,
    UNIT_TYPES,
    UNITS,
    WAYS,
)
from batch.sites import ANTENNAS, BONDS
from batch.terms import FEED_WIDE, FEEDS, PRICES, WISHES

#: Sheets of the template that hold nothing to read.
OURS = ("instructions", "lists")
TITLES = tuple(sheet.title for sheet in SHEETS)
MOST_BYTES = 64_000_000


class UnreadableBook(Exception):  # noqa: N818 - it names what the caller holds
    """The file can't be opened as a workbook: `wrong` says why, `right` what would be."""

    def __init__(self, *, wrong: str, right: str) -> None:
        self.wrong = wrong
        self.right = right
        super().__init__(f"{wrong}; right: {right}")


@dataclass(slots=True, kw_only=True)
class Plan:
    """One building: its document and where each of its values stands.

    `concerns` are the names under which a complaint stops it: its own, its line-up's, its price sheet's, and
    those of the building it is the same as; "" is a complaint about the whole workbook.
    """

    id: str
    document: dict[str, Any]
    origins: Origins
    concerns: set[str] = field(default_factory=lambda: {""})


@dataclass(frozen=True, slots=True, kw_only=True)
class Book:
    """What a workbook holds. `stopped` are buildings that a complaint keeps from being designed."""

    name: str
    plans: tuple[Plan, ...]
    prices: tuple[Record, ...]
    problems: tuple[Problem, ...]

    @property
    def stopped(self) -> frozenset[str]:
        """Buildings with a complaint against them; all of them where one concerns the whole workbook."""
        named = {problem.building for problem in self.problems if problem.stops}
        return frozenset(plan.id for plan in self.plans if plan.concerns & named)


@dataclass(slots=True, kw_only=True)
class _Reading:
    """Records of every sheet, by title, while a workbook is read."""

    records: dict[str, list[Record]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def of(self, sheet: Sheet, building: str) -> list[Record]:
        """A building's records on a sheet."""
        return [record for record in self.records.get(sheet.title, ()) if record.building == building]


def read_workbook(path: Path) -> Book:
    """The buildings of a workbook file. Raises UnreadableBook where it is none."""
    opened, formulas = _open(path)
    reading = _Reading()
    sheets = {header_name(sheet.title): sheet for sheet in opened.worksheets}
    for sheet in SHEETS:
        found = sheets.pop(header_name(sheet.title), None)
        if found is not None:
            grid = read_grid(found, formulas.get(found.title, {}), sheet.known, sheet.required)
            grid.sheet = found.title
            records, problems = read_records(sheet, grid)
            reading.records[sheet.title] = records
            reading.problems += problems
    _sheet_problems(reading, [sheet.title for name, sheet in sheets.items() if name not in OURS])
    plans = _plans(reading)
    opened.close()
    return Book(
        name=path.name,
        plans=tuple(plans),
        prices=tuple(reading.records.get(PRICES.title, ())),
        problems=in_order(reading.problems, TITLES, path.name),
    )


def _open(path: Path) -> tuple[Workbook, dict[str, dict[tuple[int, int], str]]]:
    """The workbook with the saved results of its formulas, and the formulas by sheet and cell."""
    right = "a workbook saved as .xlsx"
    try:
        if path.stat().st_size > MOST_BYTES:
            raise UnreadableBook(
                wrong=f"it is larger than {MOST_BYTES // 1_000_000} MB", right="a smaller workbook"
            )
        with warnings.catch_warnings():
            # What openpyxl can't keep (validation of newer programs, drawings) isn't read here anyway.
            warnings.simplefilter("ignore", UserWarning)
            opened = load_workbook(path)
            formulas = {sheet.title: _formulas(sheet) for sheet in opened.worksheets}
            if any(formulas.values()):
                opened.close()
                opened = load_workbook(path, data_only=True)
    except OSError as error:
        raise UnreadableBook(wrong=f"it can't be opened: {error.strerror or error}", right=right) from error
    except (InvalidFileException, zipfile.BadZipFile, KeyError, ValueError, TypeError) as error:
        raise UnreadableBook(wrong=f"it is no workbook: {error}", right=right) from error
    return opened, formulas


def _formulas(sheet: Worksheet) -> dict[tuple[int, int], str]:
    return {
        (row, column): str(getattr(cell.value, "text", cell.value))
        for row, cells in enumerate(sheet.iter_rows(), start=1)
        for column, cell in enumerate(cells, start=1)
        if cell.data_type == "f"
    }


def _sheet_problems(reading: _Reading, strangers: list[str]) -> None:
    """Sheets that are missing, and sheets that nobody reads."""
    have = reading.records
    outlined = any("outline_floors" in row.values for row in have.get(BUILDINGS.title, ()))
    for sheet, needed in (
        (BUILDINGS, BUILDINGS.title not in have),
        (FEEDS, FEEDS.title not in have),
        (OUTLETS, not outlined and not {OUTLETS.title, UNIT_TYPES.title} & have.keys()),
    ):
        if needed:
            reading.problems.append(
                Problem(
                    code="missing-sheet",
                    spot=Spot(sheet=sheet.title),
                    looks_like="a workbook without this sheet",
                    right=f"a sheet {sheet.title!r} as in the template: {sheet.text}",
                )
            )
    for title in strangers:
        reading.problems.append(
            Problem(
                code="unknown-sheet",
                spot=Spot(sheet=title),
                value=title,
                looks_like="a sheet that isn't known; it is not read",
                right="one of " + ", ".join(TITLES),
                stops=False,
            )
        )


def _plans(reading: _Reading) -> list[Plan]:
    """One plan for each building of the sheet buildings."""
    plans: dict[str, Plan] = {}
    for record in reading.records.get(BUILDINGS.title, ()):
        if record.building in plans:
            reading.problems.append(
                Problem(
                    code="duplicate-id",
                    spot=record.spot("building"),
                    building=record.building,
                    value=record.building,
                    looks_like=f"the same id as row {plans[record.building].origins.rows[()].row}",
                    right="one row for each building",
                )
            )
            continue
        _look_alike(record, plans, reading)
        plans[record.building] = _plan(record, reading)
    _strays(reading, plans)
    _take_over(plans)
    return list(plans.values())


def _take_over(plans: Mapping[str, Plan]) -> None:
    """What stops a building stops the ones that have its plan."""
    for plan in plans.values():
        seen = [plan.id]
        name = str(plan.document.get("same_as", ""))
        while name in plans and name not in seen:
            plan.concerns |= plans[name].concerns
            seen.append(name)
            name = str(plans[name].document.get("same_as", ""))


def _look_alike(record: Record, plans: Mapping[str, Plan], reading: _Reading) -> None:
    """A complaint where people would take a building's id for one above it."""
    for other in plans:
        if _letters(other) == _letters(record.building):
            reading.problems.append(
                Problem(
                    code="look-alike-id",
                    spot=record.spot("building"),
                    building=record.building,
                    value=record.building,
                    looks_like=f"{other}, written in another way",
                    right="one spelling for one building, or ids that can't be mixed up",
                )
            )


def _plan(record: Record, reading: _Reading) -> Plan:
    document: dict[str, Any] = {"document": "evendrop/building", "version": 1}
    plan = Plan(id=record.building, document=document, origins=Origins())
    plan.concerns |= {plan.id, shared_name("prices", record.text("prices"))}
    plan.origins.put(document, (), ("id",), record.building, record.spot("building"))
    plan.origins.fill(document, (), record, (name for name in record.values if name != "feed"))
    _rows(plan, "floors", reading.of(FLOORS, plan.id))
    _grouped(plan, "unit_types", "unit_type", "outlets", reading.of(UNIT_TYPES, plan.id), ("feed",))
    _grouped(plan, "floor_types", "floor_type", "units", reading.of(FLOOR_TYPES, plan.id), ())
    ways = reading.of(WAYS, plan.id)
    _places(plan, reading.of(PLACES, plan.id), graph=bool(ways))
    _rows(plan, "units", reading.of(UNITS, plan.id))
    _rows(plan, "ways", ways)
    _rows(plan, "outlets", reading.of(OUTLETS, plan.id))
    _feed(plan, record, reading)
    for sheet in (WISHES, RATES):
        for wish in reading.of(sheet, plan.id) or reading.of(sheet, EVERY):
            for header in wish.values:
                keys = wish.sheet.column(header).key_of(header)
                plan.origins.put(document, (), keys, wish.values[header], wish.spot(header))
    _rows(plan, "bonds", reading.of(BONDS, plan.id))
    _inside(plan, "mast", "antennas", reading.of(ANTENNAS, plan.id))
    _kits(plan, reading.of(KIT_ITEMS, plan.id) or reading.of(KIT_ITEMS, EVERY))
    _inside(plan, "estimate", "put_ups", reading.of(PUT_UPS, plan.id) or reading.of(PUT_UPS, EVERY))
    return plan


def _kits(plan: Plan, records: list[Record]) -> None:
    """Items of kits, and alternates, whose price is that of their material."""
    alternates = [record for record in records if record.text("kit") == "alternate"]
    _inside(plan, "estimate", "kits", [record for record in records if record.text("kit") != "alternate"])
    _inside(plan, "estimate", "alternates", alternates, {"price": "material_price", "kit": ""})


def _inside(
    plan: Plan, section: str, key: str, records: list[Record], renamed: Mapping[str, str] | None = None
) -> None:
    """A list inside a section of the document, one object for each record; headers renamed to "" are left out."""
    for record in records:
        rows = plan.document.setdefault(section, {}).setdefault(key, [])
        rows.append({})
        path = (section, key, len(rows) - 1)
        plan.origins.rows.setdefault(path, record)
        for header, value in record.values.items():
            keys = record.sheet.column(header).key_of(header)
            keys = keys if renamed is None or header not in renamed else (renamed[header],)
            if keys != ("",):
                plan.origins.put(rows[-1], path, keys, value, record.spot(header))


def _places(plan: Plan, records: list[Record], *, graph: bool) -> None:
    """Risers, and closets and panels in the short form, or all kinds of place where ways are listed."""
    for kind, key, skip in (
        ("riser", "risers", ("kind",)),
        ("closet", "places" if graph else "closets", () if graph else ("kind",)),
        ("panel", "places" if graph else "panels", () if graph else ("kind", "floor", "block")),
        ("junction", "places", ()),
    ):
        _rows(plan, key, [row for row in records if row.text("kind") == kind], skip=skip)


def _rows(plan: Plan, key: str, records: list[Record], skip: tuple[str, ...] = ()) -> None:
    """A list of the document, one object for each record."""
    for record in records:
        row: dict[str, Any] = {}
        rows = plan.document.setdefault(key, [])
        rows.append(row)
        plan.origins.fill(
            row, (key, len(rows) - 1), record, (name for name in record.values if name not in skip)
        )


def _grouped(
    plan: Plan, key: str, name: str, inner: str, records: list[Record], wide: tuple[str, ...]
) -> None:
    """A list of types, each with a list of its own: one record for each inner object.

    `wide` are headers that hold for the whole type and stand in the first of its rows.
    """
    places: dict[str, int] = {}
    for record in records:
        type_id = record.text(name)
        types = plan.document.setdefault(key, [])
        if type_id not in places:
            places[type_id] = len(types)
            types.append({})
            path = (key, places[type_id])
            plan.origins.rows[path] = record
            plan.origins.put(types[-1], path, ("id",), type_id, record.spot(name))
        found, path = types[places[type_id]], (key, places[type_id])
        plan.origins.fill(found, path, record, (header for header in wide if header not in found))
        inside, own = (
            found.setdefault(inner, []),
            [head for head in record.values if head not in (name, *wide)],
        )
        if own:
            inside.append({})
            plan.origins.fill(inside[-1], (*path, inner, len(inside) - 1), record, own)


def _feed(plan: Plan, record: Record, reading: _Reading) -> None:
    """The line-up that a building names; left out, the only one there is."""
    lines = reading.records.get(FEEDS.title, [])
    names = list(dict.fromkeys(line.text("feed") for line in lines if line.text("feed")))
    named = record.text("feed") or (names[0] if len(names) == 1 else "")
    if (record.text("same_as") and not record.text("feed")) or FEEDS.title not in reading.records:
        return
    plan.concerns.add(shared_name("feed", named))
    if named not in names:
        reading.problems.append(
            Problem(
                code="unknown-feed" if named else "missing",
                spot=record.spot("feed"),
                building=plan.id,
                value=named,
                looks_like="a line-up that the sheet feeds doesn't hold"
                if named
                else "a building without line-up",
                right="one of " + ", ".join(names) if names else "a line-up in the sheet feeds",
            )
        )
        return
    feed: dict[str, Any] = plan.document.setdefault("feed", {})
    plan.origins.cells[("feed",)] = record.spot("feed")
    for line in lines:
        if line.text("feed") != named:
            continue
        plan.origins.fill(feed, ("feed",), line, (name for name in FEED_WIDE if name not in feed))
        carrier: dict[str, Any] = {}
        feed.setdefault("carriers", []).append(carrier)
        place = ("feed", "carriers", len(feed["carriers"]) - 1)
        plan.origins.fill(
            carrier, place, line, (name for name in line.values if name not in ("feed", *FEED_WIDE))
        )


def _strays(reading: _Reading, plans: Mapping[str, Plan]) -> None:
    """Rows of a building that the sheet buildings doesn't hold."""
    alike = {_letters(name): name for name in plans}
    for sheet in SHEETS:
        if sheet in (BUILDINGS, FEEDS, PRICES):
            continue
        seen: set[str] = set()
        for record in reading.records.get(sheet.title, ()):
            name = record.building
            if (
                name in plans
                or name in seen
                or (name == EVERY and sheet in (WISHES, RATES, KIT_ITEMS, PUT_UPS))
            ):
                continue
            seen.add(name)
            meant = alike.get(_letters(name), "")
            reading.problems.append(
                Problem(
                    code="unknown-building",
                    spot=record.spot("building"),
                    building=meant or name,
                    value=name,
                    looks_like=f"{meant}, written in another way"
                    if meant
                    else "a building of no row in buildings",
                    right=meant or "one of " + ", ".join(list(plans)[:8]),
                )
            )


def _letters(name: str) -> str:
    """An id as people read it: without case and separators."""
    return "".join(letter for letter in name.casefold() if letter.isalnum())
