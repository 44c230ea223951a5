"""The OpenAPI document describes what the service does, and the page shows it without any other place."""

from __future__ import annotations

import re
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from service.api.problems import PROBLEMS
from service.forms.codes import FAULT_CODES

schemathesis = pytest.importorskip("schemathesis")
hypothesis = pytest.importorskip("hypothesis")
conformance = pytest.importorskip("schemathesis.specs.openapi.checks")

CHECKS = [
    schemathesis.checks.not_a_server_error,
    conformance.status_code_conformance,
    conformance.content_type_conformance,
    conformance.response_schema_conformance,
]


def _spec(client: FlaskClient) -> dict[str, Any]:
    spec = client.get("/openapi.json").json
    assert isinstance(spec, dict)
    return spec


def test_the_document_is_openapi_3_1_and_holds_every_operation(client: FlaskClient) -> None:
    spec = _spec(client)
    assert spec["openapi"].startswith("3.1")
    assert spec["paths"]["/v1/analyses"].keys() == {"post"}
    body = spec["paths"]["/v1/analyses"]["post"]["requestBody"]["content"]["application/json"]["schema"]
    assert body == {"$ref": "#/components/schemas/NetworkDocument"}
    assert {"/v1/catalogue", "/v1/limits/{name}", "/v1/plans/{name}", "/health/live"} <= spec["paths"].keys()


def test_every_number_of_the_network_document_has_its_unit_and_its_range(client: FlaskClient) -> None:
    run = _spec(client)["components"]["schemas"]["NetworkRun"]["properties"]
    assert run["length_m"]["exclusiveMinimum"] == 0
    assert "[m]" in run["length_m"]["description"]
    assert run["from"]["pattern"].startswith("^")


def test_every_shape_of_ours_says_what_it_is(client: FlaskClient) -> None:
    schemas = _spec(client)["components"]["schemas"]
    ours = [name for name in schemas if name.startswith(("Network", "Own", "Analysis", "Outlet", "Limits"))]
    assert len(ours) > 10
    assert all(schemas[name].get("description") for name in ours)


def test_the_page_shows_every_operation_code_and_problem(client: FlaskClient) -> None:
    page = client.get("/docs").get_data(as_text=True)
    for path in _spec(client)["paths"]:
        assert path in page
    for code in FAULT_CODES:
        assert f'id="code-{code}"' in page
    for name, _ in PROBLEMS.values():
        assert f'id="{name}"' in page


def test_the_front_door_leads_to_the_page(client: FlaskClient) -> None:
    assert client.get("/").headers["Location"] == "/docs"


def test_every_reference_of_the_page_leads_somewhere_on_this_service(client: FlaskClient) -> None:
    page = client.get("/docs").get_data(as_text=True)
    anchors = set(re.findall(r'id="([^"]+)"', page))
    targets = re.findall(r'(?:href|src)="([^"]*)"', page)
    assert targets
    for target in targets:
        if target.startswith("#"):
            assert target[1:] in anchors
        elif not target.startswith("data:"):
            with client.get(target) as response:
                assert response.status_code == 200
    assert "<script" not in page
    with client.get("/docs/files/docs.css") as style:
        assert "url(" not in style.get_data(as_text=True)


def test_the_service_keeps_to_its_document_whatever_is_sent(app: Flask) -> None:
    """Generated requests, right and wrong: no failure of ours, only documented answers in their shape."""
    answered: list[int] = []
    for result in schemathesis.openapi.from_wsgi("/openapi.json", app).get_all_operations():

        @hypothesis.settings(
            max_examples=15,
            deadline=None,
            derandomize=True,
            database=None,
            suppress_health_check=list(hypothesis.HealthCheck),
        )
        @hypothesis.given(case=result.ok().as_strategy())
        def one_operation(case: Any) -> None:
            answered.append(case.call_and_validate(checks=CHECKS).status_code)

        one_operation()
    assert {200, 404, 422} <= set(answered)
