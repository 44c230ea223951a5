"""How long the demo portfolio of 25 buildings takes, and how much memory all its processes hold.

Run `python tests/benchmarks/portfolio.py [WORKERS]`. Aim: under 60 s on two cores, below 1 GB.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

BOOK = Path(__file__).parents[2] / "fixtures" / "workbooks" / "demo_portfolio.xlsx"


def family(root: int) -> list[int]:
    """A process and everything below it."""
    parents: dict[int, list[int]] = {}
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            words = path.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        parents.setdefault(int(words[1]), []).append(int(path.parent.name))
    found, waiting = [], [root]
    while waiting:
        process = waiting.pop()
        found.append(process)
        waiting += parents.get(process, [])
    return found


def held_mb(process: int) -> float:
    """Memory of a process in megabytes, what it shares with others counted in part."""
    try:
        lines = Path(f"/proc/{process}/smaps_rollup").read_text().splitlines()
    except OSError:
        return 0.0
    return sum(float(line.split()[1]) for line in lines if line.startswith("Pss:")) / 1024.0


def main() -> None:
    """Run the batch twice: from nothing, and with everything done already."""
    workers = sys.argv[1] if len(sys.argv) > 1 else "2"
    with tempfile.TemporaryDirectory() as folder:
        words = [sys.executable, "-m", "batch.cli", "batch", str(BOOK), "-o", folder, "--workers", workers]
        for name in ("from nothing", "nothing to do"):
            start, most = time.perf_counter(), 0.0
            running = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
            while running.poll() is None:
                most = max(most, sum(held_mb(process) for process in family(running.pid)))
                time.sleep(0.1)
            seconds = time.perf_counter() - start
            print(f"{name}: {seconds:.1f} s, at most {most:.0f} MB in all processes")


if __name__ == "__main__":
    main()
