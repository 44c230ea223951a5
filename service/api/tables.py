"""`/v1/designs/<id>/<table>`: the sheets of a kept design as JSON and CSV, and what changed since another design."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from flask import Response, request
from flask_smorest import Blueprint

from service.api.kept import Kept, kept_design
from service.api.operations import operation
from service.api.problems import problem
from service.api.shapes import shape_of
from service.api.shelf import answer
from service.documents.book import building_tables
from service.documents.table import Table
from service.documents.table_text import csv_text, table_json
from service.engine.works.revision import Issued

#: Tables by the name in their address, and the sheet of the book that each is.
TABLES = {
    "levels": "outlets",
    "runs": "labels",
    "pulls": "pulls",
    "reels": "reels",
    "firestops": "firestops",
    "raceways": "ways",
    "pull-loads": "pull-loads",
    "phases": "phases",
    "old-cable": "old-cable",
    "parts": "parts",
    "bill": "cost",
    "estimate": "estimate",
    "rates": "rates",
    "bonding": "bonding",
    "safety": "safety",
    "mast": "mast",
    "test": "test",
}
#: Those that not every design has.
SOMETIMES = frozenset({"reels", "firestops", "raceways", "pull-loads", "phases", "old-cable", "mast"})
_NAMES = "any(" + ", ".join(f'"{name}"' for name in sorted(TABLES)) + ")"
_SINCE = {"since": "Id of the kept design that was issued before."}

blueprint = Blueprint("tables", __name__, url_prefix="/v1/designs", description="Tables of designs.")


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnFace:
    """A column of a table: its name and its unit."""

    name: str
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TableFace:
    """A table of a design: rows hold texts, numbers, null, and money as decimal text."""

    id: str
    title: str
    columns: tuple[ColumnFace, ...]
    rows: tuple[Any, ...]
    note: str


@operation(
    blueprint, f"/<name>/<{_NAMES}:table>", answers=shape_of(TableFace), refuses=(404,), also=("text/csv",)
)
def table(name: str, table: str) -> Response:
    """Read a table of a design, as JSON or, where it is accepted first, CSV.

    Those that a design lacks are not found: phases and old cable of new work, a mast where no antennas are raised.
    """
    return _table(name, table, as_csv=_csv_wanted())


@operation(blueprint, f"/<name>/<{_NAMES}:table>.csv", answers=None, refuses=(404,), also=("text/csv",))
def table_csv(name: str, table: str) -> Response:
    """Read a table of a design as a CSV file."""
    return _table(name, table, as_csv=True)


@operation(
    blueprint,
    "/<name>/changes",
    answers=shape_of(TableFace),
    refuses=(404,),
    also=("text/csv",),
    asks=_SINCE,
)
def changes(name: str) -> Response:
    """Read what changed since a design that was issued before: pulls, devices and money, by identifier.

    JSON or, where it is accepted first, CSV. Both designs are priced by the later one's price sheet.
    """
    return _changes(name, as_csv=_csv_wanted())


@operation(blueprint, "/<name>/changes.csv", answers=None, refuses=(404,), also=("text/csv",), asks=_SINCE)
def changes_csv(name: str) -> Response:
    """Read what changed since a design that was issued before, as a CSV file."""
    return _changes(name, as_csv=True)


def _csv_wanted() -> bool:
    kinds = ["application/json", "text/csv"]
    return request.accept_mimetypes.best_match(kinds, kinds[0]) == "text/csv"


def _table(name: str, wanted: str, *, as_csv: bool) -> Response:
    kept = kept_design(name, spread=False)
    if kept is None:
        return problem(404, f"there is no design {name!r}")
    found = _sheet(kept, name, TABLES[wanted])
    if found is None:
        return problem(404, f"the design {name!r} has no table {wanted!r}")
    return _shown(found, name, wanted, as_csv=as_csv)


def _changes(name: str, *, as_csv: bool) -> Response:
    kept = kept_design(name, spread=False)
    since = request.args.get("since", "")
    earlier = kept_design(since, spread=False)
    if kept is None or earlier is None:
        return problem(404, f"there is no design {name if kept is None else since!r}")
    found = _sheet(kept, name, "changes", issued(earlier))
    assert found is not None, "a book made since a design has its sheet of changes"
    return _shown(found, name, "changes", as_csv=as_csv)


def issued(kept: Kept) -> Issued:
    """A kept design as one that was issued."""
    return Issued(building=kept.design.building, network=kept.design.chosen.network)


def _sheet(kept: Kept, name: str, sheet: str, since: Issued | None = None) -> Table | None:
    trade = kept.trade
    tables = building_tables(
        kept.design, trade.catalogue, trade.tariff, trade.limits, design_id=name, since=since
    )
    return next((table for table in tables if table.id == sheet), None)


def _shown(table: Table, name: str, wanted: str, *, as_csv: bool) -> Response:
    if not as_csv:
        return answer(table_json(table))
    response = Response(csv_text(table), content_type="text/csv; charset=utf-8")
    response.headers["Content-Disposition"] = f'attachment; filename="{name}-{wanted}.csv"'
    return response
