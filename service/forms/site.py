"""Mast, antennas and bonding conductors of a building document, as the engine has them."""

from __future__ import annotations

from collections.abc import Iterator

from service.engine.building.mast import Mast, MountedAntenna
from service.engine.building.places import BondLength
from service.engine.findings import Fault
from service.forms.building_rows import Lengths, items
from service.forms.reading import Json, Path, fault_at

N_PER_LBF = 4.4482216152605
MM_PER_IN = 25.4


def mast_of(valid: Json, document: Json, lengths: Lengths) -> Mast | None:
    """The mast of a document, where its free length can be read."""
    row = valid.get("mast")
    if not isinstance(row, dict):
        return None
    read = {name: lengths.read(row, ("mast",), name)[0] for name in ("free", "clamped", "line", "overhang")}
    ground_m = lengths.read(row, ("mast",), "above_ground")[0]
    posted = document.get("mast")
    antennas = tuple(_antennas(row, posted if isinstance(posted, dict) else {}, lengths))
    if read["free"] is None:
        return None
    return Mast(
        free_m=read["free"],
        clamped_m=read["clamped"],
        tube_mm=_either(row, "tube_mm", "tube_in", MM_PER_IN),
        antennas=antennas,
        above_ground_m=ground_m or 0.0,
        exposed=row.get("exposed", False),
        line_m=read["line"],
        overhang_m=read["overhang"] or 0.0,
    )


def _antennas(valid: Json, posted: Json, lengths: Lengths) -> Iterator[MountedAntenna]:
    for path, row, _ in items(valid, posted, "antennas", ("mast",)):
        height_m = lengths.read(row, path, "height")[0]
        if "name" in row and height_m is not None:
            wind = _either(row, "wind_n", "wind_lbf", N_PER_LBF)
            yield MountedAntenna(name=row["name"], wind_n=wind, height_m=height_m)


def _either(row: Json, metric: str, imperial: str, scale: float) -> float | None:
    """A figure in either unit, None where none stands."""
    if metric in row:
        return float(row[metric])
    return float(row[imperial]) * scale if imperial in row else None


def bonds_of(valid: Json, document: Json, lengths: Lengths) -> tuple[BondLength, ...]:
    """Bonding conductors whose length can be read."""
    rows = []
    for path, row, _ in items(valid, document, "bonds"):
        length_m = lengths.read(row, path, "length")[0]
        if "what" in row and length_m is not None:
            rows.append(BondLength(what=row["what"], at=row.get("at", ""), length_m=length_m))
    return tuple(rows)


def site_faults(document: Json) -> list[Fault]:
    """Lengths that must be there in one unit, and figures given in two."""
    faults: list[Fault] = []
    mast = document.get("mast")
    rows: list[tuple[Path, object, str]] = [
        (("bonds", at), row, "length") for at, row in enumerate(_listed(document.get("bonds")))
    ]
    if isinstance(mast, dict):
        rows.append((("mast",), mast, "free"))
        faults += _twice(document, ("mast",), mast, "tube_mm", "tube_in")
        for at, row in enumerate(_listed(mast.get("antennas"))):
            path: Path = ("mast", "antennas", at)
            rows.append((path, row, "height"))
            if isinstance(row, dict):
                faults += _twice(document, path, row, "wind_n", "wind_lbf")
    for place, row, name in rows:
        if isinstance(row, dict) and not {f"{name}_m", f"{name}_ft"} & row.keys():
            right = f"{name}_m or {name}_ft"
            faults.append(
                fault_at(document, (*place, f"{name}_m"), code="missing", wrong="it is missing", right=right)
            )
    return faults


def _listed(value: object) -> list[object]:
    return value if isinstance(value, list) else []


def _twice(document: Json, path: Path, row: Json, one: str, other: str) -> list[Fault]:
    if one in row and other in row:
        wrong, right = "two units stand together", f"{one} or {other}"
        return [fault_at(document, (*path, other), code="not-together", wrong=wrong, right=right)]
    return []
