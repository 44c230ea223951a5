"""Designs of small buildings on the real catalogue against every network there is, least money first.

Seeds 0 to 99 are compared by `tests/benchmarks/every_network.py`; here some of them that take little time.
"""

from __future__ import annotations

import importlib.util
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

MODULES = ("exhaustive_trees", "exhaustive", "exhaustive_networks", "finished", "tiny", "comparison")


@pytest.fixture(scope="module")
def comparison() -> Iterator[ModuleType]:
    made = {}
    for name in MODULES:
        spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name(f"{name}.py"))
        assert spec is not None
        assert spec.loader is not None
        made[name] = sys.modules[name] = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(made[name])
    yield made["comparison"]
    for name in MODULES:
        del sys.modules[name]


@pytest.mark.parametrize("seed", [1, 2, 3, 4, 6, 7, 8, 13, 14, 20, 22, 25, 28, 51, 52, 54, 55, 57, 60])
def test_no_network_of_a_small_building_is_right_and_cheaper(
    seed: int, comparison: ModuleType, desk: Any
) -> None:
    compared = comparison.compare(seed, desk)
    assert compared.broken == ()
    assert compared.least_cents == compared.cost_cents
