"""Makes fixtures/workbooks/: the demo portfolio of 25 buildings, and small workbooks that are wrong.

Run `python tests/whole/portfolio_maker.py` after a change; a test says when the files differ from what it
makes. Every building is invented.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from batch.columns import Sheet
from batch.desk import desk
from batch.estimates import KIT_ITEMS, PUT_UPS, RATES
from batch.sheets import BUILDINGS, FLOOR_TYPES, FLOORS, OUTLETS, PLACES, UNIT_TYPES, UNITS, WAYS
from batch.sites import ANTENNAS, BONDS
from batch.template import write_book
from batch.terms import FEED_WIDE, FEEDS, WISHES

FIXTURES = Path(__file__).parents[2] / "fixtures"
WORKBOOKS = FIXTURES / "workbooks"

Rows = dict[str, list[dict[str, Any]]]
Json = dict[str, Any]

_LISTS = (
    "floors",
    "unit_types",
    "floor_types",
    "risers",
    "closets",
    "panels",
    "places",
    "units",
    "outlets",
    "ways",
)


def building(name: str) -> Json:
    """A demo building's document."""
    document: Json = json.loads((FIXTURES / "buildings" / f"{name}.json").read_text(encoding="utf-8"))
    return document


def rows_of(documents: Iterable[Json]) -> Rows:
    """The rows of a workbook that says what the documents say."""
    rows: Rows = {}
    line_ups: dict[str, str] = {}
    for document in documents:
        _building(rows, document, line_ups)
    return rows


def _building(rows: Rows, document: Json, line_ups: dict[str, str]) -> None:
    name = document["id"]
    document = copy.deepcopy(document)
    _apart(rows, document, name)
    top = {key: value for key, value in document.items() if key not in (*_LISTS, "feed", "wishes", "policy")}
    row = _row(BUILDINGS, top, skip=(("document",), ("version",)))
    if "feed" in document:
        row["feed"] = _line_up(rows, document["feed"], name, line_ups)
    rows.setdefault("buildings", []).append({"building": row.pop("building"), **row})
    said = {key: document[key] for key in ("wishes", "policy") if key in document}
    if said:
        rows.setdefault("wishes and policy", []).append({"building": name, **_row(WISHES, said)})
    _add(rows, FLOORS, name, document.get("floors", ()))
    _add(rows, UNITS, name, document.get("units", ()))
    _add(rows, OUTLETS, name, document.get("outlets", ()))
    _add(rows, WAYS, name, document.get("ways", ()))
    for key, kind in (("risers", "riser"), ("closets", "closet"), ("panels", "panel")):
        places = [
            {"pull": place.pop("kind", None), **place} for place in copy.deepcopy(document.get(key, []))
        ]
        _add(rows, PLACES, name, places, kind=kind)
    _add(rows, PLACES, name, document.get("places", ()))
    for sheet, key, column, inner in (
        (UNIT_TYPES, "unit_types", "unit_type", "outlets"),
        (FLOOR_TYPES, "floor_types", "floor_type", "units"),
    ):
        for group in document.get(key, ()):
            wide = {column: group["id"]} | ({"feed": group["feed"]} if "feed" in group else {})
            _add(rows, sheet, name, group[inner] or [{}], **wide)


def _apart(rows: Rows, document: Json, name: str) -> None:
    """Antennas, bonds, rates and kits, which have sheets of their own; they leave the document."""
    _add(rows, BONDS, name, document.pop("bonds", ()))
    _add(rows, ANTENNAS, name, document.get("mast", {}).pop("antennas", ()))
    rates = document.pop("estimate", {})
    kits = [*rates.pop("kits", ())]
    for other in rates.pop("alternates", ()):
        kits.append({"kit": "alternate", "price": other.pop("material_price", 0.0), **other})
    _add(rows, KIT_ITEMS, name, kits)
    _add(rows, PUT_UPS, name, rates.pop("put_ups", ()))
    if rates:
        _add(rows, RATES, name, [{"estimate": rates}])


def _add(rows: Rows, sheet: Sheet, name: str, objects: Iterable[Json], **fixed: Any) -> None:
    for found in objects:
        row = {"building": name, **fixed, **_row(sheet, found)}
        rows.setdefault(sheet.title, []).append(row)


def _row(sheet: Sheet, found: Json, *, skip: tuple[tuple[str, ...], ...] = ()) -> dict[str, Any]:
    """An object as a row: its values under the headers that lead there."""
    headers: dict[tuple[str, ...], str] = {}
    for column in sheet.columns:
        for header in (column.name, *(name for name, _ in column.others)):
            headers.setdefault(column.key_of(header), header)
    headers |= {("pull",): "pull"} if sheet is PLACES else {}
    row = {}
    for keys, value in _flat(found):
        if keys not in skip and value is not None:
            row[headers[keys]] = ", ".join(map(str, value)) if isinstance(value, list) else value
    return row


