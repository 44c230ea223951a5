"""Parts as ports: one input at most, any number of output groups, and the figures between them.

Nothing in the engine asks what family a part is of. A splitter is a part with one group of n ports, a tap one
with a through group and a tap group, a pad one group of one port with loss, an amplifier a part with gain.
`family` only picks drawing symbol, label prefix and bill heading.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from service.engine.signal.curves import Curve

EndsIn = Literal["cable", "user", "nothing"]
Supply = Literal["none", "mains", "line"]
RatingBasis = Literal["total power", "per carrier"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PortGroup:
    """`count` like output ports. `gain_db` is from the input: negative for a loss.

    `ends_in` says what the port is made for: a cable, a user's receiver, or nothing (a test point or a part
    that terminates itself). `passes_power` is about DC between the input and this group.
    """

    name: str
    count: int
    gain_db: Curve
    ends_in: EndsIn = "cable"
    passes_power: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupIsolation:
    """Least isolation between two different ports, one of each group (the same group twice: within it)."""

    group_a: str
    group_b: str
    isolation_db: Curve


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingRange:
    """Values that a setting may take: from `low` to `high` in steps of `step` (0: any value between)."""

    low: float
    high: float
    step: float

    def allows(self, value: float) -> bool:
        """True when the value is in the range and on a step."""
        if not self.low - 1e-9 <= value <= self.high + 1e-9:
            return False
        if self.step == 0:
            return True
        steps = (value - self.low) / self.step
        return abs(steps - round(steps)) < 1e-6


NO_RANGE = SettingRange(low=0.0, high=0.0, step=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rating:
    """Rated output: the level at which the intermodulation ratio falls to `ratio_db`.

    Basis "total power": `output_dbmv` is the total power of all digital carriers at which the noise-like
    carrier-to-intermodulation ratio is `ratio_db`. Basis "per carrier": the level of each of `carriers`
    analogue carriers at which the third-order ratio is `ratio_db`.
    """

    basis: RatingBasis
    output_dbmv: float
    ratio_db: float
    carriers: int = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Active:
    """What makes a part an amplifier. Gains of its groups are full gains, at the highest gain setting.

    `gain_db` is the range of the gain setting of the first group; lowering it lowers every group alike and
    acts at the input, so noise at the output is that of full gain. `slope_db` lowers the low end: at
    `slope_low_mhz` by the whole slope, at `slope_high_mhz` by nothing, linear on the root of frequency
    between. Input pad and equaliser are plug-ins ahead of the gain; the equaliser has the slope's law.
    """

    noise_figure_db: Curve
    ratings: tuple[Rating, ...]
    gain_db: SettingRange
    slope_db: SettingRange = NO_RANGE
    input_pad_db: SettingRange = NO_RANGE
    input_equaliser_db: SettingRange = NO_RANGE
    slope_low_mhz: float
    slope_high_mhz: float
    input_low_dbmv: float | None = None
    input_high_dbmv: float | None = None
    reverse_isolation_db: float = 40.0
    test_point_db: float = 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Power:
    """Supply of a part: mains or the line, watts drawn, least voltage; or a supply that feeds the line.

    `injects_v` with `injects_a` and `injects_into` ("input" or a group name) makes the part a power inserter.
    """

    supply: Supply = "none"
    draws_w: float = 0.0
    least_v: float = 0.0
    injects_v: float = 0.0
    injects_a: float = 0.0
    injects_into: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A generic device of the library.

    `tolerance_db` up to 500 MHz and `tolerance_high_db` above bound the part's error. `sources` pairs every
    figure's name with its source key. A part with an empty `groups` takes a signal and gives none, as a
    terminator does.
    """

    id: str
    family: str
    name: str
    groups: tuple[PortGroup, ...]
    isolation: tuple[GroupIsolation, ...] = ()
    return_loss_db: Curve | None = None
    tolerance_db: float = 0.5
    tolerance_high_db: float = 1.0
    active: Active | None = None
    power: Power = Power()
    width_mm: float = 0.0
    sources: tuple[tuple[str, str], ...] = ()

    def group(self, name: str) -> PortGroup | None:
        """The output group of that name, or None."""
        return next((group for group in self.groups if group.name == name), None)

    @property
    def port_count(self) -> int:
        """Number of output ports over all groups."""
        return sum(group.count for group in self.groups)

    @property
    def low_mhz(self) -> float:
        """Lowest frequency at which every group has a figure."""
        return max((group.gain_db.low_mhz for group in self.groups), default=0.0)

    @property
    def high_mhz(self) -> float:
        """Highest frequency at which every group has a figure."""
        return min((group.gain_db.high_mhz for group in self.groups), default=float("inf"))

    def isolation_between(self, group_a: str, group_b: str) -> Curve | None:
        """Isolation curve of two groups, in either order, or None where the library is silent."""
        for row in self.isolation:
            if {row.group_a, row.group_b} == {group_a, group_b}:
                return row.isolation_db
        return None
