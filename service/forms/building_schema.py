"""The shape of the building document, version 1: which fields it has and what each takes.

Only shape and ranges are judged here. Every length may be given in metres or in feet, by the name of its
field. What the rows mean together is judged by the engine's validator.
"""

from __future__ import annotations

from typing import get_args

from service.engine.building.places import Access, ExistingFate, LengthUnit, UnitFeed
from service.engine.building.rates import Survey
from service.engine.building.ways import PULL_KINDS
from service.engine.plant.permits import FORBIDDEN_SPACES, SPACES
from service.forms.estimate import estimate_section
from service.forms.lengths import Label, Length, Name
from service.forms.network_schema import (
    NetworkCarrier,
    NetworkDevice,
    NetworkDocument,
    NetworkFeed,
    NetworkRules,
    NetworkRun,
    NetworkServed,
)
from service.forms.site_schema import BondForm, MastForm, RacewayFields
from service.forms.strict import (
    Choice,
    Flag,
    Form,
    Id,
    Number,
    PortText,
    Section,
    Sections,
    Text,
    Texts,
    Whole,
)

DOCUMENT = "evendrop/building"
VERSION = 1
ACCESS: tuple[Access, ...] = get_args(Access)
SURVEYS: tuple[Survey, ...] = get_args(Survey)
UNIT_FEEDS: tuple[UnitFeed, ...] = get_args(UnitFeed)
FATES: tuple[ExistingFate, ...] = get_args(ExistingFate)
LENGTH_UNITS: tuple[LengthUnit, ...] = get_args(LengthUnit)
SLABS = ("cast", "precast", "post-tensioned", "timber")
STATUSES = ("for bid", "for construction", "as built")
AIMS = ("simplest", "cheapest", "balanced")
EFFORTS = ("quick", "normal", "thorough")


class ExistingForm(Form):
    """Coax that lies in the way already."""

    fate = Choice("fate", FATES, required=True)
    cable = Id("cable")
    loss_db = Number("existing_loss_db")
    loss_mhz = Number("existing_loss_mhz")
    age_years = Number("age_years")


class WayFields(RacewayFields):
    """What every row with a way says of it."""

    kind = Choice("way_kind", PULL_KINDS)
    spaces = Texts(Choice("space", (*SPACES, *FORBIDDEN_SPACES)), description="Spaces that the way crosses.")
    survey = Choice("survey", SURVEYS)
    firestops = Whole("firestops")
    existing = Section(ExistingForm, description="Coax that lies in the way already.")


class RunFields(WayFields):
    """A way given by its whole length."""

    run_m = Length("run_m")
    run_ft = Length("run_ft")


class BoxFields(Form):
    """What every place that may hold devices says of it."""

    access = Choice("access", ACCESS)
    mains = Flag("mains")
    most_devices = Whole("most_devices")
    most_ports = Whole("most_ports")
    never = Texts(Id("never"), description="Parts that must not be mounted here.")


class BuildingRules(Form):
    """Limits, channel plan and codes by id."""

    limits = Id("limits")
    plan = Id("plan")
    codes = Id("codes")


class HeadendForm(BoxFields):
    """Where the network begins."""

    id = Name("place_id")
    floor = Label("floor_label")
    block = Name("block")


class FloorForm(Form):
    """One floor, or a row of alike floors, in one block or several."""

    label = Label("floor_label")
    labels = Text("floor_labels", least=1)
    missing = Texts(Label("floor_label"), description="Labels left out of the row, such as 13.")
    order = Whole("floor_order")
    elevation_m = Length("elevation_m")
    elevation_ft = Length("elevation_ft")
    storey_m = Length("storey_m")
    storey_ft = Length("storey_ft")
    block = Name("block")
    blocks = Texts(Name("block"), description="Blocks that have these floors.")
    floor_type = Name("floor_type")


class BetweenForm(RunFields):
    """The ways between the closets of a riser."""


class RiserForm(RunFields, BoxFields):
    """A stack of closets, one on each floor, joined floor to floor."""

    id = Name("riser_id", required=True)
    source = Name("fed_from", required=True, key="from")
    block = Name("block")
    floors = Text("riser_floors", least=1)
    enters = Label("enters")
    between = Section(
        BetweenForm, description="The ways between its closets, where they are not floors × height."
    )
    mains_floors = Texts(Label("floor_label"), description="Floors on whose closets house power is.")


class TypeOutletForm(WayFields):
    """An outlet of a unit type, its drop from the panel or from the flat's door."""

    id = Name("outlet", required=True)
    room = Text("room")
    drop_m = Length("drop_m")
    drop_ft = Length("drop_ft")


