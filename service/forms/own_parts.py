"""Parts and cables that a document brings along: from shapes to engine types, with every complaint."""

from __future__ import annotations

from typing import Any

from service.engine.findings import Fault
from service.engine.plant.cables import Cable
from service.engine.plant.energy import energy_excess
from service.engine.plant.parts import (
    NO_RANGE,
    Active,
    GroupIsolation,
    Part,
    PortGroup,
    Power,
    Rating,
    SettingRange,
)
from service.engine.signal.curves import Curve
from service.engine.signal.units import db_per_100m_from_db_per_100ft, dbmv_from_dbuv
from service.forms.reading import Json, Path, fault_at

#: Losses are printed to a hundredth of a decibel: half of that in power is no offence against physics.
_ROUNDING = 0.0012
_GAINS = ("gain_db", "slope_db", "input_pad_db", "input_equaliser_db")


def one_of(document: object, raw: Json, path: Path, names: tuple[str, ...]) -> list[Fault]:
    """A complaint unless exactly one of the fields stands in the object."""
    there = [name for name in names if name in raw]
    if len(there) == 1:
        return []
    wrong = f"{' and '.join(there)} stand together" if there else "none of them is there"
    place = (*path, there[1]) if there else path
    right = f"exactly one of {', '.join(names)}"
    return [fault_at(document, place, code="not-together", wrong=wrong, right=right)]


def own_parts(document: Json, valid: list[Json], damaged: set[int]) -> tuple[list[Part], list[Fault]]:
    """The parts of a document and the complaints about them; positions in `damaged` already have one."""
    parts: list[Part] = []
    faults: list[Fault] = []
    for position, row in enumerate(valid):
        if position in damaged:
            continue
        path: Path = ("parts", position)
        raw = document["parts"][position]
        found = _part_faults(document, raw, row, path)
        if found:
            faults += found
            continue
        part = _part(row)
        excess = 0.0 if part.active else energy_excess(part)
        if excess > _ROUNDING:
            wrong = f"over all its ports it gives out {1.0 + excess:.3f} times what it takes"
            right = "losses that leave no more than what goes in; only an amplifier has gain"
            faults.append(
                fault_at(document, (*path, "groups"), code="beats-physics", wrong=wrong, right=right)
            )
        else:
            parts.append(part)
    return parts, faults


def _part_faults(document: Json, raw: Json, row: Json, path: Path) -> list[Fault]:
    faults: list[Fault] = []
    names: list[str] = []
    for position, group in enumerate(row["groups"]):
        place = (*path, "groups", position)
        faults += one_of(document, raw["groups"][position], place, ("loss_db", "gain_db"))
        if group["name"] in names:
            wrong, right = "the part has a group of this name already", "a name of its own for each group"
            faults.append(fault_at(document, (*place, "name"), code="duplicate-id", wrong=wrong, right=right))
        names.append(group["name"])
    places = [
        ((*path, "isolation", position, key), isolation[key], names)
        for position, isolation in enumerate(row.get("isolation", ()))
        for key in ("group_a", "group_b")
    ]
    into = row.get("power", {}).get("injects_into")
    if into is not None:
        places.append(((*path, "power", "injects_into"), into, ["input", *names]))
    for place, name, allowed in places:
        if name not in allowed:
            right = f"one of {', '.join(allowed)}"
            faults.append(
                fault_at(
                    document, place, code="unknown-group", wrong="the part has no such group", right=right
                )
            )
    active = row.get("active")
    if active is not None:
        faults += _active_faults(document, raw["active"], active, (*path, "active"))
    return faults


def _active_faults(document: Json, raw: Json, active: Json, path: Path) -> list[Fault]:
    faults: list[Fault] = []
    for position in range(len(active["ratings"])):
        place = (*path, "ratings", position)
        faults += one_of(document, raw["ratings"][position], place, ("output_dbmv", "output_dbuv"))
    backwards = [
        ((*path, name, "high"), f"at least {active[name]['low']:g} dB, the low end")
        for name in _GAINS
        if name in active and active[name]["high"] < active[name]["low"]
    ]
    if active["slope_high_mhz"] <= active["slope_low_mhz"]:
        backwards.append(((*path, "slope_high_mhz"), f"above slope_low_mhz, {active['slope_low_mhz']:g} MHz"))
    for place, right in backwards:
        wrong = "the range runs backwards"
        faults.append(fault_at(document, place, code="out-of-range", wrong=wrong, right=right))
    return faults


