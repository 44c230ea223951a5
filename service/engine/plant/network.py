"""A network as it stands: feeds, devices, the runs between their ports, and the outlets they serve."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from service.engine.signal.spectrum import Feed

Ambient = Literal["indoors", "riser", "attic", "outdoors", "buried"]


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Port:
    """One output port: the device or feed, the group, and the port's number in the group from 1.

    Written `device:group.number`, for example `T3:tap.2`; feeds have one group named `out`.
    """

    device: str
    group: str
    number: int = 1

    def __str__(self) -> str:
        return f"{self.device}:{self.group}.{self.number}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """How an amplifier is set. `gain_db` None stands for full gain."""

    gain_db: float | None = None
    slope_db: float = 0.0
    input_pad_db: float = 0.0
    input_equaliser_db: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """A part at a place."""

    id: str
    part: str
    place: str = ""
    settings: Settings = Settings()


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One continuous cable from an output port to the input of a device.

    `cable` None joins the two directly, without cable: `length_m` is then 0. `joints` counts the connector joints on
    it. `loss_factor` multiplies the cable's table: coax that lies there already may be worse than new. `ways` lists
    the ways it follows, from the feed side. `ambient` says how hot and cold it gets.
    """

    id: str
    start: Port
    end: str
    cable: str | None
    length_m: float
    joints: int = 2
    ambient: Ambient = "indoors"
    ways: tuple[str, ...] = ()
    existing: bool = False
    loss_factor: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Served:
    """An outlet: the port at which a user's receiver is plugged in."""

    outlet: str
    port: Port
    user: str
    unit: str = ""
    floor: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Network:
    """A forest of devices under its feeds.

    `terminated` lists open ports closed with a terminator. `joint_loss_db_at_1ghz` is the loss of one connector
    joint at 1 GHz, growing with the root of frequency; 0 switches connectors off.
    """

    id: str
    feeds: tuple[Feed, ...]
    devices: tuple[Device, ...]
    runs: tuple[Run, ...]
    served: tuple[Served, ...]
    terminated: tuple[Port, ...] = ()
    joint_loss_db_at_1ghz: float = 0.1
    name: str = ""
