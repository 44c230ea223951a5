"""Several building documents together: a building may be the same as another of them, mirrored or not.

A document with `same_as` brings no plan of its own. It may differ in name, paper, feed, rules, prices, wishes,
policy and estimate. Mast, bonding and what stands on the roof are its own alone.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

from service.engine.building.mirror import mirrored
from service.engine.findings import Fault
from service.forms.building import BuildingReading, read_building
from service.forms.known import Known
from service.forms.reading import Json, fault_at, in_order

#: What belongs to a site and is never taken over from another building: where its lines are, nobody else knows.
SITE = ("mast", "bonds", "roof_transmitters", "lightning_system")
#: What a building that is the same as another one may say for itself.
OWN = frozenset(
    {
        "document",
        "version",
        "id",
        "name",
        "note",
        "same_as",
        "mirrored",
        "paper",
        "feed",
        "rules",
        "prices",
        "wishes",
        "policy",
        "estimate",
        *SITE,
    }
)
_OVER = OWN - {"same_as", "mirrored"}
#: What is not taken over from the other building.
_NOT_SHARED = ("id", "name", "note", "paper", "keep", "same_as", "mirrored", *SITE)


def read_buildings(
    documents: Sequence[object], known: Known, tariffs: Collection[str]
) -> tuple[BuildingReading, ...]:
    """Read building documents in their order; never raises, and a bad one never stops the others."""
    by_id: dict[str, Json] = {}
    for document in documents:
        if isinstance(document, dict) and isinstance(document.get("id"), str):
            by_id.setdefault(document["id"], document)
    return tuple(_one(document, by_id, known, tariffs) for document in documents)


def _one(document: object, by_id: dict[str, Json], known: Known, tariffs: Collection[str]) -> BuildingReading:
    if not isinstance(document, dict):
        return read_building(document, known, tariffs)
    faults = []
    name = document.get("id")
    if isinstance(name, str) and by_id[name] is not document:
        wrong, right = "another building of the portfolio has this id", "an id of its own"
        faults.append(fault_at(document, ("id",), code="duplicate-id", wrong=wrong, right=right))
    if "same_as" not in document:
        reading = read_building(document, known, tariffs)
    else:
        reading = _same(document, by_id, known, tariffs)
    every = in_order([*faults, *reading.faults])
    return reading if not faults else BuildingReading(building=None, keep=None, faults=every)


def _same(document: Json, by_id: dict[str, Json], known: Known, tariffs: Collection[str]) -> BuildingReading:
    """A building with the plan of another one."""
    faults = [
        fault_at(
            document,
            (field,),
            code="same-as-plan",
            wrong="the plan is that of the other building",
            right="no plan of its own, or no same_as",
        )
        for field in sorted(document.keys() - OWN)
    ]
    base, complaint = _base(document, by_id)
    if complaint is not None or base is None:
        return _refused([*faults, *([complaint] if complaint else [])])
    if read_building(base, known, tariffs).building is None:
        wrong = "the building it refers to has complaints of its own"
        right = "that building without complaints"
        return _refused([*faults, _about(document, "unknown-building", wrong, right)])
    own = {field: value for field, value in document.items() if field in _OVER}
    shared = {field: value for field, value in base.items() if field not in _NOT_SHARED}
    reading = read_building(shared | own, known, tariffs)
    if not isinstance(document.get("mirrored", False), bool):
        wrong, right = "this is not true or false", "true or false, without quotes"
        faults.append(fault_at(document, ("mirrored",), code="wrong-type", wrong=wrong, right=right))
    faults += [
        row if row.path[:1] and row.path[0] in own else replace(row, path=("same_as",))
        for row in reading.faults
    ]
    if faults or reading.building is None:
        return _refused(faults)
    building = mirrored(reading.building) if document.get("mirrored") is True else reading.building
    return BuildingReading(building=building, keep=None, faults=())


def _refused(faults: list[Fault]) -> BuildingReading:
    return BuildingReading(building=None, keep=None, faults=in_order(faults))


def _about(document: Json, code: str, wrong: str, right: str) -> Fault:
    return fault_at(document, ("same_as",), code=code, wrong=wrong, right=right)


def _base(document: Json, by_id: dict[str, Json]) -> tuple[Json | None, Fault | None]:
    """The document at the end of the chain of references, with what documents on the way say for
    themselves.
    """
    chain = [document]
    while "same_as" in chain[-1]:
        name = chain[-1]["same_as"]
        if not isinstance(name, str) or name not in by_id:
            right = f"the id of another building: {', '.join(sorted(by_id))}"
            return None, _about(document, "unknown-building", "the portfolio has no such building", right)
        if any(by_id[name] is seen for seen in chain):
            right = "a building with a plan of its own at the end"
            return None, _about(
                document, "same-as-loop", "the buildings refer to each other in a circle", right
            )
        chain.append(by_id[name])
    plan = chain[-1]
    for other in reversed(chain[1:-1]):
        plan = plan | {field: value for field, value in other.items() if field in _OVER}
    return plan, None
