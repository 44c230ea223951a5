"""The compiled loops of the bound that knows levels: layers and closures over states (feeds, best loss, other
losses).
"""

from __future__ import annotations

import numpy as np

from service.engine.placement.kernels import INF, Ints, compiled


@compiled
def _serve(after: Ints, light: Ints, before: Ints, most: int) -> None:
    """Lower-bound layer: k feeds serve one more light child, which takes j of them.

    `light[j, d]` is what the child costs when j feeds of loss d or more enter it. States are k feeds, the
    best of loss d1 or more, all others of d2 or more; `before` and `after` are indexed [k, d1, d2], one feed
    stands at d2 = d1, no feed at 0, 0.
    """
    steps = light.shape[1]
    after[:, :, :] = INF
    for k in range(1, most + 1):
        for j in range(1, min(k, light.shape[0] - 1) + 1):
            for d1 in range(steps):
                top = d1 + 1 if k == 1 else steps
                for d2 in range(d1, top):
                    with_best = light[j, d1] + (before[k - j, d2, d2] if k > j else before[0, 0, 0])
                    best = min(after[k, d1, d2], with_best)
                    if k > j + 1:
                        best = min(best, light[j, d2] + before[k - j, d1, d2])
                    elif k == j + 1:
                        best = min(best, light[j, d2] + before[1, d1, d1])
                    after[k, d1, d2] = min(best, INF)


@compiled
def _divide(state: Ints, entries: Ints, free: Ints, most: int) -> None:
    """Lower-bound closure: devices (extra feeds, two least losses, cents) applied to k feeds, k falling.

    Beyond `most` feeds the level-free cost `free[k]` stands in.
    """
    steps = state.shape[1]
    for k in range(most, 0, -1):
        for e in range(entries.shape[0]):
            x, s1, s2, cents = entries[e, 0], entries[e, 1], entries[e, 2], entries[e, 3]
            if k + x > most:
                if k + x < len(free):
                    for d1 in range(steps - s1):
                        for d2 in range(d1, d1 + 1 if k == 1 else steps):
                            state[k, d1, d2] = min(state[k, d1, d2], free[k + x] + cents)
                continue
            for d1 in range(steps):
                for d2 in range(d1, d1 + 1 if k == 1 else steps):
                    best = state[k, d1, d2]
                    if k > 1 and d2 + s2 < steps:
                        best = min(best, state[k + x, d1, d2 if k > 2 else d2 + s1] + cents)
                    if d1 + s2 >= steps:
                        state[k, d1, d2] = best
                        continue
                    one, two = d1 + s1, d1 + s2
                    if k > 1:
                        if one <= d2:
                            two = min(two, d2)
                        elif k > 2:
                            one, two = d2, d2
                        else:
                            one, two = d2, one
                    state[k, d1, d2] = min(best, state[k + x, one, two] + cents)


@compiled
def level_counts(
    lights: Ints, heavy: Ints, edge: int, free_heavy: Ints, free: Ints, entries: Ints, most: int
) -> Ints:
    """Lower bound of one place over states [k, d1, d2]; see `_serve`. `heavy` is the child along the riser.

    `heavy[k]` holds up to its own number of feeds; beyond, `free_heavy[k]` is used. Returns states up to
    `most`.
    """
    steps = lights.shape[2]
    one = np.full((most + 1, steps, steps), INF, dtype=np.int32)
    two = np.full((most + 1, steps, steps), INF, dtype=np.int32)
    if heavy.shape[0] == 0:
        one[0, 0, 0] = 0
    for k in range(1, min(most + 1, len(free_heavy))):
        if k < heavy.shape[0]:
            for d1 in range(steps):
                for d2 in range(d1, d1 + 1 if k == 1 else steps):
                    one[k, d1, d2] = min(heavy[k, d1, d2] + k * edge, INF)
        else:
            one[k, :, :] = min(free_heavy[k] + k * edge, INF)
    for c in range(lights.shape[0]):
        _serve(two, lights[c], one, most)
        one, two = two, one
    _divide(one, entries, free, most)
    for k in range(1, min(most + 1, len(free))):
        for d1 in range(steps):
            for d2 in range(d1, steps):
                one[k, d1, d2] = max(one[k, d1, d2], free[k])
    return one
