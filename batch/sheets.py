"""The sheets of a building workbook: their columns, what each takes, where it goes.

Template and reader both live on this table, so they can't disagree.
"""

from __future__ import annotations

from dataclasses import replace
from typing import get_args, get_type_hints

from batch.columns import Column, Sheet, length, ref
from batch.estimates import KIT_ITEMS, PUT_UPS, RATES
from batch.outlines import OUTLINE
from batch.sites import ANTENNAS, BONDS, MAST, RACEWAY
from batch.terms import FEEDS, PRICES, WISHES
from service.engine.building.places import (
    Access,
    ExistingFate,
    LengthUnit,
    Paper,
    UnitFeed,
)
from service.engine.building.rates import Survey
from service.engine.building.ways import PULL_KINDS
from service.engine.plant.permits import FORBIDDEN_SPACES, SPACES
from service.forms.building_schema import SLABS

BUILDING = ref("building", "building", "Id of the building, as in the sheet buildings.", required=True)
BLOCK = Column(name="block", kind="id", note="Block of an estate; left empty where there is one.")
USER = Column(
    name="user", kind="id", note="Who uses the outlets, where it isn't the flat. `common` for common areas."
)
ROOM = Column(name="room", note="Room, for the pull schedule.")
FEED = Column(
    name="feed",
    kind="choice",
    choices=get_args(UnitFeed),
    note="panel: one cable to a panel in the flat. home-run: one cable for each outlet.",
)
ACCESS = Column(
    name="access",
    kind="choice",
    choices=get_args(Access),
    width=15,
    note="Who can get at the place, and how.",
)


#: What a row says of the way that leads to it, beside its length.
WAY = (
    Column(
        name="pull",
        kind="choice",
        keys=("kind",),
        choices=PULL_KINDS,
        note="How the cable is pulled; it picks the labour rate. Empty: told from its ends.",
    ),
    Column(
        name="spaces",
        kind="list",
        width=20,
        note="What the way crosses, with commas: "
        + ", ".join(SPACES)
        + ". The strictest decides the jacket. Never: "
        + ", ".join(FORBIDDEN_SPACES)
        + ".",
    ),
    Column(name="survey", kind="choice", choices=get_args(Survey), note="How the length is known."),
    Column(name="firestops", kind="whole", note="Rated walls and slabs that the way passes."),
    Column(
        name="existing",
        kind="choice",
        keys=("existing", "fate"),
        choices=get_args(ExistingFate),
        width=16,
        note="What becomes of coax that lies there already. Empty: there is none.",
    ),
    Column(
        name="existing_cable",
        kind="id",
        keys=("existing", "cable"),
        note="Its type in the library. Empty: unknown, series 59 and 20 % more loss.",
    ),
    Column(
        name="existing_loss_db",
        kind="number",
        unit="dB",
        keys=("existing", "loss_db"),
        note="Its loss as measured over the whole length.",
    ),
    Column(
        name="existing_loss_mhz",
        kind="number",
        unit="MHz",
        keys=("existing", "loss_mhz"),
        note="Frequency of that measurement.",
    ),
    Column(
        name="existing_age_years",
        kind="number",
        unit="years",
        keys=("existing", "age_years"),
        note="Its age.",
    ),
    *RACEWAY,
)


#: The same of the ways between the closets of a riser.
BETWEEN = tuple(
    replace(
        column,
        name=f"between_{column.name}",
        keys=("between", *column.key_of(column.name)),
        note=f"Between the closets of a riser. {column.note}",
    )
    for column in WAY
)

