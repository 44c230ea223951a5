"""Services, limits and channel plans of the library, read once from the packaged files.

Levels in the files may be stated in dBµV (`low_dbuv`) or dBmV (`low_dbmv`): the key says which, and what
comes out is dBmV. A source key becomes the text that stands behind it in `sources.toml`.
"""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Mapping
from dataclasses import fields
from functools import cache
from importlib.resources import files
from typing import Any, TypeVar

from service.engine.signal.limits import IsolationLimit, Limits, ResponseLimit, ServiceLimit
from service.engine.signal.spectrum import Channel, ChannelPlan, Service
from service.engine.signal.units import dbmv_from_dbuv

Row = TypeVar("Row", ServiceLimit, IsolationLimit, ResponseLimit, Limits, Service, Channel)


class ProfileError(ValueError):
    """A file of services, limits or plans that says something no such file may say; names file and key."""

    def __init__(self, *, file: str, key: str, wrong: str) -> None:
        self.file = file
        self.key = key
        super().__init__(f"{file}, {key}: {wrong}")


@cache
def load_services() -> dict[str, Service]:
    """Every service of the library by id."""
    sources = _sources()
    rows = _table("services/services.csv")
    found: dict[str, Service] = {}
    for row in rows:
        record: dict[str, object] = {**row, "id": row["service"]}
        del record["service"]
        service = _made(Service, record, "services.csv", sources)
        found[service.id] = service
    return found


@cache
def load_limits() -> dict[str, Limits]:
    """Every profile of limits by id, its services checked against those of the library."""
    sources = _sources()
    found: dict[str, Limits] = {}
    folder = files("service.library").joinpath("limits")
    for entry in sorted(folder.iterdir(), key=lambda item: item.name):
        if entry.name.endswith(".toml"):
            limits = limits_from_text(entry.read_text(encoding="utf-8"), entry.name, sources, load_services())
            found[limits.id] = limits
    return found


@cache
def load_plans() -> dict[str, ChannelPlan]:
    """Every channel plan of the library by id, its channels ascending in frequency."""
    sources = _sources()
    found: dict[str, ChannelPlan] = {}
    for row in _table("plans/plans.csv"):
        file = f"plans/{row['plan']}.csv"
        if row["service"] not in load_services():
            raise ProfileError(file="plans/plans.csv", key=row["plan"], wrong=f"no service {row['service']}")
        channels: list[Channel] = []
        for line in _table(file):
            record: dict[str, object] = {**line, "id": line["channel"]}
            del record["channel"]
            channels.append(_made(Channel, record, file, sources))
        found[row["plan"]] = ChannelPlan(
            id=row["plan"],
            name=row["name"],
            service=row["service"],
            channels=tuple(sorted(channels, key=lambda channel: channel.frequency_mhz)),
            source=_source(row["source"], "plans/plans.csv", "source", sources),
        )
    return found


def limits_from_text(
    text: str, file: str, sources: Mapping[str, str], services: Mapping[str, Service]
) -> Limits:
    """One profile from the text of its file.

    Raises ProfileError for an unknown key, source or service, a missing key, or limits out of order.
    """
    record: dict[str, Any] = tomllib.loads(text)
    rows = tuple(_made(ServiceLimit, row, file, sources) for row in record.pop("services", ()))
    for row in rows:
        if row.service not in services:
            raise ProfileError(file=file, key=row.service, wrong="there is no such service")
        if record.get("bands") and services[row.service].band not in record["bands"]:
            raise ProfileError(file=file, key=row.service, wrong="its band is not one of the bands")
        low = row.low_dbmv if row.design_low_dbmv is None else row.design_low_dbmv
        high = row.high_dbmv if row.design_high_dbmv is None else row.design_high_dbmv
        if not row.low_dbmv <= low < high <= row.high_dbmv:
            raise ProfileError(file=file, key=row.service, wrong="the levels are not in ascending order")
    record["services"] = rows
    record["isolation"] = tuple(
        _made(IsolationLimit, row, file, sources) for row in record.pop("isolation", ())
    )
    record["response"] = tuple(_made(ResponseLimit, row, file, sources) for row in record.pop("response", ()))
    record["bands"] = tuple(record.get("bands", ()))
    return _made(Limits, record, file, sources)


@cache
def _sources() -> dict[str, str]:
    text = files("service.library").joinpath("sources.toml").read_text(encoding="utf-8")
    return {str(key): str(value) for key, value in tomllib.loads(text)["sources"].items()}


def _table(path: str) -> list[dict[str, str]]:
    text = files("service.library").joinpath(*path.split("/")).read_text(encoding="utf-8")
    return list(csv.DictReader(io.StringIO(text), strict=True))


def _source(key: str, file: str, column: str, sources: Mapping[str, str]) -> str:
    """Text behind a source key. Keys that are words already (`common practice`) stay as they are."""
    if key not in sources:
        raise ProfileError(file=file, key=column, wrong=f"{key!r} is no key of sources.toml")
    return key if key in ("assumed", "from memory", "common practice") else sources[key]


def _made(kind: type[Row], record: Mapping[str, Any], file: str, sources: Mapping[str, str]) -> Row:
    """A record of the given type: dBµV turned into dBmV, text into numbers, source keys into their texts."""
    known = {field.name for field in fields(kind)}
    values: dict[str, Any] = {}
    for key, value in record.items():
        name = key.removesuffix("_dbuv") + "_dbmv" if key.endswith("_dbuv") else key
        if name not in known or name in values:
            raise ProfileError(file=file, key=key, wrong="unknown, or said twice")
        if name.endswith(("_mhz", "_db", "_dbmv", "_above_300")):
            try:
                number = float(value)
            except (TypeError, ValueError):
                raise ProfileError(file=file, key=key, wrong=f"{value!r} is no number") from None
            values[name] = dbmv_from_dbuv(number) if key.endswith("_dbuv") else number
        elif name == "source" or name.endswith("_source"):
            values[name] = _source(value, file, key, sources)
        else:
            values[name] = value
    try:
        return kind(**values)
    except TypeError as error:
        raise ProfileError(file=file, key=str(values.get("id", "")), wrong=str(error)) from None
