"""What holds for every building document, right or wrong."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from service.forms.building import read_building
from service.forms.codes import FAULT_CODES
from service.forms.known import Known
from service.forms.portfolio import read_buildings
from service.forms.reading import has, value_at
from service.library.contents import library
from service.library.profiles import load_limits, load_plans, load_services

BUILDINGS = Path(__file__).parents[2] / "fixtures" / "buildings"
KNOWN = Known(
    catalogue=library().catalogue, limits=load_limits(), plans=load_plans(), services=load_services()
)
NAMES = (
    "v1_example",
    "walkup_8",
    "slab_1968",
    "graph_two_risers",
    "europe_two_stairs",
    "walkup_6_no_closets",
)
DOCUMENTS = [json.loads((BUILDINGS / f"{name}.json").read_text(encoding="utf-8")) for name in NAMES]
Path_ = tuple[str | int, ...]

SCALARS = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-400, 400),
    st.floats(allow_nan=True),
    st.sampled_from(
        [
            "",
            "HE",
            "C1",
            "1A",
            "A",
            "3-12",
            "12-3",
            "PH",
            "45'",
            "exit-stair",
            "keep",
            "2026-01-02",
            "ü",
            "\x00",
        ]
    ),
    st.text(max_size=5),
)
VALUES = st.one_of(
    SCALARS, st.lists(SCALARS, max_size=3), st.dictionaries(st.sampled_from(["id", "floor"]), SCALARS)
)


def paths(value: Any, above: Path_ = ()) -> Iterator[Path_]:
    """Every path of a document but the empty one."""
    steps = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for step, inner in steps:
        yield (*above, step)
        yield from paths(inner, (*above, step))


@st.composite
def wrong_documents(draw: st.DrawFn) -> Any:
    """A right document in which one to three values are replaced, taken out or doubled."""
    document = copy.deepcopy(draw(st.sampled_from(DOCUMENTS)))
    for _ in range(draw(st.integers(1, 3))):
        path = draw(st.sampled_from(sorted(paths(document), key=str)))
        holder = value_at(document, path[:-1])
        assert isinstance(holder, (dict, list))
        change = draw(st.sampled_from(["replace", "remove", "double"]))
        if change == "replace":
            holder[path[-1]] = draw(VALUES)
        elif change == "remove":
            del holder[path[-1]]
        elif isinstance(holder, list):
            holder.append(copy.deepcopy(holder[path[-1]]))
        if not document:
            break
    return document


@settings(deadline=None, max_examples=150)
@given(wrong_documents())
def test_no_document_makes_the_reader_raise_and_every_complaint_has_its_place(document: Any) -> None:
    reading = read_building(document, KNOWN, library().tariffs)
    assert (reading.building is None) == bool(reading.faults)
    for fault in reading.faults:
        assert fault.code in FAULT_CODES
        assert fault.wrong
        assert fault.right
        assert has(document, fault.path[:1]) or len(fault.path) <= 1
        holder = value_at(document, fault.path[:-1])
        assert isinstance(holder, (dict, list)) or not fault.path[:-1]


@settings(deadline=None, max_examples=30)
@given(wrong_documents(), wrong_documents())
def test_a_bad_building_never_stops_the_others(first: Any, second: Any) -> None:
    good = DOCUMENTS[0] | {"id": "good-one"}
    readings = read_buildings([first, good, second], KNOWN, library().tariffs)
    assert len(readings) == 3
    assert readings[1].faults == ()


@settings(deadline=None, max_examples=40)
@given(st.sampled_from(DOCUMENTS), st.randoms(use_true_random=False))
def test_the_order_of_rows_changes_nothing(document: Any, order: Any) -> None:
    turned = copy.deepcopy(document)
    for name in (
        "closets",
        "panels",
        "outlets",
        "units",
        "places",
        "ways",
        "unit_types",
        "floor_types",
        "risers",
    ):
        if name in turned:
            order.shuffle(turned[name])
    order.shuffle(turned["feed"]["carriers"])
    before = read_building(document, KNOWN, library().tariffs)
    assert read_building(turned, KNOWN, library().tariffs) == before


@settings(deadline=None, max_examples=40)
@given(st.sampled_from(DOCUMENTS), st.floats(0.1, 20.0))
def test_a_longer_drop_makes_a_longer_way_and_nothing_else(document: Any, more_m: float) -> None:
    posted = copy.deepcopy(document)
    rows = posted.get("outlets") or posted["unit_types"][0]["outlets"]
    field = "drop_m" if "drop_m" in rows[0] else "drop_ft"
    rows[0][field] += more_m
    before = read_building(document, KNOWN, library().tariffs).building
    after = read_building(posted, KNOWN, library().tariffs).building
    assert before is not None
    assert after is not None
    longer = [a.length_m - b.length_m for a, b in zip(after.ways, before.ways, strict=True)]
    assert max(longer) > 0.0
    assert min(longer) == 0.0
    assert (after.places, after.outlets, after.assumptions) == (
        before.places,
        before.outlets,
        before.assumptions,
    )
