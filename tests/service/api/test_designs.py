"""Designs over HTTP: posted, read, listed, deleted."""

from __future__ import annotations

import copy
import csv
import io
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from service.app import create_app
from service.settings import Settings

BUILDING: dict[str, Any] = {
    "document": "evendrop/building",
    "version": 1,
    "id": "house",
    "name": "House (invented)",
    "prices": "demo-usd",
    "headend": {"id": "HE", "floor": "2", "mains": True},
    "closets": [{"id": "C1", "floor": "1", "from": "HE", "run_m": 5.0}],
    "outlets": [
        {"id": "1A-1", "unit": "1A", "at": "C1", "drop_m": 9.0},
        {"id": "1B-1", "unit": "1B", "at": "C1", "drop_m": 12.0},
    ],
    "feed": {"carriers": [{"channel": "14", "level_dbmv": 12.0}, {"channel": "36", "level_dbmv": 11.0}]},
}


def flats(count: int, closet: str, floor: str) -> list[dict[str, Any]]:
    """Flats of one outlet each, run home to a closet."""
    return [
        {"id": f"{floor}-{n}", "unit": f"{floor}-{n}", "at": closet, "drop_m": 10.0 + n % 7}
        for n in range(count)
    ]


@pytest.fixture(scope="module")
def designer(tmp_path_factory: pytest.TempPathFactory) -> Iterator[FlaskClient]:
    folder: Path = tmp_path_factory.mktemp("designs")
    app = create_app(Settings(database_url=f"sqlite:///{folder / 'designs.db'}"))
    yield app.test_client()
    app.extensions["evendrop-designs"].store.close()


@pytest.fixture(scope="module")
def design(designer: FlaskClient) -> dict[str, Any]:
    answer = designer.post("/v1/designs", json=BUILDING)
    assert answer.status_code == 201, answer.get_data(as_text=True)
    assert answer.headers["Location"] == f"/v1/designs/{answer.json['id']}"
    made: dict[str, Any] = answer.json
    return made


def test_a_design_serves_every_outlet_and_says_what_it_costs(design: dict[str, Any]) -> None:
    assert (design["document"], design["version"]) == ("evendrop/design", 1)
    assert (design["building_id"], design["status"]) == ("house", "served")
    assert design["figures"]["outlets"] == 2
    assert design["figures"]["cost_cents"] > 0
    assert design["certificate"]["statement"]
    assert design["building"] == BUILDING


def test_every_default_that_was_used_is_an_assumption(design: dict[str, Any]) -> None:
    assert {"rules.limits", "floor_height_m"} <= {row["field"] for row in design["assumptions"]}


def test_a_kept_design_reads_back_as_it_was_made(designer: FlaskClient, design: dict[str, Any]) -> None:
    assert designer.get(f"/v1/designs/{design['id']}").json == design


def test_the_same_building_gives_the_same_design_and_a_changed_one_another(
    designer: FlaskClient, design: dict[str, Any]
) -> None:
    again = designer.post("/v1/designs", json=BUILDING)
    assert again.json == design
    changed = copy.deepcopy(BUILDING)
    changed["outlets"][0]["drop_m"] = 10.0
    other = designer.post("/v1/designs", json=changed)
    assert other.json["id"] != design["id"]
    listed = [row["id"] for row in designer.get("/v1/designs").json["designs"]]
    assert listed == [other.json["id"], design["id"]]
    rest = designer.get(f"/v1/designs?after={other.json['id']}").json
    assert [row["id"] for row in rest["designs"]] == [design["id"]]
    assert rest["after"] is None


def test_the_network_of_a_design_analyses_to_the_same_levels(
    designer: FlaskClient, design: dict[str, Any]
) -> None:
    analysis = designer.post("/v1/analyses", json=design["network"]).json
    worst = min(row["margin_low_db"] for row in analysis["outlets"])
    high = min(row["margin_high_db"] for row in analysis["outlets"])
    assert min(worst, high) == pytest.approx(design["figures"]["worst_margin_db"], abs=0.005)


def test_a_deleted_design_is_gone(designer: FlaskClient) -> None:
    posted = designer.post("/v1/designs", json=BUILDING | {"id": "short-lived"}).json
    address = f"/v1/designs/{posted['id']}"
    assert designer.delete(address).status_code == 204
    assert designer.get(address).status_code == 404
    assert designer.delete(address).status_code == 404


