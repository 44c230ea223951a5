"""Recipes as values: the small trees of devices that a closet or a panel may hold."""

from __future__ import annotations

from dataclasses import dataclass

from service.engine.placement.menu import Offer


@dataclass(frozen=True, slots=True, kw_only=True)
class Pick:
    """One device of a recipe. `arms` mirrors the offer's arms: for each port what hangs on it.

    A whole number is a local cable by position, "onward" a feed that goes on, None a terminator, a Pick another
    device right behind the port.
    """

    offer: Offer
    arms: tuple[tuple[int | str | Pick | None, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """A way to serve `m` locals and `onward` feeds. `pattern` is what alike floors share: port counts, no values.

    `loads` are (first, past last, steps): those locals sit behind that loss. `onward_steps` is the loss before
    every onward feed. `throughs` counts devices that an onward feed passes. `cents` holds devices and terminators.
    """

    pattern: str
    pick: Pick | None
    loads: tuple[tuple[int, int, int], ...]
    onward: int
    onward_steps: int
    throughs: int
    cents: int
    spare: int
    devices: int
    ports: int
    parts: tuple[str, ...]
    taps: tuple[tuple[str, int], ...]
    tap_steps: tuple[int, ...]


def taps_of(thing: int | str | Pick | None) -> tuple[tuple[str, int], ...]:
    """Every part with a through arm in a tree of picks, with its count of tap ports."""
    if not isinstance(thing, Pick):
        return ()
    found: list[tuple[str, int]] = []
    if any(arm.name == "through" for arm in thing.offer.arms):
        found.append((thing.offer.part, thing.offer.ports - 1))
    for arm in thing.arms:
        for hung in arm:
            found.extend(taps_of(hung))
    return tuple(found)


def tap_steps_of(thing: int | str | Pick | None) -> tuple[int, ...]:
    """Tap losses of the parts with a through arm along the way that goes on, in steps, first to last."""
    if not isinstance(thing, Pick):
        return ()
    names = [arm.name for arm in thing.offer.arms]
    if "through" not in names:
        return ()
    through = names.index("through")
    tap = thing.offer.arms[1 - through].steps
    return (tap, *tap_steps_of(thing.arms[through][0]))


def parts_of(thing: int | str | Pick | None) -> tuple[str, ...]:
    """Ids of every part in a tree of picks, sorted, each as often as it stands there."""
    if not isinstance(thing, Pick):
        return ()
    inner = [part for arm in thing.arms for hung in arm for part in parts_of(hung)]
    own = [thing.offer.part] if thing.offer.part else []
    return tuple(sorted([*own, *inner]))
