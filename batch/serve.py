"""`evendrop serve`: hands the process over to gunicorn, which loads `service.wsgi`."""

from __future__ import annotations

import argparse
import os
import sys
from typing import Any

DEFAULT_BIND = "127.0.0.1:8000"
MOST_WORKERS = 4


def add_verb(verbs: Any) -> None:
    """Add this verb to the command."""
    verb = verbs.add_parser(
        "serve", help="run the web service", description="Run the web service on gunicorn."
    )
    verb.add_argument(
        "--bind", default=DEFAULT_BIND, metavar="HOST:PORT", help="where to listen (%(default)s)"
    )
    verb.add_argument("--workers", type=int, default=default_workers(), help="processes (%(default)s)")
    verb.add_argument("--threads", type=int, default=2, help="threads in each process (%(default)s)")
    verb.add_argument(
        "--settings", metavar="FILE", help="a gunicorn settings file; the flags above win over it"
    )
    verb.set_defaults(run=run)


def default_workers() -> int:
    """One process a core, at most `MOST_WORKERS`: the work is arithmetic, not waiting."""
    return max(1, min(MOST_WORKERS, os.cpu_count() or 1))


def command(chosen: argparse.Namespace) -> list[str]:
    """The gunicorn command: library read before forking, no control socket, a second thread for health."""
    settings = ["--config", chosen.settings] if chosen.settings else []
    return [
        sys.executable,
        "-m",
        "gunicorn",
        *settings,
        "--bind",
        chosen.bind,
        "--workers",
        str(chosen.workers),
        "--threads",
        str(chosen.threads),
        "--preload",
        "--no-control-socket",
        "--access-logfile",
        "-",
        "service.wsgi:app",
    ]


def run(chosen: argparse.Namespace) -> int:
    """Become the server; returns only when it can't be started."""
    sys.stdout.flush()
    words = command(chosen)
    os.execv(words[0], words)
