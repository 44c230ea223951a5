"""Heading and legend of a riser sheet: what it is of, what the shapes and figures mean, whose revision it is."""

from __future__ import annotations

from dataclasses import dataclass

from service.documents.device_symbols import draw_symbol
from service.documents.drawing import Pen
from service.documents.lettering import text_width_mm
from service.documents.riser_frame import MARGIN_MM, Frame
from service.documents.riser_sheets import TEXT_MM, Paper
from service.documents.table import Imprint
from service.documents.window_place import SPOTS, draw_spot

_SIZE_MM = 2.3
_SYMBOLS = (
    ("feed", "feed"),
    ("amplifier", "amplifier"),
    ("splitter", "splitter"),
    ("tap", "tap"),
    ("pad", "pad"),
    ("equaliser", "equaliser"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A sheet's number of how many, its height, what stands on it, and what its figures are."""

    number: int
    count: int
    height_mm: float
    columns: tuple[str, ...]
    note: str


def draw_sheet(pen: Pen, frame: Frame, paper: Paper, imprint: Imprint, sheet: Sheet) -> None:
    """Heading above and legend below the drawing."""
    pen.layer, pen.ref = "texts", ""
    right = frame.right_mm + 1.0
    wide = right - MARGIN_MM
    count = f"Sheet {sheet.number} of {sheet.count}"
    pen.text(MARGIN_MM, 12.5, imprint.title, 5.0, bold=True, room=wide * 0.72)
    pen.text(right, 12.5, count, 3.2, bold=True, anchor="end")
    pen.text(MARGIN_MM, 17.2, "Riser drawing. " + sheet.note, _SIZE_MM, tone="soft", room=wide)
    _legend(pen, sheet.height_mm - paper.foot_mm + 5.5, right)
    foot = sheet.height_mm - 6.5
    words = (
        f"Design {imprint.design}" if imprint.design else "",
        f"Revision {imprint.revision}" if imprint.revision else "",
        imprint.date,
        imprint.status,
    )
    said = ", ".join(word for word in words if word)
    pen.text(MARGIN_MM, foot, said, TEXT_MM, tone="soft", room=wide * 0.5)
    warning = "One-way television only. A calculation annex, not a signed project."
    pen.text(right, foot, warning, TEXT_MM, tone="soft", anchor="end", room=wide * 0.48)


def _legend(pen: Pen, y: float, right: float) -> None:
    """The markers of outlets on one row, symbols and lines on the next; rows break where they are full."""
    x = MARGIN_MM
    pen.text(x, y + 0.8, "Outlets", _SIZE_MM, bold=True)
    x += text_width_mm("Outlets", _SIZE_MM, bold=True) + 5.0
    for spot, meaning in SPOTS:
        draw_spot(pen, x, y, 2.6, spot)
        pen.text(x + 2.4, y + 0.8, meaning, _SIZE_MM)
        x += text_width_mm(meaning, _SIZE_MM) + 7.0
    y, x = y + 6.0, MARGIN_MM
    pen.text(x, y + 0.8, "Devices", _SIZE_MM, bold=True)
    x += text_width_mm("Devices", _SIZE_MM, bold=True) + 6.0
    for symbol, meaning in _SYMBOLS:
        draw_symbol(pen, symbol, x, y, 4.0)
        pen.text(x + 3.2, y + 0.8, meaning, _SIZE_MM)
        x += text_width_mm(meaning, _SIZE_MM) + 9.0
    for tone_width, meaning in ((0.55, "cable between stations"), (0.3, "cable into or inside a unit")):
        pen.line(
            (x - 1.0, y), (x + 6.0, y), stroke="trunk" if tone_width > 0.5 else "drop", stroke_mm=tone_width
        )
        pen.text(x + 7.5, y + 0.8, meaning, _SIZE_MM, room=max(1.0, right - x - 8.0))
        x += text_width_mm(meaning, _SIZE_MM) + 13.0
