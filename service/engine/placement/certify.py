"""What can be said for a candidate: its certificate, and a finding for each rule that could not be kept."""

from __future__ import annotations

from service.engine.findings import Finding
from service.engine.placement.place import Candidate
from service.engine.placement.proposal import Certificate
from service.engine.placement.site import Site
from service.engine.placement.used import building_spread_db, unit_spreads_db

_TEXT = {
    "one-pattern": "these floors are wired unlike the others of their type: no one detail was found that serves all "
    "within a twentieth more cost; a larger riser cable or house power nearer to them may allow it",
    "unit-reserve": "the window leaves no room for the reserve at a flat's entrance for one more splitter",
    "window": "no network inside the policy puts every outlet inside the design window; this is the closest found",
    "spread": "the spread over the building that was wished for could not be kept; this is the nearest found",
    "unit-spread": "the spread within a flat that was wished for could not be kept; this is the nearest found",
    "spare-ports": "fewer spare ports than the policy asks for: larger splitters and taps lose more than the weakest "
    "flats have left, or cost over a twentieth more; house power nearer to them may allow it",
    "falling-values": "values rise along a leg: no design was found in which they fall within a twentieth more cost; "
    "shorter legs from more powered places may allow it",
    "tap-variety": "more tap values than the policy asks for: none with fewer was found within a twentieth more cost; "
    "a larger riser cable or more powered places may allow it",
}


def certificate_of(found: Candidate) -> Certificate:
    """The certificate in plain words."""
    proven = found.fits and found.listed and found.bound_cents == found.cost_cents
    if not found.fits:
        statement = "Closest design found; it does not meet the design window, so its cost proves nothing."
    elif not found.listed:
        statement = (
            "The kept network is cheaper than any design that the search lists; its cost is not proven."
        )
    elif proven:
        statement = "Proven cheapest inside the policy: its cost equals the lower bound."
    elif found.bound_cents <= 0:
        statement = "Not proven cheapest: no lower bound is known for it."
    else:
        share = (found.cost_cents - found.bound_cents) / found.cost_cents
        statement = f"Not proven cheapest: at most {share:.2%} above any design inside the policy."
    return Certificate(
        cost_cents=found.cost_cents,
        bound_cents=found.bound_cents if found.listed else found.cost_cents,
        proven=proven,
        statement=statement,
        policy_price=found.prices,
        unpriced=found.unpriced,
        free_cents=None if found.free_cents is None else min(found.free_cents, found.cost_cents),
        assumes=(
            "one cable series for the riser and one for drops",
            "the routes that were tried, where the ways leave a choice",
            "devices in closets, at the head-end and in a flat's own panel only",
            "closet device trees of the listed patterns",
            "amplifiers with 3 dB of gain and rating in reserve, sloped by 8 dB at most",
            "the bound counts cables, devices and levels at one carrier, the one that most is missing of",
            "the bound leaves out rules that compare closets with each other",
        ),
    )


def released_findings(site: Site, found: Candidate) -> tuple[Finding, ...]:
    """A note for every rule that was given up, a warning where the design window itself was."""
    findings = []
    for rule, where in found.released:
        measured, limit = _measured(site, found, rule)
        findings.append(
            Finding(
                rule=f"policy-{rule}",
                severity="warns" if rule == "window" else "notes",
                where=where,
                measured=measured,
                limit=limit,
                unit="dB" if limit is not None else "",
                source="common practice",
                text=_TEXT[rule],
            )
        )
    return tuple(findings)


def _measured(site: Site, found: Candidate, rule: str) -> tuple[float | None, float | None]:
    """The spread or reserve that a design has and the one that was asked for, where the rule is about one."""
    wishes, report = site.building.wishes, found.solution.report
    if rule == "unit-reserve":
        left = report.outlet_level_dbmv - site.target.low_dbmv
        return float(left.min()), site.building.policy.unit_reserve_db
    if rule == "spread":
        return building_spread_db(report), wishes.spread_db
    if rule == "unit-spread":
        return max(unit_spreads_db(report).values()), wishes.unit_spread_db
    return None, None
