"""The exact placement programme against independent judges: 200 seeded buildings of up to 12 outlets.

Run: python tests/benchmarks/placement_exact.py [--buildings 200] [--outlets 12] [--integer 40]

Every building: the whole cost curve equals a plain numpy subset programme, no bound lies above it, and the
traced design costs what the table says. The first `--integer` buildings of up to 6 outlets also go through an
integer model; where the solver does not close within a minute that is printed. Any difference stops the run.
"""

from __future__ import annotations

import argparse
import statistics
import time

from placement_solvers import oracle

from service.engine.placement.bounds import count_bound
from service.engine.placement.grove import index
from service.engine.placement.levels_bound import level_bounds
from service.engine.placement.subsets import solve_exactly
from service.engine.placement.warm import warm_up


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--buildings", type=int, default=200)
    parser.add_argument("--outlets", type=int, default=12)
    parser.add_argument("--integer", type=int, default=40)
    options = parser.parse_args()
    judges = oracle()
    warm_up()
    times, gaps, starts = [], [], 0
    for seed in range(options.buildings):
        task = judges.random_task(1000 + seed, options.outlets)
        grove = index(task)
        began = time.perf_counter()
        solved = solve_exactly(grove)
        times.append(time.perf_counter() - began)
        curve = [*solved.curve, *([None] * (task.steps - len(solved.curve)))]
        assert curve == judges.SubsetProgramme(task).curve(), f"building {seed} differs"
        bounds = level_bounds(grove)
        for start, cents in enumerate(solved.curve):
            if cents is not None:
                starts += 1
                assert count_bound(grove) <= cents, f"building {seed}: count bound above the optimum"
                assert bounds[start] <= cents, f"building {seed}: level bound too high at {start}"
                assert judges.walk(task, solved.tree(start), start)[0] == cents, (
                    f"building {seed}: tree differs"
                )
        if solved.curve[0] is not None:
            gaps.append((solved.curve[0] - bounds[0]) / solved.curve[0])
    print(f"{options.buildings} buildings, {starts} starting losses: all equal; slowest {max(times):.2f} s")
    mean, most = 100 * statistics.mean(gaps), 100 * max(gaps)
    print(f"level bound below the optimum: mean {mean:.2f} %, most {most:.2f} %")
    seen = {"equal": 0, "both impossible": 0, "open": 0}
    for seed in range(options.integer):
        task = judges.random_task(seed, 6, devices=6, most_b=24)
        optimum = judges.IntegerModel(task).solve()
        ours = solve_exactly(index(task)).curve[0]
        if optimum == "open":
            seen["open"] += 1
        elif optimum == "impossible":
            assert ours is None, f"integer model {seed}: impossible against {ours}"
            seen["both impossible"] += 1
        else:
            assert optimum == ours, f"integer model {seed}: {optimum} against {ours}"
            seen["equal"] += 1
    print(
        f"integer model of {options.integer} buildings:", ", ".join(f"{n} {what}" for what, n in seen.items())
    )


if __name__ == "__main__":
    main()
