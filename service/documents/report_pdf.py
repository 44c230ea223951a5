"""The report as PDF, made from the same page."""

from __future__ import annotations

import io
from typing import Any

import plutoprint

from service.documents.table import PaperSize

#: A fixed moment, so that the same page has the same bytes.
_MADE = "2026-01-01T00:00:00Z"
_MARGIN_MM = 10.0
#: Height of a drawing that leaves room for the margins.
_SHEET_MM: dict[PaperSize, float] = {"A4": 185.0, "Letter": 190.0}


class _Nothing(plutoprint.ResourceFetcher):
    """Holds what stands in the page itself; asks nobody for anything else."""

    def fetch_url(self, url: str) -> Any:
        """Only data that stands in the page."""
        if url.startswith("data:"):
            return super().fetch_url(url)
        raise ValueError("a report needs no other file")


def pdf_of(html: str, *, title: str, paper: PaperSize) -> bytes:
    """A page of HTML as PDF, across the paper, so that drawings and schedules fill it. Fetches nothing.

    Same page, same bytes.
    """
    sizes = {"A4": plutoprint.PAGE_SIZE_A4, "Letter": plutoprint.PAGE_SIZE_LETTER}
    book = plutoprint.Book(
        sizes[paper].landscape(),
        plutoprint.PageMargins(*(_MARGIN_MM * plutoprint.UNITS_MM,) * 4),
        plutoprint.MEDIA_TYPE_PRINT,
    )
    book.custom_resource_fetcher = _Nothing()
    fits = f"#sheets svg{{max-height:{_SHEET_MM[paper]:g}mm}}figure{{margin:0}}"
    page = f"@page{{size:{paper} landscape;margin:{_MARGIN_MM:g}mm}}@media print{{{fits}}}"
    across = f"<style>{page}</style></head>"
    book.load_html(html.replace("</head>", across, 1), base_url="about:blank")
    # Loading forgets what was said of the document before.
    book.set_metadata(plutoprint.PDF_METADATA_TITLE, title)
    book.set_metadata(plutoprint.PDF_METADATA_CREATION_DATE, _MADE)
    book.set_metadata(plutoprint.PDF_METADATA_MODIFICATION_DATE, _MADE)
    out = io.BytesIO()
    book.write_to_pdf_stream(out)
    return out.getvalue()
