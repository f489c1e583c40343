"""Where framing stands: on the slab, below the bed of a pan and behind benches, curbs and half walls that are framed of their own."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely import Polygon

from steamwright.covering.boards.offsets import Edge
from steamwright.geometry.frame import Point2
from steamwright.room.model import Facet, FacetKind

Plane = tuple[float, float, float]
Foot = tuple[Point2, Point2]
LEVEL: Plane = (0.0, 0.0, 0.0)
TOPS = (FacetKind.BENCH_TOP, FacetKind.CURB_TOP, FacetKind.HALF_WALL_TOP)
"""What is framed against a wall after it, so that the wall runs down behind."""
_UPRIGHT = 0.5
_NEAR_M = 1e-3
_SPECK_M2 = 1e-6


def stands(facet: Facet, e: Edge) -> bool:
    """Tell whether the framing over an edge of a facet runs down to the slab.

    Parameters
    ----------
    facet : Facet
        An upright facet, or one that stands on nothing.
    e : Edge
        One of its edges in (a, b), the facet on its left.

    Returns
    -------
    stands : bool
        Lower edges at the floor; on walls and columns also those at the top of what is framed against them.

    References
    ----------
    common practice, no source
    """
    (a0, b0), (a1, b1) = e.start_m, e.end_m
    if abs(facet.frame.normal[2]) > _UPRIGHT or a1 - a0 < abs(b1 - b0):
        return False
    return e.other is FacetKind.FLOOR or (e.other in TOPS and facet.kind in (FacetKind.WALL, FacetKind.COLUMN))


def feet_of(facet: Facet, edges: Sequence[Edge], slab: Plane) -> tuple[Foot, ...]:
    """The lower edges of the framing of a facet: on the slab, or on the facet's own edge where that lies lower.

    Parameters
    ----------
    facet : Facet
        A facet of the framing face.
    edges : sequence of Edge
        Its edges in (a, b). [m]
    slab : (float, float, float)
        Height = a x + b y + c over the level datum.

    Returns
    -------
    feet : tuple of (tuple of float, tuple of float)
        From low to high a, those that go on straight in one. [m]

    References
    ----------
    own derivation
    """
    out: list[Foot] = []
    for e in sorted((e for e in edges if stands(facet, e)), key=lambda e: e.start_m[0]):
        p, q = (_on_slab(facet, p, slab) for p in (e.start_m, e.end_m))
        if out and _goes_on(out[-1], (p, q)):
            p = out.pop()[0]
        out.append((p, q))
    return tuple(out)


def _on_slab(facet: Facet, p: Point2, slab: Plane) -> Point2:
    """The point straight below in the facet at which it meets the slab."""
    over = [z - slab[0] * x - slab[1] * y - slab[2] for x, y, z in facet.frame.lift([(p[0], 0.0), (p[0], 1.0)]).tolist()]
    return (p[0], min(p[1], -over[0] / (over[1] - over[0])))


def _goes_on(a: Foot, b: Foot) -> bool:
    """Whether one foot follows another in line, or lies beside it at the same height."""
    (p, q), (r, s) = a, b
    if abs(q[0] - r[0]) > _NEAR_M or abs(q[1] - r[1]) > _NEAR_M:
        return False
    return abs((q[0] - p[0]) * (s[1] - p[1]) - (q[1] - p[1]) * (s[0] - p[0])) < _NEAR_M * (s[0] - p[0])


def standing(whole: Polygon, facet: Facet, edges: Sequence[Edge], slab: Plane) -> Polygon:
    """A facet with all that its framing fills below it.

    Parameters
    ----------
    whole : Polygon
        The facet in (a, b). [m]
    facet : Facet
        The facet.
    edges : sequence of Edge
        Its edges in (a, b). [m]
    slab : (float, float, float)
        Height = a x + b y + c over the level datum.

    Returns
    -------
    standing : Polygon
        The facet itself where nothing of it runs down. [m]

    References
    ----------
    own derivation
    """
    below = [Polygon([_on_slab(facet, e.start_m, slab), _on_slab(facet, e.end_m, slab), e.end_m, e.start_m])
             for e in edges if stands(facet, e)]
    below = [g for g in below if g.area > _SPECK_M2]
    if not below:
        return whole
    joined = shapely.union_all([whole, *below]).buffer(_NEAR_M, join_style="mitre").buffer(-_NEAR_M, join_style="mitre")
    return joined if joined.geom_type == "Polygon" else whole
