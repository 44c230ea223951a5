"""Pieces of recipes under construction: a device or a small tree with what it loads, costs and lets go on."""

from __future__ import annotations

from dataclasses import dataclass

from service.engine.placement.menu import Offer
from service.engine.placement.recipes import Pick, Recipe, falls_of, parts_of, runs_on, taps_of


def fill(offer: Offer, hung: dict[int, list[int | str | Pick | None]]) -> Pick:
    """Hang things on the arms of an offer, terminators on the ports left over."""
    arms = []
    for number, arm in enumerate(offer.arms):
        things = list(hung.get(number, []))
        things += [None] * (arm.count - len(things))
        arms.append(tuple(things))
    return Pick(offer=offer, arms=tuple(arms))


def through_arm(offer: Offer) -> tuple[int, int]:
    """Positions of the through arm and of the tap arm of a through offer."""
    names = [arm.name for arm in offer.arms]
    through = names.index("through")
    return through, 1 - through


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A piece under construction: locals first…past, what hangs, loads, cost, and how it goes on."""

    pattern: str
    thing: int | str | Pick
    loads: tuple[tuple[int, int, int], ...]
    onward_steps: int
    throughs: int
    cents: int
    spare: int
    devices: int
    ports: int


def moved(part: Piece, steps: int) -> tuple[tuple[int, int, int], ...]:
    """The loads of a piece behind `steps` more loss."""
    return tuple((first, past, loss + steps) for first, past, loss in part.loads)


def replace_onward(thing: int | str | Pick | None, split: int | str | Pick) -> int | str | Pick:
    """The thing with its onward port feeding another device."""
    if thing == "onward":
        return split
    if isinstance(thing, Pick):
        arms = tuple(
            tuple(replace_onward(hung, split) if hung is not None else None for hung in arm)
            for arm in thing.arms
        )
        return Pick(offer=thing.offer, arms=arms)
    assert thing is not None
    return thing


def finished(piece: Piece, onward: int) -> Recipe:
    """The recipe of a piece that lets so many feeds go on."""
    return Recipe(
        pattern=piece.pattern,
        pick=piece.thing if isinstance(piece.thing, Pick) else None,
        loads=piece.loads,
        onward=onward,
        onward_steps=piece.onward_steps if onward else 0,
        throughs=piece.throughs,
        cents=piece.cents,
        spare=piece.spare,
        devices=piece.devices,
        ports=piece.ports,
        parts=parts_of(piece.thing),
        taps=taps_of(piece.thing),
        falls=falls_of(piece.thing),
        runs_on=runs_on(piece.thing),
    )
