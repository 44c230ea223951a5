"""Who may import whom: the contracts in pyproject.toml, and what contracts can't say."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path

Modules = Mapping[str, ast.Module]

#: Parts of the standard library that reach outside the process, or whose answer changes from run to run.
IMPURE = frozenset(
    {
        *("asyncio", "datetime", "glob", "http", "io", "logging", "multiprocessing", "os", "pathlib"),
        *("random", "secrets", "shutil", "socket", "sqlite3", "subprocess", "tempfile", "threading"),
        *("time", "urllib", "uuid"),
    }
)
#: Keeping compiled code on disk is asked for by the composition roots, done where the compiler is.
MAY_TOUCH_FILES = {("service/engine/placement/kernels.py", "pathlib")}
#: Run by name, never imported.
STARTED_BY_NAME = {"gunicorn"}


def imports(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"line {node.lineno}: imports name the whole way"
            yield node.module or ""


def test_every_contract_between_packages_is_kept(root: Path) -> None:
    command = [Path(sys.executable).with_name("lint-imports"), "--no-cache"]
    done = subprocess.run(command, cwd=root, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert " 0 broken" in done.stdout


def test_the_engine_reaches_no_file_clock_or_chance(modules: Modules) -> None:
    found = {
        (path, name.partition(".")[0])
        for path, tree in modules.items()
        if path.startswith("service/engine/")
        for name in imports(tree)
        if name.partition(".")[0] in IMPURE
    }
    assert found == MAY_TOUCH_FILES


def test_the_engine_neither_opens_nor_prints(modules: Modules) -> None:
    calls = [
        f"{path}:{node.lineno}"
        for path, tree in modules.items()
        if path.startswith("service/engine/")
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in {"open", "print"}
    ]
    assert not calls


def test_every_dependency_is_used_and_every_import_is_declared(root: Path, modules: Modules) -> None:
    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    declared = {re.split(r"[<>=~! ]", line)[0].replace("-", "_") for line in project["dependencies"]}
    used = {name.partition(".")[0] for tree in modules.values() for name in imports(tree)}
    outside = used - set(sys.stdlib_module_names) - {"service", "batch"}
    #: What flask and flask-smorest bring along and hand out themselves.
    brought = {"werkzeug", "apispec", "webargs"}
    assert declared - STARTED_BY_NAME <= outside
    assert outside - brought <= declared
