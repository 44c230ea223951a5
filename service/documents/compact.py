"""Long tables on paper: the columns that a reader needs, in small type, in blocks side by side.

Every row stays; columns that only a crew or a buyer needs are left to the workbook and the CSV files.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from service.documents.lettering import text_width_mm, wrapped
from service.documents.table import PaperSize, Table
from service.documents.table_text import shown_value

#: Tables of more rows than this are set in blocks.
LONG = 36
#: Size of the letters, 7 points.
TEXT_MM = 2.47
_PAD_MM = 1.6
_GAP_MM = 4.0
_WIDEST_MM = 62.0
_NARROWEST_MM = 7.0
#: Lines of a block with its header on the table's first page, under headings and notes, and on later ones.
_LINES: dict[PaperSize, tuple[int, int]] = {"A4": (42, 51), "Letter": (44, 53)}
_PAGE_MM: dict[PaperSize, float] = {"A4": 277.0, "Letter": 259.0}
_MOST_ACROSS = 5
_MOST_STRETCH = 1.4
#: Tables of more columns than this are set in blocks however short they are.
_MANY = 9

#: Columns that stand on paper, by the table's id; other tables keep all of theirs.
KEPT: dict[str, tuple[str, ...]] = {
    "outlets": (
        "outlet",
        "floor",
        "lowest level",
        "highest level",
        "above the lower limit",
        "below the upper limit",
        "in the window",
    ),
    "pulls": (
        "pull",
        "from device and port",
        "label",
        "type and jacket",
        "leaves bundle at",
        "length as pulled",
    ),
    "labels": ("label", "on the start", "on the end", "type and jacket", "length"),
    "firestops": ("number", "between", "spaces", "cables", "least inner diameter"),
    "reels": ("box or reel", "cable", "put-up", "pulls, in order", "left over"),
    "test": ("point", "carrier", "design", "measured", "lowest", "highest"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Compact:
    """How a long table is set: positions of its columns with their widths, and for each page its blocks, each the
    positions of its rows."""

    columns: tuple[int, ...]
    widths_mm: tuple[float, ...]
    pages: tuple[tuple[tuple[int, ...], ...], ...]
    whole: bool

    @property
    def across(self) -> int:
        """Blocks side by side on a full page."""
        return max(len(blocks) for blocks in self.pages)


def compact(table: Table, paper: PaperSize) -> Compact | None:
    """How a table is set on paper; None for one that is short enough as it is."""
    kept = KEPT.get(table.id)
    if len(table.rows) <= LONG and (kept is None or len(table.columns) <= _MANY):
        return None
    columns = tuple(at for at, column in enumerate(table.columns) if kept is None or column.name in kept)
    cells = [[shown_value(row[at], table.columns[at].kind) for at in columns] for row in table.rows]
    titles = [table.columns[at].title for at in columns]
    widths = [_width(titles[n], [row[n] for row in cells]) for n in range(len(columns))]
    across = max(1, min(_MOST_ACROSS, int(_PAGE_MM[paper] // (sum(widths) + _GAP_MM))))
    # Blocks share the page's width; a table that would be one narrow block stays narrow.
    wider = min((_PAGE_MM[paper] - _GAP_MM * across) / across / sum(widths), _MOST_STRETCH)
    widths = [width * wider for width in widths]
    header = _lines(titles, widths, bold=True)
    first, later = _LINES[paper]
    heights = [_lines(row, widths) for row in cells]
    return Compact(
        columns=columns,
        widths_mm=tuple(widths),
        pages=_pages(heights, across, (first - header, later - header)),
        whole=len(columns) == len(table.columns),
    )


def _lines(texts: Sequence[str], widths: Sequence[float], *, bold: bool = False) -> int:
    """Lines that a row takes."""
    pairs = zip(texts, widths, strict=True)
    return max(1, *(len(wrapped(text, width - _PAD_MM, TEXT_MM, bold=bold)) for text, width in pairs))


def _width(title: str, cells: Sequence[str]) -> float:
    """Room for the widest cell and for the longest word of the header."""
    words = max((text_width_mm(word, TEXT_MM, bold=True) for word in title.split()), default=0.0)
    widest = max((text_width_mm(text, TEXT_MM) for text in cells), default=0.0)
    return max(_NARROWEST_MM, words + _PAD_MM, min(_WIDEST_MM, widest + _PAD_MM + 0.4))


def _pages(
    heights: Sequence[int], across: int, lines: tuple[int, int]
) -> tuple[tuple[tuple[int, ...], ...], ...]:
    """Rows in order, down one block and on to the next; the blocks of the last page are about equally high."""
    pages: list[tuple[tuple[int, ...], ...]] = []
    at = 0
    while at < len(heights):
        left = sum(heights[at:])
        most = lines[min(len(pages), 1)]
        room = most if left >= most * across else max(-(-left // across), max(heights[at:]))
        blocks: list[tuple[int, ...]] = []
        while at < len(heights) and len(blocks) < across:
            block: list[int] = []
            used = 0
            while at < len(heights) and (not block or used + heights[at] <= room):
                block.append(at)
                used += heights[at]
                at += 1
            blocks.append(tuple(block))
        pages.append(tuple(blocks))
    return tuple(pages)
