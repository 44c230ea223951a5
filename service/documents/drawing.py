"""Drawings: boxes, lines and texts in millimetres, from which every kind of picture is written.

The origin is the upper left corner of the page, x runs to the right and y down.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from service.documents.lettering import drop_mm, fitted, rise_mm, text_width_mm

#: What a thing is drawn in: a role, which the writer turns into a colour. The places of a level in its window
#: are `inside`, `low`, `under`, `high`, `over` and `silent`.
Tone = Literal[
    "none",
    "paper",
    "ink",
    "soft",
    "line",
    "pale",
    "band",
    "unit",
    "trunk",
    "drop",
    "inside",
    "low",
    "under",
    "high",
    "over",
    "silent",
    "gain",
    "loss",
]
Anchor = Literal["start", "middle", "end"]
Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A rectangle; with `radius_mm` half its side it is a circle. `stroke_mm` 0 draws no outline.

    `ref` names what it shows, as `kind:id`; several things of one drawing may name the same. `says` is read
    out and shown on pointing.
    """

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    fill: Tone = "none"
    stroke: Tone = "ink"
    stroke_mm: float = 0.25
    radius_mm: float = 0.0
    layer: str = ""
    ref: str = ""
    says: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A line through points; closed it is a shape, filled with `fill`."""

    points: tuple[Point, ...]
    stroke: Tone = "ink"
    stroke_mm: float = 0.25
    fill: Tone = "none"
    closed: bool = False
    dashed: bool = False
    layer: str = ""
    ref: str = ""
    says: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A text on one line, standing on `y_mm`. `turned` texts read upwards."""

    x_mm: float
    y_mm: float
    text: str
    size_mm: float
    anchor: Anchor = "start"
    bold: bool = False
    tone: Tone = "ink"
    turned: bool = False
    layer: str = ""
    ref: str = ""

    @property
    def bounds_mm(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of the room that the text takes."""
        width = text_width_mm(self.text, self.size_mm, bold=self.bold)
        before = {"start": 0.0, "middle": width / 2.0, "end": width}[self.anchor]
        rise, drop = rise_mm(self.size_mm), drop_mm(self.size_mm)
        if self.turned:
            return (
                self.x_mm - rise,
                self.y_mm - width + before,
                self.x_mm + drop,
                self.y_mm + before,
            )
        left = self.x_mm - before
        return (left, self.y_mm - rise, left + width, self.y_mm + drop)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """One page. `says` describes it for people who can't see it. Things are drawn layer by layer, each in order:
    boxes, lines, texts."""

    id: str
    title: str
    says: str
    width_mm: float
    height_mm: float
    layers: tuple[str, ...]
    boxes: tuple[Box, ...]
    lines: tuple[Line, ...]
    texts: tuple[Text, ...]


@dataclass(slots=True, kw_only=True)
class Pen:
    """Collects what is drawn, so that layouts stay short. `layer` and `ref` go to everything drawn next."""

    layer: str = ""
    ref: str = ""
    boxes: list[Box] = field(default_factory=list)
    lines: list[Line] = field(default_factory=list)
    texts: list[Text] = field(default_factory=list)

    def box(
        self,
        x: float,
        y: float,
        width: float,
        height: float,
        *,
        fill: Tone = "none",
        stroke: Tone = "ink",
        stroke_mm: float = 0.25,
        radius: float = 0.0,
        says: str = "",
    ) -> None:
        """A rectangle from its upper left corner, millimetres."""
        self.boxes.append(
            Box(
                x_mm=x,
                y_mm=y,
                width_mm=width,
                height_mm=height,
                fill=fill,
                stroke=stroke,
                stroke_mm=stroke_mm,
                radius_mm=radius,
                layer=self.layer,
                ref=self.ref,
                says=says,
            )
        )

    def circle(self, x: float, y: float, radius: float, *, fill: Tone = "none", stroke: Tone = "ink") -> None:
        """A circle around a point, millimetres."""
        self.box(x - radius, y - radius, 2 * radius, 2 * radius, fill=fill, stroke=stroke, radius=radius)

    def line(
        self,
        *points: Point,
        stroke: Tone = "ink",
        stroke_mm: float = 0.25,
        fill: Tone = "none",
        closed: bool = False,
        dashed: bool = False,
        says: str = "",
    ) -> None:
        """A line through points, millimetres."""
        self.lines.append(
            Line(
                points=points,
                stroke=stroke,
                stroke_mm=stroke_mm,
                fill=fill,
                closed=closed,
                dashed=dashed,
                layer=self.layer,
                ref=self.ref,
                says=says,
            )
        )

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        room: float | None = None,
        anchor: Anchor = "start",
        bold: bool = False,
        tone: Tone = "ink",
        turned: bool = False,
    ) -> None:
        """A text on a line, millimetres; what exceeds `room` is cut with an ellipsis."""
        said = text if room is None else fitted(text, room, size, bold=bold)
        if said:
            self.texts.append(
                Text(
                    x_mm=x,
                    y_mm=y,
                    text=said,
                    size_mm=size,
                    anchor=anchor,
                    bold=bold,
                    tone=tone,
                    turned=turned,
                    layer=self.layer,
                    ref=self.ref,
                )
            )

    def drawing(
        self, id: str, title: str, says: str, *, width: float, height: float, layers: Sequence[str]
    ) -> Drawing:
        """All that was drawn, as a page."""
        return Drawing(
            id=id,
            title=title,
            says=says,
            width_mm=width,
            height_mm=height,
            layers=tuple(layers),
            boxes=tuple(self.boxes),
            lines=tuple(self.lines),
            texts=tuple(self.texts),
        )
