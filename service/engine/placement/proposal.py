"""What placement answers: a network with its proof, and the design around it."""

from __future__ import annotations

from dataclasses import dataclass

from service.engine.building.places import Assumption, Building
from service.engine.checks.margins import OutletMargins
from service.engine.findings import Finding
from service.engine.plant.network import Network
from service.engine.propagation.report import SignalReport
from service.engine.routes.plan import RoutePlan


@dataclass(frozen=True, slots=True, kw_only=True)
class Certificate:
    """How good the design is. `bound_cents` is below the cost of every design inside the policy.

    `proven` only when the cost equals the bound. `statement` says it in plain words, `assumes` what the bound takes
    for granted. `policy_price` pairs a rule with what switching it off would save, in cents; rules in neither it nor
    `unpriced` were tried and cost nothing. `unpriced` are active rules that the effort left no work to try.
    `free_cents` is the cheapest design found with rules switched off, None where none was looked for.
    """

    cost_cents: int
    bound_cents: int
    proven: bool
    statement: str
    assumes: tuple[str, ...] = ()
    policy_price: tuple[tuple[str, int], ...] = ()
    unpriced: tuple[str, ...] = ()
    free_cents: int | None = None

    @property
    def gap(self) -> float:
        """Share by which the cost stands above the bound."""
        return (self.cost_cents - self.bound_cents) / self.cost_cents if self.cost_cents else 0.0

    @property
    def policy_cents(self) -> int | None:
        """What the policy costs as far as it was tried: the cost less that of the cheapest design found without."""
        return None if self.free_cents is None else max(0, self.cost_cents - self.free_cents)


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """One design: its network, cost in the tariff's cents, figures, findings and certificate.

    `label` says what it is best at ("cheapest", "simplest" …).
    """

    label: str
    network: Network
    cost_cents: int
    report: SignalReport
    margins: OutletMargins
    findings: tuple[Finding, ...]
    certificate: Certificate
    reasons: tuple[tuple[str, str], ...] = ()

    @property
    def serves_all(self) -> bool:
        """True when no finding breaks a limit."""
        return all(finding.severity != "breaks" for finding in self.findings)


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePoint:
    """A design on the curve of cost against spread.

    `asked_db` is the largest spread over the building that it was solved for, None where none was asked;
    `spread_db` what it has, `margin_db` its smallest margin to a limit. `knee` marks the smallest spread within a
    hundredth of the cheapest, `chosen` the design that was taken.
    """

    asked_db: float | None
    spread_db: float
    cost_cents: int
    margin_db: float
    knee: bool
    chosen: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A design in the figures that a person weighs.

    `launch_dbmv` is the highest level at any output that stands at the head-end, `kinds` counts different parts,
    `powered_places` those with house power in use. `recommended` marks the simplest.
    """

    label: str
    cost_cents: int
    margin_db: float
    spread_db: float
    kinds: int
    powered_places: int
    launch_dbmv: float
    serves_all: bool
    chosen: bool
    recommended: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Rescue:
    """A change that was tried because nothing served all: what, whether it works, what it costs."""

    change: str
    works: bool
    cost_cents: int | None
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TriedRoute:
    """One candidate tree of ways and what came of it.

    `length_m` adds up its ways once each. `cost_cents` is None where no network could be built along it; `fits`
    says that every outlet came inside the design window.
    """

    name: str
    length_m: float
    cost_cents: int | None
    fits: bool
    chosen: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """The answer for one building: the chosen proposal, alternatives, rescues, routes and assumptions.

    `choices` are the figures of the chosen design and of each alternative, in that order. `curve` is cost against
    spread, the cheapest first. `tried_routes` holds more than one only where the ways leave
    a choice.
    """

    building: Building
    route: RoutePlan
    chosen: Proposal
    alternatives: tuple[Proposal, ...] = ()
    choices: tuple[Choice, ...] = ()
    curve: tuple[CurvePoint, ...] = ()
    rescues: tuple[Rescue, ...] = ()
    tried_routes: tuple[TriedRoute, ...] = ()
    assumptions: tuple[Assumption, ...] = ()
