"""Building documents of the fixtures, read against the packaged library."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from service.engine.building.places import Building
from service.forms.building import BuildingReading, read_building
from service.forms.known import Known
from service.library.contents import library
from service.library.profiles import load_limits, load_plans, load_services

BUILDINGS = Path(__file__).parents[3] / "fixtures" / "buildings"


@pytest.fixture(scope="session")
def known() -> Known:
    return Known(
        catalogue=library().catalogue, limits=load_limits(), plans=load_plans(), services=load_services()
    )


@pytest.fixture
def document() -> Callable[[str], Any]:
    return lambda name: json.loads((BUILDINGS / f"{name}.json").read_text(encoding="utf-8"))


@pytest.fixture
def read(known: Known) -> Callable[[object], BuildingReading]:
    return lambda posted: read_building(posted, known, library().tariffs)


@pytest.fixture
def building(read: Callable[[object], BuildingReading]) -> Callable[[object], Building]:
    def made(posted: object) -> Building:
        reading = read(posted)
        assert reading.faults == ()
        assert reading.building is not None
        return reading.building

    return made
