"""Whole networks from the enumeration, by rising cost, each judged as a finished network."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import product
from typing import Any

import numpy as np
from exhaustive import Start
from exhaustive_trees import moved, unreplaced

from service.engine.plant.network import Device, Network, Port, Run, Served, Settings

NOTHING = Settings()


def under(thing: Any, part: str, settings: Settings) -> Any:
    """The thing of a place with a part standing first there."""
    kind, place, inner = thing
    return kind, place, ("start", part, settings, inner)


def parentings(e: Any) -> Iterator[dict[str, str]]:
    """Every choice of what feeds what: each closet with flats hangs on a place above it, and one without may."""
    above: dict[str, list[str]] = {}
    for closet in e.closets:
        chain, here = [], closet
        while here != e.head:
            here = e.above[here].start
            if here in e.closets:
                chain.append(here)
        above[closet] = chain
    rows = sorted((c for c in e.closets if c != e.head), key=lambda c: (len(above[c]), c))
    options = [[*above[c], *([] if e.flats[c] else [""])] for c in rows]
    for picked in product(*options):
        parents = {c: parent for c, parent in zip(rows, picked, strict=True) if parent}
        fed = set(parents.values())
        if fed <= {e.head, *parents} and all(e.flats[c] or c in fed for c in parents):
            yield parents


@dataclass(slots=True)
class Walk:
    """One choice of riser cable and of what feeds what."""

    e: Any
    series: str
    parents: dict[str, str]
    order: list[str] = field(init=False)
    children: dict[str, list[str]] = field(init=False)
    runs: dict[str, Any] = field(init=False)
    fixed: int = field(init=False)
    least: dict[str, int] = field(init=False)

    def __post_init__(self) -> None:
        e = self.e
        self.order = [e.head, *self.parents]
        self.children = {p: [c for c, above in self.parents.items() if above == p] for p in self.order}
        self.runs = {c: e.run(above, c, self.series) for c, above in self.parents.items()}
        self.fixed = sum(run[0] for run in self.runs.values())
        self.fixed += sum(flat.cents for place in self.order for flat in e.flats[place])
        self.least = {place: self.least_at(place) for place in self.order}

    def least_at(self, place: str) -> int:
        """Least money for the devices of a place and its flats' panels, levels left out."""
        e = self.e
        leaves = len(e.flats[place]) + len(self.children[place])
        port = e.building.policy.spare and not self.children[place]
        own = e.least[leaves + 1] + e.close if port else e.least[leaves]
        return own + sum(e.least[len(flat.outlets)] for flat in e.flats[place])

    def subtree(self, place: str) -> int:
        return self.least[place] + sum(self.subtree(child) for child in self.children[place])

    def wanted(self, place: str, most: Any, slack: int, head: str = "") -> list[Any]:
        """What a place wants at the input of what stands behind its start, everything below it included.

        `head` is an amplifier with several outputs that stands there.
        """
        e = self.e
        budget = slack + self.subtree(place)
        at = tuple(most.tolist())
        leaves = [e.flat_labels(flat, at, slack + e.least[len(flat.outlets)]) for flat in e.flats[place]]
        for child in self.children[place]:
            _, loss, *_ = self.runs[child]
            labels = self.landing(child, most - loss, slack)
            leaves.append([moved(label, loss) for label in labels])
        if any(not labels for labels in leaves):
            return []
        if head:
            outputs = e.catalogue.part(head).port_count
            found = e.headed(leaves, at, budget, outputs, head)
            port = e.building.policy.spare and not self.children[place]
            return [label for label in found if label.own > 0 or not port]
        forest = e.forest(leaves, at, budget, forms=e.kind(place) in e.alike)
        found = forest.trees(tuple(range(len(leaves))))
        if place == e.head and len(leaves) == 1:
            found = [*leaves[0], *found]
        port = e.building.policy.spare and not self.children[place]
        return [label for label in found if label.own > 0 or not port]

    def landing(self, place: str, most: Any, slack: int) -> list[Any]:
        """What a closet wants of the cable that lands there, bare or behind a pad."""
        e = self.e
        trees = [self.ended(place, label) for label in self.wanted(place, most, slack)]
        found = list(trees)
        for part, cents, loss in e.pads:
            further = np.asarray(loss) + np.asarray(e.joint)
            for label in trees:
                if label.cents + cents <= slack + self.subtree(place):
                    padded = replace(label, cents=label.cents + cents, value=loss[0])
                    found.append(replace(moved(padded, further), thing=under(label.thing, part, NOTHING)))
        return unreplaced(found)

    def ended(self, place: str, label: Any) -> Any:
        """The label as the place above sees it: its form stands among those below, its ports are not its own."""
        e = self.e
        below = label.below
        if e.kind(place) in e.alike:
            below = tuple(sorted({*below, (e.kind(place), label.form)}))
        return replace(label, form=None, below=below, own=0, thing=("place", place, label.thing))

    def candidates(self) -> Iterator[tuple[int, Any]]:
        """Every launch with every tree that it can feed: what it costs, the start and the label."""
        e = self.e
        plain = e.feed[None, :]
        slack = e.cap - self.fixed - self.subtree(e.head)
        if slack < 0:
            return
        joint = np.asarray(e.joint)
        starts = [Start(cents=0, parts=(), levels=plain, settings=(NOTHING,))]
        for part, cents, loss in e.pads:
            levels = plain - joint - np.asarray(loss)
            starts.append(Start(cents=cents, parts=(part,), levels=levels, settings=(NOTHING,)))
        lifts = list(e.amplified(e.feed - joint, e.head))
        for rows in (starts, *([lift] for lift in lifts)):
            rest = slack - min(row.cents for row in rows)
            if rest < 0:
                continue
            most = np.max([row.levels.max(axis=0) for row in rows], axis=0)
            head = next((part for part in rows[0].parts if e.catalogue.part(part).port_count > 1), "")
            for label in self.wanted(e.head, most, rest, head):
                low, high = np.asarray(label.low), np.asarray(label.high)
                coupled = joint if label.thing[0] == "part" and not head else 0.0
                for row in rows:
                    levels = row.levels - coupled
                    room = np.minimum(levels - low, high - levels).min(axis=1)
                    best = int(np.argmax(room))
                    if room[best] >= -1e-7:
                        thing = label.thing
                        for part in row.parts if not head else ():
                            thing = ("start", part, row.settings[best], thing)
                        yield self.fixed + row.cents + label.cents, ("place", e.head, thing)


