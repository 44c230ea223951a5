"""The examples in docstrings are run, so that they stay true."""

from __future__ import annotations

import doctest
import importlib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
WITH_EXAMPLES = [
    ".".join(path.relative_to(ROOT).with_suffix("").parts)
    for top in ("service", "batch")
    for path in sorted((ROOT / top).rglob("*.py"))
    if ">>> " in path.read_text(encoding="utf-8")
]


@pytest.mark.parametrize("name", WITH_EXAMPLES)
def test_examples_in_docstrings_give_what_they_say(name: str) -> None:
    result = doctest.testmod(importlib.import_module(name))
    assert result.attempted > 0
    assert result.failed == 0
