"""Every field of the building document has a place in the workbook."""

from __future__ import annotations

import marshmallow
import pytest

from batch.columns import Sheet
from batch.estimates import KIT_ITEMS, PUT_UPS, RATES
from batch.sheets import BUILDINGS, FLOOR_TYPES, FLOORS, OUTLETS, PLACES, SHEETS, UNIT_TYPES, UNITS, WAYS
from batch.sites import ANTENNAS, BONDS
from batch.terms import FEEDS, WISHES
from service.forms import building_schema as forms
from service.forms.estimate import KitForm, PutUpForm
from service.forms.network_schema import NetworkCarrier
from service.forms.site_schema import AntennaForm, BondForm

#: What a workbook doesn't hold: the kind of document, and a network to start from.
NOT_IN_SHEETS = {("document",), ("version",), ("keep",)}

SECTIONS: list[tuple[type[marshmallow.Schema], tuple[Sheet, ...]]] = [
    (forms.BuildingDocument, (BUILDINGS, WISHES, RATES)),
    (forms.FloorForm, (FLOORS,)),
    (forms.TypeOutletForm, (UNIT_TYPES,)),
    (forms.TypeUnitForm, (FLOOR_TYPES,)),
    (forms.RiserForm, (PLACES,)),
    (forms.ClosetForm, (PLACES,)),
    (forms.PanelForm, (PLACES,)),
    (forms.PlaceForm, (PLACES,)),
    (forms.UnitForm, (UNITS,)),
    (forms.OutletForm, (OUTLETS,)),
    (forms.WayForm, (WAYS,)),
    (forms.BuildingFeed, (FEEDS,)),
    (NetworkCarrier, (FEEDS,)),
    (AntennaForm, (ANTENNAS,)),
    (BondForm, (BONDS,)),
    (KitForm, (KIT_ITEMS,)),
    (PutUpForm, (PUT_UPS,)),
]


def leaves(schema: marshmallow.Schema, path: tuple[str, ...] = ()) -> set[tuple[str, ...]]:
    """Every field that holds a value, by its keys; lists of objects have sheets of their own."""
    found = set()
    for name, field in schema.fields.items():
        keys = (*path, field.data_key or name)
        if isinstance(field, marshmallow.fields.Nested):
            if not field.many:
                found |= leaves(field.schema, keys)
        else:
            found.add(keys)
    return found


@pytest.mark.parametrize(("form", "sheets"), SECTIONS, ids=lambda value: getattr(value, "__name__", ""))
def test_every_field_of_the_document_has_a_column(
    form: type[marshmallow.Schema], sheets: tuple[Sheet, ...]
) -> None:
    have = {
        column.key_of(header)
        for sheet in sheets
        for column in sheet.columns
        for header in (column.name, *(name for name, _ in column.others))
    }
    wanted = {keys for keys in leaves(form()) if keys[:1] not in NOT_IN_SHEETS and keys[0] != "feed"}
    assert wanted - have == set()


def test_no_sheet_has_a_header_twice() -> None:
    for sheet in SHEETS:
        headers = [name for column in sheet.columns for name in (column.name, *dict(column.others))]
        assert len(headers) == len(set(headers)), sheet.title


def test_every_column_says_what_it_holds() -> None:
    for sheet in SHEETS:
        for column in sheet.columns:
            assert len(column.note) > 5, (sheet.title, column.name)
