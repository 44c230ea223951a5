"""The catalogue as placement reads it: what may be placed, its price, and its losses on the grid.

Parts are told apart by their port groups alone: an *even* part has one group of several ports, a *through* part a
group of one port that goes on and a group of ports for users, an *uneven* part two groups of which none stands
alone as a continuation, a pad one port with loss.
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
class Menu:
    """Everything that may be placed. `even` and `through` ascend by ports, then by price and loss."""

    even: tuple[Offer, ...]
    through: tuple[Offer, ...]
    uneven: tuple[Offer, ...]
    pads: tuple[Offer, ...]
    lifts: tuple[Lift, ...]
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
    even: list[Offer] = []
    through: list[Offer] = []
    uneven: list[Offer] = []
    pads: list[Offer] = []
    plates: list[Offer] = []
    lifts: list[Lift] = []
    for part in sorted(catalogue.parts, key=lambda row: row.id):
        if (
            not isolates(part)
            or not part.groups
            or not tariff.prices_part(part.id)
            or not _covers(part, frequency_mhz)
        ):
            continue
        if part.active is not None:
            lift = make_lift(part, tariff.device_cents(part.id), frequency_mhz, reference)
            lifts += [lift] if lift is not None else []
            continue
        if not is_passive(part):
            continue
        ends = {group.ends_in for group in part.groups}
        offer = _offer(part, tariff, frequency_mhz, reference)
        if ends == {"user"}:
            plates.append(offer)
        elif ends != {"cable"}:
            continue
        elif len(offer.arms) == 1 and offer.ports == 1:
            if _flat(offer) and offer.arms[0].steps >= 8:
                pads.append(offer)
        elif len(offer.arms) == 1:
            even.append(offer)
        elif len(offer.arms) == 2 and any(group.name == "through" for group in part.groups):
            through.append(offer)
        elif len(offer.arms) == 2:
            uneven.append(offer)
    even, through, uneven = _undominated(even), _undominated(through), _undominated(uneven)
    return Menu(
        even=tuple(sorted(even, key=_order)),
        through=tuple(sorted(through, key=_order)),
        uneven=tuple(sorted(uneven, key=_order)),
        pads=tuple(sorted(pads, key=_order)),
        lifts=undominated(lifts),
        plates=tuple(sorted(plates, key=_order)),
        terminator_cents=tariff.device_cents(tariff.terminator),
        reference=reference,
    )
