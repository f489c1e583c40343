"""Lower bounds on stock lengths that need no linear program: the sum, and dual-feasible functions."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]


def length_bound(capacity: int, lengths: Ints, demand: Ints) -> tuple[int, str]:
    """The best bound of the sum and of two families of dual-feasible functions, in whole numbers.

    The first family counts pieces longer than ``capacity - k`` as whole and drops those shorter than ``k``; the second rounds
    a multiple of the length, which is left as it is where the multiple is whole.

    Parameters
    ----------
    capacity : int
        Length of the stock (count of units).
    lengths, demand : array of int, shape (n,)
        Lengths and how many of each (count).

    Returns
    -------
    stocks : int
        No cutting takes fewer (count).
    method : str
        What proves it.

    References
    ----------
    own derivation
    """
    c = int(capacity)
    best, method = -(-int((lengths * demand).sum()) // c), "sum of lengths"
    for k in sorted({int(w) for w in lengths if 2 * w <= c}):
        total = int(demand[lengths > c - k].sum()) * c + int((lengths * demand)[(lengths >= k) & (lengths <= c - k)].sum())
        if -(-total // c) > best:
            best, method = -(-total // c), f"pieces under {k} dropped, over {c - k} whole"
    for k in range(1, 101):
        # f(x) = x where (k + 1) x / c is whole, else floor((k + 1) x / c) c / k; times k to stay whole.
        times = (k + 1) * lengths
        value = np.where(times % c == 0, lengths * k, times // c * c)
        total = int((value * demand).sum())
        if -(-total // (k * c)) > best:
            best, method = -(-total // (k * c)), f"lengths rounded to parts of {k}"
    return best, method
