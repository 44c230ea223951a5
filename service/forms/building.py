"""A building document: JSON to the engine's building, or every complaint at once with its place.

Shape faults and faults of meaning come together: what has the right shape is expanded as far as it goes, and
the engine's validator looks at it. Complaints that only follow from another one are left out.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from service.engine.building.expand import expand, rules_of
from service.engine.building.faults import Shelf
from service.engine.building.places import Building, Ends, LengthUnit, Paper, Policy, Wishes
from service.engine.building.rows import HEADEND
from service.engine.building.sketch import RulesRow, Sketch
from service.engine.building.types import MOST_OUTLETS
from service.engine.findings import Fault
from service.engine.plant.network import Network
from service.engine.plant.permits import FORBIDDEN_SPACES
from service.engine.signal.spectrum import Feed
from service.forms import building_rows as rows
from service.forms import site
from service.forms.building_schema import DOCUMENT, VERSION, BuildingDocument
from service.forms.estimate import rates_of
from service.forms.feeds import FeedsForm, read_feed
from service.forms.keep import pin_faults, read_keep
from service.forms.known import Known
from service.forms.outline import outline_faults, outline_row
from service.forms.reading import Json, Path, fault_at, in_order, load_shape, moved
from service.forms.strict import kind_of

_SCHEMA = BuildingDocument()
#: Complaints that only follow where a row of the document could not be read.
_FOLLOWING = ("unreachable", "empty-building", "count-differs", "no-carriers")
#: Those that follow where its name could not be read.
_NAMELESS = ("unknown-place", "unknown-type")
_SHORT = ("closets", "panels", "risers", "floor_types")
_GRAPH = ("places", "ways")


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildingReading:
    """What a building document says: the building, what it keeps, and every complaint."""

    building: Building | None
    keep: Network | None
    faults: tuple[Fault, ...]


def read_building(document: object, known: Known, tariffs: Collection[str]) -> BuildingReading:
    """Read one building document; never raises. `tariffs` are the ids of the price sheets at hand."""
    refused = _refused(document)
    if refused is not None or not isinstance(document, dict):
        return BuildingReading(building=None, keep=None, faults=(refused,) if refused else ())
    if "same_as" in document:
        wrong = "the other building is not in this document"
        right = "both buildings in one portfolio"
        fault = fault_at(document, ("same_as",), code="unknown-building", wrong=wrong, right=right)
        return BuildingReading(building=None, keep=None, faults=(fault,))
    valid, faults = load_shape(_SCHEMA, document)
    lengths = rows.Lengths()
    feed, positions, feed_faults = _feed(valid, document, known)
    sketch = _sketch(valid, document, lengths, feed, positions)
    faults += feed_faults
    faults += _length_faults(document, lengths, valid.get("length_unit"))
    faults += _form_faults(document)
    faults += outline_faults(document)
    faults += site.site_faults(document)
    building, judged = expand(sketch, shelf_of(known, tariffs))
    faults += _apart(faults, judged)
    keep, kept_faults = _keep(document, sketch, known)
    faults += kept_faults
    if building is not None and keep is not None:
        faults += pin_faults(keep, building, known.catalogue)
    every = in_order(faults)
    return BuildingReading(building=None if every else building, keep=None if every else keep, faults=every)


def _keep(document: Json, sketch: Sketch, known: Known) -> tuple[Network | None, list[Fault]]:
    """The network to start from, where the document has one."""
    fragment = document.get("keep")
    if not isinstance(fragment, dict):
        return None, []
    headend = sketch.headend.id if sketch.headend is not None else HEADEND
    return read_keep(fragment, document.get("feed"), headend, rules_of(sketch.rules), known)


def shelf_of(known: Known, tariffs: Collection[str]) -> Shelf:
    """The ids that a building may refer to."""
    return Shelf(
        limits=known.limits,
        services=known.services,
        plans=frozenset(known.plans),
        tariffs=frozenset(tariffs),
        parts=frozenset(part.id for part in known.catalogue.parts),
        cables=frozenset(cable.id for cable in known.catalogue.cables),
        forbidden_spaces=FORBIDDEN_SPACES,
    )


def _refused(document: object) -> Fault | None:
    """A complaint where the document can't be a building document of this version, or is too large."""
    if not isinstance(document, dict):
        return fault_at(
            document, (), code="wrong-type", wrong=f"this is {kind_of(document)}", right="a JSON object"
        )
    for name, wanted in (("document", DOCUMENT), ("version", VERSION)):
        posted = document.get(name)
        if isinstance(posted, type(wanted)) and posted != wanted and not isinstance(posted, bool):
            wrong, right = "this is another document", f"{name} {wanted}"
            return fault_at(document, (name,), code="wrong-document", wrong=wrong, right=right)
    outlets = document.get("outlets")
    if isinstance(outlets, list) and len(outlets) > MOST_OUTLETS:
        wrong = f"{len(outlets)} outlets in one building"
        return fault_at(document, ("outlets",), code="too-many", wrong=wrong, right=f"at most {MOST_OUTLETS}")
    return None


def _feed(valid: Json, document: Json, known: Known) -> tuple[Feed | None, tuple[int, ...], list[Fault]]:
    """The feed, read by the rules that every document's feeds follow."""
    posted = document.get("feed")
    if not isinstance(posted, dict) or "feed" not in valid:
        return None, (), []
    rules = valid.get("rules", {})
    plan = rules_of(RulesRow(plan=rules.get("plan"))).plan
    form = FeedsForm()
    stand_in = {"feeds": [posted]}
    read_feed(form, stand_in, valid["feed"], ("feeds", 0), HEADEND, known, plan)
    faults = [moved(fault, ("feed", *fault.path[2:]), document) for fault in form.faults]
    return form.feeds[0], tuple(form.carrier_positions[0]), faults


