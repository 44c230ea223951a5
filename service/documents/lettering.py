"""How wide text is in the font of the drawings, so that a layout knows what fits before anybody looks."""

from __future__ import annotations

import base64
import csv
import functools
from importlib.resources import files

#: Figures of the font's own tables, in units of which so many make the size of the text.
_UNITS = 2048
_ASCENT, _DESCENT = 1901 / _UNITS, 483 / _UNITS
#: A letter that the font doesn't hold is drawn from another font: nobody's letters are wider than this.
_UNKNOWN = 2048
FAMILY = "Evendrop Drawing"
_ELLIPSIS = "…"


@functools.cache
def _advances() -> dict[str, tuple[int, int]]:
    """Width of every letter, regular and bold, in font units."""
    text = files("service.documents").joinpath("fonts/advances.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(text.splitlines())
    return {chr(int(row["codepoint"], 16)): (int(row["regular"]), int(row["bold"])) for row in rows}


def text_width_mm(text: str, size_mm: float, *, bold: bool = False) -> float:
    """Width of a text in a size; the size is the height of a line without leading.

    >>> text_width_mm("ii", 2.0) < text_width_mm("WW", 2.0)
    True
    """
    return _units(text, bold) * size_mm / _UNITS


@functools.lru_cache(maxsize=100_000)
def _units(text: str, bold: bool) -> int:
    """Width of a text in font units; papers show the same words many times."""
    advances = _advances()
    return sum(advances.get(letter, (_UNKNOWN, _UNKNOWN))[bold] for letter in text)


def rise_mm(size_mm: float) -> float:
    """How far letters reach above the line they stand on."""
    return _ASCENT * size_mm


def drop_mm(size_mm: float) -> float:
    """How far letters reach below the line they stand on."""
    return _DESCENT * size_mm


def fitted(text: str, width_mm: float, size_mm: float, *, bold: bool = False) -> str:
    """The text, or as much of its beginning as fits, with an ellipsis.

    >>> fitted("riser", 100.0, 2.0)
    'riser'
    """
    if text_width_mm(text, size_mm, bold=bold) <= width_mm:
        return text
    while text and text_width_mm(text + _ELLIPSIS, size_mm, bold=bold) > width_mm:
        text = text[:-1]
    return text.rstrip(" ,;") + _ELLIPSIS if text else ""


def wrapped(text: str, width_mm: float, size_mm: float, *, bold: bool = False) -> tuple[str, ...]:
    """The text in lines of whole words; a word that is longer than a line is cut.

    >>> wrapped("one two", 1.0, 0.1)
    ('one two',)
    """
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width_mm(longer, size_mm, bold=bold) <= width_mm:
            lines[-1] = longer
        else:
            lines.append(fitted(word, width_mm, size_mm, bold=bold))
    return tuple(lines)


@functools.cache
def font_faces() -> str:
    """The font as a style sheet that holds it: a page or drawing with it needs no other file."""
    rules = []
    for name, weight in (("regular", 400), ("bold", 700)):
        held = files("service.documents").joinpath(f"fonts/drawing-{name}.woff").read_bytes()
        data = base64.b64encode(held).decode("ascii")
        rules.append(
            f"@font-face{{font-family:'{FAMILY}';font-weight:{weight};"
            f"src:url(data:font/woff;base64,{data}) format('woff')}}"
        )
    return "".join(rules)
