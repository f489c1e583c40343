"""What boards may take of a facet: its outline less what is deducted along each edge."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely import Polygon

from steamwright.geometry.frame import Point2
from steamwright.room.model import FacetKind

# Sines of turns: what goes on straight, and a right angle out by a degree at most.
_STRAIGHT, _SQUARE = 1e-3, 0.9998
_LEAST_M = 2e-5
_FINE_M = 8e-4
"""What is narrower than twice this, a sixteenth of an inch, stays on no board when it is cut. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Edge:
    """A stretch of a facet's edge in (a, b), the facet on its left; ``other`` is ``None`` where nothing is known of it."""

    start_m: Point2
    end_m: Point2
    other: FacetKind | None
    angle_deg: float
    deduct_m: float


def offset_region(polygon: Polygon, edges: Sequence[Edge]) -> shapely.Geometry:
    """A facet less what is deducted along its edges, plus what runs past outside corners.

    Parameters
    ----------
    polygon : Polygon
        The facet. [m]
    edges : sequence of Edge
        Its edges, ring by ring in order, the facet on their left.

    Returns
    -------
    region : Geometry
        A polygon, several, or nothing where a facet is too narrow for a board. [m]

    References
    ----------
    own derivation
    """
    sides = _sides(polygon, edges)
    if sides is not None:
        return _within(sides)
    grown = [_strip(e, -e.deduct_m, -1.0) for e in edges if e.deduct_m < -1e-9]
    taken = [_strip(e, e.deduct_m, 1.0) for e in edges if e.deduct_m > 1e-9]
    corners = [c for before, after in _neighbours(edges) for c in _corner(before, after)]
    region: shapely.Geometry = polygon
    if grown:
        region = shapely.union_all([polygon, *grown, *(c for c in corners if c.area > 0)], grid_size=1e-8)
    if taken:
        region = region.difference(shapely.union_all([*taken, *_notches(edges)]))
    return region.buffer(-_FINE_M, join_style="mitre").buffer(_FINE_M, join_style="mitre").simplify(3e-5)


def _sides(polygon: Polygon, edges: Sequence[Edge]) -> list[tuple[Edge, Point2]] | None:
    """The four sides of a plain rectangle with the way along each, each with one deduction; ``None`` for any other facet."""
    if polygon.interiors or any(e.deduct_m < -1e-9 for e in edges):
        return None
    sides: list[tuple[Edge, Point2]] = []
    for e in edges:
        length = math.dist(e.start_m, e.end_m)
        way = ((e.end_m[0] - e.start_m[0]) / length, (e.end_m[1] - e.start_m[1]) / length)
        if sides and _sine(sides[-1][1], way) < _STRAIGHT:
            last, along = sides[-1]
            if abs(last.deduct_m - e.deduct_m) > 1e-9 or _sine(along, way) < -_STRAIGHT:
                return None
            continue
        sides.append((e, way))
    square = all(_sine(a[1], b[1]) > _SQUARE for a, b in zip(sides, sides[1:] + sides[:1], strict=True))
    return sides if len(sides) == 4 and square else None


def _within(sides: list[tuple[Edge, Point2]]) -> Polygon:
    """What is left of a rectangle: its corners are where the lines meet that its sides are drawn in to."""
    corners = []
    for (a, u), (b, w) in zip(sides[-1:] + sides[:-1], sides, strict=True):
        # a point x along the first line: its distance from the second line is that line's deduction
        x0, y0 = a.start_m[0] - a.deduct_m * u[1], a.start_m[1] + a.deduct_m * u[0]
        apart = w[0] * (y0 - b.start_m[1]) - w[1] * (x0 - b.start_m[0])
        x = (b.deduct_m - apart) / _sine(w, u)
        corners.append((x0 + x * u[0], y0 + x * u[1]))
    ways = [(q[0] - p[0], q[1] - p[1]) for p, q in zip(corners, corners[1:] + corners[:1], strict=True)]
    left = [x * u[0] + y * u[1] for (x, y), (_, u) in zip(ways, sides, strict=True)]
    return Polygon(corners) if min(left) > _LEAST_M else Polygon()


def _sine(u: Point2, w: Point2) -> float:
    """Sine of the turn to the left from one way to another."""
    return u[0] * w[1] - u[1] * w[0]


def _strip(e: Edge, width_m: float, side: float) -> Polygon:
    """The strip of an edge, inside (+1) or outside (-1)."""
    (x0, y0), (x1, y1) = e.start_m, e.end_m
    length = math.dist(e.start_m, e.end_m)
    n = (-(y1 - y0) / length * width_m * side, (x1 - x0) / length * width_m * side)
    return Polygon([(x0, y0), (x1, y1), (x1 + n[0], y1 + n[1]), (x0 + n[0], y0 + n[1])])


def _neighbours(edges: Sequence[Edge]) -> list[tuple[Edge, Edge]]:
    """Edges that follow each other round a corner."""
    starts = {(round(e.start_m[0], 6), round(e.start_m[1], 6)): e for e in edges}
    out = []
    for e in edges:
        after = starts.get((round(e.end_m[0], 6), round(e.end_m[1], 6)))
        if after is not None and after is not e:
            out.append((e, after))
    return out


def _turn_of(a: Edge, b: Edge) -> float:
    """Sine of the turn to the left from one edge to the next."""
    u = (a.end_m[0] - a.start_m[0], a.end_m[1] - a.start_m[1])
    w = (b.end_m[0] - b.start_m[0], b.end_m[1] - b.start_m[1])
    return (u[0] * w[1] - u[1] * w[0]) / (math.hypot(*u) * math.hypot(*w))


def _corner(a: Edge, b: Edge) -> list[Polygon]:
    """Where boards run past both edges of a corner that sticks out, the corner itself."""
    if a.deduct_m < -1e-9 and b.deduct_m < -1e-9 and _turn_of(a, b) > 0.05:
        return [_quad(a, b, a.deduct_m, b.deduct_m)]
    return []


def _notches(edges: Sequence[Edge]) -> list[Polygon]:
    """Where something is deducted on both sides of a corner that goes in, the square between the strips."""
    return [_quad(a, b, a.deduct_m, b.deduct_m) for a, b in _neighbours(edges)
            if a.deduct_m > 1e-9 and b.deduct_m > 1e-9 and _turn_of(a, b) < -0.05]


def _quad(a: Edge, b: Edge, da: float, db: float) -> Polygon:
    """The corner between two edges and their offset lines."""
    c, sin = a.end_m, _turn_of(a, b)
    la, lb = math.dist(a.start_m, a.end_m), math.dist(b.start_m, b.end_m)
    u = ((a.end_m[0] - a.start_m[0]) / la, (a.end_m[1] - a.start_m[1]) / la)
    w = ((b.end_m[0] - b.start_m[0]) / lb, (b.end_m[1] - b.start_m[1]) / lb)
    na, nb = (-u[1], u[0]), (-w[1], w[0])
    # the point at da from the first line and db from the second: c + x·u + y·w with w·na = sin, u·nb = −sin
    x, y = -db / sin, da / sin
    tip = (c[0] + x * u[0] + y * w[0], c[1] + x * u[1] + y * w[1])
    return Polygon([c, (c[0] + da * na[0], c[1] + da * na[1]), tip, (c[0] + db * nb[0], c[1] + db * nb[1])]).buffer(0)
