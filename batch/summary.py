"""A design as text for a terminal: what it comes to, how good it is, what is wrong, what would help."""

from __future__ import annotations

import textwrap

from service.documents.figures import Figures
from service.documents.policy_price import price_sentences
from service.documents.route_choice import route_sentence
from service.engine.findings import worst_first
from service.engine.placement.proposal import Design

WIDTH = 100
MOST_FINDINGS = 12
_MARKS = {"breaks": "✗", "warns": "!", "notes": "·"}


def design_text(design: Design, figures: Figures) -> str:
    """The summary, lines of at most a hundred characters."""
    building, chosen = design.building, design.chosen
    title = building.name or building.id
    status = "every outlet is served" if chosen.serves_all else "NOT every outlet is served"
    lines = [title, "=" * min(len(title), WIDTH), "", f"{status}: {_count(figures)}", ""]
    lines += [f"  {name:<18} {value}" for name, value in _figures(design, figures)]
    lines += ["", "Proof", *_wrapped(chosen.certificate.statement)]
    for text in price_sentences(chosen.certificate, figures.currency):
        lines += _wrapped(text, mark="·")
    if len(design.tried_routes) > 1:
        lines += ["", "Route", *_wrapped(route_sentence(design))]
    findings = worst_first(chosen.findings)
    if findings:
        lines += ["", "Findings"]
        for finding in findings[:MOST_FINDINGS]:
            lines += _wrapped(finding.text or finding.rule, mark=_MARKS[finding.severity])
        if len(findings) > MOST_FINDINGS:
            lines.append(f"    and {len(findings) - MOST_FINDINGS} more in the book")
    if design.rescues:
        lines += ["", "What was tried because not every outlet is served"]
        for rescue in design.rescues:
            cost = "" if rescue.cost_cents is None else f" for {_money(rescue.cost_cents, figures.currency)}"
            helps = f"serves every outlet{cost}" if rescue.works else "does not help"
            lines += _wrapped(f"{rescue.change}: {helps}. {rescue.note}".rstrip(), mark="-")
    if building.assumptions:
        lines += ["", "Assumed where the document is silent"]
        for row in building.assumptions:
            lines += _wrapped(f"{row.field}: {row.value} ({row.why})", mark="·")
    lines += ["", *textwrap.wrap(_STANDING, WIDTH)]
    return "\n".join(lines) + "\n"


_STANDING = (
    "A calculation, not a signed project; one-way television only. Local codes and licensed practice decide; "
    "verify with the authority."
)


def _count(figures: Figures) -> str:
    return f"{figures.outlets} outlets in {figures.units} units"


def _figures(design: Design, figures: Figures) -> list[tuple[str, str]]:
    """The figures that people ask for first."""
    feet = design.building.length_unit == "ft"
    metre, unit = (1.0 / 0.3048, "ft") if feet else (1.0, "m")
    known = (
        "an outline: a first price, not for construction" if figures.survey == "outline" else figures.survey
    )
    rows = [("known from", known), ("direct cost", _money(figures.cost_cents, figures.currency))]
    if figures.cents_per_outlet is not None and figures.metres_per_outlet is not None:
        rows.append(("cost an outlet", _money(round(figures.cents_per_outlet), figures.currency)))
        each = f"{figures.metres_per_outlet * metre:.1f} {unit} an outlet"
        rows.append(("new cable", f"{figures.cable_m * metre:.0f} {unit}, {each}"))
    if figures.worst_margin_db is not None and figures.best_margin_db is not None:
        rows.append(("worst margin", f"{figures.worst_margin_db:.2f} dB at outlet {figures.worst_outlet}"))
        rows.append(("best margin", f"{figures.best_margin_db:.2f} dB"))
    if figures.spread_db is not None:
        rows.append(("spread", f"{figures.spread_db:.2f} dB over the building"))
    devices = len(design.chosen.network.devices)
    rows.append(("devices and runs", f"{devices} devices, {len(design.chosen.network.runs)} runs"))
    return rows


def _money(cents: int, currency: str) -> str:
    return f"{cents / 100:,.2f} {currency}"


def _wrapped(text: str, *, mark: str = " ") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=f"  {mark} ", subsequent_indent="    ")
