"""A drawing as a picture of dots, for workbooks and for whatever shows no SVG."""

from __future__ import annotations

import io

import plutoprint

from service.documents.drawing import Drawing
from service.documents.drawing_svg import svg_text
from service.documents.lettering import font_faces

#: Width of a drawing in dots: its smallest letters stay legible, and the file small.
WIDE_DOTS = 2200


def png_bytes(drawing: Drawing, *, wide_dots: int = WIDE_DOTS) -> bytes:
    """The drawing as PNG, so many dots wide. Same drawing, same bytes."""
    high_dots = round(wide_dots * drawing.height_mm / drawing.width_mm)
    px = plutoprint.UNITS_PX
    book = plutoprint.Book(
        plutoprint.PageSize(wide_dots * px, high_dots * px),
        plutoprint.PAGE_MARGINS_NONE,
        plutoprint.MEDIA_TYPE_SCREEN,
    )
    style = f"{font_faces()}body{{margin:0;background:#fff}}svg{{display:block;width:{wide_dots}px}}"
    book.load_html(
        f"<html><head><style>{style}</style></head><body>{svg_text(drawing, alone=False)}</body></html>"
    )
    out = io.BytesIO()
    book.write_to_png_stream(out, wide_dots, high_dots)
    return out.getvalue()