def test_every_fault_of_a_building_comes_with_its_pointer(designer: FlaskClient) -> None:
    wrong = copy.deepcopy(BUILDING)
    wrong["outlets"][1]["at"] = "C9"
    wrong["feed"]["carriers"][0]["level_dbmv"] = 105
    answer = designer.post("/v1/designs", json=wrong)
    assert answer.status_code == 422
    assert answer.content_type == "application/problem+json"
    found = {fault["pointer"]: fault["code"] for fault in answer.json["faults"]}
    assert found["/feed/carriers/0/level_dbmv"] == "looks-like-other-unit"
    assert found["/outlets/1/at"] == "unknown-place"


@pytest.mark.parametrize(
    ("data", "kind", "status"),
    [
        ("{}", "text/plain", 415),
        ("{", "application/json", 400),
        ("[]", "application/json", 422),
        ('{"document": "evendrop/network", "version": 1}', "application/json", 422),
    ],
)
def test_a_body_that_is_no_building_is_refused(
    designer: FlaskClient, data: str, kind: str, status: int
) -> None:
    assert designer.post("/v1/designs", data=data, content_type=kind).status_code == status


def test_an_unknown_design_is_not_found(designer: FlaskClient) -> None:
    for address in ("/v1/designs/nothing", "/v1/designs?after=nothing"):
        answer = designer.get(address)
        assert answer.status_code == 404
        assert answer.content_type == "application/problem+json"


@pytest.mark.parametrize(
    "table", ["levels", "runs", "pulls", "bill", "estimate", "bonding", "safety", "test"]
)
def test_a_table_of_a_design_reads_as_json_and_as_csv(
    designer: FlaskClient, design: dict[str, Any], table: str
) -> None:
    address = design["tables"][table]
    found = designer.get(address).json
    by_link = designer.get(f"{address}.csv")
    by_accept = designer.get(address, headers={"Accept": "text/csv"})
    assert by_link.content_type == by_accept.content_type == "text/csv; charset=utf-8"
    assert by_link.data == by_accept.data
    rows = list(csv.reader(io.StringIO(by_link.get_data(as_text=True))))
    assert len(rows) == 1 + len(found["rows"]) > 1
    assert len(rows[0]) == len(found["columns"])
    assert designer.get(f"/v1/designs/nothing/{table}").status_code == 404
    assert designer.get(f"/v1/designs/{design['id']}/roof").status_code == 404


def test_the_bill_that_is_read_again_adds_up_to_the_cost(
    designer: FlaskClient, design: dict[str, Any]
) -> None:
    bill = designer.get(design["tables"]["bill"]).json
    column = [found["name"] for found in bill["columns"]].index("total")
    direct = next(at for at, row in enumerate(bill["rows"]) if row[0] == "Direct cost")
    total = sum(Decimal(row[column]) for row in bill["rows"][:direct])
    assert total == Decimal(bill["rows"][direct][column])
    assert total * 100 == design["figures"]["cost_cents"]


def test_a_closet_that_may_hold_too_little_is_a_complaint_and_no_failure(designer: FlaskClient) -> None:
    tight = BUILDING | {
        "closets": [BUILDING["closets"][0] | {"most_ports": 1}],
        "outlets": flats(6, "C1", "1"),
    }
    answer = designer.post("/v1/designs", json=tight)
    assert answer.status_code == 422
    (fault,) = answer.get_json()["faults"]
    assert (fault["code"], fault["pointer"]) == ("no-network", "/closets")


@pytest.mark.parametrize("counts", [(64,), (300,), (30, 30)])
def test_a_closet_may_feed_any_number_of_flats(designer: FlaskClient, counts: tuple[int, ...]) -> None:
    crowded = BUILDING | {
        "headend": {"id": "HE", "floor": str(len(counts) + 1), "mains": True},
        "closets": [
            {"id": f"C{n}", "floor": str(n), "from": f"C{n + 1}" if n < len(counts) else "HE", "run_m": 5.0}
            for n in range(1, len(counts) + 1)
        ],
        "outlets": [row for n, count in enumerate(counts, 1) for row in flats(count, f"C{n}", str(n))],
    }
    answer = designer.post("/v1/designs", json=crowded)
    assert answer.status_code == 201, answer.text
    design = answer.get_json()
    assert design["status"] == "served"
    assert len(design["network"]["served"]) == sum(counts)
    judged = designer.post("/v1/analyses", json=design["network"]).get_json()
    assert judged["serves_all"]
    assert len(judged["outlets"]) == sum(counts)


