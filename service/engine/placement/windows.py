"""Windows: between which device losses each outlet is inside its limits at every carrier."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.placement.cabling import Cabling, Laid
from service.engine.placement.layout import Closet, Item, Layout
from service.engine.placement.menu import GRID_DB, Offer
from service.engine.placement.stages import PanelClass, StageRules

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
    plates: tuple[Offer, ...]
    panel_rules: StageRules

    @property
    def panel_class(self) -> PanelClass:
        """What decides which panel recipes fit: the number of drops, and what the panel holds or bars."""
        return len(self.drops), self.panel_rules


def plan_item(
    item: Item,
    closet: Closet,
    cabling: Cabling,
    plates: tuple[Offer, ...],
    panel_rules: StageRules,
    drop_series: str,
) -> Planned:
    """Lay the runs of one item and add up what is fixed about it. `plates` are its outlets', in drop order."""
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
    cents += sum(drop.cents for drop in drops) + sum(plate.cents for plate in plates)
    fixed = np.stack(
        [base + drop.loss_db + plate.arms[0].loss_db for drop, plate in zip(drops, plates, strict=True)]
    )
    return Planned(
        item=item,
        feeder=feeder,
        drops=drops,
        fixed_db=fixed,
        cents=cents,
        plates=plates,
        panel_rules=panel_rules,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Bias:
    """What exact evaluations taught: by outlet of the field, the loss that D alone doesn't tell, at each carrier.

    `low` and `high` (outlets × carriers) bound it over the rounds held, so that a window holds for either. `known`
    is False before the first lesson.
    """

    low: Floats
    high: Floats
    known: bool


def no_bias(field: Field) -> Bias:
    """Nothing learnt yet."""
    zero = np.zeros_like(field.fixed_db)
    return Bias(low=zero, high=zero, known=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """The window that a design aims at, at every carrier, and how far it is narrowed for margin.

    `reserve_db` lifts the lower edge at flats for one future splitter.
    """

    low_dbmv: Floats
    high_dbmv: Floats
    reserve_db: float = 0.0
    shrink_db: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Bands:
    """Levels that single outlets are held between besides the target: outlets of the field × carriers, in dBmV."""

    low_dbmv: Floats
    high_dbmv: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """All outlets of a plan in closet order: their fixed losses as one array, and where each item's rows stand.

    Closet c has the rows `firsts[c]` … `firsts[c + 1]`; its item i those from `bounds[c][i]` on, counted from its
    first.
    """

    outlets: tuple[str, ...]
    closet_of: NDArray[np.int64]
    fixed_db: Floats
    firsts: tuple[int, ...]
    bounds: tuple[NDArray[np.int64], ...]


def field_of(planned: tuple[tuple[Planned, ...], ...]) -> Field:
    """Lay the items of all closets end to end."""
    outlets: list[str] = []
    closet_of: list[int] = []
    blocks: list[Floats] = []
    firsts = [0]
    bounds = []
    for index, items in enumerate(planned):
        rows = [0]
        for one in items:
            outlets += [drop.outlet for drop in one.item.drops]
            closet_of += [index] * len(one.item.drops)
            blocks.append(one.fixed_db)
            rows.append(rows[-1] + len(one.item.drops))
        firsts.append(firsts[-1] + rows[-1])
        bounds.append(np.asarray(rows, dtype=np.int64))
    return Field(
        outlets=tuple(outlets),
        closet_of=np.asarray(closet_of, dtype=np.int64),
        fixed_db=np.concatenate(blocks) if blocks else np.zeros((0, 0)),
        firsts=tuple(firsts),
        bounds=tuple(bounds),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Tilt:
    """How device loss leans away from what it is at the reference, before anything is measured.

    `passed_db` (closets × frequencies) is the lean gathered from the head-end down to each closet, by the devices
    passed and the lengths left at each landing; `split_db` that of the parts at the end. A through port and a
    splitter lose less at low frequencies, and a chain of them adds up: without this guess the rounds would have to
    learn it anew for every amplifier that they move.
    """

    passed_db: Floats
    split_db: Floats

    def below(self, spring_closet: int) -> Floats:
        """The lean at each closet under a spring, closets × frequencies."""
        return np.asarray(self.passed_db - self.passed_db[spring_closet] + self.split_db, dtype=np.float64)


def window_rows(
    field: Field,
    above_db: Floats,
    top_dbmv: Floats,
    target: Target,
    bias: Bias,
    bands: Bands | None = None,
) -> NDArray[np.int64]:
    """For each outlet the least and the largest D, in steps, that keeps every carrier inside (outlets × 2).

    `above_db` (closets × frequencies) is the loss of the ways from the spring to each closet.
    """
    if not field.outlets:
        return np.zeros((0, 2), dtype=np.int64)
    level = top_dbmv - above_db[field.closet_of] - field.fixed_db
    low = target.low_dbmv + target.shrink_db + target.reserve_db
    high = target.high_dbmv - target.shrink_db
    if bands is not None:
        low, high = np.maximum(low, bands.low_dbmv), np.minimum(high, bands.high_dbmv)
    most = np.min(level - bias.high - low, axis=1)
    least = np.max(level - bias.low - high, axis=1)
    first = np.ceil(np.clip(least / GRID_DB - 1e-6, -1e9, 1e9)).astype(np.int64)
    last = np.floor(np.clip(most / GRID_DB + 1e-6, -1e9, 1e9)).astype(np.int64)
    return np.stack((first, last), axis=1)


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
