"""Mixed recipes for few cables: locals and the feed that goes on, on unlike ports of one part or of two.

With many cables they save next to nothing and would only lengthen the lists: up to `FEW` locals are mixed, and only
for a little more than the cheapest part that has ports enough.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from service.engine.placement.menu import Menu, Offer
from service.engine.placement.pieces import Piece, fill, moved
from service.engine.placement.recipes import Pick, runs_on

#: Locals of a closet, at most, that are mixed: in any order, and those with the least budget first.
FEW, FEW_IN_ORDER = 4, 3
#: Locals of a closet, at most, that are mixed over splitting parts alone.
MOST = 8
#: How much of the cheapest splitting part a mixture may cost more than the cheapest recipe.
DEARER_SHARE = 1.5
#: Spare ports beyond which recipes are not told apart.
MOST_SPARE = 3

Thing = int | str | Pick
Loads = tuple[tuple[int, int, int], ...]


def spans(locals_: Sequence[int], steps: int) -> Loads:
    """Loads of single locals behind the same loss, neighbours taken together."""
    found: list[tuple[int, int, int]] = []
    for one in sorted(locals_):
        if found and found[-1][1] == one:
            found[-1] = (found[-1][0], one + 1, steps)
        else:
            found.append((one, one + 1, steps))
    return tuple(found)


def through_at(offer: Offer) -> int:
    """Position of the arm that goes on in a leg, −1 for none."""
    names = [arm.name for arm in offer.arms]
    return names.index("through") if "through" in names else -1


def value_steps(offer: Offer) -> int:
    """Loss to the ports beside a through port, in steps: the value that must not rise along a leg."""
    return next(arm.steps for at, arm in enumerate(offer.arms) if at != through_at(offer))


def name_of(offer: Offer, sub: Piece | None, onward_at: int) -> str:
    """Pattern of a mixture: ports, where the feed goes on unless by the through port, and what stands behind."""
    through = through_at(offer)
    sort = "" if through >= 0 or len(offer.arms) == 1 else "u"
    ports = offer.ports - (through >= 0)
    goes = "" if onward_at in (-1, through) else "e"
    return f"{goes}{sort}{ports}" + (f"({sub.pattern})" if sub else "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Mixer:
    """Mixes some locals. Without `shuffled` those with the least budget get the better ports; with it any may."""

    menu: Menu
    locals_: tuple[int, ...]
    limit: int
    shuffled: bool

    def seatings(
        self, offer: Offer, direct: tuple[int, ...], free: list[int]
    ) -> Iterator[list[tuple[int, ...]]]:
        """Which of the locals right on a part's ports hang on which arm; arms of low loss are filled first."""
        if len(offer.arms) == 1:
            if len(direct) <= free[0]:
                yield [direct]
            return
        taken = min(free[0], len(direct))
        if len(direct) - taken > free[1]:
            return
        first = combinations(direct, taken) if self.shuffled else (direct[:taken],)
        for near in first:
            yield [tuple(near), tuple(one for one in direct if one not in near)]

    def over(
        self,
        offer: Offer,
        direct: tuple[int, ...],
        onward_at: int,
        sub_at: int = -1,
        sub: Piece | None = None,
    ) -> Iterator[Piece]:
        """A part with some locals right on its ports, and what goes on or stands behind a port."""
        free = [arm.count for arm in offer.arms]
        for at in (onward_at, sub_at):
            if at >= 0:
                free[at] -= 1
        taken = len(direct) + (onward_at >= 0) + (sub is not None)
        spare = offer.ports - taken
        cents = offer.cents + spare * self.menu.terminator_cents + (sub.cents if sub else 0)
        if min(free) < 0 or spare < 0 or cents > self.limit:
            return
        behind = offer.arms[sub_at].steps if sub else 0
        inner = sub.onward_steps if sub else 0
        goes = onward_at >= 0 or bool(sub and sub.throughs)
        for seats in self.seatings(offer, direct, free):
            hung: dict[int, list[int | str | Pick | None]] = {at: list(row) for at, row in enumerate(seats)}
            if onward_at >= 0:
                hung[onward_at].append("onward")
            if sub is not None:
                hung[sub_at].append(sub.thing)
            own = [load for arm, row in zip(offer.arms, seats, strict=True) for load in spans(row, arm.steps)]
            yield Piece(
                pattern=name_of(offer, sub, onward_at),
                thing=fill(offer, hung),
                loads=(*own, *(moved(sub, behind) if sub else ())),
                onward_steps=offer.arms[onward_at].steps if onward_at >= 0 else behind + inner,
                throughs=(1 if goes else 0) + (sub.throughs if sub else 0),
                cents=cents,
                spare=spare + (sub.spare if sub else 0),
                devices=1 + (sub.devices if sub else 0),
                ports=offer.ports + (sub.ports if sub else 0),
            )

    def alone(self, *, onward: bool) -> Iterator[Piece]:
        """One part over all locals, and the feed that goes on from either of its arms."""
        for offer in (*self.menu.through, *self.menu.uneven):
            for onward_at in range(len(offer.arms)) if onward else (-1,):
                yield from self.over(offer, self.locals_, onward_at)

    def plain(self, *, onward: bool) -> Iterator[Piece]:
        """Even parts, and taps with every local on a tap port, over all locals."""
        for offer in self.menu.even:
            yield from self.over(offer, self.locals_, 0 if onward else -1)
        for offer in self.menu.through:
            tap = 1 - through_at(offer)
            if offer.arms[tap].count >= len(self.locals_):
                yield _tapped(self, offer, tap, onward=onward)

    def beside(self, direct: tuple[int, ...], subs: Sequence[Piece], *, onward: bool) -> Iterator[Piece]:
        """A part with some locals (and the feed that goes on) on its ports, and behind one a further part."""
        for offer in (*self.menu.even, *self.menu.uneven, *self.menu.through):
            for sub_at in range(len(offer.arms)):
                for onward_at in range(len(offer.arms)) if onward else (-1,):
                    for sub in subs:
                        if _falls(offer, sub) if sub_at == through_at(offer) else not runs_on(sub.thing):
                            yield from self.over(offer, direct, onward_at, sub_at, sub)


