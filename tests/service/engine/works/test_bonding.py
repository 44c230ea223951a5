"""Bonding: what is bonded to what in the United States, in Europe, in several blocks, and under lightning systems."""

from __future__ import annotations

import re
from dataclasses import fields, replace

import pytest

from service.engine.works.bonding import ASK, bonds_of, entrances, length_finding, shield_conductor_awg

#: What would read as if somebody had allowed something.
PERMISSION = re.compile(
    r"\b(complies|compliant|approved|permitted|allowed|is safe|may be (used|omitted)|no need|not required|"
    r"acceptable|you may|pass(es)?)\b",
    re.IGNORECASE,
)


def with_codes(house, codes, **changes):
    rules = replace(house.building.rules, codes=codes)
    return replace(house.building, rules=rules, **changes)


def in_blocks(building, *names):
    places = tuple(replace(place, block=names[at % len(names)]) for at, place in enumerate(building.places))
    return replace(building, places=places)


def texts_of(rows):
    texts = [getattr(row, field.name) for row in rows for field in fields(row)]
    return [text for text in texts if isinstance(text, str)]


@pytest.mark.parametrize("codes", ["us-2023", "us-2014", "us", "eu", "eu-spain"])
def test_every_bond_asks_the_authority_and_none_reads_as_a_permission(house, codes):
    rows = bonds_of(in_blocks(with_codes(house, codes, lightning_system=True), "A", "B"))
    assert rows
    assert all(ASK in row.article for row in rows)
    assert not [text for text in texts_of(rows) if PERMISSION.search(text)]


def test_mast_and_discharge_unit_are_bonded_where_antennas_stand(house):
    off_air = bonds_of(house.building)
    feed = replace(house.building.feed, kind="provider")
    provider = bonds_of(replace(house.building, feed=feed))
    assert {"mast", "antenna discharge unit"} <= {row.what for row in off_air}
    assert not {"mast", "antenna discharge unit"} & {row.what for row in provider}
    mast = next(row for row in off_air if row.what == "mast")
    assert "10 AWG copper" in mast.conductor
    assert "17 AWG copper-clad steel" in mast.conductor
    assert mast.to == "intersystem bonding termination"


def test_every_closets_ground_bar_is_on_the_schedule_and_permits_nothing(house):
    closets = [place.id for place in house.building.places if place.kind == "closet"]
    row = next(row for row in bonds_of(house.building) if row.what.startswith("ground bar"))
    assert f"{len(closets)} closets" in row.where
    assert all(name in row.where for name in closets)
    assert row.to == "intersystem bonding termination of the building"
    assert "as a licensed person decides" in row.conductor
    assert "verify with the authority" in row.article
    bare = replace(house.building, places=tuple(p for p in house.building.places if p.kind != "closet"))
    assert not [row for row in bonds_of(bare) if row.what.startswith("ground bar")]


def test_a_separate_electrode_must_be_joined_by_six_gauge(house):
    row = next(row for row in bonds_of(house.building) if "separate electrode" in row.what)
    assert "must be joined" in row.note
    assert "6 AWG" in row.conductor


def test_every_block_has_a_bonded_entrance(house):
    rows = bonds_of(in_blocks(house.building, "A", "B", "C"))
    where = [row.where for row in rows if row.what.startswith("shield of every coax")]
    assert where == ["entrance of A", "entrance of B", "entrance of C"]
    assert any("fibre" in row.note for row in rows)


def test_houses_of_a_row_are_entered_one_by_one_and_their_pedestals_are_no_buildings(house):
    # The riser to C2 lies in the ground: C2 leads on indoors. Then C1 hangs on buried ways alone.
    ways = {way.id: way for way in house.building.ways}
    ways["R2"] = replace(ways["R2"], spaces=("buried",))
    row = replace(house.building, ways=tuple(ways.values()))
    assert entrances(row) == ("C2", "HE")
    ways["R1"] = replace(ways["R1"], spaces=("buried",))
    ways["K1"] = replace(ways["K1"], spaces=("outdoor", "general"))
    row = replace(house.building, ways=tuple(ways.values()))
    assert entrances(row) == ("C2", "HE", "J1")
    assert entrances(house.building) == (house.building.name,)


def test_the_edition_decides_which_article_is_printed(house):
    def shields(codes):
        rows = bonds_of(with_codes(house, codes))
        return next(row.article for row in rows if row.what.startswith("shield of every coax"))

    assert shields("us-2023").startswith("NEC 2023, 800.100")
    assert shields("us-2017").startswith("NEC 2017, 820.100")
    assert shields("us").startswith("NEC, edition not stated, 800.100")


def test_europe_bonds_by_sections_and_spain_by_a_greater_one(house):
    def masts(codes):
        return next(row.conductor for row in bonds_of(with_codes(house, codes)) if row.what == "mast")

    assert "16 mm² copper" in masts("eu")
    assert "25 mm² aluminium" in masts("eu")
    assert "50 mm² steel" in masts("eu")
    assert masts("eu-spain") == "at least 25 mm² copper"
    screens = next(row for row in bonds_of(with_codes(house, "eu")) if row.what.startswith("screens"))
    assert "4 mm² copper" in screens.conductor


def test_a_lightning_system_calls_the_specialist(house):
    rows = bonds_of(replace(house.building, lightning_system=True))
    assert "specialist" in rows[-1].to


@pytest.mark.parametrize(("sheath", "gauge"), [(22, 14), (14, 14), (8, 8), (2, 6)])
def test_a_shields_conductor_carries_what_the_shield_carries_within_its_ends(sheath, gauge):
    assert shield_conductor_awg(sheath) == gauge


def test_only_a_conductor_longer_than_twenty_feet_is_a_finding():
    assert length_finding("entrance", 20 * 0.3048) is None
    found = length_finding("entrance", 7.0)
    assert found is not None
    assert (found.severity, found.measured, found.unit) == ("warns", 7.0, "m")
