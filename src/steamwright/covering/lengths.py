"""Where a strip is cut across: into lengths that a crew can embed, or where it gets narrower and a smaller blank serves."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon

from steamwright.covering.segments import Shapes, edges_of
from steamwright.geometry.frame import Floats

NEAR_M = 1e-6
CLOSE_M = 0.02
LONG_M = 0.8
OPEN_M = 0.05


@dataclass(frozen=True, slots=True)
class LengthRules:
    """Lap, longest strip, how far a cut across stays from a joint that runs along it, and what a further piece has to save. [m, m²]"""

    lap_m: float
    longest_m: float
    seam_clear_m: float
    piece_m2: float


def equal_lengths(x0: float, x1: float, rules: LengthRules) -> list[tuple[float, float]]:
    """Cut a strip into equal lengths that lap, where it is longer than one piece may be.

    Parameters
    ----------
    x0, x1 : float
        From where to where it runs. [m]
    rules : LengthRules
        Lap and longest strip.

    Returns
    -------
    lengths_m : list of (float, float)
        From where to where each piece runs. [m]

    References
    ----------
    own derivation
    """
    if x1 - x0 <= rules.longest_m:
        return [(x0, x1)]
    count = int(np.ceil((x1 - x0 - rules.lap_m) / (rules.longest_m - rules.lap_m)))
    step = (x1 - x0 - rules.lap_m) / count
    return [(x0 + k * step, x0 + (k + 1) * step + rules.lap_m) for k in range(count)]


def lengths_by_shape(shapes: Sequence[Polygon], window: tuple[float, float, float, float], rules: LengthRules,
                     barred: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Cut a strip where its blanks get smallest: a shortest way over possible cuts.

    Parameters
    ----------
    shapes : sequence of Polygon
        What the strip runs over, strips along x. [m]
    window : (float, float, float, float)
        The strip: x and y from, x and y to. [m]
    rules : LengthRules
        Lap, longest strip, distance from joints.
    barred : sequence of (float, float)
        Stretches along x in which no seam may lie. [m]

    Returns
    -------
    lengths_m : list of (float, float)
        From where to where each piece runs; equal lengths where no cut is possible. [m]

    References
    ----------
    own derivation
    """
    within = shapely.clip_by_rect(np.array(shapes, dtype=object), *window)
    within = within[shapely.area(within) > 0.0]
    x0, x1 = window[0], window[2]
    if not len(within):
        return equal_lengths(x0, x1, rules)
    u0, v0, u1, v1 = shapely.total_bounds(within).tolist()
    if u1 - u0 <= rules.longest_m and (u1 - u0) * (v1 - v0) - float(shapely.area(within).sum()) <= rules.piece_m2:
        # no cut saves what the piece takes
        return [(x0, x1)]
    turns = np.unique(np.round(shapely.get_coordinates(within)[:, 0], 6))
    x0, x1 = float(turns[0]), float(turns[-1])
    cuts = _possible(turns, (x0, x1), rules, barred)
    starts, ends = np.array([x0, *(cuts - rules.lap_m / 2)]), np.array([*(cuts + rules.lap_m / 2), x1])
    profile = _Profile(within, np.concatenate([turns - NEAR_M, turns + NEAR_M, starts, ends]))
    costs = [profile.blanks_m2(start, [e for e in ends.tolist() if e > start + NEAR_M], rules) for start in starts.tolist()]
    ways: list[tuple[float, int]] = [(0.0, -1)]
    for end in ends.tolist():
        cost = [way + blanks.get(end, math.inf) for (way, _), blanks in zip(ways, costs, strict=False)]
        best = min(range(len(cost)), key=cost.__getitem__)
        ways.append((cost[best], best))
    if not math.isfinite(ways[-1][0]):
        return equal_lengths(window[0], window[2], rules)
    found: list[tuple[float, float]] = []
    k = len(ends)
    while k > 0:
        i = ways[k][1]
        found.append((float(starts[i]), float(ends[k - 1])))
        k = i
    found = found[::-1]
    return [(window[0], found[0][1]), *found[1:-1], (found[-1][0], window[2])] if len(found) > 1 else [(window[0], window[2])]