BUILDINGS = Sheet(
    title="buildings",
    text="One row for each building.",
    optional=False,
    columns=(
        replace(
            BUILDING, name="building", keys=("id",), defines="building", refers="", note="Id of the building."
        ),
        Column(name="name", note="Name, for paper.", width=30),
        ref(
            "same_as",
            "building",
            "Id of another building with the same plan: nothing else of a plan then stands.",
        ),
        Column(
            name="mirrored", kind="flag", note="yes where that plan is mirrored: labels and order change."
        ),
        Column(
            name="limits",
            kind="id",
            keys=("rules", "limits"),
            lists="limits",
            note="Profile of limits.",
            width=16,
        ),
        Column(name="plan", kind="id", keys=("rules", "plan"), lists="plans", note="Channel plan.", width=16),
        Column(name="codes", kind="id", keys=("rules", "codes"), note="Code set, with its edition."),
        Column(
            name="prices",
            kind="id",
            lists="tariffs",
            note="Price sheet: the library's or one of the sheet prices.",
        ),
        Column(name="feed", kind="id", refers="feed", note="Id of the line-up in the sheet feeds."),
        Column(
            name="headend",
            kind="id",
            keys=("headend", "id"),
            defines="place",
            note="Id of the head-end's place.",
        ),
        Column(name="headend_floor", kind="id", keys=("headend", "floor"), note="Floor of the head-end."),
        Column(name="headend_block", kind="id", keys=("headend", "block"), note="Block of the head-end."),
        Column(
            name="headend_mains", kind="flag", keys=("headend", "mains"), note="yes where house power is."
        ),
        replace(ACCESS, name="headend_access", keys=("headend", "access")),
        Column(
            name="headend_devices",
            kind="whole",
            keys=("headend", "most_devices"),
            note="Devices that fit at the head-end, where known.",
        ),
        Column(
            name="headend_ports",
            kind="whole",
            keys=("headend", "most_ports"),
            note="Ports that fit at the head-end, where known.",
        ),
        Column(
            name="headend_never",
            kind="list",
            keys=("headend", "never"),
            note="Parts that must not hang there.",
        ),
        length("floor_height_m", "Storey height, floor to floor. Empty: 3.0 m."),
        Column(
            name="length_unit",
            kind="choice",
            choices=get_args(LengthUnit),
            note="Unit of lengths on paper. Which one you type in is said by the header: run_m or run_ft.",
        ),
        *OUTLINE,
        Column(name="survey", kind="choice", choices=get_args(Survey), note="How lengths are known."),
        Column(name="route_factor", kind="number", note="Lengthens what nobody walked. Empty: 1.10."),
        Column(name="new_build", kind="flag", note="no for a building that stands already."),
        Column(name="occupied", kind="flag", note="yes where people live in the flats."),
        Column(name="year_built", kind="whole", note="It switches cautions on: old plaster, old slabs."),
        Column(
            name="slab",
            kind="choice",
            choices=SLABS,
            note="Kind of slab: post-tensioned slabs are scanned before coring.",
        ),
        Column(
            name="lightning_system",
            kind="flag",
            note="yes where a lightning protection system exists, no where somebody looked. Empty: not known.",
        ),
        *MAST,
        Column(name="expected_units", kind="whole", note="Flats that the rows must add up to."),
        Column(name="expected_outlets", kind="whole", note="Outlets that the rows must add up to."),
        Column(name="revision", keys=("paper", "revision"), note="Revision on every page."),
        Column(
            name="status",
            kind="choice",
            keys=("paper", "status"),
            choices=get_args(get_type_hints(Paper)["status"]),
            width=16,
            note="Status on every page.",
        ),
        Column(name="date", kind="date", keys=("paper", "date"), note="Date on every page: 2026-03-31."),
        length("left_outlet_m", "Cable left at an outlet. Empty: 0.3 m.", keys=("ends", "outlet_m")),
        length("left_panel_m", "Cable left at a flat's panel. Empty: 1 m.", keys=("ends", "panel_m")),
        length("left_closet_m", "Cable left at a closet. Empty: 2 m.", keys=("ends", "closet_m")),
        length("left_headend_m", "Cable left at the head-end. Empty: 3 m.", keys=("ends", "headend_m")),
        Column(name="note", note="A note for whoever reads the design.", width=30),
    ),
)

FLOORS = Sheet(
    title="floors",
    text="Floors from the lowest up: one, or alike ones as 3-12. Left out: told from the labels used.",
    columns=(
        BUILDING,
        Column(name="label", kind="id", note="Label of one floor, as on the lift's button."),
        Column(name="labels", kind="id", note="Alike floors: 3-12. Format the cell as text."),
        Column(name="missing", kind="list", note="Labels left out of the row: 13."),
        Column(name="floor_type", kind="id", refers="floor type", note="What the floors are like."),
        BLOCK,
        Column(name="blocks", kind="list", note="Blocks that have these floors, where there are several."),
        Column(name="order", kind="whole", note="Place from below, 0 the lowest. Empty: as the rows stand."),
        length("elevation_m", "Height of the floor over the lowest one."),
        length("storey_m", "Height of this storey."),
    ),
)

UNIT_TYPES = Sheet(
    title="unit types",
    text="One row for each outlet of a kind of flat.",
    columns=(
        BUILDING,
        Column(name="unit_type", kind="id", defines="unit type", required=True, note="Kind of flat."),
        FEED,
        Column(name="outlet", kind="id", keys=("id",), required=True, note="Outlet in the flat: 1, 2, LR."),
        ROOM,
        length("drop_m", "Cable from the panel, or from the flat's door, to the outlet.", required=True),
        *WAY,
    ),
)

