"""The compiled loops against a plain numpy twin, and their switch for the disk cache."""

import subprocess
import sys

import numpy as np
import pytest

from service.engine.placement import kernels, rows
from service.engine.placement.kernels import INF


def _twin(left, right, sa, sb, start):
    out = start.astype(np.int64)
    n = len(out)
    for d in range(n):
        if d + sa < n and d + sb < n:
            out[d] = min(out[d], int(left[d + sa]) + int(right[d + sb]))
    return out


@pytest.mark.parametrize("seed", range(5))
def test_a_join_equals_its_plain_twin(seed):
    rng = np.random.default_rng(seed)
    tables = rng.integers(0, 10_000, size=(3, 4, 30)).astype(np.int32)
    tables[rng.random(tables.shape) < 0.3] = INF
    ends = np.array([[rows._last(t) for t in row] for row in tables], dtype=np.int32)
    joins = np.array([[2, 0, 3, 1, 5, 1]], dtype=np.int32)
    want = _twin(tables[0, 0], tables[1, 1], 3, 5, tables[2, 2])
    want = _twin(tables[1, 0], tables[0, 1], 3, 5, want)
    rows._join(tables, ends, joins, 0, 1, 2, 0, 1)
    assert np.array_equal(tables[2, 2], want)


def test_two_impossible_costs_still_fit_into_the_tables():
    assert np.iinfo(np.int32).max >= 2 * INF


def test_the_cache_is_refused_where_the_folder_cannot_be_written(tmp_path):
    blocker = tmp_path / "file"
    blocker.write_text("")
    assert not kernels.enable_cache(str(blocker / "below"))


def test_the_cache_holds_the_compiled_kernels_after_warming_up(tmp_path):
    code = (
        "from service.engine.placement import kernels, warm\n"
        f"assert kernels.enable_cache({str(tmp_path)!r})\n"
        "warm.warm_up()\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
    assert list(tmp_path.rglob("*.nbi"))
