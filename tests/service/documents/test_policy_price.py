"""The policy's price in words: only rules that cost, and what was not tried is said to be so."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from service.documents.book import building_tables
from service.documents.policy_price import price_sentences
from service.documents.report import report_of
from service.engine.placement.proposal import Certificate

PRICED = Certificate(
    cost_cents=100_000,
    bound_cents=90_000,
    proven=False,
    statement="Not proven.",
    policy_price=(("spare", 2_500), ("one_pattern", 120)),
    unpriced=("fault_domain",),
    free_cents=95_000,
)


def test_every_price_and_every_rule_not_tried_is_said() -> None:
    prices, free, untried = price_sentences(PRICED, "USD")
    assert prices.endswith("spare 25.00 USD, one pattern 1.20 USD.")
    assert "50.00 USD or 5.0% less" in free
    assert untried.endswith("not in full: fault domain.")


def test_nothing_is_said_of_free_where_none_was_looked_for() -> None:
    quick = replace(PRICED, policy_price=(), free_cents=None)
    assert [text.split(":")[0] for text in price_sentences(quick, "USD")] == [
        "Not tried within the effort, or not in full"
    ]
    assert price_sentences(replace(quick, unpriced=()), "USD") == ()


def test_rules_that_cost_nothing_are_said_to() -> None:
    (text,) = price_sentences(replace(PRICED, policy_price=(), unpriced=(), free_cents=100_000), "USD")
    assert text == "Policy against free: no rule that was tried costs anything."


def test_book_and_report_have_the_prices(bench: Any) -> None:
    design = bench.design("walkup_8")
    trade = bench.trade(design)
    priced = replace(design, chosen=replace(design.chosen, certificate=PRICED))
    tables = building_tables(priced, trade.catalogue, trade.tariff, trade.limits, design_id="kept")
    said = [row[1] for row in tables[0].rows if row[0] == "Price of the policy"]
    assert said == list(price_sentences(PRICED, trade.tariff.currency))
    html = report_of(priced, trade, design_id="kept").html
    assert all(text in html for text in said)
