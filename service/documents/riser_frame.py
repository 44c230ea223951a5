"""Across a riser sheet: where floors, risers, stations, drops, panels and outlets stand from left to right."""

from __future__ import annotations

from dataclasses import dataclass

from service.documents.riser_sheets import STATION_WIDE_MM, Paper
from service.documents.table import Imprint, PaperSize

MARGIN_MM = 8.0
GUTTER_MM = 17.0
LANE_MM = 2.2
BUS_MM = 1.8
#: Between the stations and the nearest cable beside them, where cables from elsewhere come in.
STUB_ROOM_MM = 5.5
DROP_TEXT_MM = 33.0
PANEL_MM = 41.0
CABLE_TEXT_MM = 34.0
LEAST_OUTLET_MM = 46.0
_HEAD_MM, _FOOT_MM = 22.0, 25.0
_SIZES: dict[PaperSize, tuple[float, float]] = {"A4": (297.0, 210.0), "Letter": (279.4, 215.9)}


def paper_of(imprint: Imprint) -> Paper:
    """A sheet across, in the region's paper."""
    width, height = _SIZES[imprint.paper]
    return Paper(width_mm=width, height_mm=height, top_mm=_HEAD_MM, foot_mm=_FOOT_MM)


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Left edges in millimetres; `lanes` and `buses` count the parallel cables left and right of stations."""

    width_mm: float
    lanes: int
    buses: int

    @property
    def station_mm(self) -> float:
        """Left edge of the stations."""
        return MARGIN_MM + GUTTER_MM + STUB_ROOM_MM + 1.0 + LANE_MM * self.lanes

    def lane_mm(self, lane: int) -> float:
        """A cable between stations; lane 0 is nearest to them."""
        return self.station_mm - STUB_ROOM_MM - LANE_MM * lane

    @property
    def station_right_mm(self) -> float:
        """Right edge of the stations."""
        return self.station_mm + STATION_WIDE_MM

    def bus_mm(self, bus: int) -> float:
        """A cable from a station to flats; bus 0 is nearest to the flats."""
        return self.drop_text_mm - 1.0 - BUS_MM * bus

    @property
    def drop_text_mm(self) -> float:
        """Left edge of what is written on the cables to the flats."""
        return self.station_right_mm + 2.5 + BUS_MM * max(self.buses, 1)

    @property
    def flat_mm(self) -> float:
        """Left edge of the flats."""
        return self.drop_text_mm + DROP_TEXT_MM

    @property
    def cable_text_mm(self) -> float:
        """Left edge of what is written on the cables inside the flats."""
        return self.flat_mm + PANEL_MM + 4.0

    @property
    def outlet_mm(self) -> float:
        """The middle of the outlets' markers."""
        return self.cable_text_mm + CABLE_TEXT_MM

    @property
    def right_mm(self) -> float:
        """Right edge of the flats."""
        return max(self.width_mm - MARGIN_MM - 1.0, self.outlet_mm + LEAST_OUTLET_MM)

    @property
    def sheet_mm(self) -> float:
        """Width of the sheet: that of the paper, more where very many cables run side by side."""
        return max(self.width_mm, self.right_mm + 1.0 + MARGIN_MM)
