"""Alike closets get one pattern: the same kinds of device and ports, so that a floor type is wired from one detail."""

from __future__ import annotations

from service.engine.placement.binding import Binding
from service.engine.placement.layout import Layout
from service.engine.placement.patterns import Cook
from service.engine.placement.trace import Visit
from service.engine.placement.used import visits


def alike_closets(layout: Layout) -> dict[str, int]:
    """Closets of every group of more than one: floors of one type with the same flats."""
    counts: dict[str, int] = {}
    for closet in layout.closets:
        if closet.items and closet.floor_type:
            counts[closet.pattern_group] = counts.get(closet.pattern_group, 0) + 1
    return {group: count for group, count in sorted(counts.items()) if count > 1}


def patterns_used(layout: Layout, root: Visit) -> dict[str, dict[str, list[int]]]:
    """By group of alike closets, which closets have which pattern in a design."""
    groups = alike_closets(layout)
    used: dict[str, dict[str, list[int]]] = {group: {} for group in groups}
    for visit in visits(root):
        closet = layout.closets[visit.closet]
        if closet.items and closet.pattern_group in groups:
            used[closet.pattern_group].setdefault(visit.recipe.pattern, []).append(visit.closet)
    return used


def by_use(patterns: dict[str, list[int]]) -> list[str]:
    """The patterns of one group, the most used first."""
    return sorted(patterns, key=lambda name: (-len(patterns[name]), name))


def odd_closets(layout: Layout, root: Visit) -> list[str]:
    """Closets whose pattern is not the most used one of their group."""
    return sorted(
        layout.closets[index].place.id
        for patterns in patterns_used(layout, root).values()
        for name in by_use(patterns)[1:]
        for index in patterns[name]
    )


def listed_patterns(layout: Layout, cook: Cook, group: str) -> list[str]:
    """Every pattern that a closet of a group may have with one feed going on, the cheapest devices first."""
    count = next(len(closet.items) for closet in layout.closets if closet.pattern_group == group)
    cheapest: dict[str, int] = {}
    for recipe in cook.recipes(count, 1):
        cheapest[recipe.pattern] = min(recipe.cents, cheapest.get(recipe.pattern, recipe.cents))
    return sorted(cheapest, key=lambda name: (cheapest[name], name))


def settled_patterns(layout: Layout, root: Visit) -> dict[str, str]:
    """The pattern of every group that has but one."""
    used = patterns_used(layout, root)
    return {group: next(iter(patterns)) for group, patterns in used.items() if len(patterns) == 1}


def patterns_for(layout: Layout, cook: Cook, root: Visit, group: str, most: int) -> list[str]:
    """Patterns to try for one group: those in use first, then the cheapest others."""
    used = by_use(patterns_used(layout, root)[group])
    others = [name for name in listed_patterns(layout, cook, group) if name not in used]
    return [*used, *others][:most]


def mostly_one(layout: Layout, root: Visit) -> Binding:
    """Every group left free at a price: closets take another pattern only where the most used one doesn't serve."""
    used = patterns_used(layout, root)
    return Binding(favoured={group: by_use(names)[0] for group, names in used.items() if names})