@pytest.mark.parametrize("risers", [10, 20])
def test_a_head_end_may_feed_any_number_of_risers(designer: FlaskClient, risers: int) -> None:
    wide = BUILDING | {
        "closets": [
            {"id": f"C{n}", "floor": "1", "from": "HE", "run_m": 5.0 + n} for n in range(1, risers + 1)
        ],
        "outlets": [row for n in range(1, risers + 1) for row in flats(3, f"C{n}", f"r{n}")],
    }
    answer = designer.post("/v1/designs", json=wide)
    assert answer.status_code == 201, answer.text
    design = answer.get_json()
    assert design["status"] == "served"
    judged = designer.post("/v1/analyses", json=design["network"]).get_json()
    assert judged["serves_all"]
    assert len(judged["outlets"]) == 3 * risers


def test_a_design_tells_its_routes_again_when_it_is_read(
    designer: FlaskClient, design: dict[str, Any]
) -> None:
    routes = design["tried_routes"]
    assert [(row["fits"], row["chosen"]) for row in routes] == [(True, True)]
    assert routes[0]["length_m"] > 5.0 + 9.0 + 12.0 - 0.01
    assert designer.get(f"/v1/designs/{design['id']}").json["tried_routes"] == routes


def test_a_design_tells_its_curve_again_when_it_is_read(
    designer: FlaskClient, design: dict[str, Any]
) -> None:
    (chosen,) = [point for point in design["curve"] if point["chosen"]]
    assert chosen["cost_cents"] == design["figures"]["cost_cents"]
    assert chosen["spread_db"] == design["figures"]["spread_db"]
    assert [point["knee"] for point in design["curve"]].count(True) == 1
    assert designer.get(f"/v1/designs/{design['id']}").json["curve"] == design["curve"]


def test_what_changed_since_a_kept_design_reads_as_json_and_csv_and_in_the_papers(
    designer: FlaskClient, design: dict[str, Any]
) -> None:
    changed = copy.deepcopy(BUILDING)
    changed["outlets"][0]["drop_m"] = 12.0
    later = designer.post("/v1/designs", json=changed).json
    address = f"/v1/designs/{later['id']}/changes?since={design['id']}"
    found = designer.get(address).json
    longer = [row for row in found["rows"] if row[0] == "pull" and "length" in row[3]]
    assert longer
    at = [column["name"] for column in found["columns"]].index("adds")
    adds = [row[at] for row in found["rows"] if row[at] is not None]
    assert sum(map(Decimal, adds[:-1])) == Decimal(adds[-1])
    difference = later["figures"]["cost_cents"] - design["figures"]["cost_cents"]
    assert Decimal(adds[-1]) * 100 == difference
    by_link = designer.get(address.replace("changes?", "changes.csv?"))
    by_accept = designer.get(address, headers={"Accept": "text/csv"})
    assert by_link.data == by_accept.data
    assert len(list(csv.reader(io.StringIO(by_link.get_data(as_text=True))))) == 1 + len(found["rows"])
    page = designer.get(f"/v1/designs/{later['id']}/report.html?since={design['id']}").get_data(as_text=True)
    assert 'id="table-changes"' in page
    assert 'id="table-changes"' not in designer.get(f"/v1/designs/{later['id']}/report.html").get_data(
        as_text=True
    )


@pytest.mark.parametrize(
    "tail", ["changes", "changes?since=nothing", "changes.csv", "report.html?since=nothing"]
)
def test_changes_since_no_design_are_not_found(
    designer: FlaskClient, design: dict[str, Any], tail: str
) -> None:
    assert designer.get(f"/v1/designs/{design['id']}/{tail}").status_code == 404
    assert designer.get(f"/v1/designs/nothing/changes?since={design['id']}").status_code == 404


def test_a_table_that_a_design_lacks_is_not_found_and_the_others_are(
    designer: FlaskClient, design: dict[str, Any]
) -> None:
    for name, status in (("phases", 404), ("old-cable", 404), ("mast", 200), ("rates", 200), ("parts", 200)):
        assert designer.get(f"/v1/designs/{design['id']}/{name}").status_code == status


def test_a_design_tells_its_choices_again_when_it_is_read(
    designer: FlaskClient, design: dict[str, Any]
) -> None:
    first, *others = design["choices"]
    assert (first["chosen"], first["recommended"]) == (True, True)
    assert not any(choice["chosen"] for choice in others)
    assert first["cost_cents"] == design["figures"]["cost_cents"]
    assert designer.get(f"/v1/designs/{design['id']}").json["choices"] == design["choices"]
