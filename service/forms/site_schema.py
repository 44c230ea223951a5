"""The shape of what a building document says of its site: raceways, mast with antennas, bonding conductors."""

from __future__ import annotations

from typing import get_args

from service.engine.building.places import BondWhat
from service.engine.works.raceways import RACEWAYS
from service.forms.lengths import Length, Name
from service.forms.strict import Choice, Flag, Form, Number, Sections, Text, Whole

BOND_WHAT: tuple[BondWhat, ...] = get_args(BondWhat)


class RacewayFields(Form):
    """What a row with a way says of its raceway."""

    raceway = Choice("raceway", RACEWAYS)
    bends_deg = Number("bends_deg")
    pull_points = Whole("pull_points")


class AntennaForm(Form):
    """An antenna on the mast."""

    name = Text("antenna", required=True, least=1)
    wind_n = Number("wind_n")
    wind_lbf = Number("wind_lbf")
    height_m = Length("antenna_height_m")
    height_ft = Length("antenna_height_ft")


class MastForm(Form):
    """The mast as planned. Fall distance to power lines is the first thing looked at."""

    free_m = Length("mast_free_m")
    free_ft = Length("mast_free_ft")
    clamped_m = Length("mast_clamped_m")
    clamped_ft = Length("mast_clamped_ft")
    overhang_m = Length("mast_overhang_m")
    overhang_ft = Length("mast_overhang_ft")
    above_ground_m = Length("mast_ground_m")
    above_ground_ft = Length("mast_ground_ft")
    tube_mm = Number("tube_mm")
    tube_in = Number("tube_in")
    exposed = Flag("exposed")
    line_m = Length("line_m")
    line_ft = Length("line_ft")
    antennas = Sections(AntennaForm, description="Antennas on the mast.")


class BondForm(Form):
    """The length of a bonding conductor."""

    what = Choice("bond_what", BOND_WHAT, required=True)
    at = Name("bond_at")
    length_m = Length("bond_length_m")
    length_ft = Length("bond_length_ft")
