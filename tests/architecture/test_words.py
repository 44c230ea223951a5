"""Words that have no place in the code: families in physics, things left to do, traces of a workplace."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

Modules = Mapping[str, ast.Module]

#: Physics, placement and bill tell parts apart by their port groups, never by a family's name.
BLIND_TO_FAMILIES = ("service/engine/", "service/portfolio.py")
#: In placement, a family is a set of designs.
OTHER_FAMILIES = {"shop", "solved", "self"}

ASKING = {"startswith", "endswith", "removeprefix", "get", "find", "match", "search"}

TEXTS = {".py", ".toml", ".md", ".csv", ".json", ".html", ".css", ".yaml", ".service", ""}
LEFT_OVER = r"\b(TODO|FIXME|XXX|HACK)\b"
WORKPLACE = (
    r"(?i)\bissue\s*#?\d",
    r"(?i)\b(this|last|next|earlier|a previous) session\b",
    r"(?i)\bhelpers?\b",
    r"(?<![\w.])/(work|home|root|Users)/",
    r"(?i)[a-z]:\\users\\",
    r"(?i)\b(pypi|pythonhosted|npmjs|crates|proxy\.golang)\.(org|com|io)\b",
    r"(?i)\bshared/(design|reference|hooks)",
    r"(?i)\b(language model|chatgpt|copilot|claude)\b",
)


@pytest.fixture(scope="module")
def families(root: Path) -> frozenset[str]:
    path = root / "service" / "library" / "data" / "families.toml"
    return frozenset(tomllib.loads(path.read_text(encoding="utf-8")))


def texts(root: Path) -> Iterator[tuple[str, str]]:
    """Every text file of the project, by its path from the top, this one left out."""
    tops = ("service", "batch", "tests", "fixtures", "deploy", ".ci")
    paths = [path for top in tops for path in sorted((root / top).rglob("*"))]
    # A linked working tree has a file .git that names its place on this machine alone.
    paths += sorted(path for path in root.iterdir() if path.is_file() and path.name != ".git")
    for path in paths:
        if path.is_file() and path.suffix in TEXTS and path != Path(__file__):
            yield path.relative_to(root).as_posix(), path.read_text(encoding="utf-8")


def lines_with(root: Path, pattern: str) -> list[str]:
    searched = re.compile(pattern)
    return [
        f"{path}:{number}: {line.strip()}"
        for path, text in texts(root)
        for number, line in enumerate(text.splitlines(), 1)
        if searched.search(line)
    ]


def asked_texts(tree: ast.Module) -> Iterator[ast.Constant]:
    """The texts that code compares with, matches, looks up or takes as beginning or end of a name."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare | ast.MatchValue | ast.Subscript):
            inside: list[ast.AST] = [node]
        elif isinstance(node, ast.Dict):
            inside = [key for key in node.keys if key is not None]
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            inside = list(node.args) if node.func.attr in ASKING else []
        else:
            continue
        for root in inside:
            for found in ast.walk(root):
                if isinstance(found, ast.Constant) and isinstance(found.value, str):
                    yield found


def test_no_family_is_asked_for_in_physics_placement_or_bill(
    modules: Modules, families: frozenset[str]
) -> None:
    assert {"splitter", "tap", "pad", "amplifier"} <= families
    #: A port group may bear such a name: that a tap has a group `tap` is no family.
    groups = {"tap", "outlet"}
    asked = [
        f"{path}:{text.lineno}: {text.value!r}"
        for path, tree in modules.items()
        if path.startswith(BLIND_TO_FAMILIES)
        for text in asked_texts(tree)
        if text.value in families - groups or text.value in {f"{name}-" for name in families}
    ]
    assert not asked


def test_no_family_of_a_part_is_read_in_physics_or_placement(modules: Modules) -> None:
    read = [
        f"{path}:{node.lineno}: {ast.unparse(node)}"
        for path, tree in modules.items()
        #: The works look up by it what a label begins with and where the bill lists a part.
        if path.startswith(BLIND_TO_FAMILIES) and not path.startswith("service/engine/works/")
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute)
        and node.attr == "family"
        and ast.unparse(node.value).rpartition(".")[2] not in OTHER_FAMILIES
    ]
    assert not read


def test_nothing_is_left_to_do(root: Path) -> None:
    assert not lines_with(root, LEFT_OVER)


@pytest.mark.parametrize("pattern", WORKPLACE)
def test_no_trace_of_a_workplace_stands_anywhere(root: Path, pattern: str) -> None:
    assert not lines_with(root, pattern)


def test_what_is_taken_out_of_checking_has_a_reason(modules: Modules, root: Path) -> None:
    bare = re.compile(r"#\s*(noqa|type: ignore)(?!.*(- |# )\S)")
    found = [
        f"{path}:{number}"
        for path in modules
        for number, line in enumerate((root / path).read_text(encoding="utf-8").splitlines(), 1)
        if bare.search(line)
    ]
    assert not found
