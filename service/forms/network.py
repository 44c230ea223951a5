"""A network document: JSON to the engine's network, its catalogue and its limits, or every complaint at once.

Shape faults and reference faults come together: what has the right shape is built as far as it goes, and the
engine's validator looks at it. Complaints that only follow from another one are left out.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, fields

from service.engine.findings import Fault
from service.engine.plant.cables import Cable
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.faults import network_faults
from service.engine.plant.network import Device, Network, Port, Run, Served, Settings
from service.engine.plant.parts import Part
from service.engine.propagation.spread import Conditions
from service.engine.signal.limits import Limits
from service.engine.signal.units import m_from_ft
from service.forms.feeds import LEVELS, FeedsForm, read_feed, rules_plan
from service.forms.known import Known
from service.forms.network_schema import (
    DOCUMENT,
    MOST_ENTRIES,
    MOST_FIGURES,
    MOST_OUTLETS,
    VERSION,
    NetworkDocument,
)
from service.forms.own_parts import own_cables, own_parts
from service.forms.reading import Json, Path, fault_at, has, in_order, load_shape, moved
from service.forms.strict import PORT_PATTERN, kind_of

_SCHEMA = NetworkDocument()
_PORT = re.compile(PORT_PATTERN)
_PLACEHOLDER_M = 1.0
#: In place of limits that are not known: they say nothing, and what they say of services is left out.
_SILENT = Limits(
    id="", name="", region="", services=(), passband_low_mhz=0.0, passband_high_mhz=0.0, source=""
)
_ALIASES: dict[str, tuple[str, ...]] = {
    "length_m": ("length_ft",),
    "level_dbmv": LEVELS[1:],
    "id": ("channel", "frequency_mhz", "to"),
    "frequency_mhz": ("channel",),
    "service": ("channel",),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class NetworkForm:
    """What a network document says, ready for analysis; `parts` and `cables` are those it brings along.

    `margins` asks for design windows and reserves, `conditions` say what is uncertain.
    """

    network: Network
    catalogue: Catalogue
    limits: Limits
    parts: tuple[Part, ...]
    cables: tuple[Cable, ...]
    margins: bool
    conditions: Conditions
    source: str


@dataclass(slots=True, kw_only=True)
class _Draft:
    """A network half read: items with the positions they have in the document, and what couldn't be used."""

    document: Json
    valid: Json
    faults: list[Fault]
    positions: dict[str, list[int]] = field(default_factory=dict)
    lost_runs: bool = False

    def raw(self, section: str) -> list[object]:
        """The items of a section as posted."""
        rows = self.document.get(section, [])
        return rows if isinstance(rows, list) else []

    def items(self, section: str) -> list[tuple[int, Json, Json]]:
        """Position, item as posted and its valid fields, for every item that is an object."""
        valid = self.valid.get(section, [])
        rows = zip(self.raw(section), valid, strict=False)
        return [(i, raw, row) for i, (raw, row) in enumerate(rows) if isinstance(raw, dict)]

    def damaged(self, section: str) -> set[int]:
        """Positions of a section that have a complaint of shape already."""
        return {
            fault.path[1]
            for fault in self.faults
            if len(fault.path) > 1 and fault.path[0] == section and isinstance(fault.path[1], int)
        }

    def keep(self, section: str, position: int) -> None:
        """Remember where the next item of a section stands."""
        self.positions.setdefault(section, []).append(position)

    def complain(self, path: Path, *, code: str, wrong: str, right: str) -> None:
        """Add a complaint about a value of the document."""
        self.faults.append(fault_at(self.document, path, code=code, wrong=wrong, right=right))


def read_network(
    document: object, known: Known, *, tolerated: frozenset[str] = frozenset()
) -> tuple[NetworkForm | None, tuple[Fault, ...]]:
    """Read a network document: the form when nothing is wrong, else None and every complaint with its path.

    Complaints with a code in `tolerated` don't count: a fragment may leave devices unfed.
    """
    if not isinstance(document, dict):
        wrong = f"this is {kind_of(document)}"
        return None, (fault_at(document, (), code="wrong-type", wrong=wrong, right="a JSON object"),)
    for name, wanted in (("document", DOCUMENT), ("version", VERSION)):
        posted = document.get(name)
        if isinstance(posted, type(wanted)) and posted != wanted and not isinstance(posted, bool):
            wrong, right = "this is another document", f"{name} {wanted}"
            return None, (fault_at(document, (name,), code="wrong-document", wrong=wrong, right=right),)
    valid, faults = load_shape(_SCHEMA, document)
    draft = _Draft(document=document, valid=valid, faults=faults)
    if _too_large(draft):
        return None, in_order(draft.faults)
    parts, cables, lost = _own(draft)
    limits = _limits(draft, known)
    catalogue = known.catalogue.overlaid(tuple(parts), tuple(cables))
    network, feeds = _network(draft, known)
    rows = network_faults(network, catalogue, limits or _SILENT, known.services)
    rows = tuple(
        fault for fault in rows if limits or fault.code not in ("wrong-band", "service-without-limit")
    )
    every = in_order([*draft.faults, *_located(draft, feeds, rows, lost)])
    every = tuple(fault for fault in every if fault.code not in tolerated)
    if every or limits is None:
        return None, every
    form = NetworkForm(
        network=network,
        catalogue=catalogue,
        limits=limits,
        parts=tuple(parts),
        cables=tuple(cables),
        margins=valid["rules"].get("margins", True),
        conditions=_conditions(valid["rules"]),
        source=valid.get("source", ""),
    )
    return form, ()


