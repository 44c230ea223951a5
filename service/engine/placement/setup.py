"""Setting the amplifiers of an assembled network: each output to its aim, from the exact level at its input."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from service.engine.placement.assemble import Aim
from service.engine.placement.lifts import SLOPE_RESERVE_DB
from service.engine.plant.network import Network, Settings
from service.engine.plant.parts import SettingRange

Floats = NDArray[np.float64]


def snap(value: float, span: SettingRange) -> float:
    """The allowed setting nearest to a value."""
    bounded = min(max(value, span.low), span.high)
    if span.step == 0:
        return bounded
    return min(span.low + round((bounded - span.low) / span.step) * span.step, span.high)


def settings_for(aim: Aim, input_dbmv: Floats, reference: int) -> Settings:
    """Settings that bring an amplifier's output to its aim: slope first, then gain, the rest by the input pad."""
    active = aim.lift.part.active
    assert active is not None
    law = aim.lift.share
    raw = input_dbmv + aim.lift.gain_db
    tilt = law - law[reference]
    excess = (raw - raw[reference]) - aim.shape_db
    weight = float(np.dot(tilt, tilt))
    slope = float(np.dot(excess, tilt)) / weight if weight > 0 else 0.0
    equaliser = 0.0
    usable = active.slope_db.high - SLOPE_RESERVE_DB
    if slope > usable:
        step = active.input_equaliser_db.step or 1.0
        equaliser = snap(math.ceil((slope - usable) / step - 1e-9) * step, active.input_equaliser_db)
    set_slope = snap(slope - equaliser, active.slope_db)
    lost = (set_slope + equaliser) * float(law[reference])
    reduction = float(raw[reference]) - lost - aim.reference_dbmv
    room = active.gain_db.high - active.gain_db.low
    pad = snap(reduction - room, active.input_pad_db) if reduction > room else 0.0
    gain = snap(active.gain_db.high - (reduction - pad), active.gain_db)
    return Settings(gain_db=gain, slope_db=set_slope, input_pad_db=pad, input_equaliser_db=equaliser)


def with_settings(network: Network, settings: dict[str, Settings]) -> Network:
    """The network with these devices set so."""
    devices = tuple(
        replace(device, settings=settings[device.id]) if device.id in settings else device
        for device in network.devices
    )
    return replace(network, devices=devices)