def _possible(turns: Floats, span: tuple[float, float], rules: LengthRules, barred: Sequence[tuple[float, float]]) -> Floats:
    """Where a strip may be cut: at or beside points where its outline turns, and between them."""
    off = rules.seam_clear_m + rules.lap_m / 2 + NEAR_M
    middles = (turns[1:] + turns[:-1])[np.diff(turns) > LONG_M] / 2
    found = np.unique(np.round(np.concatenate([turns, turns - off, turns + off, middles]), 5))
    half = rules.lap_m / 2
    clear = (found > span[0] + 2 * rules.lap_m) & (found < span[1] - 2 * rules.lap_m)
    for low, high in barred:
        clear &= (found + half <= low) | (found - half >= high)
    found = found[clear]
    kept: list[float] = []
    for x in found.tolist():
        if not kept or x - kept[-1] > CLOSE_M:
            kept.append(x)
    return np.array(kept)


class _Profile:
    """How low and how high shapes reach over points along a strip, and where they leave it open between."""

    def __init__(self, within: Shapes, at: Floats) -> None:
        self.within = within
        at = np.unique(at)
        self.y0, self.y1 = float(shapely.bounds(within)[:, 1].min()) - 1.0, float(shapely.bounds(within)[:, 3].max()) + 1.0
        edges, _ = edges_of(within)
        (xa, ya), (xb, yb) = edges[:, 0].T, edges[:, 1].T
        crossed = (np.minimum(xa, xb) <= at[:, None]) & (at[:, None] < np.maximum(xa, xb))
        rise = (yb - ya) / np.where(xa == xb, 1.0, xb - xa)
        levels = np.sort(np.where(crossed, ya + (at[:, None] - xa) * rise, np.inf), axis=1)
        # what lies between an odd crossing and the next is material, and past the last one there is nothing
        levels = levels[:, :crossed.sum(axis=1).max(initial=2) // 2 * 2]
        ends = np.where(np.isfinite(levels), levels, -np.inf)
        low, high = levels[:, 0], ends.max(axis=1)
        filled = np.where(np.isfinite(levels[:, 1::2]), levels[:, 1::2] - np.where(np.isfinite(levels[:, ::2]), levels[:, ::2], 0.0), 0.0)
        is_open = high - low - filled.sum(axis=1) > OPEN_M
        self.at: list[float] = at.tolist()
        self.low: list[float] = low.tolist()
        self.high: list[float] = high.tolist()
        self.open: list[bool] = is_open.tolist()

    def blanks_m2(self, start: float, ends: Sequence[float], rules: LengthRules) -> dict[float, float]:
        """What blanks and pieces cost between a cut and each of the later ones that a piece reaches. [m²]

        It is the rectangle round what lies there or, where it is open between two sides all along, one a part.
        """
        found: dict[float, float] = {}
        k = bisect_left(self.at, start - NEAR_M / 2)
        first, last, low, high, apart = math.inf, -math.inf, math.inf, -math.inf, True
        for end in ends:
            if end - start > rules.longest_m:
                break
            while k < len(self.at) and self.at[k] < end + NEAR_M / 2:
                if self.high[k] > self.low[k]:
                    first, last, apart = min(first, self.at[k]), self.at[k], apart and self.open[k]
                    low, high = min(low, self.low[k]), max(high, self.high[k])
                k += 1
            if last < first:
                found[end] = 0.0
            elif apart:
                found[end] = self._parts_m2(start, end, rules.piece_m2)
            else:
                found[end] = (last - first) * (high - low) + rules.piece_m2
        return found

    def _parts_m2(self, start: float, end: float, piece_m2: float) -> float:
        shape = shapely.union_all(shapely.clip_by_rect(self.within, start, self.y0, end, self.y1), grid_size=NEAR_M)
        boxes = shapely.bounds(shapely.get_parts(shape))
        return float(((boxes[:, 2] - boxes[:, 0]) * (boxes[:, 3] - boxes[:, 1])).sum()) + piece_m2 * len(boxes)
