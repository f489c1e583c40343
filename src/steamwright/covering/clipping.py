"""Facets made ready for being clipped by convex shapes again and again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely import LinearRing, Polygon

from steamwright.covering.draft import SLIVER_M2, clip, quad
from steamwright.geometry.frame import Point2
from steamwright.geometry.outline import area_m2, corners_of, holds, within

GRID_DIGITS = 9
"""The grid of all other overlays: what is left of one leg beside another is compared to a hair."""
Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Clippable:
    """A polygon with the corners of its outline, counter-clockwise, and its holes with the boxes round them.

    Most cuts leave one part and no hole cut in two: there plain numbers take a tenth of what a general overlay takes. A
    box is x and y from, x and y to. [m]
    """

    shape: Polygon
    box_m: Box
    corners_m: tuple[Point2, ...]
    holes: tuple[tuple[LinearRing, Box], ...]

    @classmethod
    def of(cls, shape: Polygon) -> Clippable:
        """Make a polygon ready."""
        holes = shapely.get_rings(shape)[1:] if shapely.get_num_interior_rings(shape) else ()
        return cls(shape, shape.bounds, corners_of(shape), tuple((h, h.bounds) for h in holes))

    def inside(self, convex_m: Sequence[Point2]) -> list[Polygon]:
        """What lies in a convex outline, its corners counter-clockwise, slivers left out. [m]"""
        (x0, y0), (x1, y1) = map(min, zip(*convex_m, strict=True)), map(max, zip(*convex_m, strict=True))
        u0, v0, u1, v1 = self.box_m
        if u1 <= x0 or v1 <= y0 or x1 <= u0 or y1 <= v0:
            return []
        near = [(hole, b) for hole, b in self.holes if b[0] < x1 and x0 < b[2] and b[1] < y1 and y0 < b[3]]
        both = within(self.corners_m, convex_m) if all(holds(convex_m, b) for _, b in near) else None
        if both is None:
            return clip(self.shape, quad(*convex_m))
        both = tuple((round(x, GRID_DIGITS), round(y, GRID_DIGITS)) for x, y in both)
        if area_m2(both) <= SLIVER_M2:
            return []
        return [shapely.polygons(shapely.linearrings(both), holes=[hole for hole, _ in near]) if near else quad(*both)]