@dataclass(slots=True)
class Bench:
    """Puts a chosen network down, part by part."""

    e: Any
    series: str
    devices: list[Device] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    served: list[Served] = field(default_factory=list)
    closed: list[Port] = field(default_factory=list)
    counts: dict[str, int] = field(default_factory=dict)

    def put(self, part: str, port: Port, here: str, place: str, settings: Settings = NOTHING) -> str:
        """Stand a part at a place behind a port at `here`, with the cable between where they are apart."""
        self.counts[place] = self.counts.get(place, 0) + 1
        name = f"{place}.{self.counts[place]}"
        self.devices.append(Device(id=name, part=part, place=place, settings=settings))
        if here == place:
            self.runs.append(Run(id=name, start=port, end=name, cable=None, length_m=0.0, joints=1))
        else:
            riser = self.e.places[place].kind == "closet"
            _, _, cable, length, ways = self.e.run(here, place, self.series if riser else "6")
            self.runs.append(Run(id=name, start=port, end=name, cable=cable, length_m=length, ways=ways))
        return name

    def hang(self, thing: Any, port: Port, here: str, place: str) -> None:
        """Put one thing behind a port at `here`; its parts stand at `place`."""
        if thing[0] == "place":
            self.hang(thing[2], port, here, thing[1])
        elif thing[0] == "flat":
            self.hang(thing[2], port, here, thing[1].place)
        elif thing[0] == "start":
            name = self.put(thing[1], port, here, place, thing[2])
            group = self.e.catalogue.part(thing[1]).groups[0].name
            self.hang(thing[3], Port(device=name, group=group), place, place)
        elif thing[0] == "outlet":
            self.plate(thing[1], port, here)
        else:
            name = self.put(thing[1].id, port, here, place)
            for (group, count, _), things in zip(thing[1].groups, thing[2], strict=True):
                for number in range(count):
                    below = Port(device=name, group=group, number=number + 1)
                    if number < len(things):
                        self.hang(things[number], below, place, place)
                    else:
                        self.closed.append(below)

    def plate(self, outlet: str, port: Port, here: str) -> None:
        name = self.put("outlet-end", port, here, outlet)
        row = next(one for one in self.e.building.outlets if one.id == outlet)
        self.served.append(
            Served(
                outlet=outlet,
                port=Port(device=name, group="user"),
                user=row.user,
                unit=row.unit,
                floor=self.e.places[outlet].floor,
            )
        )

    def network(self, thing: Any) -> Network:
        """The finished network."""
        feed = self.e.building.feed
        self.hang(thing, Port(device=feed.id, group="out"), self.e.head, self.e.head)
        return Network(
            id=self.e.building.id,
            feeds=(feed,),
            devices=tuple(sorted(self.devices, key=lambda row: row.id)),
            runs=tuple(sorted(self.runs, key=lambda row: row.id)),
            served=tuple(sorted(self.served, key=lambda row: row.outlet)),
            terminated=tuple(sorted(self.closed)),
        )
