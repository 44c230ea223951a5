"""Amplifiers as placement reads them: gain, how far it can be taken back, slope, input limits, price."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.plant.parts import Part
from service.engine.propagation.levels import slope_share

Floats = NDArray[np.float64]

#: Amplifier set-up, common practice: gain and slope kept in reserve, output under the derated rating, and an input
#: pad beyond which the amplifier is the wrong one. Half a gain step is kept besides: settings come in steps.
GAIN_RESERVE_DB = 3.0
SLOPE_RESERVE_DB = 2.0
HEADROOM_DB = 3.0 + 0.5
MOST_INPUT_PAD_DB = 15.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Lift:
    """One placeable amplifier part, on house power or on the line, with one output or several alike.

    `outputs` are the ports of its one group made for cables. `gain_db` is the full gain at each frequency, `noise_db`
    the noise figure, `share` the share of a slope that each frequency loses; the scalars are the same at the
    reference, and at the lowest frequency over the reference. `reserve_db` is the gain kept back: nothing where the
    gain can't be set. `reduction_db` is how far setting and input pad take gain back, `step_db` in which steps,
    `most_slope_db` slope and plug-in equaliser less the reserve.
    """

    part: Part
    cents: int
    group: str
    outputs: int
    gain_db: Floats
    noise_db: Floats
    share: Floats
    gain_reference_db: float
    share_reference: float
    share_low: float
    reserve_db: float
    reduction_db: float
    step_db: float
    most_slope_db: float
    input_low_dbmv: float | None
    input_high_dbmv: float | None

    @property
    def fixed(self) -> bool:
        """True when neither gain nor slope can be set: the output is as the input is."""
        return self.reduction_db <= 0.0 and self.most_slope_db <= 0.0

    @property
    def on_line(self) -> bool:
        """True when it lives on power that comes over the cable."""
        return self.part.power.supply == "line"

    def covers(self, other: Lift) -> bool:
        """True when this one can do all that the other can, for no more money."""
        mine, theirs = self.part.active, other.part.active
        assert mine is not None
        assert theirs is not None
        rated = {(rating.basis, rating.carriers): rating for rating in mine.ratings}
        return (
            self.cents <= other.cents
            and self.outputs == other.outputs
            and self.on_line == other.on_line
            and self.gain_reference_db >= other.gain_reference_db
            and self.gain_reference_db - self.reduction_db <= other.gain_reference_db - other.reduction_db
            and self.most_slope_db >= other.most_slope_db
            and _or(self.input_low_dbmv, -np.inf) <= _or(other.input_low_dbmv, -np.inf)
            and _or(self.input_high_dbmv, np.inf) >= _or(other.input_high_dbmv, np.inf)
            and all(
                (own := rated.get((rating.basis, rating.carriers))) is not None
                and own.output_dbmv >= rating.output_dbmv
                and own.ratio_db >= rating.ratio_db
                for rating in theirs.ratings
            )
        )


def _or(value: float | None, default: float) -> float:
    return default if value is None else value


def make_lift(part: Part, cents: int, frequency_mhz: Floats, reference: int) -> Lift | None:
    """The lift of a part, or None for one without supply or whose outputs for cables are not all alike."""
    active = part.active
    outputs = [group for group in part.groups if group.ends_in == "cable"]
    if active is None or part.power.supply == "none" or len(outputs) != 1:
        return None
    gain = outputs[0].gain_db.at(frequency_mhz, f"part {part.id}")
    share = slope_share(active, frequency_mhz)
    pad = min(active.input_pad_db.high, MOST_INPUT_PAD_DB)
    return Lift(
        part=part,
        cents=cents,
        group=outputs[0].name,
        outputs=outputs[0].count,
        gain_db=gain,
        noise_db=active.noise_figure_db.at(frequency_mhz, f"part {part.id}"),
        share=share,
        gain_reference_db=float(gain[reference]),
        share_reference=float(share[reference]),
        share_low=float(share[0] - share[reference]),
        reserve_db=GAIN_RESERVE_DB if active.gain_db.high > active.gain_db.low else 0.0,
        reduction_db=active.gain_db.high - active.gain_db.low + pad,
        step_db=active.gain_db.step,
        most_slope_db=max(0.0, active.slope_db.high + active.input_equaliser_db.high - SLOPE_RESERVE_DB),
        input_low_dbmv=active.input_low_dbmv,
        input_high_dbmv=active.input_high_dbmv,
    )


def undominated(lifts: list[Lift]) -> tuple[Lift, ...]:
    """Lifts by price, less those that a cheaper one covers."""
    kept: list[Lift] = []
    for lift in sorted(lifts, key=lambda row: (row.cents, row.part.id)):
        if not any(other.covers(lift) for other in kept):
            kept.append(lift)
    return tuple(kept)