FLOOR_TYPES = Sheet(
    title="floor types",
    text="One row for each flat of a kind of floor. A floor without flats has a row with its name alone.",
    columns=(
        BUILDING,
        Column(name="floor_type", kind="id", defines="floor type", required=True, note="Kind of floor."),
        Column(name="unit", kind="id", keys=("id",), required=True, note="Place on the floor: A, B, 01."),
        replace(ref("unit_type", "unit type", "Kind of flat."), required=True),
        Column(
            name="riser", kind="id", keys=("at",), refers="riser", required=True, note="Riser that feeds it."
        ),
        USER,
        Column(name="stack", kind="id", note="Flats above each other. Empty: as the place on the floor."),
        length("run_m", "Cable from the riser's closet to the flat, height included.", required=True),
        *WAY,
    ),
)

PLACES = Sheet(
    title="closets and panels",
    text="One row for each riser, closet, panel or turn. A riser is a closet on each of its floors.",
    columns=(
        BUILDING,
        Column(
            name="kind",
            kind="choice",
            choices=("riser", "closet", "panel", "junction"),
            required=True,
            note="riser, closet, panel, or junction (where ways meet).",
        ),
        Column(name="id", kind="id", required=True, defines="place", note="Id of the place."),
        Column(name="floor", kind="id", note="Floor of a closet, panel or junction."),
        BLOCK,
        Column(name="unit", kind="id", note="Flat of a panel."),
        ref("from", "place", "Place that feeds it. A riser: the place from which it is entered."),
        length("run_m", "Whole cable from there, height included. Empty inside one riser: by floors."),
        Column(
            name="floors", kind="id", note="A riser's floors: 1-12, 14. Empty: all. Format the cell as text."
        ),
        Column(name="enters", kind="id", note="Floor on which a riser is entered. Empty: its lowest."),
        ACCESS,
        Column(name="mains", kind="flag", note="yes where house power is, in ventilated common space."),
        Column(name="mains_floors", kind="list", note="A riser's floors with house power: 4, 8, 12."),
        Column(name="most_devices", kind="whole", note="Devices that fit in the box, where known."),
        Column(name="most_ports", kind="whole", note="Ports that fit in the box, where known."),
        Column(name="never", kind="list", note="Parts that must not hang here."),
        length("between_m", "A riser: from closet to closet. Empty: by floors.", keys=("between", "run_m")),
        *BETWEEN,
        *WAY,
    ),
)

UNITS = Sheet(
    title="units",
    text="One row for each flat outside a floor type, or common area. A unit type furnishes it.",
    columns=(
        BUILDING,
        Column(name="unit", kind="id", keys=("id",), defines="unit", required=True, note="Id of the flat."),
        Column(name="floor", kind="id", note="Its floor."),
        BLOCK,
        ref("unit_type", "unit type", "Kind of flat; it brings panel and outlets."),
        ref("at", "place", "Closet that feeds it, where it has a unit type."),
        length("run_m", "Cable from there to the flat, height included."),
        FEED,
        USER,
        Column(name="stack", kind="id", note="Flats above each other."),
        Column(name="occupied", kind="flag", note="yes where people live there."),
        *WAY,
    ),
)

OUTLETS = Sheet(
    title="outlets",
    text="One row for each outlet that doesn't come with a unit type.",
    columns=(
        BUILDING,
        Column(
            name="outlet", kind="id", keys=("id",), defines="outlet", required=True, note="Id of the outlet."
        ),
        Column(name="unit", kind="id", note="Its flat, or a common area."),
        replace(ref("at", "place", "Closet or panel that serves it."), required=True),
        length("drop_m", "Cable from there to the outlet, height included.", required=True),
        ROOM,
        USER,
        *WAY,
    ),
)

WAYS = Sheet(
    title="ways",
    text="One row for each way between two places, where there is more than one route (loops).",
    columns=(
        BUILDING,
        Column(name="way", kind="id", keys=("id",), defines="way", required=True, note="Id of the way."),
        replace(ref("from", "place", "One end."), required=True),
        replace(ref("to", "place", "The other end."), required=True),
        length("run_m", "Whole way, height included.", required=True),
        *WAY,
    ),
)

SHEETS = (
    BUILDINGS,
    FLOORS,
    UNIT_TYPES,
    FLOOR_TYPES,
    PLACES,
    UNITS,
    OUTLETS,
    WAYS,
    FEEDS,
    WISHES,
    ANTENNAS,
    BONDS,
    RATES,
    KIT_ITEMS,
    PUT_UPS,
    PRICES,
)
