"""Where the repository is, and its modules as syntax trees."""

from __future__ import annotations

import ast
from collections.abc import Mapping
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGES = ("service", "batch")


@pytest.fixture(scope="session")
def root() -> Path:
    return ROOT


@pytest.fixture(scope="session")
def modules() -> Mapping[str, ast.Module]:
    """Every module of the packages, by its path from the top, for example "service/engine/errors.py"."""
    paths = [path for package in PACKAGES for path in sorted((ROOT / package).rglob("*.py"))]
    return {path.relative_to(ROOT).as_posix(): ast.parse(path.read_text(encoding="utf-8")) for path in paths}
