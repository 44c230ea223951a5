"""The pages of a design, ready to be written to a folder or sent: report and drawings."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import IO

from service.documents.book import imprint_of
from service.documents.drawing_svg import svg_text
from service.documents.report import Report, Trade, report_of
from service.documents.report_pdf import pdf_of
from service.documents.riser_drawing import riser_drawings
from service.documents.sheet_chart import book_charts
from service.documents.table import Table
from service.documents.xlsx import write_workbook
from service.engine.placement.proposal import Design
from service.engine.works.revision import Issued

REPORT = "report.html"
PDF = "report.pdf"


def design_pages(
    design: Design, trade: Trade, *, design_id: str, since: Issued | None = None
) -> dict[str, bytes]:
    """Files by name: the report as a page and as PDF, the sheets of the riser drawing, the charts.

    The report lists what changed `since` a design that was issued before, where there is one.

    Same design, same bytes. Raises UnknownIdError for a network that names what the building, catalogue or
    tariff doesn't hold.
    """
    report = report_of(design, trade, design_id=design_id, since=since)
    pages = {REPORT: report.html.encode(), PDF: report_pdf(report, design, design_id=design_id)}
    for drawing in (*report.drawings, *report.charts):
        pages[f"{drawing.id}.svg"] = svg_text(drawing).encode()
    return pages


def report_pdf(report: Report, design: Design, *, design_id: str) -> bytes:
    """A report as PDF."""
    imprint = imprint_of(design, design_id=design_id)
    return pdf_of(report.html, title=imprint.title, paper=imprint.paper)


def write_design_book(
    path: Path | IO[bytes], tables: Sequence[Table], design: Design, trade: Trade, *, design_id: str
) -> None:
    """Write the workbook of a design: its tables, charts over them, and the riser drawing as pictures.

    Raises UnknownIdError for a network that names what the building, catalogue or tariff doesn't hold.
    """
    imprint = imprint_of(design, design_id=design_id)
    charts = book_charts(design, trade.limits, trade.catalogue).charts
    drawings = riser_drawings(design, trade.catalogue, trade.symbols, imprint)
    write_workbook(path, tables, imprint, charts=charts, drawings=drawings)
