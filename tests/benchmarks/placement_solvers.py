"""Our placement beside general integer solvers on the same small buildings, in the same run.

The model is the level-expanded flow of whole tokens of `tests/service/engine/placement/oracle.py`, with at least one
cable on every way: the best integer model we know. HiGHS comes with SciPy; CP-SAT is tried where OR-tools is
installed (`pip install ortools`). One thread each, the seconds of the caller at most.
"""

from __future__ import annotations

import importlib.util
import time
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
from scipy.optimize import LinearConstraint, milp

from service.engine.placement.effort import place
from service.engine.placement.task import PlacementTask

Model = tuple[Any, Any, Any, Any, int]


def oracle() -> ModuleType:
    """The independent judges of the tests."""
    path = Path(__file__).parents[1] / "service" / "engine" / "placement" / "oracle.py"
    spec = importlib.util.spec_from_file_location("placement_oracle", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def highs(model: Model, limit_s: float) -> str:
    """Cost, or cost and bound, in cents, as HiGHS leaves it."""
    cost, rows, low, high, fixed = model
    answer = milp(
        cost,
        integrality=np.ones(len(cost)),
        constraints=LinearConstraint(rows, low, high),
        options={"time_limit": limit_s, "mip_rel_gap": 0.0},
    )
    if answer.status == 0:
        return f"{round(answer.fun) + fixed} proven"
    found = "none" if answer.fun is None else str(round(answer.fun) + fixed)
    bound = getattr(answer, "mip_dual_bound", None)
    return f"{found}, bound {'none' if bound is None else round(bound) + fixed}"


def cp_sat(model: Model, limit_s: float, outlets: int) -> str:
    """The same by CP-SAT; no variable is larger than four times the outlets."""
    if importlib.util.find_spec("ortools") is None:
        return "not installed"
    from ortools.sat.python import cp_model

    cost, rows, low, high, fixed = model
    made = cp_model.CpModel()
    names = [made.new_int_var(0, 4 * outlets, f"x{at}") for at in range(len(cost))]
    for row in range(rows.shape[0]):
        begin, end = rows.indptr[row], rows.indptr[row + 1]
        total = sum(
            int(value) * names[column]
            for column, value in zip(rows.indices[begin:end], rows.data[begin:end], strict=True)
        )
        made.add(total >= int(low[row]))
        if np.isfinite(high[row]):
            made.add(total <= int(high[row]))
    made.minimize(sum(int(cents) * name for cents, name in zip(cost, names, strict=True) if cents))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = limit_s
    solver.parameters.num_workers = 1
    status = solver.solve(made)
    if status == cp_model.OPTIMAL:
        return f"{round(solver.objective_value) + fixed} proven"
    found = "none" if status != cp_model.FEASIBLE else str(round(solver.objective_value) + fixed)
    return f"{found}, bound {round(solver.best_objective_bound) + fixed}"


def compare(cases: list[tuple[str, PlacementTask]], limit_s: float) -> None:
    """Print one row a building: ours, HiGHS, CP-SAT, with the seconds of each."""
    judges = oracle()
    print("| building | outlets | variables | ours | s | HiGHS | s | CP-SAT | s |")
    print("|---|---|---|---|---|---|---|---|---|")
    for name, task in cases:
        outlets = sum(spot.is_outlet for spot in task.spots)
        model = judges.IntegerModel(task).matrix()
        began = time.perf_counter()
        placed = place(task)
        row = [f"{placed.cost_cents} {'proven' if placed.certificate.proven else 'not proven'}"]
        row.append(f"{time.perf_counter() - began:.2f}")
        began = time.perf_counter()
        row += [highs(model, limit_s), f"{time.perf_counter() - began:.1f}"]
        began = time.perf_counter()
        row += [cp_sat(model, limit_s, outlets), f"{time.perf_counter() - began:.1f}"]
        print("|", " | ".join([name, str(outlets), str(len(model[0])), *row]), "|", flush=True)
