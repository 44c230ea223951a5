"""Flats of the riser drawing: panel, cables and outlets of each, or one box for many alike."""

from __future__ import annotations

from dataclasses import replace

from service.documents.device_symbols import draw_symbol
from service.documents.drawing import Pen
from service.documents.lettering import text_width_mm
from service.documents.riser_columns import Strip
from service.documents.riser_frame import CABLE_TEXT_MM, DROP_TEXT_MM, PANEL_MM, Frame
from service.documents.riser_model import Node, outlets_of
from service.documents.riser_sheets import (
    FLAT_PAD_MM,
    LINE_MM,
    OVER_MM,
    PANEL_DOWN_MM,
    SYMBOL_MM,
    TEXT_MM,
    UNDER_MM,
    Spot,
    flat_entry_mm,
    panel_node_height,
    panel_nodes,
    row_height,
    row_nodes,
)
from service.documents.window_place import SPOTS, draw_spot

MARKER_MM = 2.4
_FOLD_STEP_MM = 2.9


def name_line(pen: Pen, x: float, y: float, node: Node, room: float) -> None:
    """A device's identifier, and what it is, on one line."""
    pen.ref = f"device:{node.id}"
    pen.text(x, y, node.id, TEXT_MM, bold=True, room=room)
    used = text_width_mm(node.id, TEXT_MM, bold=True) + 1.2
    if room - used > 6.0:
        fits = (name for name in node.names if text_width_mm(name, TEXT_MM) <= room - used)
        pen.text(x + used, y, next(fits, node.names[-1]), TEXT_MM, room=room - used)


def cord_text(pen: Pen, x: float, y: float, node: Node, room: float) -> None:
    """Label above, type with length and port below the line that a cable is drawn as."""
    if node.cord is None or not node.cord.cabled:
        return
    pen.ref = f"run:{node.cord.id}"
    pen.text(x, y - OVER_MM, node.cord.label, TEXT_MM, room=room, tone="soft")
    said = f"{node.cord.kind}, {node.cord.start.group}.{node.cord.start.number}"
    pen.text(x, y + UNDER_MM, said, TEXT_MM, room=room, tone="soft")


def draw_flat(pen: Pen, frame: Frame, entry: Node, spot: Spot) -> None:
    """A flat: its frame and name, its panel's devices, every cable and outlet."""
    left, top = frame.flat_mm, spot.top_mm
    pen.layer, pen.ref = "rooms", f"unit:{entry.place.unit}"
    pen.box(
        left,
        top,
        frame.right_mm - left,
        spot.height_mm,
        fill="unit",
        stroke="line",
        radius=1.0,
        stroke_mm=0.2,
    )
    panel, rows = panel_nodes(entry), row_nodes(entry)
    pen.layer = "texts"
    floor = f", floor {entry.place.floor}" if entry.place.floor else ""
    where = f"Unit {entry.place.unit}{floor}"
    if panel or spot.height_mm > LINE_MM + 2 * FLAT_PAD_MM:
        pen.text(
            left + 1.5, top + FLAT_PAD_MM + 1.9, where, TEXT_MM, bold=True, tone="trunk", room=PANEL_MM - 2
        )
    y_panel = _panel(pen, frame, panel, top)
    y_rows: dict[str, float] = {}
    y = top + FLAT_PAD_MM
    for node in rows:
        y_rows[node.id] = y + row_height(node) / 2
        y += row_height(node)
    for node in rows:
        _row(pen, frame, node, y_rows, y_panel, entry)


def _panel(pen: Pen, frame: Frame, panel: tuple[Node, ...], top: float) -> dict[str, float]:
    """Devices of a panel, one below the other; the middle of each one's symbol by its id."""
    x = frame.flat_mm + 1.5 + SYMBOL_MM / 2
    middles: dict[str, float] = {}
    at = top + FLAT_PAD_MM + LINE_MM
    for node in panel:
        middle = at + PANEL_DOWN_MM
        middles[node.id] = middle
        before = None if node.cord is None else middles.get(node.cord.start.device)
        pen.layer = "lines"
        if before is not None and node.cord is not None:
            pen.ref = f"run:{node.cord.id}"
            pen.line((x, before + SYMBOL_MM / 2), (x, middle - SYMBOL_MM / 2), stroke="drop", stroke_mm=0.3)
        pen.layer, pen.ref = "devices", f"device:{node.id}"
        draw_symbol(pen, node.symbol, x, middle, SYMBOL_MM * 0.8)
        pen.layer = "texts"
        text_x, room = x + SYMBOL_MM / 2 + 1.0, PANEL_MM - SYMBOL_MM - 3.5
        name_line(pen, text_x, middle - OVER_MM, node, room)
        for number, line in enumerate(node.lines):
            pen.text(text_x, middle + UNDER_MM + LINE_MM * number, line, TEXT_MM, room=room)
        at += panel_node_height(node)
    return middles


