"""A lower bound on the rolls that any lap-tight covering of a room uses up.

Take any lap-tight covering at the planned lap ``l``. A point of a facet that is farther than ``l/2`` from every rim is
kept by some piece at least ``l/2`` from that piece's whole edge, for there its edge is free. Of a piece with a blank of
length ``a`` and width ``b`` no more than (a − l)(b − l) is that far inside. The blank is no wider than the roll and no
longer than a crew can embed, so the kept area is at most η = (1 − l/width)(1 − l/longest) of the blank. What rolls have to
give is therefore at least the area that only cut pieces can keep, over η. Left out of that area: what lies within l/2 of a
rim, what a ready-made corner piece can keep round each corner that takes one, what a collar can keep round its pipe.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from shapely import LineString, Point, Polygon, unary_union
from shapely.geometry.base import BaseGeometry

from steamwright.covering.inputs import CoveringWishes
from steamwright.covering.model import Bound, Piece, Stock
from steamwright.geometry.frame import Floats, Frame
from steamwright.room.model import CoveredBy, Facet, FacetKind, Rim, Solid

OVERHEAD = (FacetKind.CEILING, FacetKind.SOFFIT, FacetKind.HEAD)
METHOD = "kept area: of a blank no more than (1 - lap/width)(1 - lap/longest) lies half a lap inside its edge"
SPARE_M = 0.002
QUAD = 4


def material_bound(solid: Solid, pieces: Sequence[Piece], stock: Sequence[Stock], wishes: CoveringWishes) -> Bound:
    """Bound the roll material from below and compare what a covering uses.

    It holds for coverings that have ready-made corner pieces and collars only where this one has them, none of which
    reaches farther; collars reach the planned lap past their pipe.

    Parameters
    ----------
    solid : Solid
        The room on its membrane face.
    pieces : sequence of Piece
        The covering.
    stock : sequence of Stock
        The rolls that it uses.
    wishes : CoveringWishes
        Lap, roll width, longest pieces.

    Returns
    -------
    bound : Bound
        ``proven_optimal`` where nothing is left between bound and use.

    References
    ----------
    own derivation
    """
    lap_m = wishes.lap_required_m + wishes.allowance_m
    ready: dict[str, list[BaseGeometry]] = {}
    for p in pieces:
        if p.blank_m is None:
            for patch in p.patches:
                ready.setdefault(patch.facet, []).append(patch.polygon.buffer(SPARE_M))
    lower = 0.0
    for f in solid.facets:
        if f.covering_by is not CoveredBy.PIECES:
            continue
        longest = wishes.longest_overhead_m if f.kind in OVERHEAD else wishes.longest_m
        kept_ratio = (1.0 - lap_m / wishes.roll_width_m) * (1.0 - lap_m / longest)
        lower += _only_cut_m2(f, solid, ready.get(f.id, []), lap_m) / kept_ratio
    used = sum(s.used_length_m * s.width_m for s in stock)
    lower = min(lower, used)
    return Bound(lower, used, used / lower - 1.0 if lower > 0.0 else 0.0, used <= lower * (1.0 + 1e-9), METHOD)


def _only_cut_m2(facet: Facet, solid: Solid, ready: list[BaseGeometry], lap_m: float) -> float:
    """Area of a facet that no ready-made piece and no rim can help with. [m²]"""
    near_rims = [g for r in solid.rims if (g := _near_rim(facet.frame, r, lap_m / 2)) is not None]
    pipes = [Point(p.center_m).buffer(p.diameter_m / 2 + lap_m) for p in solid.penetrations if p.facet == facet.id]
    helped = unary_union([*near_rims, *pipes, *ready])
    left: Polygon = facet.polygon.difference(helped)
    return float(left.area)


def _near_rim(frame: Frame, rim: Rim, within_m: float) -> BaseGeometry | None:
    """All points of a plane that may be within a distance of a rim, and some more; ``None`` where the rim is too far."""
    ends: Floats = np.array([rim.start_m, rim.end_m])
    off = (ends - np.array(frame.origin_m)) @ frame.normal
    low, high = 0.0, 1.0
    rise = off[1] - off[0]
    if abs(rise) < 1e-12:
        if abs(off[0]) > within_m:
            return None
    else:
        a, b = sorted(((-within_m - off[0]) / rise, (within_m - off[0]) / rise))
        low, high = max(low, a), min(high, b)
        if low >= high:
            return None
    near = frame.drop([ends[0] + low * (ends[1] - ends[0]), ends[0] + high * (ends[1] - ends[0])])
    shape: BaseGeometry = LineString(near).buffer(within_m / np.cos(np.pi / (4 * QUAD)), quad_segs=QUAD)
    return shape


