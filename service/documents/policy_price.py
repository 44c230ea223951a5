"""What the policy costs, in words: the price of each rule, policy against free, what was not tried."""

from __future__ import annotations

from service.engine.placement.proposal import Certificate


def price_sentences(certificate: Certificate, currency: str) -> tuple[str, ...]:
    """One sentence each for rules that cost something, for all of them together, and for those not tried."""
    said: list[str] = []
    if certificate.policy_price:
        prices = ", ".join(
            f"{_named(rule)} {_money(cents, currency)}" for rule, cents in certificate.policy_price
        )
        said.append(f"What each rule that costs something would save if it were off: {prices}.")
    free, cost = certificate.free_cents, certificate.cost_cents
    if free is not None and cost:
        saved = f"{_money(cost - free, currency)} or {(cost - free) / cost:.1%} less"
        said.append(
            f"Policy against free: {saved} with the rules off that were tried."
            if free < cost
            else "Policy against free: no rule that was tried costs anything."
        )
    if certificate.unpriced:
        names = ", ".join(_named(rule) for rule in certificate.unpriced)
        said.append(f"Not tried within the effort, or not in full: {names}.")
    return tuple(said)


def _named(rule: str) -> str:
    return rule.replace("_", " ")


def _money(cents: int, currency: str) -> str:
    return f"{cents / 100:,.2f} {currency}"
