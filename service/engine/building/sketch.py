"""A building as its document tells it: rows of every form, each with its place in the document.

A row keeps `path`, the keys and positions that lead to it in the document as posted, so that a complaint
found after any expansion still points at what a person wrote. None stands for "not said". Lengths are metres;
`length_field` is the name under which the document gave the length.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from service.engine.building.mast import Mast
from service.engine.building.places import (
    Access,
    BondLength,
    Ends,
    ExistingCable,
    LengthUnit,
    Paper,
    PlaceKind,
    Policy,
    UnitFeed,
    Wishes,
)
from service.engine.building.rates import Rates, Survey
from service.engine.signal.spectrum import Feed

Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """What a row says of the way that leads to it."""

    length_m: float | None = None
    length_field: str = "run_m"
    kind: str | None = None
    spaces: tuple[str, ...] | None = None
    survey: Survey | None = None
    firestops: int | None = None
    existing: ExistingCable | None = None
    raceway: str = ""
    bends_deg: float | None = None
    pull_points: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceRow:
    """A place of any form. `source` names the place it is fed from where the row says so (short form)."""

    path: Path
    id: str
    kind: PlaceKind
    floor: str | None = None
    block: str | None = None
    unit: str = ""
    access: Access | None = None
    mains: bool | None = None
    most_devices: int | None = None
    most_ports: int | None = None
    never: tuple[str, ...] = ()
    source: str | None = None
    source_field: str = "from"
    span: Span = Span()


@dataclass(frozen=True, slots=True, kw_only=True)
class WayRow:
    """A way between two places. The two fields name where its ends stand in the row."""

    path: Path
    id: str
    start: str
    end: str
    start_field: str = "from"
    end_field: str = "to"
    span: Span = Span()


@dataclass(frozen=True, slots=True, kw_only=True)
class OutletRow:
    """An outlet at a panel, a closet or a junction."""

    path: Path
    id: str
    unit: str
    at: str
    at_field: str = "at"
    room: str = ""
    user: str = ""
    span: Span = Span(length_field="drop_m")


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitRow:
    """A flat or a common area. With a `unit_type` it expands to its panel and outlets, fed from `at`."""

    path: Path
    id: str
    floor: str | None = None
    block: str | None = None
    unit_type: str = ""
    user: str = ""
    stack: str = ""
    occupied: bool | None = None
    feed: UnitFeed | None = None
    at: str | None = None
    span: Span = Span()


@dataclass(frozen=True, slots=True, kw_only=True)
class TypeOutlet:
    """An outlet of a unit type: its drop is from the panel, or from the flat's door where cables run home."""

    path: Path
    id: str
    room: str = ""
    span: Span = Span(length_field="drop_m")


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitType:
    """Flats that are alike."""

    path: Path
    id: str
    feed: UnitFeed | None = None
    outlets: tuple[TypeOutlet, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class TypeUnit:
    """A flat of a floor type: `at` names the riser whose closet on that floor feeds it."""

    path: Path
    id: str
    unit_type: str
    at: str
    user: str = ""
    stack: str = ""
    span: Span = Span()


@dataclass(frozen=True, slots=True, kw_only=True)
class FloorType:
    """Floors that are alike."""

    path: Path
    id: str
    units: tuple[TypeUnit, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FloorRow:
    """One floor (`label`) or a row of alike floors (`labels` "3-12", less `missing`), in one or more blocks.

    Rows stand from the lowest floor up, unless `order` says otherwise.
    """

    path: Path
    label: str = ""
    labels: str = ""
    missing: tuple[str, ...] = ()
    order: int | None = None
    elevation_m: float | None = None
    height_m: float | None = None
    blocks: tuple[str, ...] = ("",)
    floor_type: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RiserRow:
    """A stack of closets on `floors`, joined floor to floor, entered at `enters` from `source`."""

    path: Path
    id: str
    source: str
    block: str = ""
    floors: str = ""
    enters: str | None = None
    span: Span = Span()
    between: Span = Span()
    access: Access | None = None
    mains: bool | None = None
    mains_floors: tuple[str, ...] = ()
    most_devices: int | None = None
    most_ports: int | None = None
    never: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RulesRow:
    """Limits, plan and codes by id, where said."""

    limits: str | None = None
    plan: str | None = None
    codes: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlineRow:
    """A building by its counts and the outside size of a storey. `outlets_per_unit` is a mean."""

    path: Path
    floors: int
    units_per_floor: int
    outlets_per_unit: float
    plate_length_m: float
    plate_width_m: float
    risers: int = 1
    feed: UnitFeed | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sketch:
    """The whole document, typed but unchecked between its rows.

    `carrier_positions` says where each carrier of the feed stands in the document.
    """

    id: str
    name: str = ""
    note: str = ""
    rules: RulesRow = RulesRow()
    headend: PlaceRow | None = None
    floors: tuple[FloorRow, ...] = ()
    floor_height_m: float | None = None
    risers: tuple[RiserRow, ...] = ()
    floor_types: tuple[FloorType, ...] = ()
    unit_types: tuple[UnitType, ...] = ()
    units: tuple[UnitRow, ...] = ()
    places: tuple[PlaceRow, ...] = ()
    ways: tuple[WayRow, ...] = ()
    outlets: tuple[OutletRow, ...] = ()
    outline: OutlineRow | None = None
    feed: Feed | None = None
    carrier_positions: tuple[int, ...] = ()
    tariff: str | None = None
    policy: Policy = field(default_factory=Policy)
    wishes: Wishes = field(default_factory=Wishes)
    ends: Ends = field(default_factory=Ends)
    paper: Paper = field(default_factory=Paper)
    length_unit: LengthUnit = "m"
    survey: Survey | None = None
    route_factor: float | None = None
    new_build: bool | None = None
    occupied: bool = False
    year_built: int | None = None
    slab: str = ""
    lightning_system: bool | None = None
    roof_transmitters: bool | None = None
    mast: Mast | None = None
    bonds: tuple[BondLength, ...] = ()
    rates: Rates = field(default_factory=Rates)
    expected_units: int | None = None
    expected_outlets: int | None = None