def _too_large(draft: _Draft) -> bool:
    """Complain about a document above the size limits; what it holds is then not looked at."""
    before = len(draft.faults)
    carriers = [feed.get("carriers") for feed in draft.raw("feeds") if isinstance(feed, dict)]
    count = sum(len(rows) for rows in carriers if isinstance(rows, list))
    sizes = {name: len(draft.raw(name)) for name in ("served", "devices", "runs", "terminated")}
    for name, size in sizes.items():
        most = MOST_OUTLETS if name == "served" else MOST_ENTRIES
        if size > most:
            draft.complain((name,), code="too-many", wrong=f"{size} entries", right=f"at most {most}")
    if sizes["devices"] * count > MOST_FIGURES:
        wrong = f"{sizes['devices']} devices with {count} carriers"
        right = f"at most {MOST_FIGURES} levels: fewer carriers, or several documents"
        draft.complain(("devices",), code="too-many", wrong=wrong, right=right)
    return len(draft.faults) > before


def _conditions(rules: Json) -> Conditions:
    return Conditions(**{row.name: rules[row.name] for row in fields(Conditions) if row.name in rules})


def _own(draft: _Draft) -> tuple[list[Part], list[Cable], set[str]]:
    """Own parts and cables, and the ids of those that can't be used."""
    for section in ("parts", "cables"):
        first: set[str] = set()
        for position, raw, _ in draft.items(section):
            name = raw.get("id")
            if isinstance(name, str) and name in first:
                wrong, right = "the document brings this id already", "an id of its own"
                draft.complain((section, position, "id"), code="duplicate-id", wrong=wrong, right=right)
            elif isinstance(name, str):
                first.add(name)
    parts, part_faults = own_parts(draft.document, draft.valid.get("parts", []), draft.damaged("parts"))
    cables, cable_faults = own_cables(draft.document, draft.valid.get("cables", []), draft.damaged("cables"))
    draft.faults += part_faults + cable_faults
    usable = {part.id for part in parts} | {cable.id for cable in cables}
    named = {str(raw.get("id")) for section in ("parts", "cables") for _, raw, _ in draft.items(section)}
    return parts, cables, named - usable


def _limits(draft: _Draft, known: Known) -> Limits | None:
    name = draft.valid.get("rules", {}).get("limits")
    if name is None:
        return None
    if name not in known.limits:
        right = f"one of {', '.join(sorted(known.limits))}"
        draft.complain(
            ("rules", "limits"), code="unknown-limits", wrong="there are no such limits", right=right
        )
        return None
    return known.limits[name]


def _port(text: object) -> Port | None:
    if not isinstance(text, str) or not _PORT.fullmatch(text):
        return None
    device, _, rest = text.partition(":")
    group, _, number = rest.partition(".")
    return Port(device=device, group=group, number=int(number or 1))


def _network(draft: _Draft, known: Known) -> tuple[Network, FeedsForm]:
    plan, plan_faults = rules_plan(draft.document, draft.valid.get("rules", {}), known)
    draft.faults += plan_faults
    feeds = FeedsForm()
    for position, raw, row in draft.items("feeds"):
        if isinstance(raw.get("id"), str):
            read_feed(feeds, draft.document, row, ("feeds", position), raw["id"], known, plan)
            draft.keep("feeds", position)
    draft.faults += feeds.faults
    network = Network(
        id=draft.valid.get("id", ""),
        name=draft.valid.get("name", ""),
        feeds=tuple(feeds.feeds),
        devices=tuple(_devices(draft)),
        runs=tuple(_runs(draft)),
        served=tuple(_served(draft)),
        terminated=tuple(_terminated(draft)),
        joint_loss_db_at_1ghz=draft.valid.get("joint_loss_db_at_1ghz", 0.1),
    )
    return network, feeds


