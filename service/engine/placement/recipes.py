"""Recipes as values: the small trees of devices that a closet or a panel may hold."""

from __future__ import annotations

from dataclasses import dataclass

from service.engine.placement.menu import GRID_DB, Offer

#: Larger than the value of any tap, in steps.
ANY_VALUE = 1 << 30


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
    every onward feed, and `falls` the values along the way of through ports, which a feed leaves where it `runs_on`.
    `throughs` counts devices that an onward feed passes. `cents` holds devices and terminators.
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
    falls: tuple[int, ...]
    runs_on: bool


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


def falls_of(thing: int | str | Pick | None) -> tuple[int, ...]:
    """Values of the devices fed one through the other's through port, in steps at the lowest carrier, first to last.

    A tap's value is the loss to the ports beside its through port; a splitter at the end counts by its own. Behind
    several outputs it is the way that a feed leaves with the least value.
    """
    if not isinstance(thing, Pick):
        return ()
    if not thing.offer.part:
        leaving = [falls_of(hung) for arm in thing.arms for hung in arm if runs_on(hung)]
        return min(leaving, key=lambda values: values[-1], default=())
    names = [arm.name for arm in thing.offer.arms]
    tapped = next(arm for arm in thing.offer.arms if arm.name != "through")
    value = round(float(tapped.loss_db[0]) / GRID_DB)
    return (value, *falls_of(thing.arms[names.index("through")][0])) if "through" in names else (value,)


def runs_on(thing: int | str | Pick | None) -> bool:
    """True where a feed goes on from the through port of the last of those devices."""
    if not isinstance(thing, Pick):
        return False
    if not thing.offer.part:
        return any(runs_on(hung) for arm in thing.arms for hung in arm)
    through = next((n for n, arm in enumerate(thing.offer.arms) if arm.name == "through"), None)
    return through is not None and (thing.arms[through][0] == "onward" or runs_on(thing.arms[through][0]))


def parts_of(thing: int | str | Pick | None) -> tuple[str, ...]:
    """Ids of every part in a tree of picks, sorted, each as often as it stands there."""
    if not isinstance(thing, Pick):
        return ()
    inner = [part for arm in thing.arms for hung in arm for part in parts_of(hung)]
    own = [thing.offer.part] if thing.offer.part else []
    return tuple(sorted([*own, *inner]))
