"""The outline form: counts and the size of a storey in place of every row."""

from __future__ import annotations

from service.engine.building.sketch import OutlineRow
from service.engine.findings import Fault
from service.forms.building_rows import Lengths
from service.forms.reading import Json, fault_at

_COUNTS = ("floors", "units_per_floor", "outlets_per_unit")
#: What other forms say of the building, and an outline draws by itself.
_ROWS = (
    "floors",
    "risers",
    "floor_types",
    "unit_types",
    "units",
    "closets",
    "panels",
    "places",
    "ways",
    "outlets",
)


def outline_row(valid: Json, lengths: Lengths) -> OutlineRow | None:
    """The outline of a document, where it is whole."""
    row = valid.get("outline")
    if not isinstance(row, dict):
        return None
    length_m, _ = lengths.read(row, ("outline",), "plate_length")
    width_m, _ = lengths.read(row, ("outline",), "plate_width")
    if length_m is None or width_m is None or any(name not in row for name in _COUNTS):
        return None
    return OutlineRow(
        path=("outline",),
        floors=row["floors"],
        units_per_floor=row["units_per_floor"],
        outlets_per_unit=row["outlets_per_unit"],
        plate_length_m=length_m,
        plate_width_m=width_m,
        risers=row.get("risers", 1),
        feed=row.get("feed"),
    )


def outline_faults(document: Json) -> list[Fault]:
    """An outline stands alone, has both sides of its plate, and is never called better known than it is."""
    posted = document.get("outline")
    if not isinstance(posted, dict):
        return []
    faults = []
    others = [name for name in _ROWS if name in document]
    if others:
        wrong = f"outline and {', '.join(others)} stand together"
        right = "an outline, or the rows that are known"
        faults.append(fault_at(document, ("outline",), code="mixed-forms", wrong=wrong, right=right))
    for name in ("plate_length", "plate_width"):
        if not {f"{name}_m", f"{name}_ft"} & posted.keys():
            right = f"{name}_m or {name}_ft, the outside size of a storey"
            path = ("outline", f"{name}_m")
            faults.append(fault_at(document, path, code="missing", wrong="it is missing", right=right))
    if document.get("survey", "outline") != "outline":
        wrong, right = "lengths of an outline are made by a model", "survey outline, or none"
        faults.append(fault_at(document, ("survey",), code="not-together", wrong=wrong, right=right))
    return faults
