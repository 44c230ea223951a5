"""Every field of the building document is read: another value makes another building or a complaint."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from marshmallow import Schema, fields

from service.forms.building import BuildingReading
from service.forms.building_schema import BuildingDocument, KeepForm
from service.forms.dictionary import dictionary
from service.forms.estimate import RateFields

Document = Callable[[str], Any]
Read = Callable[[object], BuildingReading]
Where = tuple[str | int, ...]

#: For every form of the document: a fixture, and where an object of the form stands in it.
STANDS: dict[str, tuple[str, Where]] = {
    "BuildingDocument": ("walkup_8", ()),
    "BuildingRules": ("walkup_8", ("rules",)),
    "HeadendForm": ("walkup_8", ("headend",)),
    "FloorForm": ("slab_14", ("floors", 0)),
    "RiserForm": ("slab_14", ("risers", 0)),
    "BetweenForm": ("slab_14", ("risers", 0, "between")),
    "FloorTypeForm": ("slab_14", ("floor_types", 1)),
    "TypeUnitForm": ("slab_14", ("floor_types", 1, "units", 0)),
    "UnitTypeForm": ("slab_14", ("unit_types", 0)),
    "TypeOutletForm": ("slab_14", ("unit_types", 0, "outlets", 0)),
    "UnitForm": ("walkup_6_no_closets", ("units", 0)),
    "ClosetForm": ("townhouse_row", ("closets", 1)),
    "PanelForm": ("townhouse_row", ("panels", 0)),
    "OutletForm": ("townhouse_row", ("outlets", 0)),
    "PlaceForm": ("graph_two_risers", ("places", 3)),
    "WayForm": ("graph_two_risers", ("ways", 0)),
    "ExistingForm": ("slab_1968", ("risers", 0, "between", "existing")),
    "BuildingFeed": ("walkup_8", ("feed",)),
    "NetworkCarrier": ("walkup_8", ("feed", "carriers", 0)),
    "WishesForm": ("walkup_8", ("wishes",)),
    "PolicyForm": ("walkup_8", ("policy",)),
    "EndsForm": ("walkup_8", ("ends",)),
    "PaperForm": ("walkup_8", ("paper",)),
    "MastForm": ("slab_1968", ("mast",)),
    "AntennaForm": ("slab_1968", ("mast", "antennas", 0)),
    "BondForm": ("slab_1968", ("bonds", 0)),
    "EstimateForm": ("slab_1968", ("estimate",)),
    "KitForm": ("slab_1968", ("estimate", "kits", 1)),
    "AlternateForm": ("slab_1968", ("estimate", "alternates", 1)),
    "PutUpForm": ("slab_1968", ("estimate", "put_ups", 1)),
    "OutlineForm": ("../outlines/block_10", ("outline",)),
}

#: Another value for every field, by its name; a form's own value stands under "form.field".
VALUES: dict[str, object] = {
    "id": "Other",
    "name": "Another name",
    "note": "Another note",
    "limits": "us-public-matv",
    "plan": "us-cable",
    "codes": "us-2020",
    "floor": "2",
    "block": "B9",
    "access": "outdoors",
    "mains": True,
    "HeadendForm.mains": False,
    "most_devices": 3,
    "most_ports": 5,
    "never": ["tap-4-17"],
    "label": "PODIUM",
    "labels": "1, 1A",
    "missing": ["1"],
    "order": -1,
    "elevation_m": -1.0,
    "elevation_ft": -3.0,
    "storey_m": 4.4,
    "storey_ft": 11.0,
    "blocks": ["B9"],
    "floor_type": "roof",
    "from": "B.4",
    "ClosetForm.from": "HE",
    "PanelForm.from": "P2",
    "WayForm.from": "B5",
    "WayForm.to": "B5",
    "floors": "2-12, 14, 15",
    "BuildingDocument.floors": [{"labels": "1-9"}],
    "enters": "14",
    "between": {"run_m": 9.0},
    "mains_floors": ["1"],
    "run_m": 33.0,
    "run_ft": 77.0,
    "drop_m": 15.0,
    "drop_ft": 44.0,
    "kind": "messenger",
    "PlaceForm.kind": "junction",
    "BuildingFeed.kind": "provider",
    "spaces": ["attic"],
    "survey": "outline",
    "firestops": 7,
    "existing": {"fate": "keep"},
    "feed": "home-run",
    "UnitForm.feed": "home-run",
    "BuildingDocument.feed": {"carriers": [{"channel": "14", "level_dbmv": 1.0}]},
    "outlets": [],
    "units": [],
    "unit_type": "studio",
    "UnitForm.unit_type": "flat-2",
    "at": "B",
    "UnitForm.at": "6B",
    "OutletForm.at": "P1",
    "user": "common",
    "stack": "S9",
    "room": "den",
    "occupied": False,
    "BuildingDocument.occupied": True,
    "unit": "H9",
    "to": "B5",
    "fate": "keep",
    "cable": "6-catvr",
    "loss_db": 3.0,
    "loss_mhz": 600.0,
    "age_years": 9.0,
    "outputs": 3,
    "output_isolation_db": 22.0,
    "max_level_dbmv": 40.0,
    "max_level_dbuv": 100.0,
    "carriers": [{"channel": "14", "level_dbmv": 1.0}],
    "channel": "13",
    "frequency_mhz": 300.0,
    "low_mhz": 20.0,
    "high_mhz": 900.0,
    "service": "isdb-t",
    "level_dbmv": 3.3,
    "level_dbuv": 66.0,
    "level_dbm": -40.0,
    "cn_db": 44.0,
    "aim": "cheapest",
    "effort": "quick",
    "spread_db": 6.0,
    "unit_spread_db": 0.5,
    "riser_cable": "11-catvr",
    "drop_cable": "6-catvp",
    "outlet_part": "outlet-end",
    "own_floor_reach": 2,
    "line_power": True,
    "most_amplifiers_in_series": 1,
    "most_tap_values": 3,
    "most_drop_jackets": 1,
    "spare_share": 0.2,
    "unit_reserve_db": 0.0,
    "most_throughs_in_leg": 5,
    "most_flats_behind_amplifier": 50,
    "revision": "B",
    "status": "for construction",
    "date": "2025-04-01",
    "rules": {},
    "headend": {"id": "HE", "floor": 1},
    "OutlineForm.floors": 11,
    "units_per_floor": 9,
    "outlets_per_unit": 3.0,
    "plate_length_m": 40.0,
    "plate_length_ft": 155.0,
    "plate_width_m": 17.0,
    "plate_width_ft": 65.0,
    "OutlineForm.risers": 2,
    "outline": {"floors": 1, "units_per_floor": 1, "outlets_per_unit": 1.0, "plate_length_ft": 40.0},
    "floor_height_m": 3.3,
    "floor_height_ft": 8.8,
    "risers": [{"id": "Z", "from": "HE", "run_ft": 50.0}],
    "floor_types": [{"id": "flats", "units": []}],
    "unit_types": [{"id": "one", "outlets": []}],
    "BuildingDocument.units": [],
    "closets": [],
    "panels": [],
    "places": [{"id": "X", "kind": "closet", "floor": 1}],
    "ways": [{"from": "HE", "to": "C1", "run_ft": 50.0}],
    "prices": "demo-eur",
    "wishes": {"aim": "balanced"},
    "policy": {},
    "ends": {"closet_ft": 5.0},
    "paper": {},
    "length_unit": "m",
    "route_factor": 1.3,
    "new_build": False,
    "year_built": 1950,
    "slab": "timber",
    "lightning_system": True,
    "expected_units": 9,
    "expected_outlets": 9,
    "keep": {"devices": [{"id": "T1", "part": "tap-8-17", "place": "C1"}]},
    "same_as": "demo-other",
    "mirrored": True,
    "raceway": "trunking-16x16",
    "bends_deg": 270.0,
    "pull_points": 2,
    "roof_transmitters": False,
    "mast": {"free_m": 3.0},
    "bonds": [{"what": "discharge-unit", "length_m": 7.0}],
    "estimate": {"support_every_ft": 6.0},
    "put_ups": [{"put_up_m": 90.0}],
    "put_up_m": 76.0,
    "put_up_ft": 250.0,
    "PutUpForm.cable": "11-catvr",
    "free_m": 3.1,
    "free_ft": 9.0,
    "clamped_m": 0.3,
    "clamped_ft": 5.0,
    "overhang_m": 0.9,
    "overhang_ft": 2.0,
    "above_ground_m": 12.0,
    "above_ground_ft": 40.0,
    "tube_mm": 42.0,
    "tube_in": 1.5,
    "exposed": True,
    "line_m": 3.0,
    "line_ft": 11.0,
    "antennas": [],
    "wind_n": 77.0,
    "wind_lbf": 9.0,
    "height_m": 0.4,
    "height_ft": 1.0,
    "what": "discharge-unit",
    "BondForm.at": "E.9",
    "length_m": 8.25,
    "length_ft": 12.0,
    "kits": [],
    "alternates": [],
    "kit": "panel",
    "item": "Another thing",
    "each": 2.0,
    "price": 7.25,
    "labour_h": 0.35,
    "material_price": 11.0,
    "subcontract_price": 12.0,
    "deducts": True,
    "lift": False,
    "tax_base": "everything",
    "notice_days": 21,
    "floors_without_factor": 5,
    "validity_days": 45,
    "visits_per_unit": 2.0,
    "occupied_factor": 1.7,
    "high_factor": 1.4,
    "support_every_m": 1.8,
    "support_every_ft": 5.0,
} | {f"{place}_{unit}": 2.2 for place in ("outlet", "panel", "closet", "headend") for unit in ("m", "ft")}

VALUES |= {
    name: {"price": 77.25, "h": 0.55, "share": 0.17, "m": 0.09}[name.rsplit("_", 1)[-1]]
    for name in RateFields().fields
    if name not in VALUES and name != "spare_share"
}
#: Complaints of shape alone: a field that earns one was not read for its meaning.
SHAPE = {"wrong-type", "unknown-field", "not-a-choice", "wrong-form", "out-of-range", "not-finite"}
#: The same route factor holds only where nobody walked; elsewhere the fixture must be drawn.
BASE_CHANGES: dict[str, dict[str, object]] = {"route_factor": {"survey": "drawings"}}


def forms(schema: Schema) -> Iterator[Schema]:
    yield schema
    for field in schema.fields.values():
        if isinstance(field, fields.Nested) and not isinstance(field.schema, KeepForm):
            yield from forms(field.schema)


#: What fixtures read as before the change: read once each.
BEFORE: dict[str, BuildingReading] = {}
FORMS = {type(form).__name__: form for form in forms(BuildingDocument())}
EVERY = [
    (name, field.data_key or key)
    for name, form in sorted(FORMS.items())
    for key, field in form.fields.items()
    if (field.data_key or key) not in ("document", "version")
]


def test_the_table_names_every_form_of_the_document() -> None:
    assert set(STANDS) == set(FORMS)


@pytest.mark.parametrize(("form", "name"), EVERY)
def test_another_value_makes_another_building_or_a_complaint(
    read: Read, document: Document, form: str, name: str
) -> None:
    fixture, path = STANDS[form]
    posted = document(fixture) | BASE_CHANGES.get(name, {})
    here = posted
    for step in path:
        here = here.setdefault(step, {}) if isinstance(step, str) else here[step]
    key = f"{fixture} {BASE_CHANGES.get(name)} {not here}"
    if key not in BEFORE:
        BEFORE[key] = read(posted)
    before = BEFORE[key]
    assert before.faults == ()
    flag = form == "PolicyForm" and name not in VALUES
    here[name] = False if flag else VALUES.get(f"{form}.{name}", VALUES.get(name))
    after = read(posted)
    assert after != before
    assert not {fault.code for fault in after.faults} & SHAPE


def test_every_field_has_its_entry_in_the_dictionary_with_text_and_unit() -> None:
    for form in FORMS.values():
        for field in form.fields.values():
            row = getattr(field, "entry", None)
            assert row is None or row.text
    metres = [name for name in dictionary() if name.endswith("_m")]
    assert all(dictionary()[name].unit == "m" for name in metres)
    assert all(dictionary()[name].unit == "ft" for name in dictionary() if name.endswith("_ft"))
