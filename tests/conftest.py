"""`EVENDROP_TESTS_STRICT=1` turns every skip into a failure, for machines meant to have everything."""

from __future__ import annotations

import os
from collections.abc import Generator
from typing import TypeVar

import pytest

STRICT = os.environ.get("EVENDROP_TESTS_STRICT") == "1"

_Report = TypeVar("_Report", pytest.TestReport, pytest.CollectReport)


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
