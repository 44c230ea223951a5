"""The wheel holds every module and all data, nothing of the tests. Built from a copy, without a network."""

from __future__ import annotations

import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

TOPS = ("service", "batch")


@pytest.fixture(scope="module")
def wheel(root: Path, tmp_path_factory: pytest.TempPathFactory) -> zipfile.ZipFile:
    copy = tmp_path_factory.mktemp("sources")
    out = tmp_path_factory.mktemp("wheel")
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(root / name, copy)
    for top in TOPS:
        shutil.copytree(root / top, copy / top, ignore=shutil.ignore_patterns("__pycache__"))
    command = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(out), str(copy)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    (made,) = out.glob("*.whl")
    return zipfile.ZipFile(made)


def test_the_wheel_holds_every_file_of_the_packages(root: Path, wheel: zipfile.ZipFile) -> None:
    wanted = {
        path.relative_to(root).as_posix()
        for top in TOPS
        for path in (root / top).rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    held = {name for name in wheel.namelist() if ".dist-info/" not in name}
    assert held == wanted
    assert {Path(name).suffix for name in held} >= {".py", ".csv", ".toml", ".html", ".css"}


def test_the_wheel_tells_its_licence_and_its_command(wheel: zipfile.ZipFile) -> None:
    told = {Path(name).name: name for name in wheel.namelist() if ".dist-info/" in name}
    assert "License-Expression: MIT" in wheel.read(told["METADATA"]).decode()
    assert "evendrop = batch.cli:main" in wheel.read(told["entry_points.txt"]).decode()
