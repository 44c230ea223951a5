"""What stands in a workbook beside tables: the sheets of a drawing as pictures, and charts over its cells.

A picture or a chart prints on a page of its own.
"""

from __future__ import annotations

import io
import math
from collections.abc import Mapping, Sequence
from typing import Any

from xlsxwriter.utility import xl_range_abs

from service.documents.drawing import Drawing, Tone
from service.documents.drawing_png import WIDE_DOTS, png_bytes
from service.documents.drawing_svg import COLOURS
from service.documents.sheet_chart import Series, SheetChart
from service.documents.table import Table

_DOTS_AN_INCH, _MM_AN_INCH = 96.0, 25.4
#: Height of a row that nobody has set, in dots; a page breaks between rows.
_ROW_DOTS = 20
#: So wide that a page across, A4 or Letter, holds it with its margins, in programs that differ about widths too.
_PICTURE_MM = 240.0
_CHART_DOTS = (900, 580)
_FONT = "Calibri"
_MARKERS: dict[Tone, str] = {"trunk": "square", "drop": "circle", "gain": "diamond"}
#: Changes that a label would show as minus nought.
_NOTHING_DB = 0.05


def write_drawings(sheet: Any, drawings: Sequence[Drawing], paper: int) -> None:
    """Every sheet of a drawing as a picture, a page each."""
    row, breaks = 0, []
    for drawing in drawings:
        scale = _PICTURE_MM / _MM_AN_INCH * _DOTS_AN_INCH / WIDE_DOTS
        look = {"x_scale": scale, "y_scale": scale, "description": f"{drawing.title}. {drawing.says}"}
        look["image_data"] = io.BytesIO(png_bytes(drawing))
        sheet.insert_image(row, 0, f"{drawing.id}.png", look)
        high = _PICTURE_MM * drawing.height_mm / drawing.width_mm / _MM_AN_INCH * _DOTS_AN_INCH
        row += math.ceil(high / _ROW_DOTS)
        breaks.append(row)
    _print(sheet, breaks, _PICTURE_MM / _MM_AN_INCH * _DOTS_AN_INCH, paper)


def write_charts(
    book: Any,
    sheet: Any,
    charts: Sequence[SheetChart],
    tables: Mapping[str, tuple[str, Table]],
    first_row: int,
    paper: int,
) -> None:
    """Every chart over the cells of its table, a page each. `tables` gives the sheet's name and the table by the
    table's id, `first_row` is the row in which a table begins, from 0."""
    row, breaks = 0, []
    for chart in charts:
        name, table = tables[chart.table]
        made = _chart(book, chart, name, table, first_row)
        made.set_size({"width": _CHART_DOTS[0], "height": _CHART_DOTS[1]})
        sheet.insert_chart(row, 0, made, {"description": chart.title})
        row += math.ceil(_CHART_DOTS[1] / _ROW_DOTS) + 1
        breaks.append(row)
    _print(sheet, breaks, _CHART_DOTS[0], paper)


def _print(sheet: Any, breaks: Sequence[int], wide_dots: float, paper: int) -> None:
    """Across the paper, at full size, with a break after every picture."""
    sheet.set_landscape()
    sheet.set_paper(paper)
    sheet.hide_gridlines(2)
    sheet.set_margins(left=0.3, right=0.3, top=0.3, bottom=0.3)
    sheet.set_h_pagebreaks(breaks[:-1])
    # One column as wide as the picture: a picture over many columns is stretched where their width is counted
    # otherwise.
    sheet.set_column_pixels(0, 0, math.ceil(wide_dots) + 4)
    sheet.print_area(0, 0, breaks[-1] - 1, 0)


