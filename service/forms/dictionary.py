"""The dictionary of fields, read once from `fields.toml`: text, unit and range of every field name."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldEntry:
    """One name of the dictionary. `above` is an excluded lower end, `low` and `high` are included."""

    text: str
    unit: str = ""
    low: float | None = None
    above: float | None = None
    high: float | None = None
    looks_low: str = ""
    looks_high: str = ""
    longest: int = 100

    def allows(self, value: float) -> bool:
        """True when a number lies in the range."""
        return not (
            (self.low is not None and value < self.low)
            or (self.above is not None and value <= self.above)
            or (self.high is not None and value > self.high)
        )

    @property
    def range_text(self) -> str:
        """The range for people, for example "above 0, at most 5000 m"."""
        words = []
        if self.above is not None:
            words.append(f"above {self.above:g}")
        if self.low is not None:
            words.append(f"at least {self.low:g}")
        if self.high is not None:
            words.append(f"at most {self.high:g}")
        return ", ".join(words) + (f" {self.unit}" if self.unit else "")


@cache
def dictionary() -> dict[str, FieldEntry]:
    """Every entry by name."""
    text = files("service.forms").joinpath("fields.toml").read_text(encoding="utf-8")
    return {name: FieldEntry(**row) for name, row in tomllib.loads(text).items()}


def entry(name: str) -> FieldEntry:
    """The entry of a name; raises KeyError for a name that the dictionary lacks."""
    return dictionary()[name]
