"""Placement without a policy on seeded buildings from 51 to 4,000 outlets: cost, bound, gap, time, memory.

Run: python tests/benchmarks/placement_free.py [outlets …] [--effort quick|normal|thorough] [--runs N]
     [--solvers SECONDS]

The buildings follow the published 205-outlet slab: one riser, a closet a floor, a panel in every unit with
two or three outlets, flat device losses, invented prices. The launch level is eight decibels over the
catalogue's Kraft bound, its slope in the middle of the tilts. Times are medians after compiling, one thread;
processor time leaves out what other programs took. With `--solvers` small buildings of the same kind also go to
general solvers, each for so many seconds at most.
"""

from __future__ import annotations

import argparse
import json
import math
import random
import resource
import statistics
import time
from pathlib import Path

from placement_solvers import compare

from service.engine.placement.bounds import kraft_base, kraft_room_steps
from service.engine.placement.effort import CELLS, place
from service.engine.placement.task import Choice, PlacementTask, Spot
from service.engine.placement.warm import warm_up

SLAB = Path(__file__).parents[2] / "fixtures" / "published" / "placement" / "slab_205_outlets.json"
GRID_DB = 0.5
DROPS_M = ((13, 5), (11, 4), (5, 11, 11), (14, 10, 7))
SIZES = {
    51: (5, 4, 12.0, 6),
    205: (10, 8, 12.0, 12),
    506: (20, 10, 12.0, 21),
    1615: (40, 16, 14.0, 55),
    4000: (57, 28, 17.0, 202),
}
"""Outlets: (floors, units a floor, window in dB, seed that gives exactly this many outlets)."""
SMALL = {
    "2×2, tight": (2, 2, 12.0, 7, 2.0),
    "2×2": (2, 2, 12.0, 7, 8.0),
    "3×2, tight": (3, 2, 12.0, 7, 2.0),
    "3×2": (3, 2, 12.0, 7, 8.0),
    "2×3, tight": (2, 3, 12.0, 1, 2.0),
    "3×2 of 14": (3, 2, 12.0, 2, 8.0),
}
"""Floors × units: (floors, units, window in dB, seed, decibels of launch over the Kraft bound)."""


def building(outlets: int, above_kraft_db: float = 8.0) -> PlacementTask:
    """The seeded building of a size, with its integer windows."""
    floors, units, window_db, seed = SIZES[outlets]
    return slab(floors, units, window_db, seed, above_kraft_db)


def slab(floors: int, units: int, window_db: float, seed: int, above_kraft_db: float) -> PlacementTask:
    """One riser, a closet a floor, a panel a unit; the launch that far over the catalogue's Kraft bound."""
    published = json.loads(SLAB.read_text())
    menu = tuple(
        Choice(
            id=d["name"],
            cents=d["cost"],
            ports=tuple((round(g["loss_db"] / GRID_DB), g["ports"]) for g in d["port_groups"]),
        )
        for d in published["catalogue"]
    )
    places = _places(floors, units, seed)
    loss: dict[str, tuple[float, float]] = {"": (0.0, 0.0)}
    for name, above, length_m, cable, _ in places:
        per_m = published["cables_db_per_100m"][cable]
        low, high = loss[above]
        loss[name] = (low + length_m * per_m["lo"] / 100, high + length_m * per_m["hi"] / 100)
    ends = [loss[name] for name, _, _, _, outlet in places if outlet]
    tilts = [high - low for low, high in ends]
    slope_db = round((max(tilts) + min(tilts)) / 2, 1)
    worst = [max(high, low + slope_db) for low, high in ends]
    kraft_dbmv = -kraft_room_steps([-w / GRID_DB for w in worst], kraft_base(menu)) * GRID_DB
    launch_dbmv = math.ceil(kraft_dbmv) + above_kraft_db
    spots = []
    for name, above, length_m, _, outlet in places:
        low, high = loss[name]
        levels = (launch_dbmv - high, launch_dbmv - slope_db - low)
        spots.append(
            Spot(
                id=name,
                parent=above or None,
                edge_cents=round(length_m * published["cable_cost_per_m"]),
                a=math.ceil((max(levels) - window_db) / GRID_DB - 1e-9) if outlet else None,
                b=math.floor(min(levels) / GRID_DB + 1e-9) if outlet else None,
            )
        )
    steps = max(s.b for s in spots if s.b is not None) + 1
    return PlacementTask(
        spots=tuple(spots), menus=(menu,), terminator_cents=published["term_cost"], steps=steps
    )


def _places(floors: int, units: int, seed: int) -> list[tuple[str, str, float, str, bool]]:
    rng = random.Random(seed)
    places: list[tuple[str, str, float, str, bool]] = [("H", "", 0.0, "RG11", False)]
    for f in range(1, floors + 1):
        places.append((f"C{f}", f"C{f - 1}" if f > 1 else "H", 8.0 if f == 1 else 3.0, "RG11", False))
        for u in range(1, units + 1):
            places.append((f"U{f}.{u}", f"C{f}", 4.0 * ((u + 1) // 2) + 1 + rng.randint(0, 2), "RG6", False))
            for k, drop in enumerate(rng.choice(DROPS_M), start=1):
                places.append((f"O{f}.{u}.{k}", f"U{f}.{u}", float(drop), "RG6", True))
    return places


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("outlets", nargs="*", type=int, default=list(SIZES))
    parser.add_argument("--effort", choices=list(CELLS), default="normal")
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--solvers", type=float, default=0.0, metavar="SECONDS")
    options = parser.parse_args()
    warm_up()
    print("| outlets | class | cost | bound | gap % | proven | cells | median s | processor s | peak MB |")
    print("|---|---|---|---|---|---|---|---|---|---|")
    for outlets in options.outlets:
        task = building(outlets)
        times, own = [], []
        for _ in range(options.runs):
            started, busy = time.perf_counter(), time.process_time()
            placed = place(task, options.effort)
            times.append(time.perf_counter() - started)
            own.append(time.process_time() - busy)
        known = placed.certificate
        peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        gap = "–" if known.gap is None else f"{100 * known.gap:.3f}"
        cells = [
            sum(s.is_outlet for s in task.spots),
            known.method,
            known.cost_cents,
            known.bound_cents,
            gap,
            known.proven,
            f"{known.work:.2e}",
            f"{statistics.median(times):.2f}",
            f"{statistics.median(own):.2f}",
            f"{peak_mb:.0f}",
        ]
        print("|", " | ".join(map(str, cells)), "|", flush=True)
    if options.solvers > 0:
        print()
        compare([(name, slab(*row)) for name, row in SMALL.items()], options.solvers)


if __name__ == "__main__":
    main()