class UnitTypeForm(Form):
    """Flats that are alike."""

    id = Name("unit_type", required=True)
    feed = Choice("unit_feed", UNIT_FEEDS)
    outlets = Sections(TypeOutletForm, required=True, description="Outlets of every flat of the type.")


class TypeUnitForm(RunFields):
    """A flat of a floor type: its id follows the floor's label, and `at` names its riser."""

    id = Name("unit_id", required=True)
    unit_type = Name("unit_type", required=True)
    at = Name("fed_at", required=True)
    user = Text("user_id", least=1)
    stack = Text("stack")


class FloorTypeForm(Form):
    """Floors that are alike."""

    id = Name("floor_type", required=True)
    units = Sections(TypeUnitForm, required=True, description="Flats of every floor of the type.")


class UnitForm(RunFields):
    """A flat or a common area. With a unit type and `at` it expands to its panel and outlets."""

    id = Name("unit_id", required=True)
    floor = Label("floor_label")
    block = Name("block")
    unit_type = Name("unit_type")
    user = Text("user_id", least=1)
    stack = Text("stack")
    occupied = Flag("occupied")
    feed = Choice("unit_feed", UNIT_FEEDS)
    at = Name("fed_at")


class ClosetForm(RunFields, BoxFields):
    """A closet of the short form."""

    id = Name("place_id", required=True)
    floor = Label("floor_label", required=True)
    block = Name("block")
    source = Name("fed_from", required=True, key="from")


class PanelForm(RunFields, BoxFields):
    """A flat's panel of the short form."""

    id = Name("place_id", required=True)
    unit = Name("unit_id", required=True)
    source = Name("fed_from", required=True, key="from")


class PlaceForm(BoxFields):
    """A place of the graph form."""

    id = Name("place_id", required=True)
    kind = Choice("place_kind", ("closet", "panel", "junction"), required=True)
    floor = Label("floor_label")
    block = Name("block")
    unit = Name("unit_id")


class WayForm(RunFields):
    """A way of the graph form, in either direction."""

    id = Name("way")
    start = Name("way_end", required=True, key="from")
    end = Name("way_end", required=True, key="to")


class OutletForm(WayFields):
    """An outlet and the place that feeds it."""

    id = Name("outlet", required=True)
    unit = Name("unit_id", required=True)
    at = Name("fed_at", required=True)
    room = Text("room")
    user = Text("user_id", least=1)
    drop_m = Length("drop_m")
    drop_ft = Length("drop_ft")


class OutlineForm(Form):
    """A building known by its counts and the size of a storey only."""

    floors = Whole("outline_floors", required=True)
    units_per_floor = Whole("units_per_floor", required=True)
    outlets_per_unit = Number("outlets_per_unit", required=True)
    plate_length_m = Length("plate_m")
    plate_length_ft = Length("plate_ft")
    plate_width_m = Length("plate_m")
    plate_width_ft = Length("plate_ft")
    risers = Whole("outline_risers")
    feed = Choice("unit_feed", UNIT_FEEDS)


class BuildingFeed(Form):
    """What the head-end receives; it is named after the head-end and leaves there."""

    kind = Choice("feed_kind", ("off-air", "provider"))
    plan = Id("plan")
    outputs = Whole("outputs")
    output_isolation_db = Number("output_isolation_db")
    max_level_dbmv = Number("max_level_dbmv")
    max_level_dbuv = Number("max_level_dbuv")
    carriers = Sections(
        NetworkCarrier, required=True, description="What the feed carries, the same on each output."
    )


class WishesForm(Form):
    """What the integrator wants of the search."""

    aim = Choice("aim", AIMS)
    effort = Choice("effort", EFFORTS)
    spread_db = Number("spread_db")
    unit_spread_db = Number("unit_spread_db")
    riser_cable = Id("riser_cable")
    drop_cable = Id("drop_cable")
    outlet_part = Id("outlet_part")


class PolicyForm(Form):
    """Rules that the design is optimised inside; each can be switched off."""

    own_floor = Flag("own_floor")
    own_floor_reach = Whole("own_floor_reach")
    one_pattern = Flag("one_pattern")
    accessible_places = Flag("accessible_places")
    no_flat_through_flat = Flag("no_flat_through_flat")
    no_trimming_at_outlets = Flag("no_trimming_at_outlets")
    amplifiers_on_house_power = Flag("amplifiers_on_house_power")
    line_power = Flag("line_power")
    most_amplifiers_in_series = Whole("most_amplifiers_in_series")
    parts_variety = Flag("parts_variety")
    most_tap_values = Whole("most_tap_values")
    most_drop_jackets = Whole("most_drop_jackets")
    falling_values = Flag("falling_values")
    spare = Flag("spare")
    spare_share = Number("spare_share")
    unit_reserve_db = Number("unit_reserve_db")
    fault_domain = Flag("fault_domain")
    most_throughs_in_leg = Whole("most_throughs_in_leg")
    most_flats_behind_amplifier = Whole("most_flats_behind_amplifier")
    isolation = Flag("isolation_rule")
    margins = Flag("margins")


