"""Rectangles on a strip of one width with the least height, as they stand; not necessarily parted by edge-to-edge cuts.

A ceiling one unit under the best height is set again and again, and orders are searched until everything finds a place
under it. All sizes are whole numbers of one unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steamwright.cutting.length_bounds import length_bound
from steamwright.errors import InfeasibleError

Ints = NDArray[np.int64]
_ROUND = 20_000
_HEAT = 0.1


@dataclass(frozen=True, slots=True)
class StripRect:
    """A rectangle that must not turn."""

    width: int
    height: int


@dataclass(frozen=True, slots=True)
class StripPlace:
    """Where a rectangle lies: from the strip's side, from its beginning."""

    x: int
    y: int


@dataclass(frozen=True, slots=True)
class StripPacking:
    """A place for every rectangle, the height taken, and a bound that no packing is under with its method."""

    places: tuple[StripPlace, ...]
    height: int
    lower_bound: int
    method: str
    tried: int

    @property
    def proven(self) -> bool:
        """Whether no packing is lower."""
        return self.height == self.lower_bound


def pack_strip(width: int, rects: Sequence[StripRect], work: float = 4e8, seed: int = 1) -> StripPacking:
    """Place rectangles on a strip so that little height is taken.

    Parameters
    ----------
    width : int
        Width of the strip (count of units).
    rects : sequence of StripRect
        What is placed.
    work : float
        Most looks at a rectangle, reckoned as the square of their number for each order tried (count).
    seed : int
        Seed of the search (count).

    Returns
    -------
    packing : StripPacking
        Rectangles inside and apart.

    Raises
    ------
    InfeasibleError
        If a rectangle is wider than the strip.

    References
    ----------
    own derivation
    """
    for k, r in enumerate(rects):
        if r.width > width:
            raise InfeasibleError(f"rectangle {k} of {r.width} × {r.height} is wider than the strip of {width}",
                                  hint="choose a wider strip")
    if not rects:
        return StripPacking((), 0, 0, "nothing is placed", 0)
    w = np.array([r.width for r in rects], dtype=np.int64)
    h = np.array([r.height for r in rects], dtype=np.int64)
    bound, method = height_bound(width, w, h)
    orders = [np.argsort(-key, kind="stable").astype(np.int64) for key in (w * h, w, h, w + h)]
    best, tried = _lowered(width, w, h, _first(width, w, h, orders), orders, bound, work, seed)
    places = tuple(StripPlace(int(a), int(b)) for a, b in zip(best.x, best.y, strict=True))
    return StripPacking(places, best.height, bound, method, tried)


def height_bound(width: int, w: Ints, h: Ints) -> tuple[int, str]:
    """Height that any packing takes: the tallest, or shares of the width by dual-feasible functions, summed over the heights.

    Parameters
    ----------
    width : int
        Width of the strip (count of units).
    w, h : array of int, shape (n,)
        Widths and heights (count of units).

    Returns
    -------
    height : int
        No packing is lower (count of units).
    method : str
        What proves it.

    References
    ----------
    own derivation: every level of the strip is a pattern of widths
    """
    bound, method = length_bound(width, w, h)
    tallest = int(h.max())
    return (tallest, "tallest rectangle") if tallest >= bound else (bound, "area" if method == "sum of lengths" else f"widths: {method}")


@dataclass(frozen=True, slots=True)
class _Packed:
    height: int
    order: Ints
    x: Ints
    y: Ints


def _first(width: int, w: Ints, h: Ints, orders: Sequence[Ints]) -> _Packed:
    """The lowest of the plain orders, without a ceiling."""
    found = [_placed(width, int(h.sum()), w, h, order, rule) for order in orders for rule in range(4)]
    return min(found, key=lambda p: p.height)


def _placed(width: int, ceiling: int, w: Ints, h: Ints, order: Ints, rule: int) -> _Packed:
    """Places by an order that is known to bring everything under the ceiling."""
    from steamwright.cutting.skyline import place

    n = len(w)
    x, y = np.zeros(n, dtype=np.int64), np.zeros(n, dtype=np.int64)
    room = [np.zeros(n + 4, dtype=np.int64) for _ in range(3)]
    place(width, ceiling, w, h, order, x, y, width * ceiling - int((w * h).sum()), 1 << 60, rule, *room)
    return _Packed(int((y + h).max()), order.copy(), x, y)


def _lowered(width: int, w: Ints, h: Ints, best: _Packed, orders: Sequence[Ints], bound: int, work: float,
             seed: int) -> tuple[_Packed, int]:
    """One unit less again and again, longer searches after every eight."""
    from steamwright.cutting.skyline import search

    n = len(w)
    left, tried, turn = int(work / (n * n)), 0, 1
    heat = _HEAT * float((w * h).sum()) / n
    while best.height > bound and left > 0:
        order = orders[turn % 4].copy() if turn % 3 else best.order.copy()
        out, done = search(width, best.height - 1, w, h, order, turn % 4, min(left, _ROUND * (1 + turn // 8)), heat, seed + turn)
        if out == 0:
            best = _placed(width, best.height - 1, w, h, order, turn % 4)
        left, tried, turn = left - done, tried + done, turn + 1
    return best, tried
