"""A building: floors, places, ways between them, units, outlets and their users."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from service.engine.building.mast import Mast
from service.engine.building.rates import Rates, Survey
from service.engine.signal.spectrum import Feed

#: The example, for buildings that state no rates.
_RATES = Rates()
PlaceKind = Literal["headend", "closet", "panel", "outlet", "junction"]
Access = Literal["common-locked", "common-open", "ceiling", "in-wall", "in-flat", "outdoors"]
UnitFeed = Literal["panel", "home-run"]
ExistingFate = Literal["keep", "keep-if-tests-well", "replace", "abandon"]
Aim = Literal["simplest", "cheapest", "balanced"]
LengthUnit = Literal["m", "ft"]
BondWhat = Literal["mast", "discharge-unit", "entrance"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Floor:
    """A floor of one block. Label, order (0 is the lowest) and elevation are three things.

    `floor_type` names floors that are alike: they get one pattern.
    """

    label: str
    order: int
    elevation_m: float
    block: str = ""
    floor_type: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Somewhere a cable can end or turn. `mains` says that house power is there, in ventilated common space.

    `most_devices` and `most_ports` bound what fits in the closet's box, where known.
    """

    id: str
    kind: PlaceKind
    floor: str
    block: str = ""
    unit: str = ""
    access: Access = "common-locked"
    mains: bool = False
    most_devices: int | None = None
    most_ports: int | None = None
    never: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ExistingCable:
    """Coax that lies in a way already. Type unknown counts as series 59 with 20 % more loss.

    `loss_db` at `loss_mhz` is a measurement of the whole length, where there is one.
    """

    fate: ExistingFate
    cable: str | None = None
    loss_db: float | None = None
    loss_mhz: float | None = None
    age_years: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A route for cables between two places: length with height included, how it is pulled, what it crosses.

    `kind` is a pull kind of the tariff (riser, corridor, ceiling, open, drop, fished, buried, messenger).
    `length_m` is as measured or drawn; `pulled_m` has the route factor of a way that nobody walked.
    `firestops` counts rated walls and slabs that it passes. `raceway` names the tube or trunking that it runs in,
    "" where there is none or nobody said. `bends_deg` is the sum of its bends, the turn into it included, None where
    unknown; `pull_points` are boxes along it at which a pull begins anew.
    """

    id: str
    start: str
    end: str
    length_m: float
    pulled_m: float
    kind: str
    spaces: tuple[str, ...]
    survey: Survey = "drawings"
    firestops: int = 0
    existing: ExistingCable | None = None
    raceway: str = ""
    bends_deg: float | None = None
    pull_points: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """A flat, or a common area (its user is then `common`). `feed` says how its outlets are reached."""

    id: str
    floor: str
    block: str = ""
    unit_type: str = ""
    user: str = ""
    feed: UnitFeed = "panel"
    stack: str = ""
    occupied: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlet:
    """A wall outlet: the place of the same id is its leaf, with one way to its panel or closet."""

    id: str
    unit: str
    user: str
    room: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ends:
    """Cable left at each end of a run, in metres, by the kind of place."""

    outlet_m: float = 0.3
    panel_m: float = 1.0
    closet_m: float = 2.0
    headend_m: float = 3.0

    def at(self, kind: PlaceKind) -> float:
        """Length left at a place of that kind; nothing where a cable only passes."""
        return {
            "outlet": self.outlet_m,
            "panel": self.panel_m,
            "closet": self.closet_m,
            "headend": self.headend_m,
            "junction": 0.0,
        }[kind]


@dataclass(frozen=True, slots=True, kw_only=True)
class BondLength:
    """Length of a bonding conductor as stated; `at` is the block or place of an entrance, where there are several."""

    what: BondWhat
    length_m: float
    at: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """The rules a design is optimised inside, each switchable. Defaults: common practice.

    `line_power` lets amplifiers in closets without house power live on power that comes over the coax.
    """

    own_floor: bool = True
    own_floor_reach: int = 0
    one_pattern: bool = True
    accessible_places: bool = True
    no_flat_through_flat: bool = True
    no_trimming_at_outlets: bool = True
    amplifiers_on_house_power: bool = True
    line_power: bool = False
    most_amplifiers_in_series: int = 2
    parts_variety: bool = True
    most_tap_values: int = 4
    most_drop_jackets: int = 2
    falling_values: bool = True
    spare: bool = True
    spare_share: float = 0.10
    unit_reserve_db: float = 4.0
    fault_domain: bool = True
    most_throughs_in_leg: int = 12
    most_flats_behind_amplifier: int = 100
    isolation: bool = True
    margins: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What the integrator wants of the optimiser.

    `spread_db` asks for a largest spread over the building, `unit_spread_db` for one within each unit.
    """

    aim: Aim = "simplest"
    effort: Literal["quick", "normal", "thorough"] = "normal"
    spread_db: float | None = None
    unit_spread_db: float | None = None
    riser_cable: str | None = None
    drop_cable: str | None = None
    outlet_part: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """Profile of limits, channel plan and code set, by id. `codes` starts with "us" or "eu"."""

    limits: str
    plan: str
    codes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """What stands on every page."""

    revision: str = "A"
    status: Literal["for bid", "for construction", "as built"] = "for bid"
    date: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """A default that was used because the document is silent: printed with every design."""

    field: str
    value: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Building:
    """One building, expanded: the graph of places and ways under one head-end.

    `feed` is what the head-end receives; its outputs leave at `headend`. Ids are unique among places, ways,
    outlets and units, each kind of its own. `tariff` names the price sheet, `rates` what an estimate adds to it.
    `lightning_system` and `roof_transmitters` (mobile antennas on the roof) are None where nobody said.
    """

    id: str
    name: str
    headend: str
    floors: tuple[Floor, ...]
    places: tuple[Place, ...]
    ways: tuple[Way, ...]
    units: tuple[Unit, ...]
    outlets: tuple[Outlet, ...]
    feed: Feed
    rules: Rules
    tariff: str
    policy: Policy = Policy()
    wishes: Wishes = Wishes()
    ends: Ends = Ends()
    paper: Paper = Paper()
    length_unit: LengthUnit = "m"
    new_build: bool = True
    year_built: int | None = None
    slab: str = ""
    lightning_system: bool | None = None
    roof_transmitters: bool | None = None
    mast: Mast | None = None
    bonds: tuple[BondLength, ...] = ()
    rates: Rates = _RATES
    note: str = ""
    assumptions: tuple[Assumption, ...] = ()
