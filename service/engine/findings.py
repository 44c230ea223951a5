"""What is wrong: complaints about the input (`Fault`) and findings about a design (`Finding`)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Severity = Literal["breaks", "warns", "notes"]

SEVERITY_ORDER: dict[Severity, int] = {"breaks": 0, "warns": 1, "notes": 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One complaint about the input.

    `code` comes from the closed list in the contributors' guide. `path` leads to the value inside the
    document as posted, keys and zero-based positions; the faces turn it into a JSON pointer or into a cell.
    `subject` names the thing for people ("device T3"). `value` is the offending value as text.
    `wrong` says what is wrong, `right` what would be right.
    """

    code: str
    path: tuple[str | int, ...]
    subject: str
    field: str
    value: str
    wrong: str
    right: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One rule's result over a network or a design, grouped: `where` holds every id, worst first.

    `measured` is the worst value found and `limit` what the rule asks, both in `unit`. `carrier` is the
    carrier at which the worst value stands, or None. `source` names the standard, the regulation or
    "common practice". Severity `breaks` means the design does not serve all; `warns` wants a person's
    decision; `notes` informs.
    """

    rule: str
    severity: Severity
    where: tuple[str, ...]
    carrier: str | None = None
    measured: float | None = None
    limit: float | None = None
    unit: str = ""
    source: str = "common practice"
    text: str = ""


def worst_first(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Order findings by severity, then by how far the limit is missed, then by rule and carrier."""

    def key(finding: Finding) -> tuple[int, float, str, str]:
        missed = 0.0
        if finding.measured is not None and finding.limit is not None:
            missed = abs(finding.measured - finding.limit)
        return (SEVERITY_ORDER[finding.severity], -missed, finding.rule, finding.carrier or "")

    return tuple(sorted(findings, key=key))


def serves_all(findings: tuple[Finding, ...]) -> bool:
    """True when no finding breaks a limit: the one definition of a design that works."""
    return all(finding.severity != "breaks" for finding in findings)
