"""Designs that are kept: the building as posted, its network, the catalogue rows used, digests and a summary.

Everything else about a design is computed again when it is read. Documents are kept as JSON text, so the same
statements serve SQLite and PostgreSQL.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from types import MappingProxyType
from typing import Any

import sqlalchemy as sql
from sqlalchemy.exc import IntegrityError
from sqlalchemy.pool import NullPool

Document = Mapping[str, Any]

_SCHEMA = sql.MetaData()

DESIGNS = sql.Table(
    "designs",
    _SCHEMA,
    sql.Column("id", sql.String(32), primary_key=True),
    sql.Column("building", sql.Text, nullable=False),
    sql.Column("network", sql.Text, nullable=False),
    sql.Column("catalogue", sql.Text, nullable=False),
    sql.Column("digests", sql.Text, nullable=False),
    sql.Column("summary", sql.Text, nullable=False),
    sql.Column("created", sql.String(32), nullable=False, index=True),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredDesign:
    """One design as it is kept. `created` is UTC in ISO 8601; "" until it is stored.

    `network` is a network document with unrounded values, `catalogue` holds the rows of parts and cables that
    it uses, `digests` say what went in: the building, the catalogue, the prices, the program's version.
    """

    id: str
    building: Document
    network: Document
    catalogue: Document
    digests: Document
    summary: Document
    created: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignLine:
    """One design in a list: enough to choose one."""

    id: str
    summary: Document
    created: str


def _now() -> datetime:
    return datetime.now(UTC)


def _text(document: Document) -> str:
    return json.dumps(document, ensure_ascii=False, separators=(",", ":"))


def _document(text: str) -> Document:
    loaded: dict[str, Any] = json.loads(text)
    return MappingProxyType(loaded)


class DesignStore:
    """Designs in a database. One store may be used from several threads and processes."""

    def __init__(self, url: str, *, now: Callable[[], datetime] = _now) -> None:
        """Open the database at `url` (SQLAlchemy's form) and make its table where it is missing."""
        self._now = now
        if url.startswith("sqlite"):
            # SQLite connections are cheap, and one must never be carried over a fork.
            self._engine = sql.create_engine(url, poolclass=NullPool, connect_args={"timeout": 30})
        else:
            self._engine = sql.create_engine(url, pool_pre_ping=True)
        _SCHEMA.create_all(self._engine)

    def put(self, record: StoredDesign) -> StoredDesign:
        """Keep a design and return it with its time. One that is there already stays as it is."""
        created = self._now().astimezone(UTC).isoformat(timespec="microseconds")
        values = {
            "id": record.id,
            "building": _text(record.building),
            "network": _text(record.network),
            "catalogue": _text(record.catalogue),
            "digests": _text(record.digests),
            "summary": _text(record.summary),
            "created": created,
        }
        try:
            with self._engine.begin() as connection:
                connection.execute(sql.insert(DESIGNS).values(values))
        except IntegrityError:
            kept = self.get(record.id)
            if kept is None:
                raise
            return kept
        stored = self.get(record.id)
        if stored is None:
            raise LookupError(f"design {record.id} was deleted while it was being stored")
        return stored

    def get(self, design_id: str) -> StoredDesign | None:
        """The design of that id, or None."""
        with self._engine.connect() as connection:
            row = connection.execute(sql.select(DESIGNS).where(DESIGNS.c.id == design_id)).mappings().first()
        if row is None:
            return None
        return StoredDesign(
            id=row["id"],
            building=_document(row["building"]),
            network=_document(row["network"]),
            catalogue=_document(row["catalogue"]),
            digests=_document(row["digests"]),
            summary=_document(row["summary"]),
            created=row["created"],
        )

    def lines(self, *, most: int, after: str = "") -> tuple[DesignLine, ...]:
        """At most `most` designs, the newest first; those behind the design `after` where one is named."""
        query = sql.select(DESIGNS.c.id, DESIGNS.c.summary, DESIGNS.c.created)
        if after:
            mark = sql.select(DESIGNS.c.created).where(DESIGNS.c.id == after).scalar_subquery()
            older = DESIGNS.c.created < mark
            query = query.where(older | ((DESIGNS.c.created == mark) & (DESIGNS.c.id > after)))
        query = query.order_by(DESIGNS.c.created.desc(), DESIGNS.c.id).limit(most)
        with self._engine.connect() as connection:
            rows = connection.execute(query).mappings().all()
        return tuple(
            DesignLine(id=row["id"], summary=_document(row["summary"]), created=row["created"])
            for row in rows
        )

    def delete(self, design_id: str) -> bool:
        """Delete a design; False when there is none of that id."""
        with self._engine.begin() as connection:
            result = connection.execute(sql.delete(DESIGNS).where(DESIGNS.c.id == design_id))
        return result.rowcount > 0

    def ready(self) -> bool:
        """True when the database answers."""
        try:
            with self._engine.connect() as connection:
                connection.execute(sql.select(sql.literal(1)))
        except sql.exc.SQLAlchemyError:
            return False
        return True

    def close(self) -> None:
        """Give back every connection."""
        self._engine.dispose()
