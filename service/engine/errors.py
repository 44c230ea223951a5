"""Contradictory use of the engine by code: the small exception tree, evidence kept as attributes.

Wrong input is never raised, it is returned as a tuple of `Fault`. A design that misses a limit is
never raised either, it is a `Finding`.
"""


class EngineError(Exception):
    """Anything the engine refuses because its caller contradicts itself."""


class OutsideTableError(EngineError):
    """A curve was asked for a frequency outside its table: figures are never extrapolated."""

    def __init__(self, *, what: str, frequency_mhz: float, low_mhz: float, high_mhz: float) -> None:
        self.what = what
        self.frequency_mhz = frequency_mhz
        self.low_mhz = low_mhz
        self.high_mhz = high_mhz
        super().__init__(
            f"{what} has no figure at {frequency_mhz:g} MHz: "
            f"its table runs from {low_mhz:g} to {high_mhz:g} MHz"
        )


class UnknownIdError(EngineError):
    """A value names something that the catalogue, the network or the building does not hold."""

    def __init__(self, *, kind: str, name: str) -> None:
        self.kind = kind
        self.name = name
        super().__init__(f"there is no {kind} {name!r}")


class NotATreeError(EngineError):
    """A network that is not one tree under its feeds reached the ladder without being validated."""

    def __init__(self, *, devices: tuple[str, ...]) -> None:
        self.devices = devices
        super().__init__(f"not fed, or fed in a loop: {', '.join(devices)}")


class NoNetworkError(EngineError):
    """No network at all can be built for a building, whatever its levels."""

    def __init__(self, *, building: str) -> None:
        self.building = building
        super().__init__(
            f"no network can be built for {building}: too little fits into a closet, too much is barred or pinned, "
            "or parts have no price"
        )


class TableRangeError(EngineError):
    """A cost or a loss left the range of the placement tables."""
