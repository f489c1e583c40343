"""Half-spaces and the formulas that make a room of them.

A half-space is the side of a plane on which ``normal · p >= offset``. A formula joins half-spaces by *and*, *or* and
*not*; the air of a room is the set of points at which it is true. A simple polygon needs each of its edges only once
in such a formula, so that a room keeps its formula when its planes lean or move.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steamwright.geometry.frame import Floats, Point2, Point3

Bits = NDArray[np.uint64]
FAR_M = 1e4


@dataclass(frozen=True, slots=True)
class HalfSpace:
    """The points with ``normal · p >= offset_m``. Half-spaces with equal ``key`` make one surface where they are coplanar."""

    normal: Point3
    offset_m: float
    key: int

    def moved(self, depth_m: float) -> HalfSpace:
        """The half-space with its plane moved along its normal. [m]"""
        return HalfSpace(self.normal, self.offset_m + depth_m, self.key)

    def height_m(self, x_m: float, y_m: float) -> float:
        """Height of the plane over a plan point. [m]"""
        a, b, c = self.normal
        return (self.offset_m - a * x_m - b * y_m) / c


@dataclass(frozen=True, slots=True)
class In:
    """True inside the half-space with this number."""

    index: int


@dataclass(frozen=True, slots=True)
class Not:
    """True where its part is not."""

    part: Formula


@dataclass(frozen=True, slots=True)
class All:
    """True where every part is; without parts, everywhere."""

    parts: tuple[Formula, ...]


@dataclass(frozen=True, slots=True)
class AnyOf:
    """True where at least one part is; without parts, nowhere."""

    parts: tuple[Formula, ...]


Formula = In | Not | All | AnyOf


def half_space(normal: Sequence[float] | Floats, through_m: Sequence[float] | Floats, key: int) -> HalfSpace:
    """The half-space into which a normal points from a point of its plane.

    Parameters
    ----------
    normal : sequence of float, shape (3,)
        Direction into the half-space, of any length but zero.
    through_m : sequence of float, shape (3,)
        A point of the plane. [m]
    key : int
        Number of the surface that the plane makes.

    Returns
    -------
    made : HalfSpace
        With a normal of unit length.

    References
    ----------
    own derivation
    """
    n = np.asarray(normal, float)
    n = n / math.sqrt(n @ n)
    a, b, c = n.tolist()
    return HalfSpace((a, b, c), float(n @ np.asarray(through_m, float)), key)


def evaluate(formula: Formula, values: Sequence[Bits], full: Bits) -> Bits:
    """Evaluate a formula on many points at once, several variants a point, one a bit.

    Parameters
    ----------
    formula : Formula
        What to evaluate.
    values : sequence of ndarray, each shape (n,)
        For each half-space the bits of the variants in which a point lies inside it.
    full : ndarray, shape ()
        All bits in use set.

    Returns
    -------
    truth : ndarray, shape (n,)
        Bits of the variants in which the formula is true.

    References
    ----------
    own derivation
    """
    if isinstance(formula, In):
        return values[formula.index]
    if isinstance(formula, Not):
        return evaluate(formula.part, values, full) ^ full
    parts = [evaluate(p, values, full) for p in formula.parts]
    if not parts:
        return np.full_like(values[0], full if isinstance(formula, All) else 0)
    out = parts[0]
    for p in parts[1:]:
        out = out & p if isinstance(formula, All) else out | p
    return out


def holds(formula: Formula, half_spaces: Sequence[HalfSpace], points_m: Floats) -> NDArray[np.bool_]:
    """Whether points lie in the set that a formula describes.

    Parameters
    ----------
    formula : Formula
        What to evaluate.
    half_spaces : sequence of HalfSpace
        The half-spaces that its indices mean.
    points_m : ndarray, shape (n, 3)
        Points of the room. [m]

    Returns
    -------
    inside : ndarray of bool, shape (n,)
        True where the formula holds.

    References
    ----------
    own derivation
    """
    one = np.uint64(1)
    values = [np.asarray(points_m @ np.asarray(h.normal) >= h.offset_m, np.uint64) for h in half_spaces]
    return np.asarray(evaluate(formula, values, np.asarray(one)), bool)


def polygon_formula(points_m: Sequence[Point2], edges: Sequence[Formula]) -> Formula:
    """The formula of a simple polygon in which the half-plane of each edge stands once.

    Parameters
    ----------
    points_m : sequence of (float, float)
        Corners, counter-clockwise. [m]
    edges : sequence of Formula
        The side of the edge from corner i to corner i + 1 on which the polygon lies.

    Returns
    -------
    formula : Formula
        True inside the polygon.

    References
    ----------
    Peterson-1984; Dobkin-1988, section 3
    """
    p = [(float(x), float(y)) for x, y in points_m]
    lo, hi = _extremes(np.array(p))
    order = [(lo + k) % len(p) for k in range(len(p) + 1)]
    cut = order.index(hi)
    return _joined(True, _chain(p, edges, order[: cut + 1]), _chain(p, edges, order[cut:]))


def _extremes(p: Floats) -> tuple[int, int]:
    """The corners farthest apart along the direction in which the two stand out most clearly from all others.

    Walls that lean move the corners of a level cut: a corner that stands out by little may not do so at every height.
    """
    turns = np.pi * (np.arange(24) + 0.3) / 24
    along = np.sort(p @ np.stack([np.cos(turns), np.sin(turns)]), axis=0)
    clear = np.minimum(along[1] - along[0], along[-1] - along[-2])
    best = turns[int(np.argmax(clear))]
    where = p @ np.array([np.cos(best), np.sin(best)])
    return int(np.argmin(where)), int(np.argmax(where))


def _chain(p: Sequence[Point2], edges: Sequence[Formula], ids: list[int]) -> Formula:
    """Formula of a chain of edges: parted at a corner of its hull, *and* where convex, *or* where reflex.

    The first and the last edge run on without end, and the hull is that of all of it. Of its corners the one is taken that
    stands out most within the size of the plan: it does so too where walls lean or have moved a little.
    """
    if len(ids) == 2:
        return edges[ids[0]]
    endless = {b[2] for b in _hull(_run_on(p, ids, FAR_M))}
    hull = _hull(_run_on(p, ids, max(max(c) - min(c) for c in zip(*p, strict=True))))
    best, out = 0, -1.0
    for a, b, c in zip(hull[-1:] + hull[:-1], hull, hull[1:] + hull[:1], strict=True):
        off = abs(_cross(a, b, c)) / max(math.hypot(c[0] - a[0], c[1] - a[1]), 1e-12)
        if off > out and 0 < b[2] < len(ids) - 1 and b[2] in endless:
            best, out = b[2], off
    best = best or min(endless - {0, len(ids) - 1}, default=1)
    turn = _cross(*((*p[i], 0) for i in ids[best - 1: best + 2]))
    return _joined(turn >= 0, _chain(p, edges, ids[: best + 1]), _chain(p, edges, ids[best:]))


Corner = tuple[float, float, int]


def _run_on(p: Sequence[Point2], ids: list[int], by_m: float) -> list[Corner]:
    """Corners of a chain, the first and the last moved out along their edges; each with its place in the chain."""

    def moved(at: Point2, away_from: Point2) -> Point2:
        x, y = at[0] - away_from[0], at[1] - away_from[1]
        size = math.hypot(x, y)
        return at[0] + by_m * x / size, at[1] + by_m * y / size

    first, last = moved(p[ids[0]], p[ids[1]]), moved(p[ids[-1]], p[ids[-2]])
    return [(*q, k) for k, q in enumerate([first, *(p[i] for i in ids[1:-1]), last])]


def _cross(a: Corner, b: Corner, c: Corner) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _hull(corners: list[Corner]) -> list[Corner]:
    """Corners of the convex hull, counter-clockwise."""
    out: list[Corner] = []
    ordered = sorted(corners)
    for run in (ordered, ordered[::-1]):
        part: list[Corner] = []
        for c in run:
            while len(part) > 1 and _cross(part[-2], part[-1], c) <= 0:
                part.pop()
            part.append(c)
        out += part[:-1]
    return out


def _joined(conjunction: bool, a: Formula, b: Formula) -> Formula:
    kind = All if conjunction else AnyOf
    parts: list[Formula] = []
    for f in (a, b):
        parts.extend(f.parts if isinstance(f, kind) else (f,))
    return kind(tuple(parts))


def lowest_m(formula: Formula, half_spaces: Sequence[HalfSpace], x_m: float, y_m: float) -> float:
    """Height over a plan point up to which a ceiling's formula holds.

    Parameters
    ----------
    formula : Formula
        Of half-spaces that look down, joined by *and* (the lowest counts) and *or* (the highest counts).
    half_spaces : sequence of HalfSpace
        The half-spaces that its indices mean.
    x_m, y_m : float
        Plan point. [m]

    Returns
    -------
    height_m : float
        Height of the ceiling there. [m]

    References
    ----------
    own derivation
    """
    if isinstance(formula, In):
        return half_spaces[formula.index].height_m(x_m, y_m)
    if isinstance(formula, Not):
        raise TypeError("a ceiling is made of half-spaces joined by and, or")
    heights = [lowest_m(p, half_spaces, x_m, y_m) for p in formula.parts]
    return min(heights) if isinstance(formula, All) else max(heights)
