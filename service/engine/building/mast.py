"""The mast of a building as planned, with the antennas on it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class MountedAntenna:
    """An antenna on the mast: its wind load at the pressure used, None where unknown, and its height above the
    upper clamp."""

    name: str
    wind_n: float | None
    height_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Mast:
    """A mast as planned. `free_m` stands above the upper clamp, `clamped_m` is held between the clamps.

    `line_m` is the distance on the ground from its foot to the nearest power line. `overhang_m` is what the highest
    antenna reaches above the tube. `tube_mm` is the outer diameter. None stands for what nobody said.
    """

    free_m: float
    clamped_m: float | None = None
    tube_mm: float | None = None
    antennas: tuple[MountedAntenna, ...] = ()
    above_ground_m: float = 0.0
    exposed: bool = False
    line_m: float | None = None
    overhang_m: float = 0.0

    @property
    def height_m(self) -> float:
        """All of it, antenna included: what falls."""
        return self.free_m + (self.clamped_m or 0.0) + self.overhang_m