class EndsForm(Form):
    """Cable left at each end of a run, by the kind of place."""

    outlet_m = Length("end_m")
    outlet_ft = Length("end_ft")
    panel_m = Length("end_m")
    panel_ft = Length("end_ft")
    closet_m = Length("end_m")
    closet_ft = Length("end_ft")
    headend_m = Length("end_m")
    headend_ft = Length("end_ft")


class PaperForm(Form):
    """What stands on every page."""

    revision = Text("revision", least=1)
    status = Choice("status", STATUSES)
    date = Text(
        "paper_date", pattern="[0-9]{4}-[0-9]{2}-[0-9]{2}", right="year-month-day, for example 2025-03-31"
    )


class KeepForm(NetworkDocument):
    """A network to start from: a design's whole network, or only what is pinned."""

    document = Choice("document", ("evendrop/network",))
    version = Whole("version")
    id = Id("id")
    rules = Section(NetworkRules, description="Not read: the building's rules hold.")
    feeds = Sections(NetworkFeed, description="Left out: the building's feed, named after its head-end.")
    devices = Sections(NetworkDevice, description="Devices at places of the building.")
    runs = Sections(NetworkRun, description="Runs along ways of the building.")
    served = Sections(NetworkServed, description="Outlets of the building.")
    terminated = Texts(PortText("terminated"), description="Ports closed by a terminator.")


class BuildingDocument(Form):
    """A building to be designed, in one of its forms."""

    document = Choice("document", (DOCUMENT,), required=True)
    version = Whole("version", required=True)
    id = Name("id", required=True)
    name = Text("name")
    note = Text("note")
    rules = Section(BuildingRules, description="Left out: United States off-air.")
    headend = Section(HeadendForm, description="Left out: HE on the highest floor.")
    floor_height_m = Length("floor_height_m")
    floor_height_ft = Length("floor_height_ft")
    floors = Sections(FloorForm, description="Floors from the lowest up. Left out: counted from the labels.")
    risers = Sections(RiserForm, description="Stacks of closets.")
    floor_types = Sections(FloorTypeForm, description="Floors that are alike.")
    unit_types = Sections(UnitTypeForm, description="Flats that are alike.")
    units = Sections(UnitForm, description="Flats and common areas that need more than their name.")
    closets = Sections(ClosetForm, description="Short form: closets, each fed from another place.")
    panels = Sections(PanelForm, description="Short form: panels of flats.")
    places = Sections(PlaceForm, description="Graph form: places.")
    ways = Sections(WayForm, description="Graph form: ways between places.")
    outlets = Sections(OutletForm, description="Outlets, at most 20,000 in a building.")
    outline = Section(OutlineForm, description="In place of all rows: counts and the size of a storey.")
    feed = Section(BuildingFeed, required=True, description="What the head-end receives.")
    prices = Id("prices", required=True)
    wishes = Section(WishesForm, description="What is wanted of the search.")
    policy = Section(PolicyForm, description="Rules inside which the design is optimised.")
    ends = Section(EndsForm, description="Cable left at the ends of runs.")
    paper = Section(PaperForm, description="What stands on every page.")
    length_unit = Choice("length_unit", LENGTH_UNITS)
    survey = Choice("survey", SURVEYS)
    route_factor = Number("route_factor")
    new_build = Flag("new_build")
    occupied = Flag("occupied")
    year_built = Whole("year_built")
    slab = Choice("slab", SLABS)
    lightning_system = Flag("lightning_system")
    roof_transmitters = Flag("roof_transmitters")
    mast = Section(MastForm, description="The mast with its antennas. Left out: a sheet to fill in.")
    bonds = Sections(BondForm, description="Lengths of bonding conductors. Left out: to be filled in.")
    estimate = estimate_section()
    expected_units = Whole("expected_units")
    expected_outlets = Whole("expected_outlets")
    keep = Section(KeepForm, description="Devices, runs and settings that stay as they are.")
    same_as = Name("same_as")
    mirrored = Flag("mirrored")
