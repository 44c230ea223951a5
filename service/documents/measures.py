"""One unit system a building: metres or feet, dBmV or dBµV, and the paper that goes with it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from service.documents.table import PaperSize
from service.engine.building.places import Building
from service.engine.signal.units import DBUV_AT_0_DBMV, M_PER_FT

_MM_PER_INCH = 25.4


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """Units in which a building's papers speak. Lengths follow the building, levels and paper its codes."""

    length_unit: Literal["m", "ft"]
    level_unit: Literal["dBmV", "dBµV"]
    paper: PaperSize

    @classmethod
    def of(cls, building: Building) -> Measures:
        """The units of a building."""
        american = building.rules.codes.startswith("us")
        return cls(
            length_unit=building.length_unit,
            level_unit="dBmV" if american else "dBµV",
            paper="Letter" if american else "A4",
        )

    @property
    def size_unit(self) -> str:
        """Unit of small sizes: inches beside feet, millimetres beside metres."""
        return "in" if self.length_unit == "ft" else "mm"

    def length(self, length_m: float) -> float:
        """A length in the building's unit."""
        return length_m / M_PER_FT if self.length_unit == "ft" else length_m

    def level(self, level_dbmv: float) -> float:
        """A level in the region's unit."""
        return level_dbmv + (DBUV_AT_0_DBMV if self.level_unit == "dBµV" else 0.0)

    def size(self, size_mm: float) -> float:
        """A small size in its unit."""
        return size_mm / _MM_PER_INCH if self.length_unit == "ft" else size_mm
