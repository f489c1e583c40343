"""Where a strip is cut across: into lengths that a crew can embed, or where it gets narrower and a smaller blank serves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon

from steamwright.covering.segments import Shapes
from steamwright.geometry.frame import Floats

NEAR_M = 1e-6
PIECE_M2 = 0.08
"""What a further piece has to save: its minutes and its laps in roll material, about."""
CLOSE_M = 0.02
LONG_M = 0.8


@dataclass(frozen=True, slots=True)
class LengthRules:
    """Lap, longest strip, and how far a cut across stays from a joint that runs along it. [m]"""

    lap_m: float
    longest_m: float
    seam_clear_m: float


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
    within = within[~shapely.is_empty(within)]
    x0, x1 = window[0], window[2]
    if not len(within):
        return equal_lengths(x0, x1, rules)
    turns = np.unique(np.round(shapely.get_coordinates(within)[:, 0], 6))
    x0, x1 = float(turns[0]), float(turns[-1])
    cuts = _possible(turns, (x0, x1), rules, barred)
    starts, ends = np.array([x0, *(cuts - rules.lap_m / 2)]), np.array([*(cuts + rules.lap_m / 2), x1])
    at, low, high = _profile(within, np.concatenate([turns - NEAR_M, turns + NEAR_M, starts, ends]))
    ways: list[tuple[float, int]] = [(0.0, -1)]
    for k, end in enumerate(ends):
        cost = [ways[i][0] + _blank_m2(at, low, high, (float(starts[i]), float(end))) + PIECE_M2
                if NEAR_M < end - starts[i] <= rules.longest_m else np.inf for i in range(k + 1)]
        best = int(np.argmin(cost))
        ways.append((cost[best], best))
    if not np.isfinite(ways[-1][0]):
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


def _profile(within: Shapes, at: Floats) -> tuple[Floats, Floats, Floats]:
    """How low and how high the shapes reach over points along the strip; where nothing is, low is over high."""
    at = np.unique(at)
    y0, y1 = shapely.bounds(within)[:, 1].min() - 1.0, shapely.bounds(within)[:, 3].max() + 1.0
    lines = shapely.linestrings([[(x, y0), (x, y1)] for x in at])
    box = shapely.bounds(shapely.intersection(lines[:, None], within[None, :]))
    low, high = box[..., 1], box[..., 3]
    return at, np.where(np.isnan(low), np.inf, low).min(axis=1), np.where(np.isnan(high), -np.inf, high).max(axis=1)


def _blank_m2(at: Floats, low: Floats, high: Floats, span: tuple[float, float]) -> float:
    """The rectangle round what lies between two cuts. [m²]"""
    i, k = np.searchsorted(at, [span[0] - NEAR_M / 2, span[1] + NEAR_M / 2])
    some = np.flatnonzero(high[i:k] > low[i:k]) + i
    if not len(some):
        return 0.0
    return float((at[some[-1]] - at[some[0]]) * (high[some].max() - low[some].min()))
