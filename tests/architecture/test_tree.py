"""What lies where: the top of the repository, packages that hold something, names of tests, docstrings."""

from __future__ import annotations

import ast
import fnmatch
from collections.abc import Iterator, Mapping
from pathlib import Path

Modules = Mapping[str, ast.Module]

TOP = {
    ".ci",
    ".gitignore",
    "DEVELOPERS.md",
    "README.md",
    "batch",
    "deploy",
    "fixtures",
    "pyproject.toml",
    "service",
    "tests",
}
VAGUE = {"utils", "util", "common", "misc", "manager", "managers", "core", "base", "tools"}


def test_the_top_holds_what_it_should_and_nothing_else(root: Path) -> None:
    lines = (root / ".gitignore").read_text(encoding="utf-8").split()
    ignored = [line.strip("/") for line in lines]
    found = {
        path.name
        for path in root.iterdir()
        if path.name != ".git" and not any(fnmatch.fnmatch(path.name, pattern) for pattern in ignored)
    }
    assert found == TOP


def test_no_package_is_an_empty_shell(root: Path) -> None:
    starts = [path for package in ("service", "batch") for path in (root / package).rglob("__init__.py")]
    shells = [path for path in starts if len(list(path.parent.rglob("*.py"))) == 1]
    assert not shells


def test_test_folders_are_no_packages(root: Path) -> None:
    assert not list((root / "tests").rglob("__init__.py"))


def test_every_module_is_named_by_what_it_is_about(modules: Modules) -> None:
    assert not [path for path in modules if VAGUE & set(Path(path).with_suffix("").parts)]


def test_the_tests_of_a_package_stand_where_it_stands(root: Path) -> None:
    mirrors = [path for top in ("service", "batch") for path in (root / "tests" / top).rglob("test_*.py")]
    lost = [path for path in mirrors if not (root / path.parent.relative_to(root / "tests")).is_dir()]
    assert mirrors
    assert not lost


def test_tests_are_named_by_sentences(root: Path) -> None:
    short = [
        f"{path.relative_to(root)}: {node.name}"
        for path in sorted((root / "tests").rglob("test_*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_") and node.name.count("_") < 2
    ]
    assert not short


def test_everything_public_says_what_it_is(modules: Modules) -> None:
    silent = [f"{path}: {name}" for path, tree in modules.items() for name in _silent(tree)]
    assert not silent


def _silent(tree: ast.Module) -> Iterator[str]:
    if not ast.get_docstring(tree):
        yield "the module"
    yield from _silent_in(tree.body, "")


def _silent_in(body: list[ast.stmt], within: str) -> Iterator[str]:
    for node in body:
        if not isinstance(node, ast.FunctionDef | ast.ClassDef) or node.name.startswith("_"):
            continue
        #: marshmallow's settings of a schema.
        if node.name == "Meta":
            continue
        if not ast.get_docstring(node):
            yield within + node.name
        if isinstance(node, ast.ClassDef):
            yield from _silent_in(node.body, f"{node.name}.")