def _chart(book: Any, chart: SheetChart, name: str, table: Table, first_row: int) -> Any:
    types = {
        "places": {"type": "line"},
        "figures": {"type": "scatter", "subtype": "straight"},
        "steps": {"type": "bar"},
    }
    made = book.add_chart(types[chart.sort])
    for series in chart.series:
        made.add_series(_series(series, name, table, first_row))
    made.set_title({"name": chart.title, "name_font": {"name": _FONT, "size": 14, "color": COLOURS["ink"]}})
    line = {"color": COLOURS["line"], "width": 0.75}
    grid = {"visible": True, "line": line}
    font = {"name": _FONT, "size": 10, "color": COLOURS["ink"]}
    places = {"name": chart.x_title, "num_font": font, "name_font": font, "label_position": "low"}
    figures: dict[str, Any] = {
        "name": chart.y_title,
        "num_font": font,
        "name_font": font,
        "major_gridlines": grid,
    }
    figures |= {"num_format": "0", "min": chart.low, "max": chart.high}
    if chart.sort == "steps":
        made.set_y_axis(places | {"reverse": True})
        made.set_x_axis(figures | {"label_position": "high"})
        made.set_legend({"none": True})
    else:
        low = {"label_position": "low", "major_gridlines": grid, "num_format": "0"}
        made.set_x_axis(places | low)
        made.set_y_axis(figures | {"label_position": "low"})
        made.set_legend({"position": "bottom", "font": font})
    made.show_blanks_as("gap")
    return made


def _series(series: Series, name: str, table: Table, first_row: int) -> dict[str, Any]:
    """A series as the writer takes it: its cells and how it is drawn."""
    at = {column.name: position for position, column in enumerate(table.columns)}
    first, last = first_row + series.first, first_row + series.last

    def cells(column: str) -> list[Any]:
        return [name, first, at[column], last, at[column]]

    def values(column: str) -> list[float | None]:
        rows = table.rows[series.first : series.last + 1]
        return [v if isinstance(v := row[at[column]], float) else None for row in rows]

    colour = COLOURS[series.tone]
    line = {"color": colour, "width": 2.0, "dash_type": "dash" if series.dashed else "solid"}
    marker = {
        "type": _MARKERS.get(series.tone, "none"),
        "size": 7,
        "border": {"color": colour},
        "fill": {"color": COLOURS["paper"] if series.tone == "drop" else colour},
    }
    look: dict[str, Any] = {"name": series.name, "categories": cells(series.x), "values": cells(series.y)}
    if series.manner == "plain":
        look |= {"line": line, "marker": {"type": "none"}}
    elif series.manner == "marked":
        look |= {"line": line, "marker": marker}
    elif series.manner == "ticks":
        tick = {"type": "long_dash", "size": 12, "border": {"color": colour}, "fill": {"color": colour}}
        look |= {"line": {"none": True}, "marker": tick}
    elif series.manner == "spans":
        look |= {"line": {"none": True}, "marker": marker}
        if series.span:
            look["y_error_bars"] = {
                "type": "custom",
                "direction": "minus",
                "end_style": 0,
                "minus_values": _range(*cells(series.span)),
                "plus_values": [0.0],
                "minus_data": values(series.span),
                "line": {"color": colour, "width": 3.0},
            }
    else:
        gain = {"fill": {"color": COLOURS["gain"]}, "border": {"color": COLOURS["ink"]}}
        loss = {"fill": {"color": COLOURS["loss"]}, "border": {"color": COLOURS["ink"]}}
        look["points"] = [gain if (value or 0.0) > 0.0 else loss for value in values(series.y)]
        noughts = [
            None if abs(value or 0.0) >= _NOTHING_DB else {"value": "0.0"} for value in values(series.y)
        ]
        look |= {"gap": 30, "data_labels": {"value": True, "num_format": "+0.0;-0.0", "custom": noughts}}
    return look


def _range(name: str, first: int, left: int, last: int, right: int) -> str:
    """Cells as a formula names them."""
    quoted = name.replace("'", "''")
    return f"='{quoted}'!{xl_range_abs(first, left, last, right)}"
