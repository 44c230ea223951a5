"""Designs of 100 seeded buildings of up to 6 outlets against every network there is, least money first.

Run: python tests/benchmarks/every_network.py [--first 0] [--last 100] [--seconds 60]

Real catalogue and demo prices, the policy on, aim "cheapest". Each network is judged when finished, by exact
evaluation and the rules of the policy. A building whose enumeration takes more processor time than allowed is called
open. Any difference is printed with both costs.
"""

from __future__ import annotations

import argparse
import importlib.util
import os
import signal
import sys
import time
from collections import Counter
from pathlib import Path
from types import FrameType, ModuleType

from service.engine.placement.kernels import enable_cache
from service.engine.warm import warm_up

TESTS = Path(__file__).parents[1]
JUDGES = ("exhaustive_trees", "exhaustive", "exhaustive_networks", "finished", "tiny", "comparison")


class OpenError(Exception):
    """The enumeration takes longer than allowed."""


def loaded(name: str, folder: Path) -> ModuleType:
    """A module of the tests, whose folders are no packages."""
    spec = importlib.util.spec_from_file_location(name, folder / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = sys.modules[name] = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def give_up(_signal: int, _frame: FrameType | None) -> None:
    raise OpenError


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--last", type=int, default=100)
    parser.add_argument("--seconds", type=float, default=60.0)
    options = parser.parse_args()
    if folder := os.environ.get("NUMBA_CACHE_DIR", ""):
        enable_cache(folder)
    warm_up()
    desk = loaded("conftest", TESTS).Desk()
    for name in JUDGES:
        module = loaded(name, TESTS / "service" / "engine" / "placement")
    signal.signal(signal.SIGVTALRM, give_up)
    seen: Counter[str] = Counter()
    for seed in range(options.first, options.last):
        signal.setitimer(signal.ITIMER_VIRTUAL, options.seconds)
        began = time.process_time()
        try:
            found = module.compare(seed, desk)
        except OpenError:
            seen["open"] += 1
            print(f"{seed:3} open", flush=True)
            continue
        signal.setitimer(signal.ITIMER_VIRTUAL, 0.0)
        same = found.least_cents == found.cost_cents and not found.broken
        seen["equal" if same else "different"] += 1
        print(
            f"{seed:3} {'equal' if same else 'DIFFERS'} outlets {found.outlets} design {found.cost_cents} "
            f"least {found.least_cents} judged {found.judged} broken {found.broken} "
            f"{time.process_time() - began:.1f} s",
            flush=True,
        )
    print(", ".join(f"{count} {what}" for what, count in sorted(seen.items())))


if __name__ == "__main__":
    main()
