"""A network as a document posts back as the same network: nothing is rounded on the way."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from service.documents.network import network_document
from service.documents.plant import cable_document, part_document
from service.engine.plant.parts import Part
from service.forms.known import Known
from service.forms.network import NetworkForm, read_network
from service.library.contents import library
from service.library.profiles import load_limits, load_plans, load_services

FIXTURES = sorted(Path(__file__).parents[3].joinpath("fixtures", "networks").glob("*.json"))
CHAIN = next(path for path in FIXTURES if path.stem == "published-chain")
CATALOGUE = library().catalogue
KNOWN = Known(catalogue=CATALOGUE, limits=load_limits(), plans=load_plans(), services=load_services())


def _read(document: object) -> NetworkForm:
    form, faults = read_network(document, KNOWN)
    assert faults == ()
    assert form is not None
    return form


@pytest.mark.parametrize("path", FIXTURES, ids=lambda path: path.stem)
def test_every_demo_network_posts_back_as_itself(path: Path) -> None:
    form = _read(json.loads(path.read_text(encoding="utf-8")))
    document = network_document(
        form.network, limits=form.limits.id, parts=form.parts, cables=form.cables, source=form.source
    )
    again = _read(json.loads(json.dumps(document, allow_nan=False)))
    assert again.network == form.network
    assert again.parts == form.parts
    assert again.cables == form.cables
    assert again.limits == form.limits


def _bare(part: Part) -> Part:
    return replace(part, sources=())


@pytest.mark.parametrize("part", CATALOGUE.parts, ids=lambda part: part.id)
def test_every_part_of_the_library_can_be_brought_along_unchanged(part: Part) -> None:
    document = json.loads(CHAIN.read_text(encoding="utf-8"))
    document["parts"].append(json.loads(json.dumps(part_document(part), allow_nan=False)))
    assert _bare(_read(document).catalogue.part(part.id)) == _bare(part)


def test_every_cable_of_the_library_can_be_brought_along_with_the_same_loss_and_resistance() -> None:
    document = json.loads(CHAIN.read_text(encoding="utf-8"))
    document["cables"] += [cable_document(cable) for cable in CATALOGUE.cables]
    read = _read(json.loads(json.dumps(document)))
    for cable in CATALOGUE.cables:
        again = read.catalogue.cable(cable.id)
        assert again.loss_db_per_100m == cable.loss_db_per_100m
        assert again.loop_resistance_ohm_per_km == cable.loop_resistance_ohm_per_km
