"""Floors and stations of the riser drawing: bands with their labels, boxes with their devices."""

from __future__ import annotations

from service.documents.device_symbols import draw_symbol
from service.documents.drawing import Pen
from service.documents.measures import Measures
from service.documents.riser_columns import Column, Strip
from service.documents.riser_flats import name_line
from service.documents.riser_frame import GUTTER_MM, MARGIN_MM, STUB_ROOM_MM, Frame
from service.documents.riser_model import Node, Station
from service.documents.riser_sheets import (
    FIRST_MM,
    LINE_MM,
    OVER_MM,
    STATION_TEXT_MM,
    STATION_WIDE_MM,
    SYMBOL_MM,
    TEXT_MM,
    UNDER_MM,
    Placed,
    Spot,
    told,
)

#: From the left edge of a station to the middle of its symbols.
SYMBOL_X_MM = 4.6
_KINDS = {"headend": "Head-end", "closet": "Closet", "panel": "Panel", "junction": "Box", "outlet": "Outlet"}


def draw_head(pen: Pen, frame: Frame, column: Column, spot: Spot) -> None:
    """The name of a column above its strips."""
    pen.layer, pen.ref = "texts", ""
    y = spot.top_mm + 4.8
    pen.text(MARGIN_MM + 1.0, y, column.name, 3.2, bold=True, tone="trunk", room=frame.right_mm - 20)


def draw_band(pen: Pen, frame: Frame, strip: Strip, spot: Spot, measures: Measures) -> None:
    """A floor's band, with its label and elevation."""
    pen.layer, pen.ref = "bands", f"floor:{strip.floor.label}"
    left, width = MARGIN_MM, frame.right_mm + 1.0 - MARGIN_MM
    pen.box(left, spot.top_mm, width, spot.height_mm, fill="band", stroke="line", stroke_mm=0.2)
    pen.box(left, spot.top_mm, GUTTER_MM, spot.height_mm, fill="pale", stroke="none", stroke_mm=0.0)
    pen.layer = "texts"
    pen.text(left + 1.5, spot.top_mm + 4.6, strip.floor.label, 4.0, bold=True, room=GUTTER_MM - 3.0)
    high = f"{measures.length(strip.floor.elevation_m):+.1f} {measures.length_unit}"
    pen.text(left + 1.5, spot.top_mm + 7.6, high, TEXT_MM, tone="soft", room=GUTTER_MM - 3.0)


def draw_station(pen: Pen, frame: Frame, station: Station, spot: Spot) -> None:
    """The box of a station, with its name and kind."""
    place = station.place
    pen.layer, pen.ref = "rooms", f"closet:{place.id}"
    pen.box(frame.station_mm, spot.top_mm, STATION_WIDE_MM, spot.height_mm, fill="pale", stroke="trunk")
    pen.layer = "texts"
    mains = ", house power" if place.mains else ""
    said = f"{_KINDS[place.kind]} {place.id}{mains}"
    pen.text(
        frame.station_mm + 1.5,
        spot.top_mm + 3.0,
        said,
        2.4,
        bold=True,
        tone="trunk",
        room=STATION_WIDE_MM - 3,
    )


def draw_device(pen: Pen, frame: Frame, node: Node, placed: Placed) -> None:
    """A device of a station: symbol, cable that feeds it, identifier, settings and levels."""
    spot = placed.devices[node.id]
    x, y = frame.station_mm + SYMBOL_X_MM, spot.symbol_mm
    _coupling(pen, x, y, node, placed)
    pen.layer, pen.ref = "devices", f"device:{node.id}"
    draw_symbol(pen, node.symbol, x, y, SYMBOL_MM)
    text_x, at = x + SYMBOL_MM / 2 + 1.4, spot.top_mm + FIRST_MM
    pen.layer = "texts"
    if node.cord is not None:
        pen.ref = f"run:{node.cord.id}"
        pen.text(text_x, at, _came(node, placed), TEXT_MM, tone="soft", room=STATION_TEXT_MM)
        if node.cord.cabled:
            said = f"{node.cord.label}, {node.cord.kind}"
            pen.text(text_x, at + LINE_MM, said, TEXT_MM, tone="trunk", room=STATION_TEXT_MM)
    name_line(pen, text_x, y - OVER_MM, node, STATION_TEXT_MM)
    pen.ref = f"device:{node.id}"
    for number, line in enumerate((*node.lines, *told(node, placed.column_of))):
        pen.text(text_x, y + UNDER_MM + LINE_MM * number, line, TEXT_MM, room=STATION_TEXT_MM)


def _came(node: Node, placed: Placed) -> str:
    """Where the signal of a device comes from, with the sheet where that is another one."""
    if node.cord is None:
        return ""
    source = placed.devices.get(node.cord.start.device)
    own = placed.devices[node.id]
    lead = "from" if node.cord.cabled else "on"
    far = f", sheet {source.sheet + 1}" if source is not None and source.sheet != own.sheet else ""
    return f"{lead} {node.cord.start}{far}"


def _coupling(pen: Pen, x: float, y: float, node: Node, placed: Placed) -> None:
    """The line into a device from another one of its station, or a stub where the other is elsewhere."""
    cord = node.cord
    if cord is None:
        return
    pen.layer, pen.ref = "lines", f"run:{cord.id}"
    source, own = placed.devices.get(cord.start.device), placed.devices[node.id]
    half = SYMBOL_MM / 2
    if placed.column_of.get(cord.start.device) != placed.column_of[node.id]:
        tip = x - SYMBOL_X_MM - STUB_ROOM_MM + 1.2
        pen.line((tip, y), (x - half, y), stroke="trunk", stroke_mm=0.55)
        pen.line((tip, y - 0.9), (tip + 1.4, y), (tip, y + 0.9), closed=True, fill="trunk", stroke="trunk")
        return
    if cord.cabled or source is None or source.sheet != own.sheet:
        return
    above = own.symbol_mm - half
    begins = source.symbol_mm + half
    between = any(
        spot.sheet == own.sheet and begins < spot.symbol_mm < above for spot in placed.devices.values()
    )
    if not between:
        pen.line((x + 1.2, begins - 0.4), (x + 1.2, above + 0.4), stroke="trunk", stroke_mm=0.55)
        return
    side = x + half + 0.7
    points = ((x + 1.2, begins - 0.4), (x + 1.2, begins + 0.6), (side, begins + 0.6), (side, above - 0.7))
    pen.line(*points, (x + 1.2, above - 0.7), (x + 1.2, above + 0.4), stroke="trunk", stroke_mm=0.55)