def _row(
    pen: Pen,
    frame: Frame,
    node: Node,
    y_rows: dict[str, float],
    y_panel: dict[str, float],
    entry: Node,
) -> None:
    """One device in its row: the cable to it, its marker or symbol, its figures."""
    y, x = y_rows[node.id], frame.outlet_mm
    pen.layer = "lines"
    if node.cord is not None and node is not entry:
        pen.ref = f"run:{node.cord.id}"
        source = node.cord.start.device
        if source in y_panel:
            number = list(y_panel).index(source)
            out, bus = frame.flat_mm + 1.5 + SYMBOL_MM * 0.9, frame.flat_mm + PANEL_MM + 1.0 + 1.1 * number
            points = ((out, y_panel[source]), (bus, y_panel[source]), (bus, y), (x - 1.6, y))
            pen.line(*points, stroke="drop", stroke_mm=0.3)
        elif source in y_rows:
            pen.line((x, y_rows[source] + 1.6), (x, y - 1.6), stroke="drop", stroke_mm=0.3)
    elif node is entry:
        pen.ref = f"run:{node.cord.id}" if node.cord is not None else ""
    pen.layer, pen.ref = "devices", f"device:{node.id}"
    if node.standing is not None:
        pen.ref = f"outlet:{node.standing.outlet}"
        draw_spot(pen, x, y, MARKER_MM, node.standing.spot)
    else:
        draw_symbol(pen, node.symbol, x, y, MARKER_MM * 1.3)
    pen.layer = "texts"
    if node is not entry:
        cord_text(pen, frame.cable_text_mm, y, node, CABLE_TEXT_MM - 3.0)
    room = frame.right_mm - x - 3.5
    first = y - LINE_MM * (1 + len(node.lines)) / 2 + 2.0
    pen.ref = f"device:{node.id}"
    name_line(pen, x + 2.4, first, _named(node), room)
    for number, line in enumerate(node.lines, 1):
        pen.text(x + 2.4, first + LINE_MM * number, line, TEXT_MM, room=room)


def _named(node: Node) -> Node:
    """The node, its room before its kind where one is given."""
    if not node.room:
        return node
    return replace(node, names=tuple(f"{node.room}, {name}" for name in node.names) + node.names[-1:])


def draw_drop(pen: Pen, frame: Frame, entry: Node, spot: Spot) -> float:
    """What is written on the cable into a flat; where the cable arrives."""
    y = flat_entry_mm(entry, spot.top_mm)
    pen.layer = "texts"
    cord_text(pen, frame.drop_text_mm + 0.5, y, entry, DROP_TEXT_MM - 2.5)
    return y


def draw_fold(pen: Pen, frame: Frame, strip: Strip, spot: Spot, model_at: str) -> None:
    """One box for the flats of a floor that are wired as those of another: units, markers, what is left."""
    left, right = frame.drop_text_mm + 3.0, frame.right_mm
    room = right - left - 4.0
    pen.layer, pen.ref = "rooms", f"fold:{strip.name}"
    entries = strip.entries
    pen.box(
        left,
        spot.top_mm,
        right - left,
        spot.height_mm,
        fill="unit",
        stroke="line",
        radius=1.0,
        stroke_mm=0.2,
        says="holds " + " ".join(node.id for entry in entries for node in entry.all()),
    )
    pen.layer = "texts"
    units = list(dict.fromkeys(entry.place.unit for entry in entries))
    like = strip.as_strip.floor.label if strip.as_strip is not None else ""
    flats = "1 unit" if len(units) == 1 else f"{len(units)} units"
    x, y = left + 2.0, spot.top_mm + 3.2
    pen.text(
        x,
        y,
        f"{flats} wired as on floor {like} ({model_at}): {', '.join(units)}",
        TEXT_MM,
        bold=True,
        room=room,
    )
    nodes = outlets_of(entries)
    wide = max(1, int(room // _FOLD_STEP_MM))
    step = _FOLD_STEP_MM if len(nodes) <= wide else room / len(nodes)
    pen.layer = "devices"
    for number, node in enumerate(nodes):
        if node.standing is not None:
            pen.ref = f"outlet:{node.standing.outlet}"
            draw_spot(pen, x + 1.2 + step * number, y + 3.4, min(MARKER_MM, step * 0.9), node.standing.spot)
    pen.layer, pen.ref = "texts", f"fold:{strip.name}"
    pen.text(x, y + 8.0, _summed(nodes), TEXT_MM, room=room)


def _summed(nodes: tuple[Node, ...]) -> str:
    """How many outlets stand in which place, and which has least left."""
    standings = [node.standing for node in nodes if node.standing is not None]
    counts = [
        f"{sum(standing.spot == spot for standing in standings)} {meaning}"
        for spot, meaning in SPOTS
        if any(standing.spot == spot for standing in standings)
    ]
    judged = [(standing.margin_db, standing) for standing in standings if standing.margin_db is not None]
    said = f"{len(standings)} outlets: {', '.join(counts)}"
    if judged:
        left, worst = min(judged, key=lambda row: (row[0], row[1].outlet))
        said += f"; least {left:.1f} dB left at {worst.outlet} ({worst.edge} edge, carrier {worst.carrier})"
    return said
