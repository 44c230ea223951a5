"""The drawing value, its lettering and its SVG."""

from __future__ import annotations

import struct
from xml.etree import ElementTree as ET

from service.documents.drawing import Drawing, Pen
from service.documents.drawing_png import png_bytes
from service.documents.drawing_svg import COLOURS, svg_text
from service.documents.lettering import fitted, text_width_mm, wrapped

SVG = "{http://www.w3.org/2000/svg}"


def one_text(text: str) -> Drawing:
    pen = Pen(layer="texts", ref="device:A<1>")
    pen.text(10.0, 10.0, text, 3.0)
    pen.box(1.0, 1.0, 5.0, 5.0, fill="pale", says="a & b")
    return pen.drawing("one", "One <title>", "says", width=50.0, height=20.0, layers=("texts",))


def luminance(colour: str) -> float:
    """Relative luminance. Source: Web Content Accessibility Guidelines 2.1, definition of relative luminance."""
    shares = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [share / 12.92 if share <= 0.03928 else ((share + 0.055) / 1.055) ** 2.4 for share in shares]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_text_is_as_wide_as_the_font_says() -> None:
    # Advance of "0" in DejaVu Sans Condensed: 1172 of 2048 units; bold: 1282. Read from the font's table.
    assert abs(text_width_mm("0000", 2.048) - 4 * 1.172) < 1e-3
    assert abs(text_width_mm("0", 2.048, bold=True) - 1.282) < 1.5e-3


def test_a_text_that_does_not_fit_is_cut_with_an_ellipsis_and_fits_then() -> None:
    cut = fitted("a very long label of a cable", 12.0, 2.1)
    assert cut.endswith("…")
    assert text_width_mm(cut, 2.1) <= 12.0


def test_wrapped_lines_hold_every_word_and_fit() -> None:
    lines = wrapped("feeds A5.1, A4.1, A3.1, A2.1 and others", 20.0, 2.1)
    assert " ".join(lines) == "feeds A5.1, A4.1, A3.1, A2.1 and others"
    assert all(text_width_mm(line, 2.1) <= 20.0 for line in lines)


def test_bounds_of_a_text_follow_its_anchor_and_its_turn() -> None:
    pen = Pen(layer="texts")
    pen.text(10.0, 10.0, "level", 3.0, anchor="middle")
    pen.text(10.0, 10.0, "level", 3.0, turned=True)
    flat, turned = (text.bounds_mm for text in pen.texts)
    assert abs((flat[0] + flat[2]) / 2 - 10.0) < 1e-9
    assert abs((flat[2] - flat[0]) - (turned[3] - turned[1])) < 1e-9
    assert turned[3] == 10.0


def test_svg_is_well_formed_whatever_the_texts_hold() -> None:
    root = ET.fromstring(svg_text(one_text('<script>alert("1")</script> & more')))
    texts = [node.text for node in root.iter(f"{SVG}text")]
    assert texts == ['<script>alert("1")</script> & more']
    assert root.find(f"{SVG}title").text == "One <title>"
    assert not list(root.iter(f"{SVG}script"))


def test_the_same_drawing_gives_the_same_svg() -> None:
    assert svg_text(one_text("x")) == svg_text(one_text("x"))


def test_an_svg_of_its_own_asks_for_no_other_file() -> None:
    text = svg_text(one_text("x"))
    links = [part for part in text.split('"') if "://" in part]
    assert links == ["http://www.w3.org/2000/svg"]
    assert "url(data:font/woff;base64," in text


def test_places_in_the_window_keep_apart_from_paper_for_weak_eyes() -> None:
    # Contrast of 3 to 1 for graphical objects: WCAG 2.1, success criterion 1.4.11.
    for tone in ("inside", "low", "under", "high", "over", "silent", "trunk", "drop"):
        contrast = 1.05 / (luminance(COLOURS[tone]) + 0.05)
        assert contrast >= 3.0, tone
    for tone in ("ink", "soft"):
        assert 1.05 / (luminance(COLOURS[tone]) + 0.05) >= 4.5, tone


def test_a_picture_of_dots_has_the_drawing_s_shape_and_is_the_same_each_time() -> None:
    drawing = one_text("level")
    picture = png_bytes(drawing, wide_dots=500)
    wide, high = struct.unpack(">II", picture[16:24])
    assert (wide, high) == (500, 200)
    assert picture == png_bytes(drawing, wide_dots=500)
