"""`/v1/designs/<id>/drawing` and `/charts`: the sheets of a kept design's riser drawing, and its charts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from flask import Response, request
from flask_smorest import Blueprint

from service.api.kept import CONTENT_POLICY, kept_design
from service.api.operations import operation
from service.api.problems import problem
from service.api.shapes import shape_of
from service.api.shelf import answer
from service.documents.book import imprint_of
from service.documents.drawing import Drawing
from service.documents.drawing_png import png_bytes
from service.documents.drawing_svg import svg_text
from service.documents.faces import as_json
from service.documents.report import report_charts
from service.documents.riser_drawing import riser_drawings

_SVG, _PNG = "image/svg+xml", "image/png"
_KINDS = {"svg": _SVG, "png": _PNG}

blueprint = Blueprint("drawings", __name__, url_prefix="/v1/designs", description="Drawings of designs.")


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureFace:
    """A sheet of the drawing or a chart: what it shows in words, and where it is to be had."""

    id: str
    title: str
    says: str
    svg: str
    png: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PicturesFace:
    """Sheets of a drawing, or charts, in their order."""

    pictures: tuple[PictureFace, ...]


@operation(blueprint, "/<name>/drawing", answers=shape_of(PicturesFace), refuses=(404,))
def sheets(name: str) -> Response:
    """List the sheets of the riser drawing of a design, and where each is to be had."""
    found = _sheets(name)
    if found is None:
        return _unknown(name)
    return _listed(found, [f"/v1/designs/{name}/drawing/{number}" for number in range(1, len(found) + 1)])


@operation(blueprint, "/<name>/drawing/<int:sheet>", answers=None, refuses=(404,), also=(_SVG, _PNG))
def sheet(name: str, sheet: int) -> Response:
    """Read a sheet of the riser drawing of a design, from 1, as SVG, or PNG where that is accepted first."""
    return _sheet(name, sheet, request.accept_mimetypes.best_match([_SVG, _PNG], _SVG))


@operation(
    blueprint,
    "/<name>/drawing/<int:sheet>.<any(svg, png):kind>",
    answers=None,
    refuses=(404,),
    also=(_SVG, _PNG),
)
def sheet_file(name: str, sheet: int, kind: str) -> Response:
    """Read a sheet of the riser drawing of a design, from 1, as SVG or PNG."""
    return _sheet(name, sheet, _KINDS[kind])


@operation(blueprint, "/<name>/charts", answers=shape_of(PicturesFace), refuses=(404,))
def charts(name: str) -> Response:
    """List the charts of a design, and where each is to be had."""
    found = _charts(name)
    if found is None:
        return _unknown(name)
    return _listed(found, [f"/v1/designs/{name}/charts/{chart.id}" for chart in found])


@operation(blueprint, "/<name>/charts/<chart>", answers=None, refuses=(404,), also=(_SVG, _PNG))
def chart(name: str, chart: str) -> Response:
    """Read a chart of a design as SVG, or PNG where that is accepted first; or by its name with `.svg` or `.png`."""
    stem, _, kind = chart.rpartition(".")
    if kind in _KINDS:
        return _chart(name, stem, _KINDS[kind])
    return _chart(name, chart, request.accept_mimetypes.best_match([_SVG, _PNG], _SVG))


def _sheet(name: str, number: int, kind: str) -> Response:
    found = _sheets(name)
    if found is None:
        return _unknown(name)
    if not 1 <= number <= len(found):
        return problem(404, f"the drawing of {name!r} has {len(found)} sheets")
    return _picture(found[number - 1], kind)


def _chart(name: str, wanted: str, kind: str) -> Response:
    found = _charts(name)
    if found is None:
        return _unknown(name)
    chart = next((chart for chart in found if chart.id == wanted), None)
    if chart is None:
        return problem(404, f"the charts of {name!r} are {', '.join(chart.id for chart in found)}")
    return _picture(chart, kind)


def _sheets(name: str) -> tuple[Drawing, ...] | None:
    kept = kept_design(name, spread=False)
    if kept is None:
        return None
    design, trade = kept.design, kept.trade
    return riser_drawings(design, trade.catalogue, trade.symbols, imprint_of(design, design_id=name))


def _charts(name: str) -> tuple[Drawing, ...] | None:
    kept = kept_design(name, spread=True)
    return None if kept is None else report_charts(kept.design, kept.trade)


def _listed(drawings: Sequence[Drawing], places: Sequence[str]) -> Response:
    pictures = tuple(
        PictureFace(
            id=drawing.id, title=drawing.title, says=drawing.says, svg=f"{place}.svg", png=f"{place}.png"
        )
        for drawing, place in zip(drawings, places, strict=True)
    )
    return answer(as_json(PicturesFace(pictures=pictures)))


def _picture(drawing: Drawing, kind: str) -> Response:
    body = png_bytes(drawing) if kind == _PNG else svg_text(drawing).encode()
    response = Response(body, content_type=kind)
    response.headers["Content-Security-Policy"] = CONTENT_POLICY
    response.headers["Vary"] = "Accept"
    return response


def _unknown(name: str) -> Response:
    return problem(404, f"there is no design {name!r}")
