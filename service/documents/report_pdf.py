"""The report as PDF, made from the same page."""

from __future__ import annotations

import io
import re
from typing import Any

import plutoprint

from service.documents.table import PaperSize

#: A fixed moment, so that the same page has the same bytes.
_MADE = "2026-01-01T00:00:00Z"
_MARGIN_MM = 10.0
#: Where the page is cut: what follows begins on a sheet of paper of its own.
SHEET = "<!--sheet-->"
_NAMED = re.compile(r'<h2 id="([^"]+)">')
_STARTS = re.compile(r'<b data-starts="([^"]+)"></b>')


class _Nothing(plutoprint.ResourceFetcher):
    """Holds what stands in the page itself; asks nobody for anything else."""

    def fetch_url(self, url: str) -> Any:
        """Only data that stands in the page."""
        if url.startswith("data:"):
            return super().fetch_url(url)
        raise ValueError("a report needs no other file")


def pdf_of(html: str, *, title: str, paper: PaperSize) -> bytes:
    """A page of HTML as PDF, on paper laid across. Fetches nothing. Same page, same bytes.

    The page is cut at `SHEET`; each piece begins on a sheet of paper, and the list of contents says on which.
    """
    starts, _ = page_starts(html, paper)
    numbered = _STARTS.sub(lambda found: f"<b>, page {starts[found[1]]}</b>", html)
    book = _book(numbered, paper)
    # Loading forgets what was said of the document before.
    book.set_metadata(plutoprint.PDF_METADATA_TITLE, title)
    book.set_metadata(plutoprint.PDF_METADATA_CREATION_DATE, _MADE)
    book.set_metadata(plutoprint.PDF_METADATA_MODIFICATION_DATE, _MADE)
    out = io.BytesIO()
    book.write_to_pdf_stream(out)
    return out.getvalue()


def page_starts(html: str, paper: PaperSize) -> tuple[dict[str, int], int]:
    """The page on which every section of a report begins, by its id, from 1, and how many pages there are."""
    head, body, tail = _parted(html)
    starts, page = {}, 1
    for piece in body.split(SHEET):
        name = _NAMED.search(piece)
        if name is not None:
            starts[name[1]] = page
        page += int(_book(head + piece + tail, paper).get_page_count())
    return starts, page - 1


def _parted(html: str) -> tuple[str, str, str]:
    """What stands before the body's content, the content, and what stands after it."""
    begin, end = html.find("<body>"), html.rfind("</body>")
    if begin < 0 or end < 0:
        return "", html, ""
    begin += len("<body>")
    return html[:begin], html[begin:end], html[end:]


def _book(html: str, paper: PaperSize) -> Any:
    """The page laid out."""
    sizes = {"A4": plutoprint.PAGE_SIZE_A4, "Letter": plutoprint.PAGE_SIZE_LETTER}
    margins = plutoprint.PageMargins(*(_MARGIN_MM * plutoprint.UNITS_MM,) * 4)
    book = plutoprint.Book(sizes[paper].landscape(), margins, plutoprint.MEDIA_TYPE_PRINT)
    book.custom_resource_fetcher = _Nothing()
    book.load_html(html, base_url="about:blank")
    return book
