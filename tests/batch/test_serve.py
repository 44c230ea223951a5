"""`evendrop serve`: the command it becomes."""

from __future__ import annotations

import sys

import pytest

from batch import serve
from batch.cli import parser


def test_the_server_is_gunicorn_without_control_socket_and_with_the_library_read_before_forking() -> None:
    words = serve.command(parser().parse_args(["serve", "--bind", "127.0.0.1:9", "--workers", "3"]))
    assert words[:3] == [sys.executable, "-m", "gunicorn"]
    assert words[-1] == "service.wsgi:app"
    assert "--no-control-socket" in words
    assert "--preload" in words
    assert words[words.index("--bind") + 1] == "127.0.0.1:9"
    assert words[words.index("--workers") + 1] == "3"


def test_the_flags_are_those_that_the_server_knows() -> None:
    from gunicorn.config import Config

    config = Config()
    settings = config.parser().parse_args(serve.command(parser().parse_args(["serve"]))[3:])
    assert settings.control_socket_disable is True
    assert settings.preload_app is True


def test_a_settings_file_is_passed_on() -> None:
    words = serve.command(parser().parse_args(["serve", "--settings", "x.py"]))
    assert words[words.index("--config") + 1] == "x.py"


def test_there_is_at_least_one_process(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("os.cpu_count", lambda: None)
    assert serve.default_workers() == 1
