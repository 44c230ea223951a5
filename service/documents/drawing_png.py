"""A drawing as a picture of dots, for workbooks and for whatever shows no SVG."""

from __future__ import annotations

import struct
import zlib

import numpy as np
import plutoprint
from numpy.typing import NDArray

from service.documents.drawing import Drawing
from service.documents.drawing_svg import svg_text
from service.documents.lettering import font_faces

#: Width of a drawing in dots: its smallest letters stay legible, and the file small.
WIDE_DOTS = 2200
#: Shades that are told apart of each of three colours, and how many colours one byte a dot can number.
_SHADES = 32
_MOST_COLOURS = 256


def png_bytes(drawing: Drawing, *, wide_dots: int = WIDE_DOTS) -> bytes:
    """The drawing as PNG, so many dots wide, in at most 256 colours. Same drawing, same bytes."""
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
    canvas = plutoprint.ImageCanvas(wide_dots, high_dots)
    canvas.clear_surface(1.0, 1.0, 1.0, 1.0)
    book.render_page(canvas, 0)
    canvas.flush()
    dots = np.frombuffer(canvas.get_data(), dtype=np.uint8).reshape(high_dots, canvas.get_stride() // 4, 4)
    return _png(*_with_palette(dots[:, :wide_dots, 2::-1]))


def _with_palette(dots: NDArray[np.uint8]) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """The number of each dot's colour, and the colours; rare ones beyond what fits become the nearest that does."""
    nearest = ((np.arange(256) * (_SHADES - 1) + 127) // 255).astype(np.uint16)
    red, green, blue = (nearest[dots[..., at]] for at in range(3))
    keys = (red * np.uint16(_SHADES) + green) * np.uint16(_SHADES) + blue
    often = np.bincount(keys.ravel(), minlength=_SHADES**3)
    used = np.argsort(-often, kind="stable")[: min(_MOST_COLOURS, np.count_nonzero(often))]
    colours = _colours(used)
    numbers = np.zeros(_SHADES**3, dtype=np.uint8)
    for key in np.flatnonzero(often):
        apart = np.square(colours - _colours(np.asarray([key]))).sum(axis=1)
        numbers[key] = int(np.argmin(apart))
    return numbers[keys], colours.astype(np.uint8)


def _colours(keys: NDArray[np.intp]) -> NDArray[np.intp]:
    """Red, green and blue of colours by their keys."""
    shades = np.stack([keys // _SHADES**2, keys // _SHADES % _SHADES, keys % _SHADES], axis=1)
    return shades * 255 // (_SHADES - 1)


def _png(numbers: NDArray[np.uint8], colours: NDArray[np.uint8]) -> bytes:
    """Dots with a palette as a file. Source: Portable Network Graphics specification, W3C, third edition."""
    high, wide = numbers.shape
    rows = np.zeros((high, wide + 1), dtype=np.uint8)  # each line begins with its filter: none
    rows[:, 1:] = numbers
    head = struct.pack(">IIBBBBB", wide, high, 8, 3, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"PLTE", colours.tobytes()), (b"IDAT", zlib.compress(rows.tobytes(), 6)))
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(name, data) for name, data in (*chunks, (b"IEND", b"")))


def _chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
