"""Lanes for the cables that run up and down beside the stations, so that no two lie upon each other."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

#: Lengths of sheets add up to one scale: no sheet is longer.
_SHEET_MM = 100_000.0
_CLEAR_MM = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """From where to where a lane is needed: sheet and millimetres from its top, at both ends."""

    start: tuple[int, float]
    end: tuple[int, float]

    @property
    def low(self) -> float:
        """The upper end on the one scale."""
        return min(_scale(self.start), _scale(self.end))

    @property
    def high(self) -> float:
        """The lower end on the one scale."""
        return max(_scale(self.start), _scale(self.end))

    def on_sheet(self, sheet: int, top: float, bottom: float) -> tuple[float, float] | None:
        """The part on a sheet, cut at the sheet's own ends; None where nothing of it is there."""
        first, last = sorted((self.start, self.end))
        if not first[0] <= sheet <= last[0]:
            return None
        return (first[1] if first[0] == sheet else top, last[1] if last[0] == sheet else bottom)


def _scale(spot: tuple[int, float]) -> float:
    return spot[0] * _SHEET_MM + spot[1]


def lanes_of(reaches: Mapping[str, Reach]) -> dict[str, int]:
    """A lane from 0 for each name, the shortest reach nearest; reaches of one lane stay clear of each other."""
    order = sorted(reaches, key=lambda name: (reaches[name].high - reaches[name].low, name))
    filled: list[list[Reach]] = []
    lanes: dict[str, int] = {}
    for name in order:
        reach = reaches[name]
        free = (number for number, rows in enumerate(filled) if _clear(reach, rows))
        lane = next(free, len(filled))
        if lane == len(filled):
            filled.append([])
        filled[lane].append(reach)
        lanes[name] = lane
    return lanes


def _clear(reach: Reach, rows: Iterable[Reach]) -> bool:
    return all(reach.low > row.high + _CLEAR_MM or reach.high < row.low - _CLEAR_MM for row in rows)
