"""Modules stay short enough to read in one go, functions to see at once; both limits only ever go down."""

from __future__ import annotations

import ast
from collections.abc import Mapping
from pathlib import Path

Modules = Mapping[str, ast.Module]

LONGEST_MODULE = 450
LONGEST_FUNCTION = 60
USUAL_FUNCTION = 50
#: So many functions may be longer than usual.
MOST_LONGER = 8


def lengths(modules: Modules) -> dict[str, int]:
    """Lines of every function, by module and name."""
    return {
        f"{path}:{node.name}": (node.end_lineno or node.lineno) - node.lineno + 1
        for path, tree in modules.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    }


def test_no_module_is_too_long(root: Path) -> None:
    paths = [path for top in ("service", "batch", "tests") for path in (root / top).rglob("*.py")]
    counted = {
        path.relative_to(root).as_posix(): path.read_text(encoding="utf-8").count("\n") for path in paths
    }
    assert {path: count for path, count in counted.items() if count > LONGEST_MODULE} == {}


def test_no_function_is_too_long(modules: Modules) -> None:
    assert {name: lines for name, lines in lengths(modules).items() if lines > LONGEST_FUNCTION} == {}


def test_few_functions_are_longer_than_usual(modules: Modules) -> None:
    longer = {name: lines for name, lines in lengths(modules).items() if lines > USUAL_FUNCTION}
    assert len(longer) <= MOST_LONGER, longer


def test_the_composition_of_a_design_stays_short(root: Path) -> None:
    text = (root / "service" / "engine" / "design.py").read_text(encoding="utf-8")
    assert len(text.splitlines()) <= 150
