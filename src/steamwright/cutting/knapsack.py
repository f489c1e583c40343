"""The best pattern for a length: a bounded knapsack, exact for any length.

A table over rounded-down lengths gives for every tail of the items an upper bound; a depth-first search under it finds the
pattern. Up to ``GRID`` steps nothing is rounded and the search goes straight to the best.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
GRID = 4096
NODES = 30_000_000


def best_pattern(capacity: int, lengths: Ints, values: Floats, most: Ints, least_value: float,
                 content_with: int = NODES) -> tuple[float, Ints | None, float]:
    """The most valuable pattern worth more than a given value.

    Parameters
    ----------
    capacity : int
        Length of the stock, in whole units (count).
    lengths : array of int, shape (n,)
        Lengths of the items (count of units).
    values : array of float, shape (n,)
        Value of one of each; items of no value are left out (ratio).
    most : array of int, shape (n,)
        Most of each in a pattern (count).
    least_value : float
        Only a pattern worth more than this is looked for (ratio).
    content_with : int
        After so many nodes a pattern already found is good enough (count).

    Returns
    -------
    value : float
        Value of the pattern, ``least_value`` if there is none.
    pattern : array of int, shape (n,), or None
        How many of each.
    bound : float
        No pattern is worth more than the larger of this and ``least_value``.

    References
    ----------
    own derivation
    """
    chosen = np.flatnonzero((values > 0.0) & (most > 0) & (lengths <= capacity))
    if len(chosen) == 0:
        return least_value, None, 0.0
    order = chosen[np.argsort(-values[chosen] / lengths[chosen], kind="stable")]
    w, v, b = lengths[order], values[order], np.minimum(most[order], capacity // lengths[order])
    step = max(1, -(-capacity // GRID))
    table = _compiled()[0](capacity // step, w // step, v, b)
    bound = float(table[0, -1])
    if bound <= least_value:
        return least_value, None, bound
    # Where nothing is rounded the table's own value is reached; only what equals it is followed.
    floor = max(least_value, bound - 1e-12 * max(1.0, abs(bound))) if step == 1 else least_value
    value, counts, finished = _compiled()[1](capacity, step, w, v, b, table, floor, content_with, NODES)
    if value <= floor:
        return least_value, None, least_value if finished and step > 1 else bound
    pattern = np.zeros(len(lengths), dtype=np.int64)
    pattern[order] = counts
    return float(value), pattern, float(value) if finished and step > 1 else max(float(value), bound)


@cache
def _compiled() -> tuple[Callable[..., Any], Callable[..., Any]]:
    from numba import njit

    return njit(cache=True)(_tails), njit(cache=True)(_search)


def _tails(capacity: int, w: Ints, v: Floats, b: Ints) -> Floats:
    """Best value of the items from each on within each rounded length."""
    n = len(w)
    table = np.zeros((n + 1, capacity + 1))
    for i in range(n - 1, -1, -1):
        wi, vi, bi = w[i], v[i], b[i]
        if wi == 0:
            for r in range(capacity + 1):
                table[i, r] = table[i + 1, r] + bi * vi
        elif bi * wi >= capacity - wi + 1:
            for r in range(capacity + 1):
                best = table[i + 1, r]
                if r >= wi and table[i, r - wi] + vi > best:
                    best = table[i, r - wi] + vi
                table[i, r] = best
        else:
            for r in range(capacity + 1):
                best = table[i + 1, r]
                for c in range(1, min(bi, r // wi) + 1):
                    if table[i + 1, r - c * wi] + c * vi > best:
                        best = table[i + 1, r - c * wi] + c * vi
                table[i, r] = best
    return table


def _search(capacity: int, step: int, w: Ints, v: Floats, b: Ints, table: Floats, floor: float, content_with: int,
            most_nodes: int) -> tuple[float, Ints, bool]:
    """Depth first, most of each item first, under the table's bound."""
    n = len(w)
    best, counts = floor, np.zeros(n, dtype=np.int64)
    now = np.zeros(n, dtype=np.int64)
    left = np.zeros(n + 1, dtype=np.int64)
    worth = np.zeros(n + 1)
    left[0] = capacity
    found = False
    nodes = 0
    i = 0
    now[0] = min(b[0], capacity // w[0])
    while i >= 0:
        nodes += 1
        if nodes > most_nodes or (found and nodes > content_with):
            return best, counts, False
        if now[i] < 0:
            i -= 1
            if i >= 0:
                now[i] -= 1
            continue
        left[i + 1] = left[i] - now[i] * w[i]
        worth[i + 1] = worth[i] + now[i] * v[i]
        if worth[i + 1] > best:
            best, found = worth[i + 1], True
            counts[: i + 1] = now[: i + 1]
            counts[i + 1:] = 0
        if i + 1 < n and worth[i + 1] + table[i + 1, left[i + 1] // step] > best:
            i += 1
            now[i] = min(b[i], left[i] // w[i])
        else:
            now[i] -= 1
    return best, counts, True
