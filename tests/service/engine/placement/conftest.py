"""Gives the tests of this folder the independent judges, loaded by path because test folders are no
packages.
"""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest


@pytest.fixture(scope="session")
def oracle() -> ModuleType:
    spec = importlib.util.spec_from_file_location("placement_oracle", Path(__file__).with_name("oracle.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
