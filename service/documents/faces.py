"""Values as JSON: dataclasses by their fields, figures rounded by the unit in their name, all of them finite.

Rounding happens here and nowhere else.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.engine.signal.curves import Curve

#: Digits after the point by the last word of a field's name: levels to 0.01 dB, lengths to 0.01 m.
DIGITS: dict[str, int] = {
    "db": 2,
    "dbmv": 2,
    "dbuv": 2,
    "dbm": 2,
    "m": 2,
    "ft": 2,
    "mhz": 6,
    "v": 2,
    "a": 3,
    "w": 2,
    "share": 4,
}
#: Fields of records that name their unit beside the figure.
_IN_UNIT = ("measured", "limit", "value")
_OTHER_DIGITS = 4
_EVERYWHERE_MHZ = 1e5


def rounded(value: float, name: str) -> float | None:
    """A figure as it is shown: rounded by its name's unit, None where it is not a finite number."""
    if not math.isfinite(value):
        return None
    words = name.lower().rsplit("_", 1)
    digits = DIGITS.get(words[-1])
    if digits is None and words[0] in _IN_UNIT:
        digits = _OTHER_DIGITS
    return (round(value, digits) if digits is not None else value) + 0.0


def rounded_rows(values: NDArray[np.float64], name: str) -> list[Any]:
    """An array as nested lists, rounded by its name's unit, None where a figure is not finite."""
    digits = DIGITS[name.rsplit("_", 1)[-1]]
    shown = np.round(np.asarray(values, dtype=np.float64), digits) + 0.0
    if bool(np.isfinite(shown).all()):
        return list(shown.tolist())
    cells = shown.astype(object)
    cells[~np.isfinite(shown)] = None
    return list(cells.tolist())


class Rounded(tuple[float | None, ...]):
    """A row of figures that are rounded already: they go out as they stand."""

    __slots__ = ()


def curve_rows(curve: Curve) -> float | list[list[float]]:
    """A curve as a document has it: one number where it is flat everywhere, else pairs of MHz and value."""
    if len(set(curve.value)) == 1 and curve.low_mhz == 0.0 and curve.high_mhz >= _EVERYWHERE_MHZ:
        return curve.value[0]
    return [[frequency, value] for frequency, value in zip(curve.frequency_mhz, curve.value, strict=True)]


def as_json(value: Any, name: str = "") -> Any:
    """A value of the engine as JSON, rounded; `name` is the field it stands in."""
    if isinstance(value, Rounded):
        return list(value)
    if isinstance(value, Curve):
        return curve_rows(value)
    if is_dataclass(value) and not isinstance(value, type):
        unit = str(getattr(value, "unit", ""))
        named = {
            row.name: f"{row.name}_{unit}" if row.name in _IN_UNIT else row.name for row in fields(value)
        }
        return {
            row.name: as_json(getattr(value, row.name), named[row.name]) for row in fields(value) if row.init
        }
    if isinstance(value, np.ndarray):
        return rounded_rows(value, name)
    if isinstance(value, Mapping):
        return {str(key): as_json(inner, name) for key, inner in value.items()}
    if isinstance(value, (tuple, list)):
        return [as_json(inner, name) for inner in value]
    return rounded(value, name) if isinstance(value, float) else value
