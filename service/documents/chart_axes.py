"""Axes of a chart: a scale from figures to millimetres, ticks at round figures, grid and titles."""

from __future__ import annotations

import math
from dataclasses import dataclass

from service.documents.drawing import Pen
from service.documents.lettering import text_width_mm

TEXT_MM = 3.0
_TICK_MM = 2.7


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """From figures to millimetres along one direction; `end_mm` may lie before `start_mm`."""

    low: float
    high: float
    start_mm: float
    end_mm: float

    def at(self, value: float) -> float:
        """Where a figure stands, kept inside the plot."""
        share = (min(max(value, self.low), self.high) - self.low) / (self.high - self.low)
        return self.start_mm + share * (self.end_mm - self.start_mm)


def ticks(low: float, high: float, most: int = 8) -> tuple[float, ...]:
    """Round figures from `low` to `high`, at most about `most`.

    >>> ticks(0.0, 10.0, 5)
    (0.0, 2.0, 4.0, 6.0, 8.0, 10.0)
    """
    rough = (high - low) / max(most, 1)
    power = 10.0 ** math.floor(math.log10(rough)) if rough > 0 else 1.0
    step = next(power * factor for factor in (1.0, 2.0, 5.0, 10.0) if power * factor >= rough * 0.999)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return tuple(number * step for number in range(first, last + 1))


def padded(values: list[float], least: float) -> tuple[float, float]:
    """A range around figures, with a little air, at least so wide."""
    low, high = min(values), max(values)
    air = max((high - low) * 0.06, (least - (high - low)) / 2, 0.5)
    return low - air, high + air


def draw_x_axis(pen: Pen, scale: Scale, top: float, bottom: float, title: str) -> None:
    """Ticks with their figures below the plot, grid lines across it, the title under them."""
    for value in ticks(scale.low, scale.high, max(2, int(abs(scale.end_mm - scale.start_mm) / 16))):
        x = scale.at(value)
        pen.line((x, top), (x, bottom), stroke="line", stroke_mm=0.15)
        pen.text(x, bottom + 4.0, f"{value + 0.0:g}", _TICK_MM, anchor="middle", tone="soft")
    middle = (scale.start_mm + scale.end_mm) / 2
    pen.text(middle, bottom + 9.0, title, TEXT_MM, anchor="middle", tone="soft")


def draw_y_axis(pen: Pen, scale: Scale, left: float, right: float, title: str) -> None:
    """Ticks with their figures left of the plot, grid lines across it, the title turned beside them."""
    for value in ticks(scale.low, scale.high, max(2, int(abs(scale.end_mm - scale.start_mm) / 11))):
        y = scale.at(value)
        pen.line((left, y), (right, y), stroke="line", stroke_mm=0.15)
        pen.text(left - 1.5, y + 0.9, f"{value + 0.0:g}", _TICK_MM, anchor="end", tone="soft")
    middle = (scale.start_mm + scale.end_mm) / 2
    pen.text(left - 12.0, middle, title, TEXT_MM, anchor="middle", tone="soft", turned=True)


def draw_title(pen: Pen, title: str, remark: str, width: float) -> None:
    """The chart's title and what it says, above the plot."""
    pen.layer = "texts"
    pen.text(2.0, 6.0, title, 4.0, bold=True, room=width - 4.0)
    pen.text(2.0, 11.0, remark, TEXT_MM, tone="soft", room=width - 4.0)


def wide(text: str) -> float:
    """Width of a label of a chart."""
    return text_width_mm(text, TEXT_MM)