def _flat(found: Mapping[str, Any], path: tuple[str, ...] = ()) -> Iterable[tuple[tuple[str, ...], Any]]:
    for key, value in found.items():
        if isinstance(value, dict):
            yield from _flat(value, (*path, key))
        else:
            yield (*path, key), value


def _line_up(rows: Rows, feed: Json, name: str, line_ups: dict[str, str]) -> str:
    """The id of a line-up, written once however many buildings receive it."""
    text = json.dumps(feed, sort_keys=True)
    if text in line_ups:
        return line_ups[text]
    line_ups[text] = feed.get("id", name)
    wide = _row(FEEDS, {key: value for key, value in feed.items() if key not in ("id", "carriers")})
    wide = {{"carrier": "source", "plan": "feed_plan"}.get(key, key): value for key, value in wide.items()}
    for position, carrier in enumerate(feed["carriers"]):
        own = {key: value for key, value in _row(FEEDS, carrier).items() if key not in FEED_WIDE}
        rows.setdefault("feeds", []).append(
            {"feed": line_ups[text], **own, **(wide if position == 0 else {})}
        )
    return line_ups[text]


def portfolio() -> Rows:
    """Twenty-five buildings: plans of their own, repeated and mirrored ones, two that stand out."""
    own = [building(name) for name in _OWN]
    twins = [_twin(*row) for row in _TWINS]
    return rows_of([*own, *twins, _without_supply(), _far_apart()])


_OWN = (
    "walkup_8",
    "walkup_6_no_closets",
    "townhouse_row",
    "europe_two_stairs",
    "slab_1968",
    "senior_corridors",
    "slab_14",
    "garden_12",
    "graph_two_risers",
    "smallest",
)
#: Id, name, building with the plan, mirrored.
_TWINS = (
    ("walkup-east", "Walk-up east, mirrored (invented)", "demo-walkup-8", True),
    ("walkup-west", "Walk-up west, repeated (invented)", "demo-walkup-8", False),
    ("walkup-north", "Walk-up north, mirrored (invented)", "demo-walkup-8", True),
    ("walkup-south", "Walk-up south, repeated (invented)", "demo-walkup-8", False),
    ("stairs-2", "Second block without closets (invented)", "demo-walkup-6-no-closets", False),
    ("stairs-3", "Third block without closets, mirrored (invented)", "demo-walkup-6-no-closets", True),
    ("row-2", "Second row of townhouses (invented)", "demo-townhouse-row", False),
    ("row-3", "Third row of townhouses, mirrored (invented)", "demo-townhouse-row", True),
    ("escalera-2", "Second European block, mirrored (invented)", "demo-europe-two-stairs", True),
    ("slab-1968-b", "Second slab of 1968 (invented)", "demo-slab-1968", False),
    ("slab-1968-c", "Third slab of 1968, mirrored (invented)", "demo-slab-1968", True),
    ("corridors-2", "Second wing of the residence, mirrored (invented)", "demo-senior-corridors", True),
    ("slab-14-b", "Second slab of fourteen storeys, mirrored (invented)", "demo-slab-14", True),
)


def _twin(name: str, title: str, base: str, mirrored: bool) -> Json:
    twin: Json = {"id": name, "name": title, "same_as": base}
    return twin | ({"mirrored": True} if mirrored else {})


def _without_supply() -> Json:
    """A building whose antenna receives less carrier to noise than any receiver can use: nothing helps."""
    document = building("smallest") | {"id": "no-signal", "name": "Behind the hill (invented)"}
    carriers = [
        {"channel": "14", "level_dbmv": 10.0, "cn_db": 14.0},
        {"channel": "36", "level_dbmv": 9.0, "cn_db": 13.0},
    ]
    return document | {"feed": {"id": "shadow", "carriers": carriers}}


def _far_apart() -> Json:
    """A building whose flats lie far from its one closet: twice as much cable an outlet as the others."""
    flats = [f"{floor}{letter}" for floor in (1, 2) for letter in "ABCD"]
    return building("smallest") | {
        "id": "long-house",
        "name": "Long house with one closet (invented)",
        "closets": [{"id": "C1", "floor": "1", "from": "HE", "run_m": 12.0}],
        "units": [{"id": flat, "floor": flat[0]} for flat in flats],
        "panels": [
            {"id": flat, "unit": flat, "from": "C1", "run_m": 14.0 + 3.0 * position}
            for position, flat in enumerate(flats)
        ],
        "outlets": [{"id": f"{flat}.1", "unit": flat, "at": flat, "drop_m": 9.0} for flat in flats],
    }


def main() -> None:
    """Write the portfolio's workbook."""
    WORKBOOKS.mkdir(parents=True, exist_ok=True)
    write_book(WORKBOOKS / "demo_portfolio.xlsx", portfolio(), desk().lists)


if __name__ == "__main__":
    main()
