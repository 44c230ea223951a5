"""The files in deploy/ name verbs, settings and files that are there."""

from __future__ import annotations

import json
import re
import runpy
from pathlib import Path

import pytest

from batch.cli import parser
from service.settings import settings_from


@pytest.fixture(scope="module")
def deploy(root: Path) -> Path:
    return root / "deploy"


def read(path: Path) -> str:
    return path.read_text(encoding="utf-8")


def test_the_container_starts_a_verb_that_exists(deploy: Path) -> None:
    (words,) = re.findall(r"^CMD (\[\"evendrop.*\])$", read(deploy / "Containerfile"), re.MULTILINE)
    chosen = parser().parse_args(json.loads(words)[1:])
    assert chosen.settings == "/etc/evendrop/gunicorn.conf.py"
    assert "COPY deploy/gunicorn.conf.py /etc/evendrop/gunicorn.conf.py" in read(deploy / "Containerfile")


def test_the_unit_starts_a_verb_that_exists(deploy: Path) -> None:
    (line,) = re.findall(r"^ExecStart=(.*)$", read(deploy / "evendrop.service"), re.MULTILINE)
    program, *words = line.split()
    assert program.endswith("/evendrop")
    assert parser().parse_args(words).bind == "127.0.0.1:8000"


def test_the_image_runs_as_nobody_in_particular(deploy: Path) -> None:
    text = read(deploy / "Containerfile")
    (user,) = re.findall(r"^USER (\d+)$", text, re.MULTILINE)
    assert int(user) > 0
    assert text.index("\nUSER ") < text.index("\nCMD ")


@pytest.mark.parametrize("name", ["compose.yaml", "evendrop.service", "Containerfile"])
def test_every_setting_that_is_named_is_one_and_is_sound(deploy: Path, name: str, root: Path) -> None:
    found = dict(re.findall(r"\b(EVENDROP_[A-Z_]+)[=:]\s*\"?([^\s\"]+)", read(deploy / name)))
    known = set(re.findall(r"EVENDROP_[A-Z_]+", read(root / "service" / "settings.py")))
    assert found
    assert set(found) <= known
    assert settings_from(found).database_url == "sqlite:////var/lib/evendrop/evendrop.db"


def test_the_health_check_asks_an_address_that_answers(deploy: Path, root: Path) -> None:
    (path,) = re.findall(r"http://127\.0\.0\.1:8000(/[a-z/]+)", read(deploy / "Containerfile"))
    text = read(root / "service" / "api" / "health.py")
    assert path == "/health/ready"
    assert 'url_prefix="/health"' in text
    assert '"/ready"' in text


def test_the_server_settings_load_and_outlast_the_longest_request(deploy: Path) -> None:
    settings = runpy.run_path(str(deploy / "gunicorn.conf.py"))
    assert Path(settings["worker_tmp_dir"]).is_dir()
    assert settings["timeout"] >= settings["graceful_timeout"] > 0
