"""Variety: which tap values of each port count a building keeps."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from service.engine.placement.binding import Binding
from service.engine.placement.menu import GRID_DB, Menu

Used = Mapping[int, Mapping[str, int]]


def values_of(menu: Menu) -> dict[int, dict[str, int]]:
    """By count of tap ports, the taps with a through port and their values in steps at the lowest carrier."""
    found: dict[int, dict[str, int]] = {}
    for offer in menu.through:
        tapped = next(arm for arm in offer.arms if arm.name != "through")
        found.setdefault(offer.ports - 1, {})[offer.part] = round(float(tapped.loss_db[0]) / GRID_DB)
    return found


def _row(menu: Menu, start: int, most: int) -> frozenset[str]:
    """So many values of each port count, one above the other from a least value on, of the cheapest make."""
    cents = {offer.part: offer.cents for offer in menu.through}
    kept: set[str] = set()
    for parts in values_of(menu).values():
        least = min(cents[part] for part in parts)
        rising = sorted((value, part) for part, value in parts.items() if cents[part] == least)
        kept.update(part for _, part in [row for row in rising if row[0] >= start][:most])
    return frozenset(kept)


def _barring(binding: Binding, menu: Menu, kept: frozenset[str]) -> Binding:
    others = {offer.part for offer in menu.through} - kept
    return replace(binding, barred=binding.barred | others)


def rows(binding: Binding, menu: Menu, used: Used, most: int) -> Iterator[Binding]:
    """Bindings that leave neighbouring values alone: from the least one in use on, and where most uses are.

    Launch and amplifiers are set to suit: neighbours often serve as well as the scattered values of a design that
    was free to choose.
    """
    values = {part: value for parts in values_of(menu).values() for part, value in parts.items()}
    starts = sorted({values[part] for counts in used.values() for part in counts})
    if not starts:
        return
    uses = {part: count for counts in used.values() for part, count in counts.items()}
    by_start = {start: _row(menu, start, most) for start in starts}
    covers = {start: sum(uses.get(part, 0) for part in kept) for start, kept in by_start.items()}
    busiest = max(starts, key=lambda start: (covers[start], -start))
    for start in dict.fromkeys((starts[0], busiest)):
        yield _barring(binding, menu, by_start[start])


def most_used(binding: Binding, menu: Menu, used: Used, most: int) -> Binding:
    """The binding that leaves the most used values of each port count in use."""
    values = values_of(menu)
    kept = {part for parts in values.values() for part in parts}
    for ports, counts in used.items():
        ranked = sorted(values[ports], key=lambda part: (-counts.get(part, 0), part))
        kept -= set(ranked[most:])
    return _barring(binding, menu, frozenset(kept))
