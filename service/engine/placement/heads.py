"""Recipes where levels start at several outputs: a feed's, or those of an amplifier that has more than one.

The outputs are like the ports of a splitter that loses nothing and is paid for already: locals and onward feeds
share them, each output carrying one of them or a device for several. What is left over is closed.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise

import numpy as np

from service.engine.placement.menu import Arm, Offer
from service.engine.placement.patterns import Cook
from service.engine.placement.pieces import Piece, fill, finished, moved
from service.engine.placement.recipes import Pick, Recipe


def outputs_offer(outputs: int) -> Offer:
    """So many outputs as an offer without a part: no loss, no price."""
    arm = Arm(name="", count=outputs, steps=0, loss_db=np.zeros(0))
    return Offer(part="", cents=0, arms=(arm,))


class Heads:
    """The recipes of one cook behind several outputs; remembers what it listed."""

    def __init__(self, cook: Cook) -> None:
        self.cook = cook
        self._known: dict[tuple[int, int, int], tuple[Recipe, ...]] = {}

    def recipes(self, outputs: int, count: int, onward: int) -> tuple[Recipe, ...]:
        """Every recipe for so many locals and onward feeds behind so many outputs, each once."""
        if outputs == 1:
            return self.cook.recipes(count, onward)
        key = (outputs, count, onward)
        if key not in self._known:
            self._known[key] = tuple(_listed(_Head(self.cook, outputs), count, onward))
        return self._known[key]


@lru_cache(maxsize=64)
def heads_of(cook: Cook) -> Heads:
    """The heads of a cook, made once for every kitchen that shares it."""
    return Heads(cook)


def _listed(head: _Head, count: int, onward: int) -> Iterator[Recipe]:
    """What spreads over the outputs; an ordinary recipe behind one of them only where at most one feed goes on."""
    for piece in (*head.direct(count, onward), *head.split_onward(count, onward)):
        yield finished(piece, onward)
    if onward <= 1 or onward > head.outputs:
        for recipe in head.cook.recipes(count, onward):
            yield head.one_used(recipe)


class _Head:
    """Puts pieces of a cook behind the outputs of one start."""

    def __init__(self, cook: Cook, outputs: int) -> None:
        self.cook = cook
        self.outputs = outputs
        self.offer = outputs_offer(outputs)
        self.end_cents = cook.menu.terminator_cents

    def one_used(self, recipe: Recipe) -> Recipe:
        """An ordinary recipe behind the first output, the others closed."""
        closed = self.outputs - 1
        thing: int | str | Pick = recipe.pick or (0 if recipe.loads else "onward")
        piece = Piece(
            pattern=recipe.pattern,
            thing=fill(self.offer, {0: [thing]}),
            loads=recipe.loads,
            onward_steps=recipe.onward_steps,
            throughs=recipe.throughs,
            cents=recipe.cents + closed * self.end_cents,
            spare=recipe.spare + closed,
            devices=recipe.devices,
            ports=recipe.ports,
        )
        return finished(piece, recipe.onward)

    def direct(self, count: int, onward: int) -> Iterator[Piece]:
        """Every onward feed on an output of its own, the locals on those that are left."""
        left = self.outputs - onward
        if left < 0 or (count and left == 0):
            return
        for locals_ in self.shared(count, left):
            yield self.joined(locals_, ["onward"] * onward, 0)

    def split_onward(self, count: int, onward: int) -> Iterator[Piece]:
        """Like splitters behind some outputs for the onward feeds, the locals on the outputs left."""
        for arms in range(1, min(self.outputs, onward - 1) + 1):
            left = self.outputs - arms
            if count and left == 0:
                continue
            bounds = [(onward * number) // arms for number in range(arms + 1)]
            sizes = [b - a for a, b in pairwise(bounds)]
            for split in self.cook.evens(max(sizes))[:1]:
                subs = [self.cook.fan((split,), 0, size, onward=True) for size in sizes]
                for locals_ in self.shared(count, left):
                    yield self.joined(locals_, subs, split.arms[0].steps)

    def shared(self, count: int, left: int) -> Iterator[list[Piece]]:
        """Ways to hang the locals on so many outputs, one piece an output."""
        if count == 0:
            yield []
            return
        if count <= left:
            yield [self.cook.locals_only(at, at + 1, depth=0)[0] for at in range(count)]
        if count > 1:
            for piece in self.cook.locals_only(0, count, depth=1):
                yield [piece]
        arms = min(left, count - 1)
        if arms >= 2:
            bounds = [(count * number) // arms for number in range(arms + 1)]
            for leaf in self.cook.evens(max(2, *(b - a for a, b in pairwise(bounds)))):
                yield [
                    self.cook.fan((leaf,), a, b) if b - a > 1 else self.cook.locals_only(a, b, depth=0)[0]
                    for a, b in pairwise(bounds)
                ]

    def joined(self, locals_: list[Piece], onward: list[Piece] | list[str], steps: int) -> Piece:
        """Pieces for locals and onward feeds behind the outputs; `steps` is the loss before every onward feed."""
        goes_on = [thing if isinstance(thing, Piece) else None for thing in onward]
        things = [piece.thing for piece in locals_]
        things += ["onward" if piece is None else piece.thing for piece in goes_on]
        pieces = [*locals_, *(piece for piece in goes_on if piece is not None)]
        closed = self.outputs - len(things)
        return Piece(
            pattern="o" + "+".join(piece.pattern for piece in locals_)
            if len(locals_) > 1
            else _only(locals_),
            thing=fill(self.offer, {0: list(things)}),
            loads=tuple(load for piece in locals_ for load in moved(piece, 0)),
            onward_steps=steps,
            throughs=max((piece.throughs for piece in goes_on if piece is not None), default=0),
            cents=sum(piece.cents for piece in pieces) + closed * self.end_cents,
            spare=sum(piece.spare for piece in pieces) + closed,
            devices=sum(piece.devices for piece in pieces),
            ports=sum(piece.ports for piece in pieces),
        )


def _only(locals_: list[Piece]) -> str:
    return locals_[0].pattern if locals_ else ""
