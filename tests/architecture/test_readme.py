"""What README.md tells to type is typed here; the two lines that set up a machine are run by `.ci/run`."""

from __future__ import annotations

import json
import os
import re
import shlex
import shutil
import socket
import subprocess
import sys
import time
import tomllib
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from batch.cli import parser
from service.settings import settings_from

HERE = Path(sys.executable).parent
BLOCK = re.compile(r"^```sh\n(.*?)^```$", re.MULTILINE | re.DOTALL)
ADDRESS = "http://127.0.0.1:8000"
SECONDS_TO_START = 180
SET_UP = "python3.11 -m venv "


@pytest.fixture(scope="module")
def readme(root: Path) -> str:
    return (root / "README.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def blocks(readme: str) -> list[str]:
    return BLOCK.findall(readme)


@pytest.fixture
def folder(root: Path, tmp_path: Path) -> Path:
    """A folder that looks like the top of the repository to the commands."""
    (tmp_path / "fixtures").symlink_to(root / "fixtures")
    return tmp_path


def evendrop_lines(text: str) -> list[list[str]]:
    """The words after `evendrop` of each command of a text."""
    commands = [part.strip() for line in text.splitlines() for part in line.split("&&")]
    return [shlex.split(line)[1:] for line in commands if line.startswith(".venv/bin/evendrop ")]


def typed(command: str, folder: Path) -> subprocess.CompletedProcess[str]:
    bash = shutil.which("bash")
    if bash is None:
        pytest.skip("no bash on this machine")
    script = command.replace(".venv/bin/", f"{shlex.quote(str(HERE))}/")
    return subprocess.run(
        [bash, "-euo", "pipefail", "-c", script], cwd=folder, capture_output=True, text=True, check=False
    )


def test_the_first_paragraph_states_the_job(readme: str) -> None:
    first = readme.split("\n\n")[1]
    for word in ("integrator", "apartment buildings", "antenna or cable television", "outlet", "level"):
        assert word in first


def test_the_safety_note_defers_to_codes_and_licensed_people(readme: str) -> None:
    safety = readme.partition("## Safety")[2].partition("\n## ")[0]
    for word in ("Local codes", "licensed", "Ladders", "Power lines", "Lightning", "Mains", "Fire", "sealed"):
        assert word in safety


def test_the_licence_is_the_one_of_the_project(readme: str, root: Path) -> None:
    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["license"] == "MIT"
    licence = readme.partition("## Licence")[2]
    assert "MIT License" in licence
    assert "WITHOUT WARRANTY OF ANY KIND" in licence


def test_two_lines_set_up_a_fresh_machine_and_the_checks_run_them_both(blocks: list[str], root: Path) -> None:
    lines = [line for block in blocks for line in block.splitlines() if line.startswith(SET_UP)]
    assert len(lines) == 2
    demo, tests = lines
    assert demo.endswith("-o out")
    assert demo.count("&&") == tests.count("&&") == 2
    assert "pip install '.[test]'" in tests
    script = (root / ".ci" / "run").read_text(encoding="utf-8")
    assert rf'grep -E "^{SET_UP.replace(".", chr(92) + ".")}.*$1" README.md' in script
    for ending, line in (("evendrop batch", demo), ("pytest", tests)):
        assert f"readme_line {shlex.quote(ending)}" in script
        assert ending in line


def test_every_verb_and_file_that_is_named_exists(blocks: list[str], root: Path) -> None:
    named = [words for block in blocks for words in evendrop_lines(block)]
    assert {words[0] for words in named} == {"analyse", "design", "template", "batch", "serve"}
    for words in named:
        parser().parse_args(words)
        for word in words:
            assert not word.startswith("fixtures/") or (root / word).is_file(), word


def test_the_settings_that_are_named_are_read(readme: str) -> None:
    table = readme.partition("## Settings of the service")[2].partition("\n## ")[0]
    named = re.findall(r"^\| `(EVENDROP_\w+)` \|.*\| (.*?) \|$", table, re.MULTILINE)
    left_out = settings_from({})
    told = {name: text.strip("`") for name, text in named}
    assert told == {
        "EVENDROP_DATABASE": left_out.database_url,
        "EVENDROP_MAX_BODY_BYTES": str(left_out.max_body_bytes),
        "EVENDROP_LIBRARY": left_out.library_folder or "none",
    }


def test_the_verbs_run_one_after_the_other_as_they_are_shown(blocks: list[str], folder: Path) -> None:
    (shown,) = [block for block in blocks if "evendrop template" in block]
    lines = [line for line in shown.splitlines() if not line.endswith(" serve")]
    assert len(lines) == 4
    done = typed("\n".join(lines), folder)
    assert done.returncode == 0, done.stdout + done.stderr
    assert (folder / "my_buildings.xlsx").is_file()
    assert (folder / "out" / "mine" / "portfolio.xlsx").is_file()
    assert list((folder / "out" / "walkup").iterdir())


@pytest.fixture
def service(folder: Path) -> Iterator[str]:
    """The address of a service that keeps its designs in the folder."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        bind = f"127.0.0.1:{free.getsockname()[1]}"
    log = folder / "serve.log"
    with log.open("wb") as written:
        process = subprocess.Popen(
            [HERE / "evendrop", "serve", "--bind", bind, "--workers", "1"],
            cwd=folder,
            stdout=written,
            stderr=written,
            env={**os.environ, "EVENDROP_DATABASE": "sqlite:///evendrop.db"},
        )
    try:
        wait_for(f"http://{bind}/health/ready", process, log)
        yield f"http://{bind}"
    finally:
        process.terminate()
        process.wait(timeout=60)


def wait_for(address: str, process: subprocess.Popen[bytes], log: Path) -> None:
    end = time.monotonic() + SECONDS_TO_START
    while time.monotonic() < end and process.poll() is None:
        try:
            with urllib.request.urlopen(address, timeout=5):
                return
        except (urllib.error.URLError, ConnectionError):
            time.sleep(0.2)
    raise AssertionError(f"the service did not start: {log.read_text(encoding='utf-8')}")


def test_the_worked_building_goes_end_to_end_with_curl(blocks: list[str], folder: Path, service: str) -> None:
    if shutil.which("curl") is None:
        pytest.skip("no curl on this machine")
    shown = [block for block in blocks if ADDRESS in block]
    assert len(shown) >= 2
    #: One shell, as the id is kept in a variable.
    done = typed("\n".join(shown).replace(ADDRESS, service), folder)
    assert done.returncode == 0, done.stdout + done.stderr
    design = json.loads((folder / "design.json").read_text(encoding="utf-8"))
    assert design["status"] == "served"
    assert design["figures"]["outlets"] == 20
    assert f'"id":"{design["id"]}"' in done.stdout.replace(" ", "")
    assert '"serves_all":true' in done.stdout.replace(" ", "")
