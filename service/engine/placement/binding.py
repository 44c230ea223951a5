"""What a search is bound to beyond the building's own rules: patterns, parts, falls of values, spare ports."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from service.engine.placement.layout import Layout
from service.engine.placement.recipes import ANY_VALUE
from service.engine.placement.stages import NO_PRICE, SparePrice, StageRules


@dataclass(frozen=True, slots=True, kw_only=True)
class Binding:
    """`patterns` binds groups of alike closets, `favoured` makes other patterns dear there; `barred` are parts.

    `falls` holds, by closet, the least value of the last tap that a feed goes on from and the largest of the first.
    `price` is what a spare port is counted worth.
    """

    patterns: Mapping[str, str] = field(default_factory=dict)
    favoured: Mapping[str, str] = field(default_factory=dict)
    barred: frozenset[str] = frozenset()
    falls: Mapping[int, tuple[int, int]] = field(default_factory=dict)
    price: SparePrice = NO_PRICE


def bound(layout: Layout, rules: tuple[StageRules, ...], binding: Binding) -> tuple[StageRules, ...]:
    """The rules of every closet under a binding; what the building itself rules stays."""
    found: list[StageRules] = []
    for closet, rule in zip(layout.closets, rules, strict=True):
        pattern = binding.patterns.get(closet.pattern_group)
        least, most = binding.falls.get(closet.index, (0, ANY_VALUE))
        found.append(
            replace(
                rule,
                patterns=None if pattern is None else frozenset({pattern}),
                favoured=binding.favoured.get(closet.pattern_group, ""),
                barred=binding.barred | frozenset(closet.place.never),
                least_value=least,
                most_value=most,
                price=binding.price,
            )
        )
    return tuple(found)
