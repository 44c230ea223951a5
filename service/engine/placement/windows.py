"""Windows: between which device losses each outlet is inside its limits at every carrier."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.placement.cabling import Cabling, Laid
from service.engine.placement.layout import Closet, Item, Layout
from service.engine.placement.menu import GRID_DB, Offer

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """An item with its runs laid: the cable to the panel (None when straight), one drop per outlet, its fixed cost.

    `fixed_db` (drops × frequencies) is the loss from the closet's port to each user's port, panel device left out.
    """

    item: Item
    feeder: Laid | None
    drops: tuple[Laid, ...]
    fixed_db: Floats
    cents: int


def plan_item(item: Item, closet: Closet, cabling: Cabling, plate: Offer, drop_series: str) -> Planned:
    """Lay the runs of one item and add up what is fixed about it."""
    feeder = None
    cents = 0
    base = np.zeros_like(cabling.frequency_mhz)
    start = closet.place.id
    if item.panel:
        feeder = cabling.lay(item.ways, closet.place.id, item.panel, drop_series)
        base = base + feeder.loss_db
        cents += feeder.cents
        start = item.panel
    drops = tuple(cabling.lay(drop.ways, start, drop.outlet, drop_series) for drop in item.drops)
    cents += sum(drop.cents for drop in drops) + plate.cents * len(drops)
    plate_db = plate.arms[0].loss_db
    fixed = np.stack([base + drop.loss_db + plate_db for drop in drops])
    return Planned(item=item, feeder=feeder, drops=drops, fixed_db=fixed, cents=cents)


@dataclass(slots=True, kw_only=True)
class Bias:
    """What the last exact evaluation taught: by outlet, the loss that D alone doesn't tell, at each carrier.

    `low` and `high` bound it over the rounds so far (outlets × carriers), so that a window holds for either.
    """

    low: dict[str, Floats]
    high: dict[str, Floats]

    def get(self, outlet: str, like: Floats) -> tuple[Floats, Floats]:
        """Both bounds of one outlet, zero before anything is known."""
        zero = np.zeros_like(like)
        return self.low.get(outlet, zero), self.high.get(outlet, zero)


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """The window that a design aims at, at every carrier, and how far it is narrowed for margin.

    `reserve_db` lifts the lower edge at flats for one future splitter.
    """

    low_dbmv: Floats
    high_dbmv: Floats
    reserve_db: float = 0.0
    shrink_db: float = 0.0


def item_windows(
    planned: Planned,
    above_db: Floats,
    top_dbmv: Floats,
    target: Target,
    bias: Bias,
) -> tuple[tuple[int, int], ...]:
    """For each drop of an item the least and the largest D, in steps, that keeps every carrier inside.

    `above_db` is the loss of the ways from the spring to the closet.
    """
    rows = []
    low = target.low_dbmv + target.shrink_db + target.reserve_db
    high = target.high_dbmv - target.shrink_db
    for drop, fixed in zip(planned.item.drops, planned.fixed_db, strict=True):
        bias_low, bias_high = bias.get(drop.outlet, top_dbmv)
        level = top_dbmv - above_db - fixed
        most = float(np.min(level - bias_high - low))
        least = float(np.max(level - bias_low - high))
        rows.append((max(0, int(np.ceil(least / GRID_DB - 1e-6))), int(np.floor(most / GRID_DB + 1e-6))))
    return tuple(rows)


def way_losses(layout: Layout, cabling: Cabling, riser_series: str) -> list[Floats]:
    """Loss of the ways from the head-end to each closet, lengths left and joints left out."""
    losses: list[Floats] = []
    for closet in layout.closets:
        if closet.parent < 0:
            losses.append(np.zeros_like(cabling.frequency_mhz))
            continue
        parent = layout.closets[closet.parent]
        laid = cabling.lay(closet.ways, parent.place.id, closet.place.id, riser_series)
        losses.append(losses[closet.parent] + laid.loss_db - laid.ends_db)
    return losses
