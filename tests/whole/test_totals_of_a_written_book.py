"""Every total of a written workbook, added up again from its printed lines by nothing of ours."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from batch.desk import desk
from batch.schedule import tables_of, write_building
from service.engine.design import design
from service.forms.building import read_building
from service.portfolio import job_of

FIXTURES = Path(__file__).parents[2] / "fixtures" / "buildings"
Sheets = dict[str, pd.DataFrame]


@pytest.fixture(scope="module", params=["slab_1968", "europe_two_stairs"])
def written(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Sheets, int]:
    """The sheets of a demo building as a spreadsheet program shows them, and its direct cost in cents."""
    document: dict[str, Any] = json.loads((FIXTURES / f"{request.param}.json").read_text(encoding="utf-8"))
    tools = desk()
    known = tools.known
    reading = read_building(document, known, tools.tariffs)
    building = reading.building
    assert building is not None
    tariff, limits = tools.tariffs[building.tariff], known.limits[building.rules.limits]
    job = job_of(document, building, None, tariff=tariff, limits=limits, terms=tools.terms)
    answer = design(building, known.catalogue, tariff, limits, known.services)
    path = tmp_path_factory.mktemp("book") / "book.xlsx"
    write_building(path, job=job, design=answer, tables=tables_of(job, answer))
    sheets = pd.read_excel(path, sheet_name=None, header=2)
    return {name: bare(frame) for name, frame in sheets.items()}, answer.chosen.cost_cents


def bare(frame: pd.DataFrame) -> pd.DataFrame:
    """A frame whose headers have lost their units."""
    return frame.rename(columns={name: str(name).split(" [")[0] for name in frame.columns})


def cents(values: Any) -> int:
    """Money cells in whole cents, added up one by one."""
    return sum(int((Decimal(str(value)) * 100).to_integral_value()) for value in values if not pd.isna(value))


def at(frame: pd.DataFrame, column: str, text: str) -> int:
    """The row in which a text stands."""
    return int(frame.index[frame[column] == text][0])


def test_cost_adds_up_line_by_line_to_what_the_search_made_least(written: tuple[Sheets, int]) -> None:
    sheets, least = written
    cost = sheets["Cost"]
    direct, below, both = (
        at(cost, "heading", name) for name in ("Direct cost", "Below the direct cost", "Together")
    )
    lines = cost.iloc[:direct]
    for _, line in lines.iterrows():
        assert cents([line["material"], line["labour"]]) == cents([line["total"]])
    for column in ("material", "labour", "total"):
        assert cents(lines[column]) == cents([cost.loc[direct, column]])
    assert lines["hours"].sum() == pytest.approx(cost.loc[direct, "hours"])
    assert cents([cost.loc[direct, "total"]]) == least
    assert cents(cost.iloc[direct + 1 : below]["total"]) == cents([cost.loc[below, "total"]])
    parts = [cost.loc[direct, "total"], cost.loc[below, "total"]]
    assert cents(parts) == cents([cost.loc[both, "total"]])


def test_the_estimate_adds_up_from_its_first_line_to_the_price(written: tuple[Sheets, int]) -> None:
    sheets, least = written
    estimate = sheets["Estimate"]
    cost, price = at(estimate, "line", "Cost"), at(estimate, "line", "Price")
    lines = estimate.iloc[:cost]
    assert cents([lines.iloc[0]["total"]]) == least
    for column in ("material", "labour", "subcontract", "total"):
        assert cents(lines[column]) == cents([estimate.loc[cost, column]])
    assert lines["hours"].sum() == pytest.approx(estimate.loc[cost, "hours"], abs=1e-3)
    for _, line in lines.iterrows():
        kinds = [line["material"], line["labour"], line["subcontract"]]
        assert cents(kinds) == cents([line["total"]])
    assert cents(estimate.iloc[cost:price]["total"]) == cents([estimate.loc[price, "total"]])
    bought = lines[lines["section"] == "bought"]
    costs = sheets["Cost"]
    assert cents(bought["total"]) == cents(
        [costs.loc[at(costs, "heading", "Below the direct cost"), "total"]]
    )


def test_every_row_of_totals_is_the_sum_of_its_column(written: tuple[Sheets, int]) -> None:
    sheets, _ = written
    seen = 0
    for frame in sheets.values():
        if frame.empty or frame.iloc[-1, 0] != "Total":
            continue
        for column in frame.columns[1:]:
            total = frame[column].iloc[-1]
            if isinstance(total, (int, float)) and not pd.isna(total):
                seen += 1
                assert frame[column].iloc[:-1].sum() == pytest.approx(total, abs=1e-5)
    assert seen >= 7


def test_pulls_labels_parts_and_reels_speak_of_the_same_cable(written: tuple[Sheets, int]) -> None:
    sheets, _ = written
    pulls, labels = sheets["Pull schedule"].iloc[:-1], sheets["Labels and routes"].iloc[:-1]
    new = labels[labels["cable"] == "new"]
    assert sorted(pulls["label"]) == sorted(new["label"])
    assert pulls["length as pulled"].sum() == pytest.approx(new["length"].sum())
    parts = sheets["Parts"]
    cable = parts[parts["heading"] == "cable, pulled"]
    assert cable["built in"].sum() == pytest.approx(pulls["length as pulled"].sum())
    assert (parts["built in"] + parts["waste, packs, spares"] - parts["to buy"]).abs().max() < 1e-6
    reels = sheets["Boxes and reels"].iloc[:-1]
    assert (reels["put-up"] - reels["used"] - reels["left over"]).abs().max() < 1e-6
    assert reels["runs"].sum() == len(pulls)
    orders = sheets["Work order"].iloc[:-1]
    assert orders["cables"].sum() == len(pulls)
    assert orders["person-hours"].sum() == pytest.approx(pulls["hours"].sum())


def test_phases_hold_every_cable_and_the_estimates_hours_of_removal(written: tuple[Sheets, int]) -> None:
    sheets, _ = written
    if "Phases" not in sheets:
        assert "Old cable" not in sheets
        return
    phases, estimate = sheets["Phases"].iloc[:-1], sheets["Estimate"]
    assert phases["new cables"].sum() == len(sheets["Pull schedule"]) - 1
    removal = estimate.loc[at(estimate, "line", "Old cable out"), "hours"]
    assert phases["hours to take out"].sum() == pytest.approx(removal, abs=0.01)
    assert sheets["Old cable"].iloc[:-1]["to take out"].sum() == pytest.approx(removal, abs=0.01)
