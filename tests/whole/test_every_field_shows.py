"""Every field of the building document shows: another value makes another design, other paper, or a complaint."""

from __future__ import annotations

import copy
import importlib.util
import json
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from service.documents.book import building_tables, imprint_of
from service.documents.network import network_document
from service.documents.riser_drawing import riser_drawings
from service.documents.table_text import table_json
from service.engine.design import design
from service.engine.errors import NoNetworkError
from service.forms.building import BuildingReading, read_building
from service.forms.known import Known
from service.library import library
from service.library.profiles import load_limits, load_plans, load_services

ROOT = Path(__file__).parents[2]
KNOWN = Known(
    catalogue=library().catalogue, limits=load_limits(), plans=load_plans(), services=load_services()
)


def table_of_fields() -> ModuleType:
    """The table of fields and other values that the tests of the forms hold."""
    path = ROOT / "tests" / "service" / "forms" / "test_building_fields.py"
    spec = importlib.util.spec_from_file_location("building_fields", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


FIELDS = table_of_fields()
#: Rules that bind none of these buildings. The tests of placement hold them where they bind, in the files
#: `test_policy_switches.py`, `test_policy_findings.py`, `test_line_power.py` and `test_panel_rules.py`; a riser's box
#: shows here what a closet's does.
SHOWN_ELSEWHERE = {
    ("PolicyForm", name)
    for name in (
        "amplifiers_on_house_power",
        "line_power",
        "one_pattern",
        "most_amplifiers_in_series",
        "most_tap_values",
        "falling_values",
        "spare_share",
        "fault_domain",
        "most_throughs_in_leg",
        "most_flats_behind_amplifier",
        "isolation",
        "own_floor",
        "own_floor_reach",
        "accessible_places",
        "no_flat_through_flat",
        "no_trimming_at_outlets",
    )
} | {(form, "most_devices") for form in ("ClosetForm", "PanelForm", "PlaceForm")}
#: Forms of places with a box.
BOXES = ("ClosetForm", "HeadendForm", "PanelForm", "RiserForm", "PlaceForm")
#: Every part that splits, those for satellite left out.
SPLITTING = sorted(
    part.id
    for part in library().catalogue.parts
    if part.id.startswith(("split-", "tap-")) and "sat" not in part.id
)
#: Other objects than the forms' table names, where the field matters more.
STANDS: dict[tuple[str, str], tuple[str, tuple[str | int, ...]]] = {
    ("HeadendForm", "most_devices"): ("walkup_6_no_closets", ("headend",)),
    ("HeadendForm", "most_ports"): ("walkup_6_no_closets", ("headend",)),
    ("HeadendForm", "never"): ("walkup_6_no_closets", ("headend",)),
    ("FloorForm", "order"): ("slab_14", ("floors", 2)),
    ("WishesForm", "aim"): ("europe_two_stairs", ("wishes",)),
}
#: What must hold in the object for the field to matter.
BESIDE: dict[tuple[str, str], dict[str, object]] = {
    ("ExistingForm", "cable"): {"fate": "keep"},
    ("ExistingForm", "age_years"): {"fate": "keep"},
    ("ExistingForm", "loss_db"): {"fate": "keep", "loss_mhz": 600.0, "loss_db": 2.0},
    ("ExistingForm", "loss_mhz"): {"fate": "keep", "loss_mhz": 500.0, "loss_db": 3.0},
    ("HeadendForm", "most_devices"): {"never": ["split-16"]},
    ("BuildingDocument", "year_built"): {"new_build": False},
    ("WishesForm", "aim"): {"effort": "normal"},
}
#: Values that bind where the ones of the forms' table happen not to.
BINDING: dict[tuple[str, str], object] = {
    ("BuildingDocument", "keep"): {"devices": [{"id": "T1", "part": "tap-8-20", "place": "C1"}]},
    **{(form, name): 1 for form in BOXES for name in ("most_devices", "most_ports")},
    **{(form, "never"): SPLITTING for form in BOXES},
    ("FloorForm", "order"): -1,
    ("WishesForm", "effort"): "thorough",
    ("WishesForm", "outlet_part"): "outlet-three-end",
    ("WishesForm", "aim"): "balanced",
    ("WishesForm", "spread_db"): 3.0,
}


def fixture(name: str) -> dict[str, Any]:
    """A demo building, its storeys few where the demo is tall: the rows are what counts."""
    document: dict[str, Any] = json.loads(
        (ROOT / "fixtures" / "buildings" / f"{name}.json").read_text(encoding="utf-8")
    )
    if name == "slab_14":
        document["floors"][1] = {"labels": "2-3", "floor_type": "typical"}
        for riser in document["risers"]:
            riser |= {"floors": "1-3", "enters": "3", "mains_floors": ["2"]}
        document.pop("expected_units", None)
        document.pop("expected_outlets", None)
    document.setdefault("wishes", {})["effort"] = "quick"
    return document


def read(document: object) -> BuildingReading:
    return read_building(document, KNOWN, library().tariffs)


def shown(reading: BuildingReading) -> str:
    """Network and book of a reading, as text."""
    building = reading.building
    assert building is not None
    tariff, limits = library().tariffs[building.tariff], KNOWN.limits[building.rules.limits]
    answer = design(building, KNOWN.catalogue, tariff, limits, KNOWN.services, keep=reading.keep)
    book = building_tables(answer, KNOWN.catalogue, tariff, limits, design_id="d")
    network = network_document(answer.chosen.network, limits=limits.id, margins=building.policy.margins)
    imprint = imprint_of(answer, design_id="d")
    symbols = {name: family.symbol for name, family in library().families.items()}
    sheets = riser_drawings(answer, KNOWN.catalogue, symbols, imprint, folded=False)
    labels = [other.label for other in answer.alternatives]
    papers = [table_json(table) for table in book]
    return json.dumps([network, papers, str(imprint), str(sheets), labels], default=str, sort_keys=True)


BEFORE: dict[str, str] = {}


@pytest.mark.parametrize(("form", "name"), [row for row in FIELDS.EVERY if row not in SHOWN_ELSEWHERE])
def test_another_value_shows_in_design_or_paper(form: str, name: str) -> None:
    place, path = STANDS.get((form, name), FIELDS.STANDS[form])
    posted = fixture(place) | copy.deepcopy(FIELDS.BASE_CHANGES.get(name, {}))
    here: Any = posted
    for step in path:
        here = here.setdefault(step, {}) if isinstance(step, str) else here[step]
    here |= BESIDE.get((form, name), {})
    key = json.dumps(posted, sort_keys=True)
    if key not in BEFORE:
        BEFORE[key] = shown(read(posted))
    flag = form == "PolicyForm" and name not in FIELDS.VALUES
    usual = FIELDS.VALUES.get(f"{form}.{name}", FIELDS.VALUES.get(name))
    here[name] = False if flag else BINDING.get((form, name), usual)
    after = read(posted)
    if after.building is None:
        return
    try:
        assert shown(after) != BEFORE[key]
    except NoNetworkError:
        return
