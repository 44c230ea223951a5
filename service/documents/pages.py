"""The pages of a design, ready to be written to a folder or sent: report and drawings."""

from __future__ import annotations

from service.documents.book import imprint_of
from service.documents.drawing_svg import svg_text
from service.documents.report import Report, Trade, report_of
from service.documents.report_pdf import pdf_of
from service.engine.placement.proposal import Design

REPORT = "report.html"
PDF = "report.pdf"


def design_pages(design: Design, trade: Trade, *, design_id: str) -> dict[str, bytes]:
    """Files by name: the report as a page and as PDF, the sheets of the riser drawing, the charts.

    Same design, same bytes. Raises UnknownIdError for a network that names what the building, catalogue or
    tariff doesn't hold.
    """
    report = report_of(design, trade, design_id=design_id)
    pages = {REPORT: report.html.encode(), PDF: report_pdf(report, design, design_id=design_id)}
    for drawing in (*report.drawings, *report.charts):
        pages[f"{drawing.id}.svg"] = svg_text(drawing).encode()
    return pages


def report_pdf(report: Report, design: Design, *, design_id: str) -> bytes:
    """A report as PDF."""
    imprint = imprint_of(design, design_id=design_id)
    return pdf_of(report.html, title=imprint.title, paper=imprint.paper)
