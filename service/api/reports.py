"""`/v1/designs/<id>/report` and `/book`: a kept design as a report to read and print, and as a workbook."""

from __future__ import annotations

import io

from flask import Response, request
from flask_smorest import Blueprint

from service.api.kept import CONTENT_POLICY, kept_design
from service.api.operations import operation
from service.api.problems import problem
from service.api.tables import issued
from service.documents.book import building_tables
from service.documents.pages import report_pdf, write_design_book
from service.documents.report import report_of
from service.engine.works.revision import Issued

_HTML, _PDF = "text/html", "application/pdf"
_XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
_SINCE = {"since": "Id of a kept design that was issued before: the paper then lists what changed."}

blueprint = Blueprint(
    "reports", __name__, url_prefix="/v1/designs", description="Reports and books of designs."
)


@operation(blueprint, "/<name>/report", answers=None, refuses=(404,), also=(_HTML, _PDF, _XLSX), asks=_SINCE)
def report(name: str) -> Response:
    """Read the report of a design: a page, or PDF or the workbook where that is accepted first."""
    wanted = request.accept_mimetypes.best_match([_HTML, _PDF, _XLSX], _HTML)
    return _book(name) if wanted == _XLSX else _report(name, as_pdf=wanted == _PDF)


@operation(blueprint, "/<name>/report.html", answers=None, refuses=(404,), also=(_HTML,), asks=_SINCE)
def report_html(name: str) -> Response:
    """Read the report of a design as a page."""
    return _report(name, as_pdf=False)


@operation(blueprint, "/<name>/report.pdf", answers=None, refuses=(404,), also=(_PDF,), asks=_SINCE)
def report_as_pdf(name: str) -> Response:
    """Read the report of a design as PDF."""
    return _report(name, as_pdf=True)


@operation(blueprint, "/<name>/book.xlsx", answers=None, refuses=(404,), also=(_XLSX,), asks=_SINCE)
def book(name: str) -> Response:
    """Read the workbook of a design: every schedule on a sheet, charts, the riser drawing."""
    return _book(name)


def _report(name: str, *, as_pdf: bool) -> Response:
    kept, since = kept_design(name, spread=True), _since()
    if kept is None or isinstance(since, Response):
        return since if isinstance(since, Response) else problem(404, f"there is no design {name!r}")
    made = report_of(kept.design, kept.trade, design_id=name, since=since)
    if as_pdf:
        response = Response(report_pdf(made, kept.design, design_id=name), content_type=_PDF)
        response.headers["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    else:
        response = Response(made.html, content_type=f"{_HTML}; charset=utf-8")
        response.headers["Content-Security-Policy"] = CONTENT_POLICY
    response.headers["Vary"] = "Accept"
    return response


def _since() -> Issued | Response | None:
    """The design that was issued before, where one is named; a problem where there is none of that id."""
    name = request.args.get("since", "")
    if not name:
        return None
    earlier = kept_design(name, spread=False)
    return problem(404, f"there is no design {name!r}") if earlier is None else issued(earlier)


def _book(name: str) -> Response:
    kept, since = kept_design(name, spread=False), _since()
    if kept is None or isinstance(since, Response):
        return since if isinstance(since, Response) else problem(404, f"there is no design {name!r}")
    trade, out = kept.trade, io.BytesIO()
    tables = building_tables(
        kept.design, trade.catalogue, trade.tariff, trade.limits, design_id=name, since=since
    )
    write_design_book(out, tables, kept.design, trade, design_id=name)
    response = Response(out.getvalue(), content_type=_XLSX)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}.xlsx"'
    response.headers["Vary"] = "Accept"
    return response
