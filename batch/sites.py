"""Columns and sheets for what stands on a building's roof and how it is bonded; raceways of a way."""

from __future__ import annotations

from batch.columns import Column, Sheet, length, ref
from service.engine.works.raceways import RACEWAYS
from service.forms.site_schema import BOND_WHAT

#: What a row says of the raceway of its way.
RACEWAY = (
    Column(
        name="raceway",
        kind="choice",
        choices=RACEWAYS,
        width=16,
        note="Tube or trunking that its cables run in: EMT by trade size, trunking in mm. Empty: not known.",
    ),
    Column(
        name="bends_deg",
        kind="number",
        unit="degrees",
        note="Sum of its bends, the turn into it included. Empty: 90 at every place passed.",
    ),
    Column(name="pull_points", kind="whole", note="Pull boxes along it: a pull begins anew at each."),
)

#: The mast, in the row of its building.
MAST = (
    Column(
        name="roof_transmitters",
        kind="flag",
        note="yes where mobile antennas stand on the roof, no where somebody looked. Empty: not known.",
    ),
    length(
        "power_line_m",
        "From the mast's foot to the nearest power line, on the ground. Empty: nobody looked.",
        keys=("mast", "line_m"),
    ),
    length("mast_free_m", "Length of the mast above its upper clamp.", keys=("mast", "free_m")),
    length("mast_clamped_m", "Length of the mast between its clamps.", keys=("mast", "clamped_m")),
    length(
        "mast_overhang_m",
        "What the highest antenna reaches above the tube.",
        keys=("mast", "overhang_m"),
    ),
    length(
        "mast_above_ground_m",
        "Height of the mast's foot above ground. Empty: the highest floor's.",
        keys=("mast", "above_ground_m"),
    ),
    Column(
        name="mast_tube_mm",
        kind="number",
        unit="mm",
        others=(("mast_tube_in", "in"),),
        keys=("mast", "tube_mm"),
        note="Outer diameter of the mast's tube.",
    ),
    Column(
        name="mast_exposed", kind="flag", keys=("mast", "exposed"), note="yes on hills and coasts: more wind."
    ),
)

_BUILDING = ref("building", "building", "Id of the building, as in the sheet buildings.", required=True)

ANTENNAS = Sheet(
    title="antennas",
    text="One row for each antenna on a mast, where the sheet of the mast is to be worked out.",
    columns=(
        _BUILDING,
        Column(name="antenna", keys=("name",), required=True, note="Name of the antenna.", width=20),
        Column(
            name="wind_n",
            kind="number",
            unit="N",
            others=(("wind_lbf", "lbf"),),
            note="Its wind load by its maker. Empty: not known.",
        ),
        length("height_m", "Height above the mast's upper clamp.", required=True),
    ),
)

BONDS = Sheet(
    title="bonds",
    text="One row for each bonding conductor whose length is known.",
    columns=(
        _BUILDING,
        Column(
            name="what",
            kind="choice",
            choices=BOND_WHAT,
            required=True,
            width=16,
            note="mast, discharge-unit (of the antenna), or entrance (of shields).",
        ),
        Column(name="at", kind="id", note="Block or place of the entrance. Empty: every entrance."),
        length("length_m", "Length of the conductor.", required=True),
    ),
)
