"""A drawing as SVG: one file that needs no other, or a piece of a page that brings its own font and colours."""

from __future__ import annotations

from xml.etree import ElementTree as ET

from service.documents.drawing import Box, Drawing, Line, Text, Tone
from service.documents.lettering import FAMILY, font_faces

#: Colours on paper. Those of the window's places keep apart for colour-blind readers (after Okabe and Ito, Color
#: Universal Design, 2008) and differ in lightness, so that they keep apart in grey as well.
COLOURS: dict[Tone, str] = {
    "none": "none",
    "paper": "#ffffff",
    "ink": "#1b2a33",
    "soft": "#52636d",
    "line": "#c3ced4",
    "pale": "#eef3f5",
    "band": "#f7f9fa",
    "unit": "#ffffff",
    "trunk": "#12506b",
    "drop": "#5b7f90",
    "inside": "#00735c",
    "low": "#c07c00",
    "under": "#b83c00",
    "high": "#a8568a",
    "over": "#6d1f57",
    "silent": "#6a737a",
    "gain": "#12506b",
    "loss": "#8fa6b1",
}
#: The same on a dark page.
DARK: dict[Tone, str] = {
    "none": "none",
    "paper": "#141c21",
    "ink": "#e8eef1",
    "soft": "#a9b8c0",
    "line": "#40505a",
    "pale": "#24313a",
    "band": "#1a242b",
    "unit": "#141c21",
    "trunk": "#7cc4e4",
    "drop": "#86a9ba",
    "inside": "#3fc7a5",
    "low": "#f0b03c",
    "under": "#ff8a4f",
    "high": "#e39cc8",
    "over": "#f06fc8",
    "silent": "#9aa6ad",
    "gain": "#7cc4e4",
    "loss": "#5c727e",
}


def tone_style(colours: dict[Tone, str], within: str = "") -> str:
    """Rules of a style sheet that give every tone its colour, where `within` selects."""
    lead = f"{within} " if within else ""
    return "".join(
        f"{lead}.f-{tone}{{fill:{colour}}}{lead}.s-{tone}{{stroke:{colour}}}"
        for tone, colour in colours.items()
    )


def svg_element(drawing: Drawing, *, alone: bool, crop_mm: tuple[float, float] = (0.0, 0.0)) -> ET.Element:
    """The drawing as an element. `alone` gives it the font, the paper and the size of a file of its own. `crop_mm`
    is left away at either side and at top and bottom: the margins of a page that has its own."""
    width, height = _mm(drawing.width_mm), _mm(drawing.height_mm)
    left, top = crop_mm
    shown = (left, top, drawing.width_mm - 2 * left, drawing.height_mm - 2 * top)
    root = ET.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": " ".join(_mm(edge) for edge in shown),
            "role": "img",
            "aria-labelledby": f"{drawing.id}-title {drawing.id}-says",
            "font-family": f"'{FAMILY}', 'DejaVu Sans Condensed', sans-serif",
        },
    )
    if alone:
        root.set("width", f"{width}mm")
        root.set("height", f"{height}mm")
    ET.SubElement(root, "title", {"id": f"{drawing.id}-title"}).text = drawing.title
    ET.SubElement(root, "desc", {"id": f"{drawing.id}-says"}).text = drawing.says
    if alone:
        ET.SubElement(root, "style").text = font_faces()
        ET.SubElement(root, "rect", {"width": width, "height": height, "fill": COLOURS["paper"]})
    for layer in drawing.layers:
        group = ET.SubElement(root, "g", {"class": f"layer-{layer}"})
        for box in drawing.boxes:
            if box.layer == layer:
                _box(group, box)
        for line in drawing.lines:
            if line.layer == layer:
                _line(group, line)
        for text in drawing.texts:
            if text.layer == layer:
                _text(group, text)
    return root


def svg_text(drawing: Drawing, *, alone: bool = True, crop_mm: tuple[float, float] = (0.0, 0.0)) -> str:
    """The drawing as SVG. Same drawing, same text."""
    return ET.tostring(svg_element(drawing, alone=alone, crop_mm=crop_mm), encoding="unicode")


def _box(group: ET.Element, box: Box) -> None:
    marks = _painted(box.fill, box.stroke, box.stroke_mm) | {
        "x": _mm(box.x_mm),
        "y": _mm(box.y_mm),
        "width": _mm(box.width_mm),
        "height": _mm(box.height_mm),
    }
    if box.radius_mm:
        marks["rx"] = _mm(box.radius_mm)
    _said(ET.SubElement(group, "rect", marks | _refers(box.ref)), box.says)


def _line(group: ET.Element, line: Line) -> None:
    marks = _painted(line.fill, line.stroke, line.stroke_mm)
    marks["points"] = " ".join(f"{_mm(x)},{_mm(y)}" for x, y in line.points)
    if line.dashed:
        marks["stroke-dasharray"] = "1.2 0.8"
    marks["stroke-linejoin"] = "round"
    name = "polygon" if line.closed else "polyline"
    _said(ET.SubElement(group, name, marks | _refers(line.ref)), line.says)


def _text(group: ET.Element, text: Text) -> None:
    x, y = _mm(text.x_mm), _mm(text.y_mm)
    marks = {"x": x, "y": y, "font-size": _mm(text.size_mm), "fill": COLOURS[text.tone]}
    marks["class"] = f"f-{text.tone}"
    if text.bold:
        marks["font-weight"] = "700"
    if text.anchor != "start":
        marks["text-anchor"] = text.anchor
    if text.turned:
        marks["transform"] = f"rotate(-90 {x} {y})"
    ET.SubElement(group, "text", marks | _refers(text.ref)).text = text.text


def _painted(fill: Tone, stroke: Tone, stroke_mm: float) -> dict[str, str]:
    """Colours for paper as attributes, and classes by which a page may change them."""
    drawn = stroke != "none" and stroke_mm > 0
    marks = {"fill": COLOURS[fill], "class": f"f-{fill}" + (f" s-{stroke}" if drawn else "")}
    if drawn:
        marks |= {"stroke": COLOURS[stroke], "stroke-width": _mm(stroke_mm)}
    return marks


def _refers(ref: str) -> dict[str, str]:
    return {"data-ref": ref} if ref else {}


def _said(element: ET.Element, says: str) -> None:
    if says:
        ET.SubElement(element, "title").text = says


def _mm(value: float) -> str:
    """Millimetres to a hundredth, without idle noughts."""
    return f"{value + 0.0:.2f}".rstrip("0").rstrip(".") or "0"
