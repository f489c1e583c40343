"""Lay lines: the edges of sheets that are snapped before mortar is spread, measured from the control lines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shapely import Point, Polygon

from steamwright.covering.model import Patch, Piece, Role
from steamwright.geometry.frame import Point2
from steamwright.room.model import Facet

ON_OUTLINE_M = 2e-3
SHORTEST_M = 0.12
NARROW_M = 0.15


@dataclass(frozen=True, slots=True)
class LayLine:
    """A straight edge of a sheet in a facet's (s, t), from its lower or left end to its upper or right end. [m]"""

    piece: str
    start_m: Point2
    end_m: Point2

    @property
    def upright(self) -> bool:
        """Whether it runs more up than across."""
        return abs(self.end_m[1] - self.start_m[1]) >= abs(self.end_m[0] - self.start_m[0])


def lay_lines(facet: Facet, patches: Sequence[tuple[Piece, Patch]]) -> tuple[LayLine, ...]:
    """Find the lay lines of a facet.

    Parameters
    ----------
    facet : Facet
        A facet on which sheets lie.
    patches : sequence of (Piece, Patch)
        What lies on it.

    Returns
    -------
    lines : tuple of LayLine
        Edges that do not run along the facet's own outline; strips narrower than 150 mm that only fold over from a
        neighbour have none, since their fold sets them.

    References
    ----------
    own derivation
    """
    rim = facet.polygon.boundary
    found: list[LayLine] = []
    for piece, patch in patches:
        if piece.role is not Role.SHEET or _is_leg(patch.polygon):
            continue
        ring = patch.outline_m
        for a, b in zip(ring, ring[1:] + ring[:1], strict=True):
            if math.dist(a, b) < SHORTEST_M or rim.distance(Point((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)) < ON_OUTLINE_M:
                continue
            low, high = sorted((a, b), key=(lambda p: p[1]) if abs(b[1] - a[1]) >= abs(b[0] - a[0]) else (lambda p: p[0]))
            line = LayLine(piece.id, low, high)
            if not any(_same(line, other) for other in found):
                found.append(line)
    return tuple(found)


def _is_leg(polygon: Polygon) -> bool:
    s0, t0, s1, t1 = polygon.bounds
    return bool(2.0 * polygon.area / polygon.length < NARROW_M / 2 or min(s1 - s0, t1 - t0) < NARROW_M)


def _same(a: LayLine, b: LayLine) -> bool:
    return bool(max(math.dist(a.start_m, b.start_m), math.dist(a.end_m, b.end_m)) < 1e-3)
