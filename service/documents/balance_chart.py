"""Cost against spread as a chart: the curve, its knee, the chosen design and the others worth a choice."""

from __future__ import annotations

from dataclasses import dataclass

from service.documents.chart_axes import (
    TEXT_MM,
    Scale,
    draw_title,
    draw_x_axis,
    draw_y_axis,
    padded,
)
from service.documents.drawing import Drawing, Pen
from service.engine.placement.proposal import Design

LAYERS = ("grid", "data", "texts")
WIDTH_MM = 170.0
_LEFT_MM, _TOP_MM, _BOTTOM_MM = 30.0, 18.0, 80.0
_LINE_MM = 4.2
TITLE = "Cost against spread"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Spot:
    """A design on the chart: where it stands, what is said of it, how it is marked."""

    spread_db: float
    cost: float
    said: str
    chosen: bool = False
    knee: bool = False
    on_curve: bool = False


def _spots(design: Design) -> list[_Spot]:
    """Points of the curve from the cheapest on, then other designs; the chosen one always."""
    spots = [
        _Spot(
            spread_db=point.spread_db,
            cost=point.cost_cents / 100.0,
            said=f"smallest margin {point.margin_db:.1f} dB",
            chosen=point.chosen,
            knee=point.knee,
            on_curve=True,
        )
        for point in design.curve
    ]
    spots += [
        _Spot(
            spread_db=choice.spread_db,
            cost=choice.cost_cents / 100.0,
            said=choice.label,
            chosen=choice.chosen,
        )
        for choice in design.choices
        if not (choice.chosen and spots)
    ]
    return spots


def _undominated(spots: list[_Spot]) -> list[_Spot]:
    """Points of the curve that no other beats, the cheapest first: the line runs through them."""
    kept: list[_Spot] = []
    for spot in sorted((row for row in spots if row.on_curve), key=lambda row: (row.cost, row.spread_db)):
        if not kept or spot.spread_db < kept[-1].spread_db:
            kept.append(spot)
    return kept


def balance_chart(design: Design, currency: str) -> tuple[Drawing, ...]:
    """The chart where there is more than one design to show; else none.

    Spread in dB over the building, on the carrier where outlets lie furthest apart; direct cost in whole units of
    the currency.
    """
    spots = _spots(design)
    if len(spots) < 2:
        return ()
    pen = Pen()
    x_low, x_high = padded([spot.spread_db for spot in spots], 4.0)
    y_low, y_high = padded([spot.cost for spot in spots], 100.0)
    x = Scale(low=x_low, high=x_high, start_mm=_LEFT_MM, end_mm=WIDTH_MM - 4.0)
    y = Scale(low=y_low, high=y_high, start_mm=_BOTTOM_MM, end_mm=_TOP_MM)
    pen.layer = "grid"
    draw_x_axis(pen, x, y.end_mm, _BOTTOM_MM, "spread over the building [dB]")
    draw_y_axis(pen, y, _LEFT_MM, WIDTH_MM - 4.0, f"direct cost [{currency}]")
    pen.layer = "data"
    line = _undominated(spots)
    if len(line) > 1:
        points = [(x.at(spot.spread_db), y.at(spot.cost)) for spot in line]
        pen.line(*points, stroke="drop", stroke_mm=0.4, dashed=True)
    for number, spot in enumerate(spots, 1):
        _mark(pen, x.at(spot.spread_db), y.at(spot.cost), spot)
        here = _BOTTOM_MM + 11.0 + _LINE_MM * number
        said = f"{number}: {spot.spread_db:.1f} dB for {spot.cost:,.2f} {currency}, {spot.said}"
        said += ", knee within 1 % of the cheapest" if spot.knee else ""
        said += ", chosen" if spot.chosen else ""
        pen.text(_LEFT_MM - 12.0, here, said, TEXT_MM, room=WIDTH_MM - _LEFT_MM)
    _numbers(pen, spots, x, y)
    remark = "Filled square: chosen. Diamond: knee. Rings: other designs. Dashed: the curve of the cheapest."
    draw_title(pen, TITLE, remark, WIDTH_MM)
    says = f"{TITLE}: {len(spots)} designs from {min(spot.spread_db for spot in spots):.1f} dB on."
    height = _BOTTOM_MM + 16.0 + _LINE_MM * len(spots)
    return (pen.drawing("cost-spread", TITLE, says, width=WIDTH_MM, height=height, layers=LAYERS),)


def _mark(pen: Pen, x: float, y: float, spot: _Spot) -> None:
    """Filled square, diamond or ring: told apart without colour. A chosen knee is a square in a diamond."""
    if spot.knee:
        reach = 2.6
        corners = ((x - reach, y), (x, y - reach), (x + reach, y), (x, y + reach), (x - reach, y))
        pen.line(*corners, stroke="ink", stroke_mm=0.35)
    if spot.chosen:
        pen.box(x - 1.0, y - 1.0, 2.0, 2.0, fill="ink", stroke="ink")
    elif not spot.knee:
        pen.circle(x, y, 1.1, fill="paper", stroke="ink")


def _numbers(pen: Pen, spots: list[_Spot], x: Scale, y: Scale) -> None:
    """The number of every design beside its mark; designs that stand close together share a text."""
    groups: list[tuple[float, float, list[int]]] = []
    for number, spot in enumerate(spots, 1):
        here = (x.at(spot.spread_db), y.at(spot.cost))
        near = next(
            (row for row in groups if abs(row[0] - here[0]) < 14.0 and abs(row[1] - here[1]) < 5.0), None
        )
        if near is None:
            groups.append((*here, [number]))
        else:
            near[2].append(number)
    for left, top, numbers in groups:
        end = left > WIDTH_MM - 24.0
        text = ", ".join(str(number) for number in numbers)
        pen.text(left + (-3.0 if end else 3.0), top - 1.2, text, TEXT_MM, anchor="end" if end else "start")
