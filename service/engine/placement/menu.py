"""The catalogue as placement reads it: what may be placed, its price, and its losses on the grid.

Parts are told apart by their port groups alone: an *even* part has one group of several ports, a *through* part a
group of one port that goes on and a group of ports for users, an *uneven* part two groups of which none stands
alone as a continuation, a pad one port with loss, an equaliser one port that loses most at the low end, an inserter
one port into which it feeds power.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.placement.lifts import Lift, make_lift, undominated
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.parts import Part
from service.engine.plant.tariff import Tariff

Floats = NDArray[np.float64]

GRID_DB = 0.1
#: Two parts whose losses differ by no more steps do the same job.
NEAR_STEPS = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Arm:
    """One group of an offer: name, port count, loss at the reference in steps and at every frequency in dB."""

    name: str
    count: int
    steps: int
    loss_db: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """One placeable passive part: price, its arms by rising loss, its total count of ports."""

    part: str
    cents: int
    arms: tuple[Arm, ...]

    @property
    def ports(self) -> int:
        """Ports over all arms."""
        return sum(arm.count for arm in self.arms)


@dataclass(frozen=True, slots=True, kw_only=True)
class Inserter:
    """A supply that feeds power onward along a cable: how it loses signal, its volts and how many amperes it bears."""

    offer: Offer
    volts: float
    amperes: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Menu:
    """Everything that may be placed. `even` and `through` ascend by ports, then by price and loss."""

    even: tuple[Offer, ...]
    through: tuple[Offer, ...]
    uneven: tuple[Offer, ...]
    pads: tuple[Offer, ...]
    equalisers: tuple[Offer, ...]
    inserters: tuple[Inserter, ...]
    lifts: tuple[Lift, ...]
    line_lifts: tuple[Lift, ...]
    plates: tuple[Offer, ...]
    terminator_cents: int
    reference: int


def _covers(part: Part, frequency_mhz: Floats) -> bool:
    """True when every figure of the part reaches all frequencies."""
    low, high = float(frequency_mhz.min()), float(frequency_mhz.max())
    return all(group.gain_db.covers(low) and group.gain_db.covers(high) for group in part.groups)


def _offer(part: Part, tariff: Tariff, frequency_mhz: Floats, reference: int) -> Offer:
    arms = []
    for group in part.groups:
        loss = -group.gain_db.at(frequency_mhz, f"part {part.id}")
        steps = round(float(loss[reference]) / GRID_DB)
        arms.append(Arm(name=group.name, count=group.count, steps=steps, loss_db=loss))
    arms.sort(key=lambda arm: (arm.steps, arm.name))
    return Offer(part=part.id, cents=tariff.device_cents(part.id), arms=tuple(arms))


def _flat(offer: Offer) -> bool:
    """True for a pad: the same loss at every frequency within half a decibel."""
    loss = offer.arms[0].loss_db
    return float(loss.max() - loss.min()) <= 0.5


def _equalises(offer: Offer) -> bool:
    """True for an equaliser: the loss falls over the whole band, by a decibel at least."""
    loss = offer.arms[0].loss_db
    return float(loss[0] - loss[-1]) >= 1.0 and bool(np.all(np.diff(loss) <= 0.1))


def _inserter(part: Part, offer: Offer) -> Inserter | None:
    """The part as a supply of the line below it, or None."""
    power = part.power
    if power.injects_v <= 0.0 or power.supply != "mains" or len(part.groups) != 1 or part.port_count != 1:
        return None
    if power.injects_into != part.groups[0].name or part.groups[0].ends_in != "cable":
        return None
    return Inserter(offer=offer, volts=power.injects_v, amperes=power.injects_a)


def _order(offer: Offer) -> tuple[int, int, int, str]:
    return (offer.ports, offer.cents, offer.arms[0].steps, offer.part)


def is_passive(part: Part) -> bool:
    """True for a part that needs no supply and gives none."""
    return part.active is None and part.power.supply == "none" and part.power.injects_v == 0.0


def _undominated(offers: list[Offer]) -> list[Offer]:
    """Offers that no cheaper one of the same ports replaces: losses alike within a quarter of a decibel."""
    kept: list[Offer] = []
    for offer in sorted(offers, key=lambda row: (row.cents, row.part)):
        shape = tuple((arm.name, arm.count) for arm in offer.arms)
        if not any(
            shape == tuple((arm.name, arm.count) for arm in other.arms)
            and all(abs(a.steps - b.steps) <= NEAR_STEPS for a, b in zip(offer.arms, other.arms, strict=True))
            for other in kept
        ):
            kept.append(offer)
    return kept


def build_menu(
    catalogue: Catalogue,
    tariff: Tariff,
    frequency_mhz: Floats,
    reference: int,
    *,
    isolates: Callable[[Part], bool],
) -> Menu:
    """Sort the priced parts that reach every frequency in use into what placement may do with them.

    `reference` is the index of the frequency at which device loss is counted. `isolates` says whether a part keeps
    different users apart well enough here.
    """
    kinds: dict[str, list[Offer]] = {}
    lifts: list[Lift] = []
    inserters: list[Inserter] = []
    for part in sorted(catalogue.parts, key=lambda row: row.id):
        usable = part.groups and tariff.prices_part(part.id) and _covers(part, frequency_mhz)
        if not usable or not isolates(part):
            continue
        if part.active is not None:
            lift = make_lift(part, tariff.device_cents(part.id), frequency_mhz, reference)
            lifts += [lift] if lift is not None else []
            continue
        offer = _offer(part, tariff, frequency_mhz, reference)
        if is_passive(part):
            kinds.setdefault(_kind(part, offer), []).append(offer)
        elif (inserter := _inserter(part, offer)) is not None:
            inserters.append(inserter)

    def ordered(kind: str) -> tuple[Offer, ...]:
        offers = kinds.get(kind, [])
        splits = kind in ("even", "through", "uneven")
        return tuple(sorted(_undominated(offers) if splits else offers, key=_order))

    return Menu(
        even=ordered("even"),
        through=ordered("through"),
        uneven=ordered("uneven"),
        pads=ordered("pad"),
        equalisers=ordered("equaliser"),
        inserters=tuple(sorted(inserters, key=lambda row: (row.offer.cents, row.offer.part))),
        lifts=undominated([lift for lift in lifts if not lift.on_line]),
        line_lifts=undominated([lift for lift in lifts if lift.on_line and not lift.fixed]),
        plates=ordered("plate"),
        terminator_cents=tariff.device_cents(tariff.terminator),
        reference=reference,
    )


def _kind(part: Part, offer: Offer) -> str:
    """What placement may do with a passive part; "" for nothing."""
    ends = {group.ends_in for group in part.groups}
    if ends == {"user"}:
        return "plate"
    if ends != {"cable"}:
        return ""
    if len(offer.arms) == 1 and offer.ports == 1:
        if _flat(offer):
            return "pad" if offer.arms[0].steps >= 8 else ""
        return "equaliser" if _equalises(offer) else ""
    if len(offer.arms) == 1:
        return "even"
    if len(offer.arms) == 2:
        return "through" if any(group.name == "through" for group in part.groups) else "uneven"
    return ""
