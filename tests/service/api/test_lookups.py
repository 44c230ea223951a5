"""The catalogue, the limits, the plans and the health of the service."""

from __future__ import annotations

import copy
import json
from pathlib import Path

import pytest
from flask.testing import FlaskClient

TRUNK = Path(__file__).parents[3] / "fixtures" / "networks" / "published-trunk.json"


def test_the_catalogue_lists_parts_and_cables_by_id(client: FlaskClient) -> None:
    found = client.get("/v1/catalogue").json
    assert found is not None
    ids = [row["id"] for row in found["parts"]]
    assert ids == sorted(ids)
    assert "split-2" in ids
    assert "6-catvr" in [row["id"] for row in found["cables"]]


def test_a_part_of_the_catalogue_can_be_brought_along_by_a_network(client: FlaskClient) -> None:
    found = client.get("/v1/catalogue/parts/split-2").json
    assert found is not None
    assert found["sources"]
    assert all(row["text"] for row in found["sources"])
    document = json.loads(TRUNK.read_text(encoding="utf-8"))
    own = copy.deepcopy(found["part"])
    own["id"] = "two-way"
    document["parts"][0] = own
    assert client.post("/v1/analyses", json=document).status_code == 200


def test_a_cable_tells_its_loss_and_how_it_is_pulled(client: FlaskClient) -> None:
    found = client.get("/v1/catalogue/cables/6-catvr").json
    assert found is not None
    assert found["cable"]["loss_db_per_100m"][0][1] > 0
    assert found["pull_limit_n"] > 0


def test_limits_and_plans_are_listed_and_found(client: FlaskClient) -> None:
    limits = client.get("/v1/limits").json
    assert limits is not None
    assert {"us-off-air", "spain"} <= {row["id"] for row in limits["limits"]}
    spain = client.get("/v1/limits/spain").json
    assert spain is not None
    assert all(row["source"] for row in spain["services"])
    plans = client.get("/v1/plans").json
    assert plans is not None
    assert "us-broadcast" in {row["id"] for row in plans["plans"]}
    plan = client.get("/v1/plans/us-broadcast").json
    assert plan is not None
    assert next(row for row in plan["channels"] if row["id"] == "14")["low_mhz"] == 470.0


@pytest.mark.parametrize(
    "address",
    [
        "/v1/catalogue/parts/no",
        "/v1/catalogue/cables/no",
        "/v1/limits/no",
        "/v1/plans/no",
        "/no",
        "/v1/limits/a/b",
    ],
)
def test_what_is_not_there_is_a_problem_document(client: FlaskClient, address: str) -> None:
    response = client.get(address)
    assert response.status_code == 404
    assert response.content_type == "application/problem+json"
    assert response.json is not None
    assert response.json["type"] == "/docs#not-found"


def test_the_service_tells_that_it_lives_and_is_ready(client: FlaskClient) -> None:
    assert client.get("/health/live").json == {"status": "alive"}
    ready = client.get("/health/ready").json
    assert ready is not None
    assert ready["status"] == "ready"
    assert ready["parts"] > 50
