"""The report: the answer first, the same numbers everywhere, readable by everybody, no other file needed."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from typing import Any

import pytest

from service.documents.measures import Measures
from service.documents.pages import PDF, design_pages
from service.documents.path_chart import path_sums, worst_path
from service.documents.report import report_of
from service.documents.report_pdf import pdf_of
from service.engine.findings import Finding
from service.engine.works.bill import bill_of


class Outline(HTMLParser):
    """Headings, ids, references to ids, links to elsewhere, cells of heads, and text of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.levels: list[int] = []
        self.ids: list[str] = []
        self.refers: list[str] = []
        self.sources: list[str] = []
        self.unnamed: list[str] = []
        self.labels: set[str] = set()
        self.inputs: list[str] = []
        self.text: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if re.fullmatch("h[1-6]", tag):
            self.levels.append(int(tag[1]))
        self.ids += [given["id"]] if "id" in given else []
        self.refers += given.get("aria-labelledby", "").split()
        if given.get("href", "").startswith("#"):
            self.refers.append(given["href"][1:])
        elif "href" in given or "src" in given:
            self.sources.append(given.get("href", "") + given.get("src", ""))
        if tag == "th" and given.get("scope") != "col":
            self.unnamed.append(tag)
        if tag == "label":
            self.labels.add(given.get("for", ""))
        if tag == "input":
            self.inputs.append(given["id"])

    def handle_data(self, data: str) -> None:
        self.text.append(data)


@pytest.fixture(scope="module")
def page(bench: Any) -> str:
    design = bench.design("walkup_8")
    return report_of(design, bench.trade(design), design_id="kept").html


def test_the_first_thing_said_is_whether_it_works(page: str) -> None:
    answer = page.index("<strong>Yes</strong>")
    assert answer < page.index('id="assumptions"')
    assert "Every one of 20 outlets in 8 units is served on all 8 carriers." in page


def test_a_design_that_breaks_a_limit_says_no_and_what_is_broken(bench: Any) -> None:
    design = bench.design("walkup_8")
    finding = Finding(rule="level-low", severity="breaks", where=("1A-1",), text="Level too low at 1A-1")
    broken = replace(design, chosen=replace(design.chosen, findings=(finding,)))
    html = report_of(broken, bench.trade(design), design_id="kept").html
    assert "<strong>No</strong>" in html
    assert "Not every outlet is served: Level too low at 1A-1." in html


def test_cost_margins_and_worst_outlet_are_those_of_the_design(bench: Any, page: str) -> None:
    design = bench.design("walkup_8")
    trade, worst = bench.trade(design), design.chosen.margins.worst
    bill = bill_of(design.building, design.chosen.network, trade.catalogue, trade.tariff)
    assert bill.direct_cents == design.chosen.cost_cents
    assert f"{bill.direct_cents / 100:,.2f} USD" in page
    assert f"{worst.margin_db:.1f} dB" in page
    assert f"at {worst.outlet} on carrier {worst.carrier}" in page


def test_what_is_not_covered_stands_on_page_one(page: str) -> None:
    first = page[: page.index('id="assumptions"')]
    assert "One-way television only" in first
    assert "not a signed project" in first


def test_headings_never_skip_a_level_and_every_reference_leads_somewhere(page: str) -> None:
    outline = Outline(page)
    assert outline.levels[0] == 1
    assert outline.levels.count(1) == 1
    assert all(after <= before + 1 for before, after in zip(outline.levels, outline.levels[1:], strict=False))
    assert set(outline.refers) <= set(outline.ids)
    assert len(outline.ids) == len(set(outline.ids))


def test_columns_have_scopes_and_inputs_have_labels(page: str) -> None:
    outline = Outline(page)
    assert outline.unnamed == []
    assert set(outline.inputs) <= outline.labels


def test_the_page_asks_for_no_other_file(page: str) -> None:
    outline = Outline(page)
    assert outline.sources == []
    assert set(re.findall(r"https?://[^\s\"'<)]+", page)) == {"http://www.w3.org/2000/svg"}
    assert "@import" not in page


def test_names_of_the_building_never_become_markup(bench: Any) -> None:
    design = bench.design("smallest")
    evil = '<img src=x onerror="alert(1)">'
    named = replace(design, building=replace(design.building, name=evil, note=evil))
    html = report_of(named, bench.trade(design), design_id=evil).html
    assert "<img" not in html


def test_all_ten_questions_are_answered(page: str) -> None:
    said = re.findall(r"<dt>(\d+)\. ", page)
    assert said == [str(number) for number in range(1, 11)]


@pytest.mark.parametrize("name", ["smallest", "walkup_8", "europe_two_stairs"])
def test_no_text_of_a_chart_lies_on_another_or_leaves_it(bench: Any, name: str) -> None:
    design = bench.design(name)
    report = report_of(design, bench.trade(design), design_id="kept")
    for chart in report.charts:
        rooms = [(text.bounds_mm, text.text) for text in chart.texts]
        for at, ((left, top, right, bottom), text) in enumerate(rooms):
            inside = left >= 0 and top >= 0 and right <= chart.width_mm and bottom <= chart.height_mm
            assert inside, (chart.id, text)
            for (l2, t2, r2, b2), other in rooms[at + 1 :]:
                apart = l2 >= right - 0.05 or r2 <= left + 0.05 or t2 >= bottom - 0.05 or b2 <= top + 0.05
                assert apart, (chart.id, text, other)


def test_the_steps_to_the_worst_outlet_add_up_to_its_level(bench: Any) -> None:
    design = bench.design("walkup_8")
    path = worst_path(design, bench.trade(design).catalogue, Measures.of(design.building))
    report = design.chosen.report
    row = [served.outlet for served in report.outlets].index(path.outlet)
    at = [carrier.id for carrier in report.carriers].index(path.carrier)
    arrives = path.launched_dbmv + sum(total for _, total in path_sums(path))
    assert abs(arrives - report.outlet_level_dbmv[row, at]) < 1e-9


def test_the_same_design_gives_the_same_pages(bench: Any) -> None:
    design = bench.design("smallest")
    pages = design_pages(design, bench.trade(design), design_id="kept")
    assert pages == design_pages(design, bench.trade(design), design_id="kept")
    assert {"report.html", "riser-1.svg", "path.svg", "frequency.svg", "tolerance.svg"} <= set(pages)
    assert pages[PDF].startswith(b"%PDF-")


def test_a_pdf_comes_out_and_fetches_nothing() -> None:
    html = '<html><head></head><body><img src="http://127.0.0.1:9/x.png"><p>Level</p></body></html>'
    assert pdf_of(html, title="A title", paper="A4").startswith(b"%PDF-")
