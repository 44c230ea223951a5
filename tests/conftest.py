"""`EVENDROP_TESTS_STRICT=1` turns every skip into a failure, for machines meant to have everything."""

from __future__ import annotations

import json
import os
from collections.abc import Generator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

import pytest

from service.engine.building.places import Building
from service.engine.design import design
from service.engine.placement.proposal import Design
from service.engine.plant.network import Network
from service.forms.building import BuildingReading, read_building
from service.forms.known import Known
from service.library.contents import library
from service.library.profiles import load_limits, load_plans, load_services

STRICT = os.environ.get("EVENDROP_TESTS_STRICT") == "1"

SLOW = pytest.mark.skipif(not STRICT, reason="designs a large building: EVENDROP_TESTS_STRICT=1 runs it")

_Report = TypeVar("_Report", pytest.TestReport, pytest.CollectReport)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if item.get_closest_marker("slow"):
            item.add_marker(SLOW)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    return _judged((yield))


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    return _judged((yield))


def _judged(report: _Report) -> _Report:
    expected_to_fail = hasattr(report, "wasxfail")
    if STRICT and report.skipped and not expected_to_fail:
        report.outcome = "failed"
        report.longrepr = f"skipped where nothing may be: {report.longrepr}"
    return report


class Desk:
    """Reads buildings and designs them with the packaged library. A demo building is designed once a session."""

    def __init__(self) -> None:
        self.library = library()
        self.limits = load_limits()
        self.services = load_services()
        self.known = Known(
            catalogue=self.library.catalogue, limits=self.limits, plans=load_plans(), services=self.services
        )
        self.demo = cache(self._demo)

    def document(self, name: str) -> Any:
        """The document of a demo building."""
        path = Path(__file__).parents[1] / "fixtures" / "buildings" / f"{name}.json"
        return json.loads(path.read_text(encoding="utf-8"))

    def read(self, document: Any) -> BuildingReading:
        """What a document says; it must be right."""
        reading = read_building(document, self.known, self.library.tariffs)
        assert reading.faults == ()
        return reading

    def building(self, document: Any, policy: Any = None, wishes: Any = None) -> Building:
        """The building of a document, other switches of its policy and other wishes laid over it."""
        building = self.read(document).building
        assert building is not None
        return replace(
            building,
            policy=replace(building.policy, **(policy or {})),
            wishes=replace(building.wishes, **(wishes or {})),
        )

    def design(self, building: Building, keep: Network | None = None, **others: Any) -> Design:
        """The design of a building; `others` take the place of the packaged catalogue, tariff, limits."""
        given = {
            "catalogue": self.library.catalogue,
            "tariff": self.library.tariffs[building.tariff],
            "limits": self.limits.get(building.rules.limits),
            "services": self.services,
        }
        return design(building, **(given | others), keep=keep)

    def _demo(self, name: str) -> Design:
        reading = self.read(self.document(name))
        return self.design(reading.building, reading.keep)


@pytest.fixture(scope="session")
def desk() -> Desk:
    return Desk()