def _part(row: Json) -> Part:
    return Part(
        id=row["id"],
        family=row.get("family", "own"),
        name=row["name"] if "name" in row else row["id"],
        groups=tuple(_group(group) for group in row["groups"]),
        isolation=tuple(GroupIsolation(**isolation) for isolation in row.get("isolation", ())),
        return_loss_db=row.get("return_loss_db"),
        tolerance_db=row.get("tolerance_db", 0.5),
        tolerance_high_db=row.get("tolerance_high_db", 1.0),
        active=_active(row["active"]) if "active" in row else None,
        power=Power(**row.get("power", {})),
        width_mm=row.get("width_mm", 0.0),
        sources=_sources(row),
    )


def _sources(row: Json) -> tuple[tuple[str, str], ...]:
    return (("all", row["source"]),) if "source" in row else ()


def _group(row: Json) -> PortGroup:
    gain = row["gain_db"] if "gain_db" in row else scaled(row["loss_db"], -1.0)
    return PortGroup(
        name=row["name"],
        count=row.get("count", 1),
        gain_db=gain,
        ends_in=row.get("ends_in", "cable"),
        passes_power=row.get("passes_power", False),
    )


def scaled(curve: Curve, factor: float) -> Curve:
    """A curve with every value times a factor; no value becomes a negative zero."""
    return Curve(
        frequency_mhz=curve.frequency_mhz, value=tuple(value * factor + 0.0 for value in curve.value)
    )


def _active(row: Json) -> Active:
    ranges: dict[str, Any] = {name: _range(row[name]) if name in row else NO_RANGE for name in _GAINS}
    kept = {key: value for key, value in row.items() if key not in _GAINS and key != "ratings"}
    return Active(ratings=tuple(_rating(rating) for rating in row["ratings"]), **ranges, **kept)


def _range(row: Json) -> SettingRange:
    return SettingRange(low=row["low"], high=row["high"], step=row.get("step", 0.0))


def _rating(row: Json) -> Rating:
    output = row["output_dbmv"] if "output_dbmv" in row else dbmv_from_dbuv(float(row["output_dbuv"]))
    return Rating(
        basis=row["basis"], output_dbmv=output, ratio_db=row["ratio_db"], carriers=row.get("carriers", 2)
    )


def own_cables(document: Json, valid: list[Json], damaged: set[int]) -> tuple[list[Cable], list[Fault]]:
    """The cables of a document and the complaints about them; positions in `damaged` already have one."""
    cables: list[Cable] = []
    faults: list[Fault] = []
    for position, row in enumerate(valid):
        if position in damaged:
            continue
        raw = document["cables"][position]
        found = one_of(document, raw, ("cables", position), ("loss_db_per_100m", "loss_db_per_100ft"))
        faults += found
        if not found:
            cables.append(_cable(row))
    return cables, faults


def _cable(row: Json) -> Cable:
    if "loss_db_per_100m" in row:
        loss = row["loss_db_per_100m"]
    else:
        loss = scaled(row["loss_db_per_100ft"], db_per_100m_from_db_per_100ft(1.0))
    return Cable(
        id=row["id"],
        series=row.get("series", ""),
        name=row["name"] if "name" in row else row["id"],
        jacket=row.get("jacket", ""),
        loss_db_per_100m=loss,
        loop_resistance_ohm_per_km=row.get("loop_resistance_ohm_per_km", 0.0),
        outer_diameter_mm=0.0,
        mass_kg_per_km=0.0,
        pull_limit_n=0.0,
        bend_installed_mm=0.0,
        bend_pulling_mm=0.0,
        screening_class="",
        connector="",
        put_ups_m=(),
        sources=_sources(row),
    )
