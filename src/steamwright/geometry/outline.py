"""Outlines in plain numbers: of a handful of corners a straight cut is made sooner than by a general overlay."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

import shapely
from shapely import Polygon

from steamwright.geometry.frame import Point2

HAIR_M = 1e-9
"""A corner that lies nearer to a cut lies on it."""


def corners_of(polygon: Polygon) -> tuple[Point2, ...]:
    """Read the corners of a polygon's outline; its holes are left out.

    Parameters
    ----------
    polygon : Polygon
        In metres.

    Returns
    -------
    corners_m : tuple of (float, float)
        Counter-clockwise, the first one once. [m]

    References
    ----------
    own derivation
    """
    corners = tuple((x, y) for x, y in shapely.get_coordinates(shapely.get_exterior_ring(polygon)).tolist()[:-1])
    return corners if area_m2(corners) > 0.0 else corners[::-1]


def left_of(corners_m: Sequence[Point2], start_m: Point2, end_m: Point2) -> tuple[Point2, ...] | None:
    """Cut an outline along a line and keep what lies on the line's left.

    Parameters
    ----------
    corners_m : sequence of (float, float)
        Counter-clockwise; the outline may turn inward. [m]
    start_m, end_m : (float, float)
        Two points of the line. [m]

    Returns
    -------
    kept_m : tuple of (float, float), or None
        Counter-clockwise; empty where all lies on the right, None where more than one part is left. [m]

    References
    ----------
    own derivation
    """
    (ax, ay), (bx, by) = start_m, end_m
    dx, dy = bx - ax, by - ay
    near = HAIR_M * max(abs(dx), abs(dy))
    sides = [dx * (y - ay) - dy * (x - ax) for x, y in corners_m]
    if not sides or min(sides) >= -near:
        return tuple(corners_m)
    left = [s > near for s in sides]
    firsts = [k for k, here in enumerate(left) if here and not left[k - 1]]
    if not firsts:
        return ()
    if len(firsts) > 1:
        return None
    first, count, total = firsts[0], sum(left), len(left)
    chain = [corners_m[(first + k) % total] for k in range(count)]

    def end(inside: int, outside: int) -> Point2:
        s, t = sides[inside % total], sides[outside % total]
        (x, y), (u, v) = corners_m[inside % total], corners_m[outside % total]
        part = 1.0 if t >= -near else s / (s - t)
        return x + part * (u - x), y + part * (v - y)

    return (end(first, first - 1), *chain, end(first + count - 1, first + count))


def within(corners_m: Sequence[Point2], convex_m: Sequence[Point2]) -> tuple[Point2, ...] | None:
    """Take what of an outline lies in a convex one.

    Parameters
    ----------
    corners_m, convex_m : sequence of (float, float)
        Counter-clockwise; the first outline may turn inward. [m]

    Returns
    -------
    both_m : tuple of (float, float), or None
        Counter-clockwise; empty where nothing lies in both, None where a cut leaves more than one part. [m]

    References
    ----------
    own derivation
    """
    both: tuple[Point2, ...] | None = tuple(corners_m)
    for a, b in _edges(convex_m):
        if both is not None:
            both = left_of(both, a, b)
    return both


def holds(convex_m: Sequence[Point2], box_m: tuple[float, float, float, float]) -> bool:
    """Tell whether a box lies in a convex outline, clear of its edges.

    Parameters
    ----------
    convex_m : sequence of (float, float)
        Counter-clockwise. [m]
    box_m : (float, float, float, float)
        x and y from, x and y to. [m]

    Returns
    -------
    inside : bool
        False where it lies on an edge.

    References
    ----------
    own derivation
    """
    x0, y0, x1, y1 = box_m
    corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    return all((bx - ax) * (y - ay) - (by - ay) * (x - ax) > HAIR_M for (ax, ay), (bx, by) in _edges(convex_m) for x, y in corners)


def area_m2(corners_m: Sequence[Point2]) -> float:
    """Reckon the area of an outline.

    Parameters
    ----------
    corners_m : sequence of (float, float)
        Counter-clockwise; the other way round the area is negative. [m]

    Returns
    -------
    area_m2 : float
        Zero for no corners. [m²]

    References
    ----------
    own derivation
    """
    return sum(ax * by - bx * ay for (ax, ay), (bx, by) in _edges(corners_m)) / 2


def _edges(corners_m: Sequence[Point2]) -> Iterable[tuple[Point2, Point2]]:
    return pairwise([*corners_m, *corners_m[:1]])
