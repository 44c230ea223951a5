"""The abstract placement task and its answer: a tree of spots, integer losses, integer cents.

One cable type per way fixes the cable loss from the head-end to a spot. A feed's only state is D, the device
loss it has met so far, counted in grid steps. Each outlet is then one integer window on D.
"""

from __future__ import annotations

from dataclasses import dataclass

from service.engine.errors import EngineError


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """One place or outlet of the tree.

    `edge_cents` is what each parallel cable from the parent costs; `first_cents` comes on top once, because
    every way below which an outlet lies carries at least one cable. An outlet is a leaf with the window
    `a <= D <= b` in grid steps (inclusive). `menu` says which of the task's menus may be mounted here.
    """

    id: str
    parent: str | None
    edge_cents: int = 0
    first_cents: int = 0
    a: int | None = None
    b: int | None = None
    menu: int = 0

    @property
    def is_outlet(self) -> bool:
        """True for a leaf that wants one feed inside its window."""
        return self.b is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One passive device: `ports` holds (loss in grid steps, number of ports) per group of equal ports."""

    id: str
    cents: int
    ports: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacementTask:
    """Everything the programme needs: `steps` is the number of D values, 0 … steps − 1."""

    spots: tuple[Spot, ...]
    menus: tuple[tuple[Choice, ...], ...]
    terminator_cents: int
    steps: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Pick:
    """One step of a feed: a cable to the next spot, a device with one branch per port, or the outlet itself.

    Exactly one of `cable_to`, `device`, `outlet` is set. `branches` holds one Pick for a cable and, for a
    device, one entry per port in the order of the choice's groups; None is a terminated port.
    """

    cable_to: str | None = None
    device: str | None = None
    at: str | None = None
    outlet: str | None = None
    branches: tuple[Pick | None, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Certificate:
    """How good a design is known to be: `bound_cents` is below or at every design that meets the windows.

    `cost_cents` is None where nothing was found. `gap` is (cost − bound) / bound. `proven` is True only where
    the cost equals the bound or the exact programme finished. `method` names the class of designs that gave
    the cost, `work` counts table cells.
    """

    cost_cents: int | None
    bound_cents: int
    gap: float | None
    proven: bool
    method: str
    assumes: tuple[str, ...]
    work: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """The best design found: `curve[D0]` is the least cost found when the feed starts with loss D0, or
    None.
    """

    cost_cents: int | None
    curve: tuple[int | None, ...]
    tree: Pick | None
    certificate: Certificate


class MalformedTaskError(EngineError):
    """A placement task contradicts itself: no single root, an unknown parent, an outlet with children."""

    def __init__(self, *, what: str) -> None:
        self.what = what
        super().__init__(what)
