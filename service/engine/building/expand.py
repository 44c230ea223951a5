"""From a sketch to a building: expand, judge, and fill every silence with a default that is written down."""

from __future__ import annotations

from dataclasses import replace

from service.engine.building.faults import Shelf, building_faults
from service.engine.building.ledger import Ledger
from service.engine.building.mast import Mast
from service.engine.building.order import in_order
from service.engine.building.outline import draw
from service.engine.building.places import Access, Building, Outlet, Place, PlaceKind, Rules, Unit
from service.engine.building.rows import Rows, rows_of
from service.engine.building.sketch import PlaceRow, RulesRow, Sketch
from service.engine.building.ways import Ground, Manner, lay_way
from service.engine.findings import Fault
from service.engine.signal.spectrum import Feed

_ACCESS: dict[PlaceKind, Access] = {
    "headend": "common-locked",
    "closet": "common-locked",
    "panel": "in-flat",
    "outlet": "in-flat",
    "junction": "ceiling",
}
DEFAULT_RULES = Rules(limits="us-off-air", plan="us-broadcast", codes="us-2023")


def rules_of(row: RulesRow, ledger: Ledger | None = None) -> Rules:
    """The rules of a building: United States off-air where the document is silent."""
    chosen = {}
    for name in ("limits", "plan", "codes"):
        said, default = getattr(row, name), getattr(DEFAULT_RULES, name)
        if said is None and ledger is not None:
            ledger.use(f"rules.{name}", default, "not said")
        chosen[name] = said or default
    return Rules(**chosen)


def expand(sketch: Sketch, shelf: Shelf) -> tuple[Building | None, tuple[Fault, ...]]:
    """The building of a sketch when nothing is wrong with it, else None and every complaint.

    A complaint's path leads to the row of the document that made the value, through types and floor types.
    """
    ledger = Ledger()
    sketch, undrawn = draw(sketch, ledger)
    rows, found = rows_of(sketch, ledger)
    found = [*undrawn, *found]
    rules = rules_of(sketch.rules, ledger)
    faults = [*found, *building_faults(sketch, rows, rules, shelf, expanded=not found)]
    new_build = _new_build(sketch, ledger)
    places = _places(rows, ledger)
    units = _units(sketch, rows)
    ground = _ground(rows, places, units)
    manner = Manner(survey=sketch.survey, route_factor=sketch.route_factor, new_build=new_build)
    laid = [
        lay_way(row, ground, manner, ledger)
        for row in rows.ways
        if row.start in ground.places and row.end in ground.places and row.start != row.end
    ]
    faults += [row for row in laid if isinstance(row, Fault)]
    if faults or sketch.feed is None or sketch.tariff is None:
        return None, tuple(faults)
    return (
        Building(
            id=sketch.id,
            name=sketch.name,
            note=sketch.note,
            headend=rows.headend.id,
            floors=rows.floors,
            places=places,
            ways=in_order(row for row in laid if not isinstance(row, Fault)),
            units=units,
            outlets=_outlets(rows, units),
            feed=_feed(sketch.feed, rows.headend.id, ledger),
            rules=rules,
            tariff=sketch.tariff,
            policy=sketch.policy,
            wishes=sketch.wishes,
            ends=sketch.ends,
            paper=sketch.paper,
            length_unit=sketch.length_unit,
            new_build=new_build,
            year_built=sketch.year_built,
            slab=sketch.slab,
            lightning_system=sketch.lightning_system,
            roof_transmitters=sketch.roof_transmitters,
            mast=_mast(sketch, rows),
            bonds=sketch.bonds,
            rates=sketch.rates,
            assumptions=ledger.lines(),
        ),
        (),
    )


def _mast(sketch: Sketch, rows: Rows) -> Mast | None:
    """The mast; where nobody said how high it stands, on the highest floor."""
    if sketch.mast is None or sketch.mast.above_ground_m:
        return sketch.mast
    roof_m = max((floor.elevation_m for floor in rows.floors), default=0.0)
    return replace(sketch.mast, above_ground_m=roof_m)