def _falls(offer: Offer, sub: Piece) -> bool:
    """True when the part behind a through port has no larger value than the tap before it."""
    return not isinstance(sub.thing, Pick) or value_steps(sub.thing.offer) <= value_steps(offer)


def mixtures(menu: Menu, locals_: int, least_cents: int, *, onward: bool) -> list[Piece]:
    """Every mixture of so many locals, with the feed that goes on or without, little dearer than `least_cents`."""
    shuffled = locals_ + onward <= FEW
    few = FEW if shuffled else FEW_IN_ORDER
    if not 1 <= locals_ <= MOST:
        return []
    if locals_ > few:
        # Splitting parts alone: the values of taps would make the lists long.
        menu, shuffled = replace(menu, through=()), False
    limit = least_cents + round(DEARER_SHARE * min((offer.cents for offer in menu.even), default=0))
    everyone = tuple(range(locals_))
    head = Mixer(menu=menu, locals_=everyone, limit=limit, shuffled=shuffled)
    found = list(head.alone(onward=onward))
    for count in range(locals_):
        for direct in combinations(everyone, count) if shuffled else (everyone[:count],):
            rest = tuple(one for one in everyone if one not in direct)
            tail = Mixer(menu=menu, locals_=rest, limit=limit, shuffled=shuffled)
            if direct or onward:
                subs = [*tail.alone(onward=False), *tail.plain(onward=False)]
                found += head.beside(direct, subs, onward=onward)
            if onward and direct:
                subs = [*tail.alone(onward=True), *tail.plain(onward=True)]
                found += head.beside(direct, subs, onward=False)
    return found


def forks(menu: Menu, locals_: int) -> list[Piece]:
    """A part with two unlike ports that feeds go on from, the better one first, the locals on what is left."""
    found = []
    for offer in (*menu.through, *menu.uneven) if locals_ <= FEW_IN_ORDER else ():
        near, far = offer.arms
        free, here = [near.count - 1, far.count - 1], 0
        if through_at(offer) == 1 or min(free) < 0 or sum(free) < locals_:
            continue
        hung: dict[int, list[int | str | Pick | None]] = {0: ["onward"], 1: ["onward"]}
        loads: list[tuple[int, int, int]] = []
        for at, arm in enumerate(offer.arms):
            past = min(here + free[at], locals_)
            hung[at] += range(here, past)
            loads += spans(range(here, past), arm.steps)
            here = past
        spare = sum(free) - locals_
        found.append(
            Piece(
                pattern=f"f{offer.ports}",
                thing=fill(offer, hung),
                loads=tuple(loads),
                onward_steps=near.steps,
                onward_more=far.steps - near.steps,
                throughs=1,
                cents=offer.cents + spare * menu.terminator_cents,
                spare=spare,
                devices=1,
                ports=offer.ports,
            )
        )
    return found


def _tapped(tail: Mixer, offer: Offer, tap: int, *, onward: bool) -> Piece:
    """A tap with the locals on its tap ports, the through port going on or closed."""
    locals_ = tail.locals_
    spare = offer.ports - len(locals_) - onward
    through = offer.arms[1 - tap]
    return Piece(
        pattern=str(offer.arms[tap].count),
        thing=fill(offer, {tap: list(locals_), 1 - tap: ["onward"] if onward else []}),
        loads=spans(locals_, offer.arms[tap].steps),
        onward_steps=through.steps if onward else 0,
        throughs=int(onward),
        cents=offer.cents + spare * tail.menu.terminator_cents,
        spare=spare,
        devices=1,
        ports=offer.ports,
    )


def cheapest_alike(pieces: list[Piece]) -> list[Piece]:
    """Pieces in their order, less those that a cheaper one of the same pattern and losses replaces."""
    best: dict[tuple[object, ...], int] = {}
    for at, piece in enumerate(pieces):
        key = (
            piece.pattern,
            tuple(sorted(piece.loads)),
            (piece.onward_steps, piece.onward_more),
            min(piece.spare, MOST_SPARE),
        )
        if key not in best or piece.cents < pieces[best[key]].cents:
            best[key] = at
    return [pieces[at] for at in sorted(best.values())]


def standing(piece: Piece) -> tuple[int, int]:
    """Order of pieces, price first. At one price values that suit a leg: large ones first in it, small ones last."""
    if not isinstance(piece.thing, Pick):
        return piece.cents, 0
    value = value_steps(piece.thing.offer)
    return piece.cents, -value if piece.throughs else value


def mixed_in(menu: Menu, pieces: list[Piece], count: int, onward: int) -> list[Piece]:
    """Pieces with those that mix ports, less those that a cheaper one replaces, in the order of their price."""
    found = list(pieces)
    if onward == 2:
        found += forks(menu, count)
    if onward <= 1:
        cents = min((piece.cents for piece in found if piece.devices), default=0)
        found += mixtures(menu, count, cents, onward=onward == 1)
    return sorted(cheapest_alike(found), key=standing)
