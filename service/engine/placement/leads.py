"""What may stand at the start of a leg, ahead of its cable: a pad, or the supply of an amplifier at its other end."""

from __future__ import annotations

import math
from dataclasses import dataclass

from service.engine.placement.cabling import Laid
from service.engine.placement.lifts import Lift
from service.engine.placement.menu import Inserter, Offer
from service.engine.placement.springs import Spring


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead:
    """A part of one port where a leg starts. `riser` is the line-powered amplifier that it supplies; a pad has none."""

    offer: Offer
    riser: Spring | None = None

    @property
    def steps(self) -> int:
        """Steps of D that the part takes."""
        return self.offer.arms[0].steps

    @property
    def cents(self) -> int:
        """Price of the part and of the amplifier that it supplies."""
        return self.offer.cents + (self.riser.cents if self.riser is not None else 0)


def carries(inserter: Inserter, lift: Lift, laid: Laid, loop_ohm_per_km: float) -> bool:
    """True when a supply at one end of a run brings an amplifier at the other end enough voltage.

    The amplifier draws constant power P, so its voltage solves v² − V·v + P·R = 0 with the loop resistance R; the
    larger root is the one that stands. Below half the supply's voltage there is none. Source: Ohm's law.
    """
    power = lift.part.power
    loop_ohm = loop_ohm_per_km * laid.length_m / 1000.0
    root = inserter.volts**2 - 4.0 * power.draws_w * loop_ohm
    if root < 0.0:
        return False
    volts = (inserter.volts + math.sqrt(root)) / 2.0
    return volts >= power.least_v and power.draws_w / volts <= inserter.amperes
