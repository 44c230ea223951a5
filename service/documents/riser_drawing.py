"""The riser drawing: floors from the roof to the basement, stations, risers, flats and every outlet, in sheets."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from service.documents.drawing import Drawing, Pen, Point, Tone
from service.documents.measures import Measures
from service.documents.riser_columns import Column, Strip, columns_of
from service.documents.riser_flats import draw_drop, draw_flat, draw_fold
from service.documents.riser_frame import Frame, paper_of
from service.documents.riser_lanes import Reach, lanes_of
from service.documents.riser_legend import Sheet, draw_sheet
from service.documents.riser_model import Node, RiserModel, riser_model
from service.documents.riser_sheets import (
    STUB_MM,
    SYMBOL_MM,
    Packer,
    Paper,
    Placed,
    Spot,
    flat_entry_mm,
    panel_nodes,
    trunk_children,
)
from service.documents.riser_stations import SYMBOL_X_MM, draw_band, draw_device, draw_head, draw_station
from service.documents.table import Imprint
from service.engine.placement.proposal import Design
from service.engine.plant.catalogue import Catalogue

LAYERS = ("bands", "rooms", "lines", "devices", "texts")
#: With more outlets than this, alike floors are drawn in full once.
FOLD_ABOVE = 60


def riser_drawings(
    design: Design,
    catalogue: Catalogue,
    symbols: Mapping[str, str],
    imprint: Imprint,
    *,
    folded: bool | None = None,
) -> tuple[Drawing, ...]:
    """The sheets of a design's riser drawing.

    `symbols` gives the symbol name of each family of parts. `folded` draws the flats of alike floors once and
    says so; by default that is done in buildings of more than sixty outlets.
    """
    measures = Measures.of(design.building)
    model = riser_model(design, catalogue, symbols, measures)
    fold = len(design.building.outlets) > FOLD_ABOVE if folded is None else folded
    columns = columns_of(design.building, model, fold=fold)
    paper = paper_of(imprint)
    placed = Packer(paper, model).pack(columns)
    return _Plot(design, model, columns, placed, paper, imprint, measures).sheets()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cable:
    """A cable between things of one column: from which node to which, and where it leaves and arrives."""

    node: Node
    reach: Reach


class _Plot:
    """Routes the cables once, then draws sheet after sheet."""

    def __init__(
        self,
        design: Design,
        model: RiserModel,
        columns: Sequence[Column],
        placed: Placed,
        paper: Paper,
        imprint: Imprint,
        measures: Measures,
    ) -> None:
        self.design, self.model, self.columns, self.placed = design, model, columns, placed
        self.paper, self.imprint, self.measures = paper, imprint, measures
        self.trunks = self._trunks()
        self.drops = self._drops()
        self.lanes = lanes_of({name: cable.reach for name, cable in self.trunks.items()})
        self.buses = lanes_of(self._bus_reaches())
        self.frame = Frame(
            width_mm=paper.width_mm,
            lanes=max(self.lanes.values(), default=-1) + 1,
            buses=max(self.buses.values(), default=-1) + 1,
        )

    def _trunks(self) -> dict[str, _Cable]:
        """Cables between stations of one column, by the device they feed."""
        cables: dict[str, _Cable] = {}
        placed = self.placed
        for name, spot in placed.devices.items():
            number = 0
            for child in trunk_children(self.model.nodes[name]):
                end = placed.devices[child.id]
                if placed.column_of[child.id] != placed.column_of[name]:
                    continue
                number += 1
                leaves = spot.symbol_mm + SYMBOL_MM / 2 + 0.4 + STUB_MM * number
                reach = Reach(start=(spot.sheet, leaves), end=(end.sheet, end.symbol_mm))
                cables[child.id] = _Cable(node=child, reach=reach)
        return cables

    def _drops(self) -> dict[str, _Cable]:
        """Cables into flats that are drawn in full, by the device they feed."""
        cables: dict[str, _Cable] = {}
        for name, spot in self.placed.flats.items():
            node = self.model.nodes[name]
            assert node.cord is not None, "a flat is fed by a run"
            start = self.placed.devices[node.cord.start.device]
            end = (spot.sheet, flat_entry_mm(node, spot.top_mm))
            cables[name] = _Cable(node=node, reach=Reach(start=(start.sheet, start.symbol_mm), end=end))
        return cables

    def _bus_reaches(self) -> dict[str, Reach]:
        """The cables of one device into flats share a bus."""
        ends: dict[str, list[tuple[int, float]]] = {}
        for cable in self.drops.values():
            assert cable.node.cord is not None, "a flat is fed by a run"
            ends.setdefault(cable.node.cord.start.device, []).extend((cable.reach.start, cable.reach.end))
        return {name: Reach(start=min(rows), end=max(rows)) for name, rows in ends.items()}

    def sheets(self) -> tuple[Drawing, ...]:
        """Every sheet."""
        return tuple(self._sheet(number) for number in range(self.placed.sheets))

    def _sheet(self, number: int) -> Drawing:
        pen, placed, frame = Pen(), self.placed, self.frame
        bottom = max(self.paper.bottom_mm, placed.ends_mm[number])
        height = bottom + self.paper.foot_mm
        for column, spot in placed.heads:
            if spot.sheet == number:
                draw_head(pen, frame, column, spot)
        for strip, spot in placed.strips:
            if spot.sheet == number:
                draw_band(pen, frame, strip, spot, self.measures)
        for station, spot in placed.stations:
            if spot.sheet == number:
                draw_station(pen, frame, station, spot)
        for name, spot in placed.devices.items():
            if spot.sheet == number:
                draw_device(pen, frame, self.model.nodes[name], placed)
        for name, spot in placed.flats.items():
            if spot.sheet == number:
                draw_flat(pen, frame, self.model.nodes[name], spot)
                draw_drop(pen, frame, self.model.nodes[name], spot)
        for strip, spot in placed.folds:
            if spot.sheet == number:
                self._fold(pen, strip, spot)
        self._cables(pen, number, bottom)
        sheet = Sheet(
            number=number + 1,
            count=placed.sheets,
            height_mm=height,
            columns=tuple(dict.fromkeys(self._columns_on(number))),
            note=self.model.level_note,
        )
        draw_sheet(pen, frame, self.paper, self.imprint, sheet)
        return pen.drawing(
            f"riser-{number + 1}",
            f"Riser drawing of {self.imprint.title}, sheet {number + 1} of {placed.sheets}",
            f"Floors from the top down with {', '.join(sheet.columns)}. The tables give the same figures.",
            width=frame.sheet_mm,
            height=height,
            layers=LAYERS,
        )

    def _columns_on(self, number: int) -> list[str]:
        """Names of the columns of which something stands on a sheet."""
        return [
            self.placed.column_of[station.nodes[0].id]
            for station, spot in self.placed.stations
            if spot.sheet == number
        ]

    def _fold(self, pen: Pen, strip: Strip, spot: Spot) -> None:
        """The box of a folded strip, with a line from each device that feeds it."""
        frame, placed = self.frame, self.placed
        like = strip.as_strip
        sheet = next(at.sheet for other, at in placed.strips if other is like)
        draw_fold(pen, frame, strip, spot, f"sheet {sheet + 1}")
        pen.layer = "lines"
        for name in strip.flats:
            device = placed.devices[name]
            if device.sheet != spot.sheet:
                continue
            y = spot.top_mm + spot.height_mm / 2
            x = frame.station_mm + SYMBOL_X_MM + SYMBOL_MM / 2
            bend = frame.drop_text_mm - 0.5
            pen.ref = f"fold:{strip.name}"
            points = (
                (x, device.symbol_mm),
                (bend, device.symbol_mm),
                (bend, y),
                (frame.drop_text_mm + 3.0, y),
            )
            pen.line(*points, stroke="drop", stroke_mm=0.5)

    def _cables(self, pen: Pen, number: int, bottom: float) -> None:
        """Every cable between things on the sheet, or the part of it that crosses the sheet."""
        frame, top = self.frame, self.paper.top_mm
        pen.layer = "lines"
        for name, cable in self.trunks.items():
            x_in, x_out = frame.station_mm + SYMBOL_X_MM - SYMBOL_MM / 2, frame.station_mm + SYMBOL_X_MM - 1.2
            self._cable(pen, cable, number, (top, bottom), frame.lane_mm(self.lanes[name]), (x_out, x_in))
        for cable in self.drops.values():
            assert cable.node.cord is not None, "a flat is fed by a run"
            x_sym = frame.station_mm + SYMBOL_X_MM + SYMBOL_MM / 2
            bus = frame.bus_mm(self.buses[cable.node.cord.start.device])
            end = frame.flat_mm if panel_nodes(cable.node) else frame.outlet_mm - 1.6
            self._cable(pen, cable, number, (top, bottom), bus, (x_sym, end), thin=True)

    def _cable(
        self,
        pen: Pen,
        cable: _Cable,
        number: int,
        sheet_mm: tuple[float, float],
        lane: float,
        ends: tuple[float, float],
        *,
        thin: bool = False,
    ) -> None:
        """One cable: out to its lane, along it, in again; an arrow head where it leaves the sheet."""
        part = cable.reach.on_sheet(number, *sheet_mm)
        if part is None:
            return
        begins, arrives = cable.reach.start, cable.reach.end
        downwards = begins <= arrives
        first, last = part if downwards else part[::-1]
        points: list[Point] = []
        if begins[0] == number:
            stub = first - (0.0 if thin else 1.0)
            points += (
                [(ends[0], begins[1]), (lane, begins[1])] if thin else [(ends[0], stub), (ends[0], first)]
            )
            points += [] if thin else [(lane, first)]
        else:
            points.append((lane, first))
        points.append((lane, last))
        if arrives[0] == number:
            points.append((ends[1], last))
        assert cable.node.cord is not None, "a cable is a run"
        pen.ref = f"run:{cable.node.cord.id}"
        tone: Tone = "drop" if thin else "trunk"
        pen.line(*points, stroke=tone, stroke_mm=0.3 if thin else 0.55)
        for at, inside in ((first, begins[0] != number), (last, arrives[0] != number)):
            if inside:
                tip = 1.4 if at == last else -1.4
                side = tip if downwards else -tip
                corners = ((lane - 0.9, at - side), (lane + 0.9, at - side), (lane, at))
                pen.line(*corners, closed=True, fill=tone, stroke=tone, stroke_mm=0.1)