def _ground(rows: Rows, places: tuple[Place, ...], units: tuple[Unit, ...]) -> Ground:
    """Places, floors and flats by id; the first of two alike counts."""
    return Ground(
        places={place.id: place for place in reversed(places)},
        floors={(floor.block, floor.label): floor for floor in rows.floors},
        units={unit.id: unit for unit in reversed(units)},
    )


def _outlets(rows: Rows, units: tuple[Unit, ...]) -> tuple[Outlet, ...]:
    """Outlets by id, each with its user: its own, or its flat's."""
    users = {unit.id: unit.user for unit in units}
    return in_order(
        Outlet(id=row.id, unit=row.unit, user=row.user or users[row.unit], room=row.room)
        for row in rows.outlets
    )


def _new_build(sketch: Sketch, ledger: Ledger) -> bool:
    if sketch.new_build is not None:
        return sketch.new_build
    lived_in = sketch.occupied or sketch.year_built is not None
    ledger.use("new_build", "false" if lived_in else "true", "not said; a year or tenants make it existing")
    return not lived_in


def _places(rows: Rows, ledger: Ledger) -> tuple[Place, ...]:
    """Places of the rows and one leaf for each outlet, the head-end first."""
    places = [_place(row, ledger) for row in rows.places]
    floors = {unit.id: (unit.floor or "", unit.block or "") for unit in rows.units}
    common = {unit.id for unit in rows.units if unit.user == "common"}
    for row in rows.outlets:
        floor, block = floors[row.unit]
        access: Access = "common-open" if row.unit in common or row.user == "common" else "in-flat"
        places.append(Place(id=row.id, kind="outlet", floor=floor, block=block, unit=row.unit, access=access))
    return (places[0], *in_order(places[1:]))


def _place(row: PlaceRow, ledger: Ledger) -> Place:
    access = row.access
    if access is None:
        access = _ACCESS[row.kind]
        if row.kind in ("headend", "closet", "junction"):
            ledger.use(f"{row.kind}.access", access, "not said; common practice")
    mains = row.mains
    if mains is None:
        mains = row.kind == "headend"
        if row.kind in ("headend", "closet"):
            why = "house power is taken to be there" if mains else "no house power where none is named"
            ledger.use(f"{row.kind}.mains", "true" if mains else "false", why)
    return Place(
        id=row.id,
        kind=row.kind,
        floor=row.floor or "",
        block=row.block or "",
        unit=row.unit,
        access=access,
        mains=mains,
        most_devices=row.most_devices,
        most_ports=row.most_ports,
        never=row.never,
    )


def _units(sketch: Sketch, rows: Rows) -> tuple[Unit, ...]:
    return in_order(
        Unit(
            id=row.id,
            floor=row.floor or "",
            block=row.block or "",
            unit_type=row.unit_type,
            user=row.user or row.id,
            feed=row.feed or "panel",
            stack=row.stack,
            occupied=sketch.occupied if row.occupied is None else row.occupied,
        )
        for row in rows.units
    )


def _feed(feed: Feed, headend: str, ledger: Ledger) -> Feed:
    """The feed, named after the head-end it stands at; what isn't known of its noise is written down."""
    silent = [row.carrier.id for row in feed.carriers if row.cn_db is None]
    if silent:
        ledger.use("feed.carriers.cn_db", "no noise", f"not known for {', '.join(silent)}")
    return Feed(
        id=headend,
        carriers=tuple(sorted(feed.carriers, key=lambda row: (row.carrier.frequency_mhz, row.carrier.id))),
        outputs=feed.outputs,
        output_isolation_db=feed.output_isolation_db,
        kind=feed.kind,
        max_level_dbmv=feed.max_level_dbmv,
    )
