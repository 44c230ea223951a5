"""Reports and drawings of kept designs over HTTP."""

from __future__ import annotations

import io
from xml.etree import ElementTree as ET

import openpyxl
import pytest
from flask.testing import FlaskClient

BUILDING = {
    "document": "evendrop/building",
    "version": 1,
    "id": "reported",
    "name": "House <b>to report</b> (invented)",
    "prices": "demo-usd",
    "headend": {"id": "HE", "floor": "2", "mains": True},
    "closets": [{"id": "C1", "floor": "1", "from": "HE", "run_m": 5.0}],
    "outlets": [{"id": "1A-1", "unit": "1A", "at": "C1", "drop_m": 9.0}],
    "feed": {"carriers": [{"channel": "14", "level_dbmv": 12.0}, {"channel": "36", "level_dbmv": 11.0}]},
}


@pytest.fixture
def address(client: FlaskClient) -> str:
    answer = client.post("/v1/designs", json=BUILDING)
    assert answer.status_code == 201
    return str(answer.headers["Location"])


def test_a_report_is_a_page_that_answers_first_and_may_load_nothing(
    client: FlaskClient, address: str
) -> None:
    answer = client.get(f"{address}/report")
    assert (answer.status_code, answer.mimetype) == (200, "text/html")
    page = answer.get_data(as_text=True)
    assert "<strong>Yes</strong>" in page
    assert "House &lt;b&gt;to report" in page
    assert "tolerances and temperature every level keeps its limits" in page
    assert answer.headers["Content-Security-Policy"].startswith("default-src 'none'")


def test_a_report_comes_as_pdf_by_link_or_where_it_is_accepted_first(
    client: FlaskClient, address: str
) -> None:
    asked = client.get(f"{address}/report", headers={"Accept": "application/pdf"})
    linked = client.get(f"{address}/report.pdf")
    assert asked.mimetype == linked.mimetype == "application/pdf"
    assert asked.data.startswith(b"%PDF-")
    assert asked.data == linked.data


def test_a_sheet_of_the_drawing_is_svg(client: FlaskClient, address: str) -> None:
    answer = client.get(f"{address}/drawing/1.svg")
    assert answer.mimetype == "image/svg+xml"
    refs = {node.get("data-ref") for node in ET.fromstring(answer.get_data(as_text=True)).iter()}
    assert {"device:HE", "outlet:1A-1", "closet:C1"} <= refs


def test_the_design_says_where_its_papers_are_and_they_are_there(client: FlaskClient, address: str) -> None:
    papers = client.get(address).json["papers"]
    assert set(papers) == {"report", "report_pdf", "book", "drawing", "charts"}
    assert [client.get(place).status_code for place in papers.values()] == [200] * 5


def test_the_workbook_comes_by_link_or_where_it_is_accepted_first(client: FlaskClient, address: str) -> None:
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    asked = client.get(f"{address}/report", headers={"Accept": kind})
    linked = client.get(f"{address}/book.xlsx")
    assert asked.mimetype == linked.mimetype == kind
    assert asked.data == linked.data
    sheets = openpyxl.load_workbook(io.BytesIO(linked.data)).sheetnames
    assert sheets[:3] == ["Summary", "Charts", "Riser drawing"]


@pytest.mark.parametrize("what", ["drawing", "charts"])
def test_sheets_and_charts_are_listed_and_come_as_svg_or_as_dots(
    client: FlaskClient, address: str, what: str
) -> None:
    listed = client.get(f"{address}/{what}").json["pictures"]
    assert listed
    for picture in listed:
        assert picture["says"]
        assert client.get(picture["svg"]).data.startswith(b"<svg")
        dots = client.get(picture["png"])
        assert (dots.mimetype, dots.data[:4]) == ("image/png", b"\x89PNG")
        bare = picture["svg"].removesuffix(".svg")
        assert client.get(bare, headers={"Accept": "image/png"}).data == dots.data
        assert client.get(bare).mimetype == "image/svg+xml"


def test_what_is_not_there_is_not_found(client: FlaskClient, address: str) -> None:
    for path in (
        "/v1/designs/nothing/report",
        "/v1/designs/nothing/drawing/1.svg",
        "/v1/designs/nothing/drawing",
        "/v1/designs/nothing/charts/path.svg",
        "/v1/designs/nothing/book.xlsx",
        f"{address}/drawing/9.svg",
        f"{address}/charts/nothing.png",
    ):
        answer = client.get(path)
        assert (answer.status_code, answer.mimetype) == (404, "application/problem+json")
