"""The price of the policy: what each rule that holds would save if it were switched off.

Rules taken after the first design left their increments behind. The others shape the tables, so the first design is
solved again with one of them off, from what the rounds have taught; first with all of them off, because where that
saves nothing none of them costs anything. Work is counted in solved tables. A design found with a rule off that keeps
the rule all the same, and is cheaper, is taken: a looser rule must not come out dearer.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from service.engine.analysis import analyse
from service.engine.building.places import Building, Policy
from service.engine.placement.floor import level_free
from service.engine.placement.layout import ACCESSIBLE
from service.engine.placement.place import Candidate, certified
from service.engine.placement.policy import policy_findings, within_policy
from service.engine.placement.rounds import SLACK_DB, Solution, missed_by
from service.engine.placement.search import Search, allowance
from service.engine.placement.site import Site, survey
from service.engine.placement.stock import leaky_parts
from service.engine.plant.network import Network

#: Tables solved for prices by effort, with the number of outlets up to which that holds: small buildings have their
#: rules tried one by one, larger ones all at once.
PRICE_SOLVES = {"quick": (), "normal": ((60, 10), (400, 1)), "thorough": ((1000, 60), (20000, 10))}
#: Rounds of one rule switched off.
RULE_ROUNDS = 2
#: Closets without house power up to which amplifiers are tried in all of them, unless the effort is thorough.
MOST_DARK = 8
#: Amplifiers in series where that rule is off.
LOOSE_SERIES = 4
#: Rules that no finding tells of: a design found without one of them is never taken.
SILENT = frozenset(("spare", "box_size"))

Cents = tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Switch:
    """A rule that shapes the tables: the building without it, and whether it can cost a design anything."""

    rule: str
    off: Callable[[Building], Building]
    binds: Callable[[Site, Candidate], bool]


def with_policy(building: Building, policy: Policy) -> Building:
    """The building under another policy."""
    return replace(building, policy=policy)


def _amplified(site: Site, found: Candidate) -> bool:
    """Amplifiers stand along the riser: they are looked for only where no launch serves everything without."""
    headend = site.building.headend
    parts = {device.part for device in found.solution.network.devices if device.place != headend}
    return any(site.catalogue.part(part).active is not None for part in parts)


def _dark(site: Site) -> int:
    return sum(not closet.place.mains for closet in site.layout.closets)


def _boxed(building: Building) -> bool:
    return any(place.most_devices is not None or place.most_ports is not None for place in building.places)


def _unboxed(building: Building) -> Building:
    rows = tuple(replace(place, most_devices=None, most_ports=None) for place in building.places)
    return replace(building, places=rows)


def _leaks(site: Site, _: Candidate) -> bool:
    frequency = site.frequency_mhz
    return bool(leaky_parts(site.building, site.catalogue, site.limits, frequency))


#: In the order in which they are tried.
SWITCHES = (
    Switch(
        rule="margins",
        off=lambda one: with_policy(one, replace(one.policy, margins=False)),
        binds=lambda site, _: site.building.policy.margins,
    ),
    Switch(
        rule="spare",
        off=lambda one: with_policy(one, replace(one.policy, spare=False)),
        binds=lambda site, _: site.building.policy.spare,
    ),
    Switch(
        rule="no_trimming_at_outlets",
        off=lambda one: with_policy(one, replace(one.policy, no_trimming_at_outlets=False)),
        binds=lambda site, _: site.building.policy.no_trimming_at_outlets,
    ),
    Switch(
        rule="isolation",
        off=lambda one: with_policy(one, replace(one.policy, isolation=False)),
        binds=_leaks,
    ),
    Switch(
        rule="fault_domain",
        off=lambda one: with_policy(one, replace(one.policy, fault_domain=False)),
        binds=lambda site, _: (
            site.building.policy.fault_domain
            and len(site.layout.closets) > site.building.policy.most_throughs_in_leg + 1
        ),
    ),
    Switch(rule="box_size", off=_unboxed, binds=lambda site, _: _boxed(site.building)),
    Switch(
        rule="accessible_places",
        off=lambda one: with_policy(one, replace(one.policy, accessible_places=False)),
        binds=lambda site, _: (
            site.building.policy.accessible_places
            and any(row.kind == "closet" and row.access not in ACCESSIBLE for row in site.building.places)
        ),
    ),
    Switch(
        rule="most_amplifiers_in_series",
        off=lambda one: with_policy(one, replace(one.policy, most_amplifiers_in_series=LOOSE_SERIES)),
        binds=_amplified,
    ),
    Switch(
        rule="amplifiers_on_house_power",
        off=lambda one: with_policy(one, replace(one.policy, amplifiers_on_house_power=False)),
        binds=lambda site, found: (
            site.building.policy.amplifiers_on_house_power and _dark(site) > 0 and _amplified(site, found)
        ),
    ),
)


def priced(site: Site, found: Candidate) -> Candidate:
    """The candidate with the price of each rule that costs something, and what was left untried."""
    free = found.search.free
    binding = [switch for switch in SWITCHES if switch.binds(site, found)]
    late = {rule: cents for rule, cents in found.search.dearer if cents > 0}
    solves = allowance(PRICE_SOLVES, site)
    if not found.fits or free is None or not free.fits or solves == 0:
        return replace(found, prices=tuple(late.items()), unpriced=tuple(switch.rule for switch in binding))
    tried = [switch for switch in binding if _in_reach(site, switch)]
    unpriced = [switch.rule for switch in binding if switch not in tried]
    shelf = _Trials(site=site, found=found, left=solves, base=found.search.direct_cents(free))
    saved = shelf.saved(tried) if tried else 0
    if saved is not None and saved <= 0:
        tried = []
    for switch in tried:
        saves = saved if len(tried) == 1 else shelf.saved([switch])
        if saves is None:
            unpriced.append(switch.rule)
        elif saves > 0:
            late[switch.rule] = late.get(switch.rule, 0) + saves
    taken = shelf.taken()
    return replace(
        taken,
        prices=tuple(late.items()),
        unpriced=tuple(unpriced),
        # The first design keeps none of the late rules: free of the policy costs no more than that.
        free_cents=min(shelf.least, shelf.base, taken.cost_cents),
    )


def _in_reach(site: Site, switch: Switch) -> bool:
    """False for amplifiers in many dark closets: each has tables of its own."""
    if switch.rule != "amplifiers_on_house_power" or site.building.wishes.effort == "thorough":
        return True
    return _dark(site) <= MOST_DARK


@dataclass(slots=True, kw_only=True)
class _Trials:
    """Solves with rules off; `left` counts tables, `base` is the first design's cost with all rules on."""

    site: Site
    found: Candidate
    left: int
    base: int
    least: int = 1 << 40
    legal: Solution | None = None
    legal_cents: int = 1 << 40

    def saved(self, switches: list[Switch]) -> int | None:
        """What the first design saves with these rules off; None where the effort is spent."""
        if self.left <= 0:
            return None
        old, building = self.found.search, self.site.building
        for switch in switches:
            building = switch.off(building)
        site, route = self.site, self.site.layout.route
        off = survey(building, route, site.catalogue, site.tariff, site.limits, site.services, site.keep)
        reserve_db = old.plan.target.reserve_db if building.policy.spare else 0.0
        floor = level_free(off, old.riser_series)
        target = replace(off.target, reserve_db=reserve_db)
        search = Search(off, old.riser_series, target, floor)
        if search.plan.field.outlets == old.plan.field.outlets:
            search.plan.bias, search.plan.tilt = old.taught
        allowed = search.left = min(RULE_ROUNDS, self.left)
        found = search.settle(RULE_ROUNDS)
        self.left -= allowed - search.left
        if found is None or not found.fits:
            return 0
        cents = search.direct_cents(found)
        self.least = min(self.least, cents)
        silent = SILENT.intersection(switch.rule for switch in switches)
        if cents < min(self.base, self.legal_cents) and not silent and self.keeps(found.network):
            self.legal, self.legal_cents = found, cents
        return max(0, self.base - cents)

    def keeps(self, network: Network) -> bool:
        """True when a network found with rules off keeps them all: inside the window, and nothing more to say."""
        old = self.found.search
        assert old.free is not None
        report = self.site.judge.report(network)
        if missed_by(old.plan.target, report) > SLACK_DB:
            return False
        return self.said(network) <= self.said(old.free.network)

    def said(self, network: Network) -> set[str]:
        """The rules whose findings a network earns under the policy as it is."""
        site, policy = self.site, self.site.building.policy
        told = analyse(
            network, site.catalogue, site.limits, site.services, margins=policy.margins, spread=False
        )
        rows = (
            *within_policy(told.findings, policy),
            *policy_findings(site.layout, network, site.catalogue),
        )
        return {row.rule for row in rows if row.severity != "notes"}

    def taken(self) -> Candidate:
        """The candidate, or one from a cheaper first design that was found with a rule off and keeps it."""
        if self.legal is None:
            return self.found
        old = self.found.search
        search = Search(self.site, old.riser_series, old.plan.target, old.plan.floor_cents)
        search.plan.bias, search.plan.tilt = old.taught
        search.free, search.taught = self.legal, old.taught
        again = certified(search, "", {old.riser_series: 0})
        if not again.fits or again.cost_cents >= self.found.cost_cents:
            return self.found
        notes = tuple(row for row in self.found.released if row[0] == "unit-reserve")
        return replace(again, bound_cents=self.found.bound_cents, released=(*again.released, *notes))
