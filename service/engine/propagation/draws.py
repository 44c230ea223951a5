"""Draws: 1,024 fixed sets of errors, the same on every machine and every day.

Errors that many outlets share take a Richtmyer sequence, multiples of the roots of primes, which fills few
dimensions evenly. Errors of single parts and runs are too many for that: each takes the same 1,024 evenly
spaced values (the van der Corput set) in a fixed order of its own, a Latin hypercube.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Reals = NDArray[np.float32]

DRAWS = 1024
_MASK = np.uint16(DRAWS - 1)


def triangular(share: NDArray[np.float64]) -> NDArray[np.float64]:
    """Value of the symmetric triangular distribution on −1…1 below which the share lies.

    >>> [round(float(x), 3) for x in triangular(np.array([0.0, 0.125, 0.5, 1.0]))]
    [-1.0, -0.5, 0.0, 1.0]
    """
    low = np.sqrt(2.0 * np.minimum(share, 0.5)) - 1.0
    high = 1.0 - np.sqrt(2.0 * (1.0 - np.maximum(share, 0.5)))
    return np.where(share < 0.5, low, high)


def shared_shares(count: int) -> NDArray[np.float64]:
    """Evenly filled points in the unit cube, count × draws: (k + ½)·√prime without its whole part.

    Source: R. D. Richtmyer, "The evaluation of definite integrals", 1951.
    """
    roots = np.sqrt(np.array(_primes(count), dtype=np.float64))
    return np.asarray(np.outer(roots, np.arange(DRAWS) + 0.5) % 1.0)


def own_errors(variables: NDArray[np.int64]) -> Reals:
    """Triangular errors on −1…1 of the variables of those numbers, variables × draws."""
    table = triangular((np.arange(DRAWS) + 0.5) / DRAWS).astype(np.float32)
    return np.take(table, own_orders(variables))


def own_orders(variables: NDArray[np.int64]) -> NDArray[np.uint16]:
    """The fixed order of each variable, variables × draws: a permutation of 0…1023 in every row.

    Odd multiplications, additions and shifted exclusive-ors on ten bits are each one to one; their constants
    are the variable's number, mixed.
    """
    key = _mixed(variables.astype(np.uint64))
    part = [((key >> np.uint64(10 * n)) & np.uint64(_MASK)).astype(np.uint16)[:, None] for n in range(5)]
    order = np.arange(DRAWS, dtype=np.uint16) ^ part[0]
    order *= part[1] | np.uint16(1)
    order &= _MASK
    order ^= order >> np.uint16(5)
    order *= part[2] | np.uint16(1)
    order += part[4]
    order &= _MASK
    order ^= order >> np.uint16(4)
    order *= part[3] | np.uint16(1)
    order &= _MASK
    order ^= order >> np.uint16(6)
    return order


def _mixed(numbers: NDArray[np.uint64]) -> NDArray[np.uint64]:
    """Numbers scattered over 64 bits. Source: the finaliser of SplitMix64 (Steele, Lea, Flood 2014)."""
    mixed = (numbers + np.uint64(1)) * np.uint64(0x9E3779B97F4A7C15)
    mixed = (mixed ^ (mixed >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    mixed = (mixed ^ (mixed >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return mixed ^ (mixed >> np.uint64(31))


def _primes(count: int) -> list[int]:
    primes: list[int] = []
    candidate = 2
    while len(primes) < count:
        if all(candidate % prime for prime in primes if prime * prime <= candidate):
            primes.append(candidate)
        candidate += 1
    return primes
