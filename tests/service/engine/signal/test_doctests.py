"""The examples in the docstrings of the signal modules are run, so that they stay true."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import service.engine.signal

NAMES = sorted(
    f"service.engine.signal.{module.name}" for module in pkgutil.iter_modules(service.engine.signal.__path__)
)


@pytest.mark.parametrize("name", [*NAMES, "service.engine.plant.energy"])
def test_docstring_examples_give_what_they_say(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_the_units_have_examples_to_run() -> None:
    assert doctest.testmod(importlib.import_module("service.engine.signal.units")).attempted >= 10
