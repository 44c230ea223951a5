"""Carriers and channel plans: what travels through the plant, at which frequency, for which service."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Modulation = Literal["digital", "analogue"]
Band = Literal["terrestrial", "cable", "satellite"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Service:
    """A kind of signal: how its level is stated and in which bandwidth its noise counts.

    Every limit is bound to a service by this id. `band` is "terrestrial", "cable" or "satellite": a satellite
    service under a terrestrial limit is an input error. Digital levels are channel power, analogue ones peak
    power. `noise_bandwidth_mhz` is the bandwidth of the noise floor.
    """

    id: str
    name: str
    modulation: Modulation
    band: Band
    noise_bandwidth_mhz: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Carrier:
    """One channel on the cable: id, centre frequency (or the vision or pilot frequency), width, service.

    `frequency_mhz` is where levels are computed. `low_mhz` and `high_mhz` bound the channel.
    """

    id: str
    frequency_mhz: float
    low_mhz: float
    high_mhz: float
    service: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Channel:
    """One line of a channel plan: its name and its edges."""

    id: str
    low_mhz: float
    high_mhz: float
    frequency_mhz: float
    source: str


#: Distance of the 8-VSB pilot from the lower channel edge: half of what the 6 MHz channel leaves beside the
#: Nyquist width of 4.5 MHz / 286 × 684 symbols a second. Source: 47 CFR 73.603 with the ATSC symbol rate.
EIGHT_VSB_PILOT_OFFSET_MHZ = (6.0 - 4.5 / 286.0 * 684.0 / 2.0) / 2.0


def eight_vsb_pilot_mhz(channel: Channel) -> float:
    """Frequency of the pilot of an 8-VSB signal in a 6 MHz channel, where a meter finds it.

    >>> channel = Channel(id="14", low_mhz=470.0, high_mhz=476.0, frequency_mhz=473.0, source="")
    >>> round(eight_vsb_pilot_mhz(channel), 6)
    470.309441
    """
    return channel.low_mhz + EIGHT_VSB_PILOT_OFFSET_MHZ


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelPlan:
    """A named list of channels, for one service unless the feed says otherwise."""

    id: str
    name: str
    service: str
    channels: tuple[Channel, ...]
    source: str

    def channel(self, channel_id: str) -> Channel | None:
        """The channel of that name, or None."""
        return next((channel for channel in self.channels if channel.id == channel_id), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedCarrier:
    """A carrier as the head-end delivers it: level and carrier-to-noise at the feed's output.

    `cn_db` None means the feed's own noise is not known and counts as none; the result says so.
    """

    carrier: Carrier
    level_dbmv: float
    cn_db: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """A source of the network: no input, one or more outputs that carry the same line-up.

    `outputs` counts the output ports of group "out". `output_isolation_db` is the isolation between two of
    them. `kind` "off-air" or "provider" picks the source tolerance.
    """

    id: str
    carriers: tuple[FeedCarrier, ...]
    outputs: int = 1
    output_isolation_db: float = 30.0
    kind: Literal["off-air", "provider"] = "off-air"
    max_level_dbmv: float | None = None
