"""`POST /v1/analyses`: status, shape and codes."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from service.app import create_app
from service.documents.network import network_document
from service.forms.known import Known
from service.forms.network import read_network
from service.library.contents import library
from service.library.profiles import load_limits, load_plans, load_services
from service.settings import Settings

NETWORKS = Path(__file__).parents[3] / "fixtures" / "networks"
NAMES = sorted(path.stem for path in NETWORKS.glob("*.json"))


def _document(name: str) -> dict[str, Any]:
    document = json.loads((NETWORKS / f"{name}.json").read_text(encoding="utf-8"))
    assert isinstance(document, dict)
    return document


def _constant(text: str) -> None:
    raise AssertionError(f"{text} is not JSON")


@pytest.mark.parametrize("name", NAMES)
def test_every_demo_network_is_analysed_in_strict_json(client: FlaskClient, name: str) -> None:
    response = client.post("/v1/analyses", json=_document(name))
    assert response.status_code == 200
    assert response.content_type == "application/json"
    analysis = json.loads(response.get_data(as_text=True), parse_constant=_constant)
    assert analysis["document"] == "evendrop/analysis"
    assert analysis["network"] == name
    assert len(analysis["outlets"]) == len(_document(name)["served"])
    assert {len(outlet["level_dbmv"]) for outlet in analysis["outlets"]} == {len(analysis["carriers"])}
    assert {len(port["level_dbmv"]) for port in analysis["ports"]} == {len(analysis["frequency_mhz"])}
    assert analysis["serves_all"] is all(row["severity"] != "breaks" for row in analysis["findings"])


@pytest.mark.parametrize("name", NAMES)
def test_a_network_written_as_a_document_gives_the_same_analysis(client: FlaskClient, name: str) -> None:
    known = Known(
        catalogue=library().catalogue, limits=load_limits(), plans=load_plans(), services=load_services()
    )
    form, _ = read_network(_document(name), known)
    assert form is not None
    again = network_document(
        form.network, limits=form.limits.id, parts=form.parts, cables=form.cables, source=form.source
    )
    again["rules"] |= {key: value for key, value in _document(name)["rules"].items() if key != "plan"}
    first = client.post("/v1/analyses", json=_document(name)).json
    second = client.post("/v1/analyses", json=again).json
    assert first == second


def test_levels_and_lengths_have_two_decimals_at_most(client: FlaskClient) -> None:
    analysis = client.post("/v1/analyses", json=_document("demo-corridor")).json
    assert analysis is not None
    levels = [level for port in analysis["ports"] for level in port["level_dbmv"]]
    assert levels
    assert all(level == round(level, 2) for level in levels)


def test_the_spread_can_be_left_out_and_the_margins_too(client: FlaskClient) -> None:
    document = _document("demo-corridor")
    document["rules"] |= {"spread": False, "margins": False}
    analysis = client.post("/v1/analyses", json=document).json
    assert analysis is not None
    assert analysis["spread"] is None
    assert not any(row["rule"].startswith("design-level") for row in analysis["findings"])


def test_a_wider_error_of_lengths_widens_the_spread(client: FlaskClient) -> None:
    widths = []
    for share in (0.0, 0.25):
        document = _document("demo-blocks")
        document["rules"]["length_share"] = share
        analysis = client.post("/v1/analyses", json=document).json
        assert analysis is not None
        widths.append(sum(row["most_dbmv"][0] - row["least_dbmv"][0] for row in analysis["outlets"]))
    assert widths[0] < widths[1]


def test_all_faults_come_in_one_problem_document_with_pointers(client: FlaskClient) -> None:
    document = _document("published-trunk")
    document["feeds"][0]["carriers"][0]["level_dbmv"] = 105
    document["runs"][1]["cable"] = "none"
    document["runs"][2]["length_ft"] = "80"
    response = client.post("/v1/analyses", json=document)
    assert response.status_code == 422
    assert response.content_type == "application/problem+json"
    problem = response.json
    assert problem is not None
    assert problem["status"] == 422
    assert problem["type"] == "/docs#wrong-input"
    assert [(row["pointer"], row["code"]) for row in problem["faults"]] == [
        ("/feeds/0/carriers/0/level_dbmv", "looks-like-other-unit"),
        ("/runs/1/cable", "unknown-cable"),
        ("/runs/2/length_ft", "wrong-type"),
    ]
    assert all(row["wrong"] and row["right"] and row["subject"] for row in problem["faults"])


def test_numbers_that_are_not_finite_are_told_with_their_place(client: FlaskClient) -> None:
    text = json.dumps(_document("published-trunk")).replace('"length_ft": 300', '"length_ft": NaN', 1)
    text = text.replace('"length_ft": 80', '"length_ft": 1e999', 1)
    response = client.post("/v1/analyses", data=text, content_type="application/json")
    assert response.json is not None
    assert [(row["pointer"], row["code"]) for row in response.json["faults"]] == [
        ("/runs/1/length_ft", "not-finite"),
        ("/runs/2/length_ft", "not-finite"),
    ]


@pytest.mark.parametrize(
    ("raw", "content_type", "status"),
    [
        (b"{}", "text/plain", 415),
        (b"{}", "application/x-www-form-urlencoded", 415),
        (b"{}", "", 415),
        (b"{}", "application/json; charset=utf-16", 415),
        (b"{}", "application/json; charset=UTF-8", 422),
        (b'{"id": "\xe9"}', "application/json", 400),
        (b"", "application/json", 400),
        (b"{", "application/json", 400),
        (b"[" * 50_000, "application/json", 400),
        (b'{"a":' * 60 + b"1" + b"}" * 60, "application/json", 400),
        (b'{"id": 1, "id": 2}', "application/json", 400),
        (b"null", "application/json", 422),
        (b"[]", "application/json", 422),
    ],
)
def test_a_body_that_is_no_document_is_refused(
    client: FlaskClient, raw: bytes, content_type: str, status: int
) -> None:
    response = client.post("/v1/analyses", data=raw, content_type=content_type)
    assert response.status_code == status
    assert response.content_type == "application/problem+json"
    assert response.json is not None
    assert response.json["detail"]


def test_a_body_above_the_limit_is_refused_with_the_limit() -> None:
    client = create_app(Settings(max_body_bytes=1_000)).test_client()
    response = client.post("/v1/analyses", data=b" " * 1_001, content_type="application/json")
    assert response.status_code == 413
    assert response.content_type == "application/problem+json"
    assert response.json is not None
    assert "1000 bytes" in response.json["detail"]


def test_a_method_that_is_not_taken_is_refused_with_those_that_are(client: FlaskClient) -> None:
    response = client.get("/v1/analyses")
    assert response.status_code == 405
    assert "POST" in response.headers["Allow"]
    assert response.content_type == "application/problem+json"
