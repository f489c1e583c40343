"""Rectangles placed one by one into the lowest gap of a skyline, under a ceiling, and the search over orders that feeds it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from steamwright.cutting.compiling import compiled

Ints = NDArray[np.int64]

EXACT, FLUSH, OTHER_SIDE, POKES, FILLS_NONE = 40, 10, 9, 3, 4


@compiled
def place(width: int, ceiling: int, w: Ints, h: Ints, order: Ints, x: Ints, y: Ints, spare: int, accept: int, rule: int, edge: Ints,
          level: Ints, waiting: Ints) -> int:
    """Place rectangles under a ceiling; what finds no place stays out.

    The lowest gap, the leftmost of several, takes the rectangle that fits it best: as wide as the gap, then as high as
    the walls beside it; the first in the order where several are alike. A gap that none fits is lost and filled up.

    Parameters
    ----------
    width, ceiling : int
        Size of the space (count of units).
    w, h, order : array of int, shape (n,)
        Widths, heights, and the order of preference (count).
    x, y : array of int, shape (n,)
        Filled with places; y is -1 for what stays out (count of units).
    spare : int
        Area of the space less that of the rectangles (count of units).
    accept : int
        Where more than this must stay out, the placing is given up (count of units).
    rule : int
        Bit 1 and 2 say whether a rectangle is worth less that ends below both walls or pokes over the taller one.
    edge, level, waiting : array of int
        Room to work in, n + 4 long (count).

    Returns
    -------
    out : int
        Area that stays out, or a bound on it over ``accept`` (count of units).

    References
    ----------
    own derivation from the best-fit rule of 2004
    """
    left, m, lost = len(order), 1, 0
    edge[0], level[0], edge[1] = 0, 0, width
    for a in range(left):
        waiting[a] = order[a]
        y[a] = -1
    while left > 0:
        k = 0
        for j in range(1, m):
            if level[j] < level[k]:
                k = j
        low, gap = level[k], edge[k + 1] - edge[k]
        if low >= ceiling:
            break
        wall_left = level[k - 1] - low if k > 0 else ceiling - low
        wall_right = level[k + 1] - low if k < m - 1 else ceiling - low
        at, to_left = _choose(w, h, waiting, left, gap, ceiling - low, wall_left, wall_right, rule)
        if at < 0:
            lost += int(min(wall_left, wall_right) * gap)
            if lost - spare > accept:
                return lost - spare
            level[k] = low + min(wall_left, wall_right)
            m = _join(edge, level, m, k)
            continue
        i = waiting[at]
        for a in range(at, left - 1):
            waiting[a] = waiting[a + 1]
        left -= 1
        y[i] = low
        x[i] = edge[k] if to_left or w[i] == gap else edge[k + 1] - w[i]
        if w[i] < gap:
            for j in range(m, k - 1, -1):
                edge[j + 1] = edge[j]
            for j in range(m - 1, k - 1, -1):
                level[j + 1] = level[j]
            m += 1
            if to_left:
                edge[k + 1] = edge[k] + w[i]
            else:
                edge[k + 1] = edge[k + 2] - w[i]
                k += 1
        level[k] = low + h[i]
        m = _join(edge, level, m, k)
    out = 0
    for a in range(left):
        out += int(w[waiting[a]] * h[waiting[a]])
    return out


@compiled
def _choose(w: Ints, h: Ints, waiting: Ints, left: int, gap: int, headroom: int, wall_left: int, wall_right: int,
            rule: int) -> tuple[int, bool]:
    """The rectangle that fits a gap best, and on which side of it."""
    best, at, to_left = -100, -1, True
    tall, other = max(wall_left, wall_right), min(wall_left, wall_right)
    for a in range(left):
        wide, high = w[waiting[a]], h[waiting[a]]
        if wide > gap or high > headroom:
            continue
        side = wall_left >= wall_right
        if wide == gap:
            score = EXACT + (FLUSH if high == wall_left else 0) + (FLUSH if high == wall_right else 0)
            if rule & 1 and high < other:
                score -= FILLS_NONE
        else:
            score = FLUSH if high == tall else 0
            if score == 0 and high == other:
                score, side = OTHER_SIDE, not side
            if rule & 2 and high > tall:
                score -= POKES
        if score > best:
            best, at, to_left = score, a, side
            if best == EXACT + 2 * FLUSH:
                break
    return at, to_left


@compiled
def _join(edge: Ints, level: Ints, m: int, k: int) -> int:
    """Join a step of the skyline with neighbours of its own level."""
    if k < m - 1 and level[k + 1] == level[k]:
        for j in range(k + 1, m):
            edge[j] = edge[j + 1]
        for j in range(k + 1, m - 1):
            level[j] = level[j + 1]
        m -= 1
    if k > 0 and level[k - 1] == level[k]:
        for j in range(k, m):
            edge[j] = edge[j + 1]
        for j in range(k, m - 1):
            level[j] = level[j + 1]
        m -= 1
    return m


@compiled
def _move(order: Ints, a: int, b: int, swap: bool) -> None:
    """Exchange two places of an order, or move one to another place; ``_move(order, b, a, swap)`` undoes it."""
    t = order[a]
    if swap:
        order[a] = order[b]
    elif a < b:
        for j in range(a, b):
            order[j] = order[j + 1]
    else:
        for j in range(a, b, -1):
            order[j] = order[j - 1]
    order[b] = t


@compiled
def search(width: int, ceiling: int, w: Ints, h: Ints, order: Ints, rule: int, tries: int, heat: float, seed: int) -> tuple[int, int]:
    """Change an order until all rectangles find a place under a ceiling.

    Worse orders are accepted now and then, less and less (annealing); the area that stays out is what is brought down.

    Parameters
    ----------
    width, ceiling : int
        Size of the space (count of units).
    w, h : array of int, shape (n,)
        Widths and heights (count of units).
    order : array of int, shape (n,)
        Where to begin; holds the best order at the end (count).
    rule : int
        As for ``place``.
    tries : int
        Most orders placed (count).
    heat : float
        Area by which an order may be worse in the mean at the beginning (ratio).
    seed : int
        Seed of the changes (count).

    Returns
    -------
    out : int
        Least area that stayed out; 0 if all found a place (count of units).
    tried : int
        Orders placed (count).

    References
    ----------
    own derivation
    """
    n = len(order)
    x, y, waiting = np.zeros(n, dtype=np.int64), np.zeros(n, dtype=np.int64), np.zeros(n + 4, dtype=np.int64)
    edge, level = np.zeros(n + 4, dtype=np.int64), np.zeros(n + 4, dtype=np.int64)
    spare = width * ceiling - (w * h).sum()
    now = place(width, ceiling, w, h, order, x, y, spare, 1 << 60, rule, edge, level, waiting)
    best, kept, tried = now, order.copy(), 1
    np.random.seed(seed)  # noqa: NPY002
    while tried < tries and best > 0 and n > 1:
        tried += 1
        a, b, swap = np.random.randint(n), np.random.randint(n), np.random.random() < 0.5  # noqa: NPY002
        accept = now - int(np.log(1.0 - np.random.random()) * heat * (1.0 - tried / tries))  # noqa: NPY002
        _move(order, a, b, swap)
        out = place(width, ceiling, w, h, order, x, y, spare, accept, rule, edge, level, waiting)
        if out <= accept:
            now = out
            if now < best:
                best = now
                kept[:] = order
        else:
            _move(order, b, a, swap)
    order[:] = kept
    return best, tried
