"""Symbols of devices, drawn from plain shapes; a family's symbol name picks one.

An amplifier is the triangle of IEC 60617; the others are our own.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from service.documents.drawing import Pen, Point

_Draw = Callable[[Pen, float, float, float], None]


def draw_symbol(pen: Pen, symbol: str, x: float, y: float, size: float) -> None:
    """The symbol of that name around a point, in a square of `size` millimetres; unknown names get a square."""
    _SYMBOLS.get(symbol, _plain)(pen, x, y, size / 2.0)


def _amplifier(pen: Pen, x: float, y: float, half: float) -> None:
    corners = ((x - half, y - half), (x + half, y), (x - half, y + half))
    pen.line(*corners, closed=True, fill="paper", stroke_mm=0.35)


def _many_outputs(pen: Pen, x: float, y: float, half: float) -> None:
    _amplifier(pen, x, y, half)
    for step in (-0.5, 0.5):
        pen.line((x, y + step * half), (x + half, y + 1.4 * step * half))


def _splitter(pen: Pen, x: float, y: float, half: float) -> None:
    """A wedge that opens towards the outputs."""
    near, far = 0.35 * half, half
    corners = ((x - half, y - near), (x + half, y - far), (x + half, y + far), (x - half, y + near))
    pen.line(*corners, closed=True, fill="paper", stroke_mm=0.35)


def _tap(pen: Pen, x: float, y: float, half: float) -> None:
    """A disc on the line, with a bar where the taps go off."""
    pen.circle(x, y, half, fill="paper")
    pen.line((x, y - half), (x, y + half))
    pen.line((x, y), (x + half, y))


def _pad(pen: Pen, x: float, y: float, half: float) -> None:
    pen.box(x - half, y - 0.5 * half, 2 * half, half, fill="paper")
    pen.line((x - 0.5 * half, y), (x + 0.5 * half, y))


def _equaliser(pen: Pen, x: float, y: float, half: float) -> None:
    _plain(pen, x, y, half)
    pen.line((x - 0.6 * half, y + 0.6 * half), (x + 0.6 * half, y - 0.6 * half), stroke_mm=0.35)


def _filter(pen: Pen, x: float, y: float, half: float) -> None:
    _plain(pen, x, y, half)
    wave: list[Point] = [
        (x + 0.7 * half * (step / 6.0 - 1.0), y - 0.4 * half * math.sin(step * math.pi / 6.0))
        for step in range(13)
    ]
    pen.line(*wave)


def _inserter(pen: Pen, x: float, y: float, half: float) -> None:
    """A diamond with a plus."""
    corners = ((x - half, y), (x, y - half), (x + half, y), (x, y + half))
    pen.line(*corners, closed=True, fill="paper")
    pen.line((x - 0.4 * half, y), (x + 0.4 * half, y))
    pen.line((x, y - 0.4 * half), (x, y + 0.4 * half))


def _ground(pen: Pen, x: float, y: float, half: float) -> None:
    """A square on the earth of IEC 60617."""
    pen.box(x - half, y - half, 2 * half, half, fill="paper")
    pen.line((x, y), (x, y + 0.3 * half))
    for row, width in enumerate((0.8, 0.5, 0.2)):
        level = y + (0.3 + 0.3 * row) * half
        pen.line((x - width * half, level), (x + width * half, level))


def _outlet(pen: Pen, x: float, y: float, half: float) -> None:
    pen.circle(x, y, half, fill="paper")
    pen.circle(x, y, 0.35 * half, fill="ink")


def _feed(pen: Pen, x: float, y: float, half: float) -> None:
    """Where the signal comes in: an arrow head in a ring."""
    pen.circle(x, y, half, fill="paper")
    corners = ((x - 0.4 * half, y - 0.5 * half), (x + 0.6 * half, y), (x - 0.4 * half, y + 0.5 * half))
    pen.line(*corners, closed=True, fill="ink")


def _plain(pen: Pen, x: float, y: float, half: float) -> None:
    pen.box(x - half, y - half, 2 * half, 2 * half, fill="paper")


_SYMBOLS: dict[str, _Draw] = {
    "amplifier": _amplifier,
    "distribution-amplifier": _many_outputs,
    "splitter": _splitter,
    "tap": _tap,
    "pad": _pad,
    "equaliser": _equaliser,
    "filter": _filter,
    "inserter": _inserter,
    "ground-block": _ground,
    "outlet": _outlet,
    "feed": _feed,
}
