"""Recipes: the small trees of devices that a closet or a panel may hold, inside the policy.

A recipe feeds `m` local cables, in the order they are given, and `onward` feeds that go on from the closet. It
doesn't know levels: it says how many steps of loss stand before each local cable and before the onward feeds.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from service.engine.placement.menu import Menu, Offer
from service.engine.placement.pieces import Piece, fill, finished, moved, replace_onward, through_arm
from service.engine.placement.recipes import Pick, Recipe


class Cook:
    """Lists recipes from one menu. `panel` keeps to splitting parts: a flat's panel is not trimmed."""

    def __init__(self, menu: Menu, *, panel: bool) -> None:
        self.menu = menu
        self.panel = panel
        self._known: dict[tuple[int, int], tuple[Recipe, ...]] = {}
        self._splits: dict[tuple[int, int], list[Piece]] = {}

    def recipes(self, locals_: int, onward: int) -> tuple[Recipe, ...]:
        """Every recipe for so many locals and onward feeds, each once."""
        key = (locals_, onward)
        if key not in self._known:
            self._known[key] = tuple(self._list(locals_, onward))
        return self._known[key]

    def _list(self, count: int, onward: int) -> Iterator[Recipe]:
        """Recipes with at most one device more than the smallest: longer chains only cost more money and loss.

        The smallest with a port to spare are listed too, however many devices they take: a test port may be asked for.
        """
        most_taps = max((offer.ports - 1 for offer in self.menu.through), default=1)
        depth = min(3, -(-count // most_taps) + 1)
        if onward == 0:
            pieces = self.locals_only(0, count, depth=depth)
        elif onward == 1:
            pieces = self.one_onward(0, count, depth=depth, top=True)
        else:
            pieces = self.many_onward(count, onward)
        least = min((piece.devices for piece in pieces if piece.devices), default=0)
        spared = min((piece.devices for piece in pieces if piece.devices and piece.spare), default=0)
        for piece in pieces:
            if piece.devices > least + 1 and not (piece.spare and piece.devices == spared):
                continue
            yield finished(piece, onward)

    def evens(self, least: int) -> list[Offer]:
        """Even parts with at least so many ports: the two smallest port counts that fit."""
        counts = sorted({offer.ports for offer in self.menu.even if offer.ports >= least})[:2]
        return [offer for offer in self.menu.even if offer.ports in counts and self._may(offer)]

    def _widest(self) -> int:
        """Ports of the largest even part."""
        return max((offer.ports for offer in self.menu.even if self._may(offer)), default=0)

    def _may(self, offer: Offer) -> bool:
        """In a panel only parts that split: loss at most 4.5 dB above the ideal split."""
        if not self.panel:
            return True
        ideal = {2: 30, 3: 48, 4: 60, 6: 78, 8: 90, 16: 120}.get(offer.ports, 120)
        return offer.arms[0].steps <= ideal + 45

    def _throughs(self) -> list[Offer]:
        return [] if self.panel else list(self.menu.through)

    def _even_piece(
        self, offer: Offer, first: int, past: int, *, onward: int = 0, pattern: str = ""
    ) -> Piece:
        count = past - first
        spare = offer.ports - count - onward
        things: list[int | str | Pick | None] = [*range(first, past), *["onward"] * onward]
        steps = offer.arms[0].steps
        return Piece(
            pattern=pattern or (f"e{offer.ports}" if onward else str(offer.ports)),
            thing=fill(offer, {0: things}),
            loads=((first, past, steps),) if count else (),
            onward_steps=steps,
            throughs=1 if onward else 0,
            cents=offer.cents + spare * self.menu.terminator_cents,
            spare=spare,
            devices=1,
            ports=offer.ports,
        )

    def locals_only(self, first: int, past: int, *, depth: int) -> list[Piece]:
        """Pieces that feed locals first…past and nothing else."""
        count = past - first
        if count == 0:
            return []
        if count == 1:
            straight = Piece(
                pattern="",
                thing=first,
                loads=((first, past, 0),),
                onward_steps=0,
                throughs=0,
                cents=0,
                spare=0,
                devices=0,
                ports=0,
            )
            pieces = [straight]
        else:
            pieces = []
        if depth == 0:
            return pieces
        pieces += [self._even_piece(offer, first, past) for offer in self.evens(max(count, 2))]
        pieces += list(self._closed_taps(first, past, depth=depth))
        if count > 2:
            pieces += list(self._uneven_locals(first, past))
        if (count > 4 and depth >= 2) or count > self._widest():
            pieces += list(self._two_levels(first, past))
        if count >= self._widest() ** 2:
            pieces += [self.fan(parts, first, past) for parts in self.fans(count)]
        return pieces

    def splits_only(self, first: int, past: int) -> list[Piece]:
        """One even part for the locals, or the one local itself: what hangs behind a port that sets the level."""
        if past - first == 1:
            return self.locals_only(first, past, depth=0)
        if (first, past) not in self._splits:
            pieces = [self._even_piece(offer, first, past) for offer in self.evens(past - first)]
            fans = self.fans(past - first) if not pieces else ()
            self._splits[first, past] = pieces or [self.fan(parts, first, past) for parts in fans]
        return self._splits[first, past]

    def _closed_taps(self, first: int, past: int, *, depth: int) -> Iterator[Piece]:
        """A through part whose through port is terminated, or goes on to a device for the rest."""
        count = past - first
        for offer in self._throughs():
            _, tap = through_arm(offer)
            size = offer.arms[tap].count
            steps = offer.arms[tap].steps
            if size >= count:
                spare = size - count
                yield Piece(
                    pattern=str(size),
                    thing=fill(offer, {tap: list(range(first, past))}),
                    loads=((first, past, steps),),
                    onward_steps=0,
                    throughs=0,
                    cents=offer.cents + (spare + 1) * self.menu.terminator_cents,
                    spare=spare + 1,
                    devices=1,
                    ports=offer.ports,
                )
            elif depth >= 2 and size > 1:
                for tapped, left in self._shared(first, past, size):
                    for rest in self._tails(*left, steps, depth=depth - 1):
                        yield self._behind_through(offer, *tapped, rest)

    def _shared(
        self, first: int, past: int, size: int
    ) -> tuple[tuple[tuple[int, int], tuple[int, int]], ...]:
        """Locals on a tap of so many ports and those behind its through port, both ways round."""
        return (
            ((first, first + size), (first + size, past)),
            ((past - size, past), (first, past - size)),
        )

    def _tails(self, first: int, past: int, steps: int, *, depth: int) -> list[Piece]:
        """Pieces for the rest of a chain, their loss no larger than the tap before (falling values)."""
        rest = [self._even_piece(offer, first, past) for offer in self.evens(max(past - first, 2))]
        rest += list(self._closed_taps(first, past, depth=depth))
        return [piece for piece in rest if piece.loads[0][2] <= steps]

    def _behind_through(self, offer: Offer, first: int, past: int, rest: Piece) -> Piece:
        """Locals on the tap ports of an offer, another piece on its through port."""
        through, tap = through_arm(offer)
        spare = offer.arms[tap].count - (past - first)
        th = offer.arms[through].steps
        pattern = f"{offer.arms[tap].count}+{rest.pattern}" if rest.pattern else str(offer.arms[tap].count)
        return Piece(
            pattern=pattern,
            thing=fill(offer, {tap: list(range(first, past)), through: [rest.thing]}),
            loads=((first, past, offer.arms[tap].steps), *moved(rest, th)),
            onward_steps=th + rest.onward_steps,
            throughs=1 + rest.throughs,
            cents=offer.cents + spare * self.menu.terminator_cents + rest.cents,
            spare=spare + rest.spare,
            devices=1 + rest.devices,
            ports=offer.ports + rest.ports,
        )

    def _uneven_locals(self, first: int, past: int) -> Iterator[Piece]:
        """An uneven part whose better port feeds the local with the least budget."""
        count = past - first
        for offer in self.menu.uneven:
            if offer.ports < count:
                continue
            near, far = offer.arms
            head = min(near.count, count)
            loads = [(first, first + head, near.steps)]
            if count > head:
                loads.append((first + head, past, far.steps))
            spare = offer.ports - count
            yield Piece(
                pattern=f"u{offer.ports}",
                thing=fill(offer, {0: list(range(first, first + head)), 1: list(range(first + head, past))}),
                loads=tuple(loads),
                onward_steps=0,
                throughs=0,
                cents=offer.cents + spare * self.menu.terminator_cents,
                spare=spare,
                devices=1,
                ports=offer.ports,
            )

    def _two_levels(self, first: int, past: int) -> Iterator[Piece]:
        """An even part whose ports each feed a smaller even part, the locals shared out evenly."""
        count = past - first
        for split in self.menu.even:
            parts = split.ports
            if parts >= count or not self._may(split) or -(-count // parts) < 2:
                continue
            bounds = [first + (count * number) // parts for number in range(parts + 1)]
            largest = max(b - a for a, b in pairwise(bounds))
            for leaf in self.evens(max(largest, 2)):
                yield self.fan((split, leaf), first, past)

    def fans(self, count: int) -> Iterator[tuple[Offer, ...]]:
        """Even parts, top first, whose ports multiply to more than the count: as few levels as that takes."""
        widest, levels = self._widest(), 2
        if widest < 2:
            return
        while widest**levels <= count:
            levels += 1
        between = self.evens(widest)[:1] * (levels - 2)
        for top in self.evens(max(2, -(-count // widest ** (levels - 1)))):
            for leaf in self.evens(max(2, -(-count // (top.ports * widest ** (levels - 2))))):
                yield (top, *between, leaf)

    def fan(self, offers: tuple[Offer, ...], first: int, past: int, *, onward: bool = False) -> Piece:
        """Even parts behind the ports of even parts, the locals (or the onward feeds) shared out evenly."""
        split, count = offers[0], past - first
        if len(offers) == 1:
            if onward:
                return self._even_piece(split, 0, 0, onward=count, pattern="s")
            return self._even_piece(split, first, past)
        arms = min(split.ports, count)
        bounds = [first + (count * number) // arms for number in range(arms + 1)]
        subs = [self.fan(offers[1:], a, b, onward=onward) for a, b in pairwise(bounds)]
        spare, steps = split.ports - arms, split.arms[0].steps
        return Piece(
            pattern="s" if onward else f"{split.ports}x{subs[0].pattern}",
            thing=fill(split, {0: [sub.thing for sub in subs]}),
            loads=() if onward else ((first, past, steps + subs[0].loads[0][2]),),
            onward_steps=steps + subs[0].onward_steps if onward else 0,
            throughs=1 + subs[0].throughs if onward else 0,
            cents=split.cents + sum(sub.cents for sub in subs) + spare * self.menu.terminator_cents,
            spare=spare + sum(sub.spare for sub in subs),
            devices=1 + sum(sub.devices for sub in subs),
            ports=split.ports + sum(sub.ports for sub in subs),
        )

    def one_onward(self, first: int, past: int, *, depth: int, top: bool = False) -> list[Piece]:
        """Pieces that feed locals first…past and one feed that goes on."""
        count = past - first
        end = Piece(
            pattern="",
            thing="onward",
            loads=(),
            onward_steps=0,
            throughs=0,
            cents=0,
            spare=0,
            devices=0,
            ports=0,
        )
        if count == 0:
            return [end]
        pieces: list[Piece] = []
        for offer in self._throughs():
            _, tap = through_arm(offer)
            size = offer.arms[tap].count
            if size >= count:
                pieces.append(self._behind_through(offer, first, past, end))
            elif size > 1 and depth >= 2:
                for tapped, left in self._shared(first, past, size):
                    for rest in self.one_onward(*left, depth=depth - 1):
                        if rest.loads and rest.loads[0][2] <= offer.arms[tap].steps:
                            pieces.append(self._behind_through(offer, *tapped, rest))
            if size == 1 and count > 1:
                pieces += list(self._branch_on_tap(offer, first, past))
        if top:
            pieces += list(self._branch_on_even(first, past))
            pieces += [self._even_piece(offer, first, past, onward=1) for offer in self.evens(count + 1)]
            pieces += list(self._uneven_onward(first, past))
        return pieces

    def _branch_on_tap(self, offer: Offer, first: int, past: int) -> Iterator[Piece]:
        """The one tap port feeds a local device, the through port goes on."""
        through, tap = through_arm(offer)
        for sub in self.splits_only(first, past):
            yield Piece(
                pattern=f"1>{sub.pattern}",
                thing=fill(offer, {tap: [sub.thing], through: ["onward"]}),
                loads=moved(sub, offer.arms[tap].steps),
                onward_steps=offer.arms[through].steps,
                throughs=1,
                cents=offer.cents + sub.cents,
                spare=sub.spare,
                devices=1 + sub.devices,
                ports=offer.ports + sub.ports,
            )

    def _branch_on_even(self, first: int, past: int) -> Iterator[Piece]:
        """A two-port even part: one port for the locals, one onward."""
        for offer in self.menu.even:
            if offer.ports != 2:
                continue
            for sub in self.splits_only(first, past):
                yield Piece(
                    pattern=f"1>{sub.pattern}" if sub.pattern else "2",
                    thing=fill(offer, {0: [sub.thing, "onward"]}),
                    loads=moved(sub, offer.arms[0].steps),
                    onward_steps=offer.arms[0].steps,
                    throughs=1,
                    cents=offer.cents + sub.cents,
                    spare=sub.spare,
                    devices=1 + sub.devices,
                    ports=offer.ports + sub.ports,
                )

    def _uneven_onward(self, first: int, past: int) -> Iterator[Piece]:
        """An uneven part: the better port goes on, the others feed locals."""
        count = past - first
        for offer in self.menu.uneven:
            near, far = offer.arms
            if near.count != 1 or far.count < count:
                continue
            spare = far.count - count
            yield Piece(
                pattern=f"u{offer.ports}",
                thing=fill(offer, {0: ["onward"], 1: list(range(first, past))}),
                loads=((first, past, far.steps),),
                onward_steps=near.steps,
                throughs=1,
                cents=offer.cents + spare * self.menu.terminator_cents,
                spare=spare,
                devices=1,
                ports=offer.ports,
            )

    def many_onward(self, count: int, onward: int) -> list[Piece]:
        """Pieces that feed the locals and several feeds that go on, all behind the same loss."""
        pieces: list[Piece] = []
        splits = [self._even_piece(offer, 0, 0, onward=onward, pattern="s") for offer in self.evens(onward)]
        splits = splits or [self.fan(parts, 0, onward, onward=True) for parts in self.fans(onward)]
        if count == 0:
            return splits
        for lead in self.one_onward(0, count, depth=1, top=not self.evens(onward + 1)):
            for split in splits:
                pieces.append(self._joined(lead, split))
        for offer in self.evens(onward + 1):
            spare = offer.ports - onward - 1
            for sub in self.locals_only(0, count, depth=1):
                pieces.append(
                    Piece(
                        pattern=f"1>{sub.pattern}",
                        thing=fill(offer, {0: [sub.thing, *["onward"] * onward]}),
                        loads=moved(sub, offer.arms[0].steps),
                        onward_steps=offer.arms[0].steps,
                        throughs=1,
                        cents=offer.cents + sub.cents + spare * self.menu.terminator_cents,
                        spare=sub.spare + spare,
                        devices=1 + sub.devices,
                        ports=offer.ports + sub.ports,
                    )
                )
        pieces += [self._even_piece(offer, 0, count, onward=onward) for offer in self.evens(count + onward)]
        return pieces

    def _joined(self, lead: Piece, split: Piece) -> Piece:
        """The one onward feed of `lead` goes into `split`."""
        return Piece(
            pattern=lead.pattern,
            thing=replace_onward(lead.thing, split.thing),
            loads=lead.loads,
            onward_steps=lead.onward_steps + split.onward_steps,
            throughs=lead.throughs + split.throughs,
            cents=lead.cents + split.cents,
            spare=lead.spare + split.spare,
            devices=lead.devices + split.devices,
            ports=lead.ports + split.ports,
        )
