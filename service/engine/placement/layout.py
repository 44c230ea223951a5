"""A building on its route, as placement sees it: closets in depth-first order, and what each must feed.

Only closets and the head-end take devices that feed others; a flat's panel feeds its own outlets alone (policy:
accessible places, no flat through a flat). Junctions are passed.
"""

from __future__ import annotations

from dataclasses import dataclass

from service.engine.building.places import Building, Place
from service.engine.routes.plan import RoutePlan

#: Access of places that may hold devices while the policy asks for accessible places.
ACCESSIBLE = ("common-locked",)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drop:
    """One outlet and the ways to it from where its run starts (its panel, or the closet when run home)."""

    outlet: str
    user: str
    ways: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One cable that leaves a closet: to a flat's panel with its drops, or straight to one outlet.

    `panel` is "" for a straight run; `drops` then holds one drop whose ways start at the closet, and `ways` is
    empty. `kind` compares alike: unit type and number of drops.
    """

    unit: str
    user: str
    panel: str
    ways: tuple[str, ...]
    drops: tuple[Drop, ...]
    unit_type: str

    @property
    def kind(self) -> str:
        """Items of the same kind may be fed alike."""
        return f"{self.unit_type}/{'panel' if self.panel else 'straight'}/{len(self.drops)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Closet:
    """A place that may hold devices. `parent` and `children` are indices, `last` the last index below it.

    `ways` lead here from the parent closet, ways between passed junctions included.
    """

    index: int
    place: Place
    parent: int
    children: tuple[int, ...]
    last: int
    ways: tuple[str, ...]
    items: tuple[Item, ...]
    floor_type: str

    @property
    def pattern_group(self) -> str:
        """Closets of one group get one pattern: the same floor type with the same items."""
        kinds = ",".join(sorted(item.kind for item in self.items))
        return f"{self.floor_type or self.place.id}|{kinds}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Closets in depth-first order (index 0 is the head-end), over one building and route."""

    building: Building
    route: RoutePlan
    closets: tuple[Closet, ...]

    def path(self, start: int, end: int) -> tuple[str, ...]:
        """Ways from an upper closet down to one below it."""
        ways: list[tuple[str, ...]] = []
        here = end
        while here != start:
            ways.append(self.closets[here].ways)
            here = self.closets[here].parent
        return tuple(way for leg in reversed(ways) for way in leg)


class _Builder:
    """Walks the route once; holds what the walk needs."""

    def __init__(self, building: Building, route: RoutePlan) -> None:
        self.building = building
        self.places = {place.id: place for place in building.places}
        self.units = {unit.id: unit for unit in building.units}
        self.outlets = {outlet.id: outlet for outlet in building.outlets}
        self.floors = {(floor.block, floor.label): floor for floor in building.floors}
        self.below: dict[str, list[tuple[str, str]]] = {place.id: [] for place in building.places}
        for hop in route.hops:
            self.below[hop.parent].append((hop.place, hop.way))
        self.weight: dict[str, int] = {}
        for hop in reversed(route.hops):
            self.weight[hop.place] = (hop.place in self.outlets) + sum(
                self.weight[child] for child, _ in self.below[hop.place]
            )
        self.rows: list[tuple[Place, int, tuple[str, ...], list[Item]]] = []

    def is_panel(self, place: str) -> bool:
        """A flat's own panel that really serves several outlets, in a flat that is fed by panel."""
        here = self.places[place]
        unit = self.units.get(here.unit)
        by_panel = unit is None or unit.feed == "panel"
        return here.kind == "panel" and by_panel and self.weight.get(place, 0) > 1

    def takes_devices(self, place: str) -> bool:
        """A closet worth stopping at: house power, outlets of its own, or more than one way onward."""
        here = self.places[place]
        if here.kind not in ("closet", "headend"):
            return False
        if self.building.policy.accessible_places and here.kind == "closet" and here.access not in ACCESSIBLE:
            return False
        onward = [child for child, _ in self.below[place] if self.weight.get(child, 0) > 0]
        return here.mains or len(onward) != 1 or self.places[onward[0]].kind not in ("closet", "junction")

    def visit(self, place: str, parent: int, ways: tuple[str, ...]) -> None:
        """Open a closet and everything below it, depth first, without recursion per junction."""
        index = len(self.rows)
        items: list[Item] = []
        self.rows.append((self.places[place], parent, ways, items))
        closets: list[tuple[str, tuple[str, ...]]] = []
        stack: list[tuple[str, tuple[str, ...]]] = [(place, ())]
        while stack:
            here, path = stack.pop()
            for child, way in sorted(self.below[here], reverse=True):
                onward = (*path, way)
                if self.weight.get(child, 0) == 0:
                    continue
                if self.takes_devices(child):
                    closets.append((child, onward))
                elif self.is_panel(child):
                    items.append(self.panel_item(child, onward))
                elif child in self.outlets:
                    items.append(self.straight_item(child, onward))
                else:
                    stack.append((child, onward))
        items.sort(key=lambda item: (item.unit, item.panel, item.drops[0].outlet))
        for child, onward in sorted(closets):
            self.visit(child, index, onward)

    def panel_item(self, panel: str, ways: tuple[str, ...]) -> Item:
        """One cable to a panel, then a drop to each of its outlets."""
        drops: list[Drop] = []
        stack: list[tuple[str, tuple[str, ...]]] = [(panel, ())]
        while stack:
            here, path = stack.pop()
            for child, way in sorted(self.below[here], reverse=True):
                if child in self.outlets:
                    drops.append(Drop(outlet=child, user=self.outlets[child].user, ways=(*path, way)))
                else:
                    stack.append((child, (*path, way)))
        unit = self.units[self.outlets[drops[0].outlet].unit]
        drops.sort(key=lambda drop: drop.outlet)
        return Item(
            unit=unit.id,
            user=drops[0].user,
            panel=panel,
            ways=ways,
            drops=tuple(drops),
            unit_type=unit.unit_type,
        )

    def straight_item(self, outlet_id: str, ways: tuple[str, ...]) -> Item:
        """One cable from the closet to one outlet."""
        outlet = self.outlets[outlet_id]
        unit = self.units[outlet.unit]
        drop = Drop(outlet=outlet_id, user=outlet.user, ways=ways)
        return Item(
            unit=unit.id, user=outlet.user, panel="", ways=(), drops=(drop,), unit_type=unit.unit_type
        )


def lay_out(building: Building, route: RoutePlan) -> Layout:
    """Order the closets depth first and gather what each feeds. The route must reach every outlet."""
    builder = _Builder(building, route)
    builder.visit(building.headend, -1, ())
    count = len(builder.rows)
    children: list[list[int]] = [[] for _ in range(count)]
    last = list(range(count))
    for index in range(count - 1, 0, -1):
        parent = builder.rows[index][1]
        children[parent].insert(0, index)
        last[parent] = max(last[parent], last[index])
    closets = []
    for index, (place, parent, ways, items) in enumerate(builder.rows):
        floor = builder.floors.get((place.block, place.floor))
        closets.append(
            Closet(
                index=index,
                place=place,
                parent=parent,
                children=tuple(children[index]),
                last=last[index],
                ways=ways,
                items=tuple(items),
                floor_type=floor.floor_type if floor else "",
            )
        )
    return Layout(building=building, route=route, closets=tuple(closets))
