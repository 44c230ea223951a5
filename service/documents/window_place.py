"""Where an outlet lies in its window: one of six places, each with its own shape beside its colour."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from service.documents.drawing import Pen
from service.engine.checks.margins import OutletMargins

Spot = Literal["inside", "low", "under", "high", "over", "silent"]

#: In the order of a legend, with what each means.
SPOTS: tuple[tuple[Spot, str], ...] = (
    ("inside", "inside the design window"),
    ("low", "inside the limits, low in the window"),
    ("high", "inside the limits, high in the window"),
    ("under", "below a limit"),
    ("over", "above a limit"),
    ("silent", "no limit or no signal to judge by"),
)
#: What a table says of each place in a word.
WORDS: dict[Spot, str] = {
    "inside": "inside",
    "low": "low",
    "high": "high",
    "under": "below",
    "over": "above",
    "silent": "unjudged",
}
PLACES: dict[str, Spot] = {word: spot for spot, word in WORDS.items()}
_SLACK_DB = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """An outlet: its place, what it has left to the nearer limit in dB, at which edge and on which carrier."""

    outlet: str
    spot: Spot
    margin_db: float | None
    edge: str
    carrier: str


def standings_of(margins: OutletMargins) -> dict[str, Standing]:
    """Every outlet's place in its window, over all carriers. A limit that is broken goes before anything."""
    return {outlet: _standing(margins, row, outlet) for row, outlet in enumerate(margins.outlets)}


def _standing(margins: OutletMargins, row: int, outlet: str) -> Standing:
    low, high = margins.low_db[row], margins.high_db[row]
    nearer = np.fmin(low, high)
    if not np.isfinite(nearer).any():
        return Standing(outlet=outlet, spot="silent", margin_db=None, edge="", carrier="")
    at = int(np.nanargmin(nearer))
    edge = "low" if not low[at] > high[at] else "high"
    left = float(nearer[at])
    spot: Spot = "inside"
    if left < -_SLACK_DB:
        spot = "under" if edge == "low" else "over"
    else:
        below = float(np.fmin.reduce(margins.design_low_db[row], initial=np.inf))
        above = float(np.fmin.reduce(margins.design_high_db[row], initial=np.inf))
        if min(below, above) < -_SLACK_DB:
            spot = "low" if below <= above else "high"
    return Standing(outlet=outlet, spot=spot, margin_db=left, edge=edge, carrier=margins.carriers[at])


def draw_spot(pen: Pen, x: float, y: float, size: float, spot: Spot) -> None:
    """The marker of a place around a point: a disc, an open or a filled triangle that points where the level is,
    or a cross. `size` is its width in millimetres."""
    half = size / 2.0
    if spot == "inside":
        pen.circle(x, y, half * 0.9, fill=spot, stroke=spot)
    elif spot == "silent":
        pen.line((x - half, y - half), (x + half, y + half), stroke=spot, stroke_mm=0.35)
        pen.line((x - half, y + half), (x + half, y - half), stroke=spot, stroke_mm=0.35)
    else:
        points_down = spot in ("low", "under")
        tip, flat = (y + half, y - half) if points_down else (y - half, y + half)
        filled = spot in ("under", "over")
        pen.line(
            (x - half, flat),
            (x + half, flat),
            (x, tip),
            closed=True,
            stroke=spot,
            stroke_mm=0.3,
            fill=spot if filled else "paper",
        )