def _sketch(
    valid: Json, document: Json, lengths: rows.Lengths, feed: Feed | None, positions: tuple[int, ...]
) -> Sketch:
    headend = valid.get("headend")
    raw_headend = document.get("headend")
    plain: dict[str, Any] = {
        name: valid[name]
        for name in (
            "name",
            "note",
            "survey",
            "route_factor",
            "new_build",
            "occupied",
            "year_built",
            "slab",
            "lightning_system",
            "roof_transmitters",
            "expected_units",
            "expected_outlets",
        )
        if name in valid
    }
    return Sketch(
        id=valid.get("id", ""),
        rules=RulesRow(**valid.get("rules", {})),
        headend=rows.headend_row(headend, raw_headend)
        if isinstance(headend, dict) and isinstance(raw_headend, dict)
        else None,
        floors=tuple(rows.floor_rows(valid, document, lengths)),
        floor_height_m=lengths.read(valid, (), "floor_height")[0],
        risers=tuple(rows.riser_rows(valid, document, lengths)),
        floor_types=tuple(rows.floor_types(valid, document, lengths)),
        unit_types=tuple(rows.unit_types(valid, document, lengths)),
        units=tuple(rows.unit_rows(valid, document, lengths)),
        places=tuple(rows.place_rows(valid, document, lengths)),
        ways=tuple(rows.way_rows(valid, document, lengths)),
        outlets=tuple(rows.outlet_rows(valid, document, lengths)),
        outline=outline_row(valid, lengths),
        feed=feed,
        carrier_positions=positions,
        tariff=valid.get("prices"),
        policy=Policy(**valid.get("policy", {})),
        wishes=Wishes(**valid.get("wishes", {})),
        ends=_ends(valid.get("ends", {}), lengths),
        paper=Paper(**valid.get("paper", {})),
        mast=site.mast_of(valid, document, lengths),
        bonds=site.bonds_of(valid, document, lengths),
        rates=rates_of(valid, lengths),
        length_unit=valid.get("length_unit") or _unit_in_use(lengths),
        **plain,
    )


def _ends(row: Json, lengths: rows.Lengths) -> Ends:
    given = {name: lengths.read(row, ("ends",), name)[0] for name in ("outlet", "panel", "closet", "headend")}
    return Ends(**{f"{name}_m": length for name, length in given.items() if length is not None})


def _unit_in_use(lengths: rows.Lengths) -> LengthUnit:
    return "ft" if len(lengths.used["ft"]) > len(lengths.used["m"]) else "m"


def _length_faults(document: Json, lengths: rows.Lengths, said: LengthUnit | None) -> list[Fault]:
    """One unit system a building, and one length a row."""
    unit = said or _unit_in_use(lengths)
    other: LengthUnit = "ft" if unit == "m" else "m"
    wrong = f"other lengths of the building are in {unit}" if said is None else f"the building is in {unit}"
    right = f"one unit of length in one building: {unit}"
    found = [
        fault_at(document, path, code="mixed-length-units", wrong=wrong, right=right)
        for path in lengths.used[other]
    ]
    twice = "two lengths stand together"
    return found + [
        fault_at(document, path, code="not-together", wrong=twice, right="one of the two")
        for path in lengths.twice
    ]


def _form_faults(document: Json) -> list[Fault]:
    """The short form with its types, or the graph form; a floor by one label or by several."""
    short = [name for name in _SHORT if name in document]
    graph = [name for name in _GRAPH if name in document]
    faults = []
    if short and graph:
        wrong = f"{', '.join(short)} and {', '.join(graph)} stand together"
        right = "closets, panels and types, or places and ways"
        faults.append(fault_at(document, (graph[0],), code="mixed-forms", wrong=wrong, right=right))
    if "mirrored" in document:
        wrong, right = "the building has a plan of its own", "mirrored only beside same_as"
        faults.append(fault_at(document, ("mirrored",), code="not-together", wrong=wrong, right=right))
    floors = document.get("floors")
    for position, row in enumerate(floors if isinstance(floors, list) else ()):
        for pair, must in ((("label", "labels"), True), (("block", "blocks"), False)):
            there = [name for name in pair if isinstance(row, dict) and name in row]
            if isinstance(row, dict) and (len(there) > 1 or (must and not there)):
                wrong = "they stand together" if there else "none of them is there"
                path: Path = ("floors", position, *there[1:])
                right = f"{pair[0]} or {pair[1]}"
                faults.append(fault_at(document, path, code="not-together", wrong=wrong, right=right))
        if isinstance(row, dict) and "missing" in row and "labels" not in row:
            wrong, right = "one floor has no label to leave out", "missing beside labels"
            path = ("floors", position, "missing")
            faults.append(fault_at(document, path, code="not-together", wrong=wrong, right=right))
    return faults


def _apart(shape: list[Fault], judged: tuple[Fault, ...]) -> list[Fault]:
    """The engine's complaints, less those that only follow from a complaint about the shape."""
    told = {fault.path[:depth] for fault in shape for depth in range(1, len(fault.path) + 1)}
    nameless = any(
        isinstance(fault.path[-1], int) or fault.path[-1] in ("id", "kind") for fault in shape if fault.path
    )
    return [
        fault
        for fault in judged
        if not (
            fault.path in told
            or (shape and fault.code in _FOLLOWING)
            or (nameless and fault.code in _NAMELESS)
            or (fault.code == "missing" and fault.path[:-1] in told)
        )
    ]
