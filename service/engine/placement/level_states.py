"""The compiled loops of the bound that knows levels: layers and closures over states (feeds, best loss, other
losses).
"""

from __future__ import annotations

import numpy as np

from service.engine.placement.kernels import INF, Ints, compiled


@compiled
def _lower(out: Ints, source: Ints, start: int, stop: int, cents: int) -> None:
    """out[d] = min(out[d], source[d] + cents) for d from start to stop, in 32 bits."""
    c = np.int32(cents)
    for d in range(start, stop):
        x = np.int32(source[d] + c)
        y = out[d]
        out[d] = x if x < y else y


@compiled
def _lower_sum(out: Ints, left: Ints, right: Ints, start: int) -> None:
    """out[d] = min(out[d], left[d] + right[d]) for d from start on, in 32 bits."""
    for d in range(start, len(out)):
        x = np.int32(left[d] + right[d])
        y = out[d]
        out[d] = x if x < y else y


@compiled
def _diagonal(state: Ints) -> Ints:
    """[k, d]: k feeds, all of loss d or more."""
    out = np.empty((state.shape[0], state.shape[1]), dtype=np.int32)
    for k in range(state.shape[0]):
        for d in range(state.shape[1]):
            out[k, d] = state[k, d, d]
    return out


@compiled
def _serve(after: Ints, light: Ints, before: Ints, most: int) -> None:
    """One layer: k feeds serve one more light child, which takes j of them, with or without the best one.

    `light[j, d]` is what the child costs when j feeds of loss d or more enter it. `before` and `after` are
    indexed [k, d1, d2] with d1 <= d2; one feed stands at d2 = d1, no feed at 0, 0.
    """
    steps = light.shape[1]
    equal = _diagonal(before)
    after[:, :, :] = INF
    for k in range(1, most + 1):
        for j in range(1, min(k, light.shape[0] - 1) + 1):
            for d1 in range(steps):
                out = after[k, d1, : d1 + 1 if k == 1 else steps]
                cents = light[j, d1]
                if cents < INF:
                    if k == j:
                        for d2 in range(d1, len(out)):
                            out[d2] = min(out[d2], cents + equal[0, 0])
                    else:
                        _lower(out, equal[k - j], d1, len(out), cents)
                if k > j + 1:
                    _lower_sum(out, light[j], before[k - j, d1], d1)
                elif k == j + 1:
                    _lower(out, light[j], d1, steps, before[1, d1, d1])


@compiled
def _divide(state: Ints, entries: Ints, free: Ints, most: int) -> None:
    """Devices (extra feeds, two least losses, cents) applied to the best or another of k feeds, k falling.

    Beyond `most` feeds the level-free cost `free[k]` stands in. A device is only used where the second of its
    used ports still leads somewhere.
    """
    steps = state.shape[1]
    equal = _diagonal(state)
    for k in range(most, 0, -1):
        for e in range(entries.shape[0]):
            x, s1, s2, cents = entries[e, 0], entries[e, 1], entries[e, 2], entries[e, 3]
            if k + x >= len(free):
                continue
            for d1 in range(steps):
                out = state[k, d1, : d1 + 1 if k == 1 else steps]
                if k + x > most:
                    for d2 in range(d1, len(out)):
                        out[d2] = min(out[d2], free[k + x] + cents)
                    continue
                to = state[k + x]
                if k > 2:
                    _lower(out, to[d1], d1, steps - s2, cents)
                elif k == 2:
                    _lower(out, to[d1, s1:], d1, steps - s2, cents)
                one, two = d1 + s1, d1 + s2
                if two >= steps:
                    continue
                if k == 1:
                    out[d1] = min(out[d1], to[one, two] + cents)
                    continue
                if k > 2:
                    _lower(out, equal[k + x], d1, one, cents)
                else:
                    for d2 in range(d1, one):
                        out[d2] = min(out[d2], to[d2, one] + cents)
                _lower(out, to[one], one, two, cents)
                for d2 in range(two, steps):
                    out[d2] = min(out[d2], to[one, two] + cents)
        for d in range(steps):
            equal[k, d] = state[k, d, d]


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
