"""The shape of the network document, version 1: which fields it has and what each takes.

Only shape and ranges are judged here. What the values mean together is judged by the engine's validator.
"""

from __future__ import annotations

from typing import get_args

from service.engine.plant.network import Ambient
from service.engine.plant.parts import EndsIn, RatingBasis, Supply
from service.forms.strict import (
    GROUP_PATTERN,
    Choice,
    CurveTable,
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

DOCUMENT = "evendrop/network"
VERSION = 1
#: Documented size limits of one document: entries of a list, and devices × carriers.
MOST_OUTLETS = 20_000
MOST_ENTRIES = 80_000
MOST_FIGURES = 6_000_000
AMBIENTS: tuple[Ambient, ...] = get_args(Ambient)
_GROUP = "small letters, digits, _ and -, at most 32, beginning with a letter"


def _group(name: str, *, required: bool = False) -> Text:
    return Text(name, required=required, pattern=GROUP_PATTERN, right=_GROUP)


class NetworkRules(Form):
    """By what the network is judged, and where its channels are looked up."""

    limits = Id("limits", required=True)
    plan = Id("plan")
    margins = Flag("margins")
    spread = Flag("spread")
    length_share = Number("length_share")
    cable_share = Number("cable_share")
    off_air_db = Number("off_air_db")
    provider_db = Number("provider_db")


class NetworkCarrier(Form):
    """A channel of a plan or a carrier by frequency, with exactly one level."""

    id = Id("id")
    channel = Text("channel", least=1)
    plan = Id("plan")
    frequency_mhz = Number("frequency_mhz")
    low_mhz = Number("low_mhz")
    high_mhz = Number("high_mhz")
    service = Id("service")
    level_dbmv = Number("level_dbmv")
    level_dbuv = Number("level_dbuv")
    level_dbm = Number("level_dbm")
    cn_db = Number("cn_db")


class NetworkFeed(Form):
    """What the head-end or the provider delivers."""

    id = Id("id", required=True)
    kind = Choice("feed_kind", ("off-air", "provider"))
    plan = Id("plan")
    outputs = Whole("outputs")
    output_isolation_db = Number("output_isolation_db")
    max_level_dbmv = Number("max_level_dbmv")
    max_level_dbuv = Number("max_level_dbuv")
    carriers = Sections(
        NetworkCarrier, required=True, description="What the feed carries, the same on each output."
    )


class NetworkSettings(Form):
    """How an amplifier is set."""

    gain_db = Number("setting_gain_db")
    slope_db = Number("slope_db")
    input_pad_db = Number("input_pad_db")
    input_equaliser_db = Number("input_equaliser_db")


class NetworkDevice(Form):
    """A part at a place."""

    id = Id("id", required=True)
    part = Id("part", required=True)
    place = Text("place")
    settings = Section(NetworkSettings, description="Settings of an amplifier.")


class NetworkRun(Form):
    """One cable, or a direct joint, from an output port to the input of a device."""

    id = Id("id")
    start = PortText("from", required=True, key="from")
    end = Id("to", required=True, key="to")
    cable = Id("cable")
    length_m = Number("length_m")
    length_ft = Number("length_ft")
    direct = Flag("direct")
    joints = Whole("joints")
    ambient = Choice("ambient", AMBIENTS)
    ways = Texts(Text("way", least=1), description="The ways the run follows, from the feed side.")
    existing = Flag("existing")
    loss_factor = Number("loss_factor")


class NetworkServed(Form):
    """An outlet and the port that serves it."""

    outlet = Id("outlet", required=True)
    at = PortText("at", required=True)
    user = Text("user", least=1)
    unit = Text("unit")
    floor = Text("floor")


class OwnSetting(Form):
    """Values that a setting may take."""

    low = Number("setting_low", required=True)
    high = Number("setting_high", required=True)
    step = Number("setting_step")


class OwnRating(Form):
    """A rated output with its basis."""

    basis = Choice("basis", get_args(RatingBasis), required=True)
    output_dbmv = Number("output_dbmv")
    output_dbuv = Number("output_dbuv")
    ratio_db = Number("ratio_db", required=True)
    carriers = Whole("carriers")


class OwnActive(Form):
    """What makes a part an amplifier."""

    noise_figure_db = CurveTable("noise_figure_db", required=True)
    ratings = Sections(OwnRating, required=True, description="Rated outputs.")
    gain_db = Section(OwnSetting, required=True, description="Range of the gain setting, in dB.")
    slope_db = Section(OwnSetting, description="Range of the slope setting, in dB.")
    input_pad_db = Section(OwnSetting, description="Range of the input pad, in dB.")
    input_equaliser_db = Section(OwnSetting, description="Range of the input equaliser, in dB.")
    slope_low_mhz = Number("slope_low_mhz", required=True)
    slope_high_mhz = Number("slope_high_mhz", required=True)
    input_low_dbmv = Number("input_low_dbmv")
    input_high_dbmv = Number("input_high_dbmv")
    reverse_isolation_db = Number("reverse_isolation_db")
    test_point_db = Number("test_point_db")


class OwnPower(Form):
    """Power that a part takes or gives."""

    supply = Choice("supply", get_args(Supply))
    draws_w = Number("draws_w")
    least_v = Number("least_v")
    injects_v = Number("injects_v")
    injects_a = Number("injects_a")
    injects_into = _group("injects_into")


class OwnGroup(Form):
    """Like output ports, with exactly one of loss and gain."""

    name = _group("group", required=True)
    count = Whole("count")
    loss_db = CurveTable("loss_db")
    gain_db = CurveTable("gain_db")
    ends_in = Choice("ends_in", get_args(EndsIn))
    passes_power = Flag("passes_power")


class OwnIsolation(Form):
    """Isolation between two ports, one of each group."""

    group_a = _group("group", required=True)
    group_b = _group("group", required=True)
    isolation_db = CurveTable("isolation_db", required=True)


class OwnPart(Form):
    """A part that the document brings; it lies over a part of the catalogue with the same id."""

    id = Id("id", required=True)
    name = Text("name")
    family = Text("family")
    groups = Sections(OwnGroup, required=True, description="Groups of output ports; none for a terminator.")
    isolation = Sections(OwnIsolation, description="Isolation, group by group.")
    return_loss_db = CurveTable("return_loss_db")
    tolerance_db = Number("tolerance_db")
    tolerance_high_db = Number("tolerance_high_db")
    active = Section(OwnActive, description="Only for an amplifier.")
    power = Section(OwnPower, description="Supply of the part.")
    width_mm = Number("width_mm")
    source = Text("source")


class OwnCable(Form):
    """A cable that the document brings, with exactly one of loss per 100 m and loss per 100 ft."""

    id = Id("id", required=True)
    name = Text("name")
    series = Text("series")
    jacket = Text("jacket")
    loss_db_per_100m = CurveTable("loss_db_per_100m")
    loss_db_per_100ft = CurveTable("loss_db_per_100ft")
    loop_resistance_ohm_per_km = Number("loop_resistance_ohm_per_km")
    source = Text("source")


class NetworkDocument(Form):
    """A network as it stands, for analysis."""

    document = Choice("document", (DOCUMENT,), required=True)
    version = Whole("version", required=True)
    id = Id("id", required=True)
    name = Text("name")
    source = Text("source")
    rules = Section(NetworkRules, required=True, description="By what the network is judged.")
    feeds = Sections(NetworkFeed, required=True, description="Sources of the network.")
    devices = Sections(
        NetworkDevice, description="Parts at their places. Feeds and devices share one set of ids."
    )
    runs = Sections(
        NetworkRun, description="Cables and direct joints. A run left without id is named by its end."
    )
    served = Sections(NetworkServed, required=True, description=f"Outlets, at most {MOST_OUTLETS}.")
    terminated = Texts(PortText("terminated"), description="Open output ports closed by a terminator.")
    parts = Sections(OwnPart, description="Parts that lie over the catalogue.")
    cables = Sections(OwnCable, description="Cables that lie over the catalogue.")
    joint_loss_db_at_1ghz = Number("joint_loss_db_at_1ghz")