def _devices(draft: _Draft) -> list[Device]:
    devices = []
    for position, raw, row in draft.items("devices"):
        if isinstance(raw.get("id"), str):
            settings = Settings(**row.get("settings", {}))
            part = raw["part"] if isinstance(raw.get("part"), str) else ""
            devices.append(Device(id=raw["id"], part=part, place=row.get("place", ""), settings=settings))
            draft.keep("devices", position)
    return devices


def _runs(draft: _Draft) -> list[Run]:
    runs = []
    for position, raw, row in draft.items("runs"):
        _cable_faults(draft, raw, row, ("runs", position))
        start, end = _port(raw.get("from")), raw.get("to")
        if start is None or not isinstance(end, str):
            draft.lost_runs = True
            continue
        direct = row.get("direct", False)
        length = 0.0 if direct else row.get("length_m", _PLACEHOLDER_M)
        if "length_ft" in row and not direct:
            length = m_from_ft(float(row["length_ft"]))
        runs.append(
            Run(
                id=row.get("id", end),
                start=start,
                end=end,
                cable=None if direct else str(raw.get("cable", "")),
                length_m=length,
                joints=row.get("joints", 1 if direct else 2),
                ambient=row.get("ambient", "indoors"),
                loss_factor=row.get("loss_factor", 1.0),
                ways=tuple(row.get("ways", ())),
                existing=row.get("existing", False),
            )
        )
        draft.keep("runs", position)
    draft.lost_runs = draft.lost_runs or len(draft.items("runs")) < len(draft.raw("runs"))
    return runs


def _cable_faults(draft: _Draft, raw: Json, row: Json, path: Path) -> None:
    lengths = [name for name in ("length_m", "length_ft") if name in raw]
    if row.get("direct", False):
        for name in [*lengths, *(["cable"] if "cable" in raw else [])]:
            wrong, right = "a direct joint has no cable", "direct true alone, or a cable with its length"
            draft.complain((*path, name), code="not-together", wrong=wrong, right=right)
        return
    if "cable" not in raw:
        right = "the id of a cable, or direct true where two devices join without one"
        draft.complain((*path, "cable"), code="missing", wrong="it is missing", right=right)
    if len(lengths) != 1:
        wrong = "two lengths stand together" if lengths else "the run has no length"
        place = (*path, lengths[-1]) if lengths else path
        right = "exactly one of length_m, length_ft"
        draft.complain(place, code="not-together", wrong=wrong, right=right)


def _served(draft: _Draft) -> list[Served]:
    served = []
    for position, raw, row in draft.items("served"):
        port, outlet = _port(raw.get("at")), raw.get("outlet")
        if port is not None and isinstance(outlet, str):
            unit = row.get("unit", "")
            user = row.get("user") or unit or outlet
            served.append(Served(outlet=outlet, port=port, user=user, unit=unit, floor=row.get("floor", "")))
            draft.keep("served", position)
    return served


def _terminated(draft: _Draft) -> list[Port]:
    ports = []
    for position, text in enumerate(draft.raw("terminated")):
        port = _port(text)
        if port is not None:
            ports.append(port)
            draft.keep("terminated", position)
    return ports


def _located(draft: _Draft, feeds: FeedsForm, rows: tuple[Fault, ...], lost: set[str]) -> list[Fault]:
    """The engine's complaints at their places in the document, less those that only follow from another."""
    located = []
    told = {fault.path[:depth] for fault in draft.faults for depth in range(1, len(fault.path) + 1)}
    for fault in rows:
        if (fault.code in ("unknown-part", "unknown-cable") and fault.value in lost) or (
            fault.code == "not-fed" and draft.lost_runs
        ):
            continue
        path = _posted(draft, feeds, fault.path)
        if path not in told:
            located.append(moved(fault, path, draft.document))
    return located


def _posted(draft: _Draft, feeds: FeedsForm, path: Path) -> Path:
    """A path through the engine's tuples as a path through the document."""
    steps = list(path)
    if len(steps) > 1 and isinstance(steps[1], int):
        index = steps[1]
        if len(steps) > 3 and steps[2] == "carriers" and isinstance(steps[3], int):
            steps[3] = feeds.carrier_positions[index][steps[3]]
        steps[1] = draft.positions[str(steps[0])][index]
    last = steps[-1]
    while len(steps) > 1 and isinstance(last, str) and not has(draft.document, tuple(steps)):
        names = [name for name in _ALIASES.get(last, ()) if has(draft.document, (*steps[:-1], name))]
        steps = [*steps[:-1], *names[:1]]
        last = steps[-1]
    return tuple(steps)
