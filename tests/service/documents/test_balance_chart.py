"""Cost against spread: drawn where there is a choice, with both units, and told apart without colour."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from service.documents.balance_chart import balance_chart
from service.documents.report import report_of
from service.engine.placement.proposal import Choice, CurvePoint, Design


def point(spread_db: float, cost_cents: int, *, knee: bool = False, chosen: bool = False) -> CurvePoint:
    return CurvePoint(
        asked_db=None, spread_db=spread_db, cost_cents=cost_cents, margin_db=5.0, knee=knee, chosen=chosen
    )


def choice(label: str, spread_db: float, cost_cents: int) -> Choice:
    return Choice(
        label=label,
        cost_cents=cost_cents,
        margin_db=5.0,
        spread_db=spread_db,
        kinds=9,
        powered_places=1,
        launch_dbmv=31.0,
        serves_all=True,
        chosen=label == "simplest",
        recommended=label == "simplest",
    )


def curved(bench: Any) -> Design:
    design: Design = bench.design("walkup_8")
    points = (
        point(6.0, 300_000),
        point(5.5, 300_100, chosen=True),
        point(3.0, 302_000, knee=True),
        point(2.0, 320_000),
    )
    return replace(
        design,
        curve=points,
        choices=(choice("simplest", 5.5, 300_100), choice("lowest launch", 5.0, 315_000)),
    )


def test_one_design_alone_is_no_choice(bench: Any) -> None:
    assert balance_chart(bench.design("walkup_8"), "USD") == ()


def test_both_axes_have_their_units_and_every_design_is_said(bench: Any) -> None:
    (chart,) = balance_chart(curved(bench), "USD")
    texts = [text.text for text in chart.texts]
    assert "spread over the building [dB]" in texts
    assert "direct cost [USD]" in texts
    said = [text for text in texts if " dB for " in text]
    assert len(said) == 5
    assert [text for text in said if text.endswith("chosen")] == [
        "2: 5.5 dB for 3,001.00 USD, smallest margin 5.0 dB, chosen"
    ]
    assert "knee" in said[2]
    assert "lowest launch" in said[4]


def test_chosen_and_knee_differ_in_shape_not_in_colour_alone(bench: Any) -> None:
    (chart,) = balance_chart(curved(bench), "USD")
    marks = [box for box in chart.boxes if box.layer == "data"]
    assert [(box.fill, box.radius_mm > 0) for box in marks].count(("ink", False)) == 1
    rings = [box for box in marks if box.fill == "paper"]
    assert len(rings) == 3
    diamonds = [line for line in chart.lines if line.layer == "data" and len(line.points) == 5]
    assert len(diamonds) == 1


def test_no_text_of_the_chart_lies_on_another_or_leaves_it(bench: Any) -> None:
    (chart,) = balance_chart(curved(bench), "USD")
    rooms = [(text.bounds_mm, text.text) for text in chart.texts]
    for at, ((left, top, right, bottom), text) in enumerate(rooms):
        inside = left >= 0 and top >= 0 and right <= chart.width_mm and bottom <= chart.height_mm
        assert inside, text
        for (l2, t2, r2, b2), other in rooms[at + 1 :]:
            apart = l2 >= right - 0.05 or r2 <= left + 0.05 or t2 >= bottom - 0.05 or b2 <= top + 0.05
            assert apart, (text, other)


def test_the_report_has_the_chart_and_the_table_of_designs(bench: Any) -> None:
    design = curved(bench)
    report = report_of(design, bench.trade(design), design_id="kept")
    assert "cost-spread" in {chart.id for chart in report.charts}
    assert "Designs to choose from" in report.html
    assert '<td class="fig">3150.00</td>' in report.html
