"""`evendrop`: one command, one module for each of its verbs."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence

from batch import analyse, design, runner, serve, template

VERBS = (template, runner, design, analyse, serve)


def parser() -> argparse.ArgumentParser:
    """The parser with every verb."""
    made = argparse.ArgumentParser(
        prog="evendrop",
        description="Designs the coaxial television distribution of apartment buildings.",
        epilog="Exit codes: 0 every outlet is served, 1 some are not, 2 the input is wrong.",
    )
    verbs = made.add_subparsers(title="verbs", required=True, metavar="VERB")
    for verb in VERBS:
        verb.add_verb(verbs)
    return made


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one verb and return its exit code."""
    chosen = parser().parse_args(arguments)
    return int(chosen.run(chosen))


if __name__ == "__main__":
    sys.exit(main())
