"""Two-stage patterns of a sheet: strips by bounded knapsacks, the sheet by one over its strips."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from steamwright.cutting.compiling import compiled

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@compiled
def fill_strips(width: int, across: Ints, item: Ints, values: Floats, most: Ints) -> tuple[Floats, Ints]:
    """Best value of a strip that takes the first ways only, for each number of ways, and how often the last one lies in it.

    Parameters
    ----------
    width : int
        Width of the sheet (count of units).
    across, item : array of int, shape (k,)
        Width of every way, in increasing height, and its item (count).
    values : array of float, shape (n,)
        Value of one of each item (ratio).
    most : array of int, shape (n,)
        Most of each item in a strip (count).

    Returns
    -------
    table : array of float, shape (k + 1, width + 1)
        Best value within each width (ratio).
    counts : array of int, shape (k, width + 1)
        How often the way lies in the best (count).

    References
    ----------
    own derivation
    """
    k = len(across)
    table = np.zeros((k + 1, width + 1))
    counts = np.zeros((k, width + 1), dtype=np.int64)
    for i in range(k):
        w, v, b = across[i], values[item[i]], most[item[i]]
        for r in range(width + 1):
            best, c = table[i, r], 0
            if v > 0.0:
                for j in range(1, min(b, r // w) + 1):
                    worth = table[i, r - j * w] + j * v
                    if worth > best + 1e-12:
                        best, c = worth, j
            table[i + 1, r], counts[i, r] = best, c
    return table, counts


@compiled
def best_sheet(width: int, height: int, across: Ints, up: Ints, item: Ints, values: Floats, most: Ints,
               proper: bool) -> tuple[float, Ints, int]:
    """The most valuable pattern of one sheet, first cut across its height.

    Parameters
    ----------
    width, height : int
        Size of the sheet (count of units).
    across, up, item : array of int, shape (k,)
        Width and height of every way a piece may lie, in increasing height, and its item (count).
    values : array of float, shape (n,)
        Value of one of each item (ratio).
    most : array of int, shape (n,)
        Most of each item in one strip, or on the sheet if the pattern shall be proper (count).
    proper : bool
        Whether no item may be cut more often than ``most``; such a pattern need not be the best of its kind.

    Returns
    -------
    value : float
        If not proper it is the greatest, and a bound on that of every proper one (ratio).
    strips : array of int, shape (height, k + 1)
        A row for each strip: its height, then how often each way lies in it (count).
    used : int
        Number of rows that are used (count).

    References
    ----------
    own derivation
    """
    k = len(across)
    table, counts = fill_strips(width, across, item, values, most)
    top = np.zeros(height + 1)
    choice = np.full(height + 1, -1, dtype=np.int64)
    for r in range(1, height + 1):
        top[r] = top[r - 1]
        for i in range(k):
            if up[i] <= r and (i == k - 1 or up[i + 1] != up[i]) and top[r - up[i]] + table[i + 1, width] > top[r] + 1e-12:
                top[r], choice[r] = top[r - up[i]] + table[i + 1, width], i
    strips = np.zeros((height, k + 1), dtype=np.int64)
    used, value, r = 0, 0.0, height
    left = most.copy()
    while r > 0:
        i = choice[r]
        if i < 0:
            r -= 1
            continue
        if proper and used > 0:
            table, counts = fill_strips(width, across, item, values, left)
        value += _read(strips, used, i, width, across, item, values, up, counts, left, proper)
        used += 1
        r -= up[i]
    if proper:
        used, value = _fill_up(strips, used, value, width, height, across, up, item, values, left)
        return value, strips, used
    return top[height], strips, used


@compiled
def _read(strips: Ints, row: int, last: int, width: int, across: Ints, item: Ints, values: Floats, up: Ints, counts: Ints, left: Ints,
          proper: bool) -> float:
    """Write the strip that takes ways up to the last one; its height is that of the highest piece in it."""
    c, value, high = width, 0.0, 0
    for i in range(last, -1, -1):
        n = counts[i, c]
        if proper:
            n = min(n, left[item[i]])
            left[item[i]] -= n
        strips[row, i + 1] = n
        value += n * values[item[i]]
        c -= counts[i, c] * across[i]
        if n > 0 and up[i] > high:
            high = up[i]
    strips[row, 0] = high
    return value


@compiled
def _fill_up(strips: Ints, used: int, value: float, width: int, height: int, across: Ints, up: Ints, item: Ints, values: Floats,
             left: Ints) -> tuple[int, float]:
    """More strips of what is left, the one with the most value for its height first."""
    k = len(across)
    free = height - strips[:used, 0].sum()
    while used < height:
        table, counts = fill_strips(width, across, item, values, left)
        best, at = 0.0, -1
        for i in range(k):
            if up[i] <= free and table[i + 1, width] / up[i] > best + 1e-12:
                best, at = table[i + 1, width] / up[i], i
        if at < 0:
            break
        strips[used, :] = 0
        value += _read(strips, used, at, width, across, item, values, up, counts, left, True)
        if strips[used, 0] == 0:
            break
        free -= strips[used, 0]
        used += 1
    return used, value
