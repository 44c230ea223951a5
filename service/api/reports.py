"""`/v1/designs/<id>/report` and `/drawing`: a kept design as a report to read and print, and its riser drawing."""

from __future__ import annotations

from flask import Response, request
from flask_smorest import Blueprint

from service.api.drawer import drawer
from service.api.operations import operation
from service.api.problems import problem
from service.api.recall import recalled
from service.api.shelf import shelf
from service.documents.book import imprint_of
from service.documents.drawing_svg import svg_text
from service.documents.pages import report_pdf
from service.documents.report import Trade, report_of
from service.documents.riser_drawing import riser_drawings
from service.engine.placement.proposal import Design

_HTML, _PDF = "text/html", "application/pdf"
#: Scripts and styles stand in the page; it may load nothing.
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; font-src data:"

blueprint = Blueprint(
    "reports", __name__, url_prefix="/v1/designs", description="Reports and drawings of designs."
)


@operation(blueprint, "/<name>/report", answers=None, refuses=(404,), also=(_HTML, _PDF))
def report(name: str) -> Response:
    """Read the report of a design: a page, or PDF where that is accepted first."""
    wanted = request.accept_mimetypes.best_match([_HTML, _PDF], _HTML)
    return _report(name, as_pdf=wanted == _PDF)


@operation(blueprint, "/<name>/report.html", answers=None, refuses=(404,), also=(_HTML,))
def report_html(name: str) -> Response:
    """Read the report of a design as a page."""
    return _report(name, as_pdf=False)


@operation(blueprint, "/<name>/report.pdf", answers=None, refuses=(404,), also=(_PDF,))
def report_as_pdf(name: str) -> Response:
    """Read the report of a design as PDF."""
    return _report(name, as_pdf=True)


@operation(
    blueprint, "/<name>/drawing/<int:sheet>.svg", answers=None, refuses=(404,), also=("image/svg+xml",)
)
def drawing(name: str, sheet: int) -> Response:
    """Read a sheet of the riser drawing of a design, from 1."""
    found = _design(name, spread=False)
    if found is None:
        return problem(404, f"there is no design {name!r}")
    design, trade = found
    sheets = riser_drawings(design, trade.catalogue, trade.symbols, imprint_of(design, design_id=name))
    if not 1 <= sheet <= len(sheets):
        return problem(404, f"the drawing of {name!r} has {len(sheets)} sheets")
    response = Response(svg_text(sheets[sheet - 1]), content_type="image/svg+xml")
    response.headers["Content-Security-Policy"] = _POLICY
    return response


def _report(name: str, *, as_pdf: bool) -> Response:
    found = _design(name, spread=True)
    if found is None:
        return problem(404, f"there is no design {name!r}")
    design, trade = found
    made = report_of(design, trade, design_id=name)
    if as_pdf:
        response = Response(report_pdf(made, design, design_id=name), content_type=_PDF)
        response.headers["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    else:
        response = Response(made.html, content_type=f"{_HTML}; charset=utf-8")
        response.headers["Content-Security-Policy"] = _POLICY
    response.headers["Vary"] = "Accept"
    return response


def _design(name: str, *, spread: bool) -> tuple[Design, Trade] | None:
    """A kept design, computed again, and what its report is made with; None where there is none."""
    kept = drawer().store.get(name)
    if kept is None:
        return None
    known = shelf().known
    again = recalled(kept, known, spread=spread)
    trade = Trade(
        catalogue=known.catalogue,
        tariff=again.tariff,
        limits=known.limits[again.design.building.rules.limits],
        services=known.services,
        symbols=shelf().symbols,
        sources=shelf().sources,
    )
    return again.design, trade
