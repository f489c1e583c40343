"""A lower bound on the rolls that any lap-tight covering of a room uses up.

Take any lap-tight covering at the planned lap ``l``. A point of a facet that is farther than ``l/2`` from every rim is
kept by some piece at least ``l/2`` from that piece's whole edge, for there its edge is free. Of a piece with a blank of
length ``a`` and width ``b`` no more than (a − l)(b − l) is that far inside. The blank is no wider than the roll and no
longer than a crew can embed, so the kept area is at most η = (1 − l/width)(1 − l/longest) of the blank. What rolls have to
give is therefore at least the area that only cut pieces can keep, over η.

That area is every facet that pieces cover and, beside each joint where they meet somebody else's membrane, the strip of
``l/2`` on that membrane, which what is left of a leg of ``l`` still has to cover. Left out of it: what lies within ``l/2``
of a rim, and what corner pieces and collars keep, drawn back by ``l/2`` themselves. Which of them close a corner or a pipe
is settled by the room before any sheet is laid; those that are ready-made take no roll, those that are folded from a blank
take their blank, which is added. A folded one keeps only what lies ``l/2`` inside its hull on the blank: the straight way
from there to the hull's edge leaves the piece before it is ``l/2`` long.

Where a rim says that the covering goes on past it by ``r``, at least ``l/2``, the blank of a piece that ends there holds
``r`` more of material along all of its edge on the rim, and that edge runs on by ``l/2`` at least on both sides of every
point that the piece keeps. So such a point, too, lies ``l/2`` inside the blank, and so does all that is straight past it,
up to ``r - l/2``: nothing is left out there, and that strip is added. Only legs, which end at a rim beside the joint that
they turn over, and corner pieces need not run on past it: stretches of a rim that they may reach count as before.

A blank on which a cut parts two pieces may be longer than either. Cut it into lines along its length: on each line the two
share its length ``a = x + y``, and what they keep of it is no more than ``min(x, longest) - l`` and ``min(y, longest) - l``,
or nothing, so no more than ``(1 - l/longest)`` of ``x`` and of ``y``. The factor holds as for pieces that have a blank each.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import LineString, Point, Polygon, unary_union
from shapely.geometry.base import BaseGeometry

from steamwright.covering.inputs import CoveringWishes
from steamwright.covering.legs import LEG_SPARE_M
from steamwright.covering.model import Bound, Piece, Role, Stock
from steamwright.covering.segments import shares_within
from steamwright.geometry.frame import Floats, outlines
from steamwright.room.model import CoveredBy, Facet, FacetKind, Joint, Rim, Solid

OVERHEAD = (FacetKind.CEILING, FacetKind.SOFFIT, FacetKind.HEAD)
PAN_AND_DAM = (FacetKind.FLOOR, FacetKind.CURB_TOP, FacetKind.CURB_FACE)
METHOD = ("kept area: of a blank no more than (1 - lap/width)(1 - lap/longest) lies half a lap inside its edge; to be kept are all "
          "surfaces, half a lap on membranes by others and what runs on past rims, less what corner pieces and collars keep and half a "
          "lap along rims where legs or corner pieces may end; corner pieces are taken as they are, folded ones with their blanks")
SPARE_M = 0.002
LONGEST_LEG_M = 0.15
"""A piece that is longer than what is set overhead may turn onto an overhead surface by a leg, none longer than this."""
QUAD = 4


def material_bound(solid: Solid, pieces: Sequence[Piece], stock: Sequence[Stock], wishes: CoveringWishes) -> Bound:
    """Bound the roll material from below and compare what a covering uses.

    It holds for coverings that have corner pieces and collars where this one has them, none of which reaches farther;
    collars reach the planned lap past their pipe.

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
    lower = least_material_m2(solid, pieces, wishes)
    used = sum(s.used_length_m * s.width_m for s in stock)
    lower = min(lower, used)
    return Bound(lower, used, used / lower - 1.0 if lower > 0.0 else 0.0, used <= lower * (1.0 + 1e-9), METHOD)


def least_material_m2(solid: Solid, pieces: Sequence[Piece], wishes: CoveringWishes) -> float:
    """Reckon what rolls have to give for any lap-tight covering with the same corner pieces and collars.

    Parameters
    ----------
    solid : Solid
        The room on its membrane face.
    pieces : sequence of Piece
        A covering; only its corner pieces, its collars and its longest blank matter.
    wishes : CoveringWishes
        Lap, roll width, longest pieces.

    Returns
    -------
    lower_m2 : float
        The bound. [m²]

    References
    ----------
    own derivation
    """
    lap_m = wishes.lap_required_m + wishes.allowance_m
    corners = [p for p in pieces if p.blank_m is None or p.role is Role.CORNER_PIECE]
    needed = Needed(solid, corners, lap_m)
    # legs past a strip's end may make a blank a little longer than the strip may be
    longest_m = max([wishes.longest_m, *(max(p.blank_m) for p in pieces if p.blank_m is not None and not p.second_at)])
    ratio, overhead_ratio = ((1.0 - lap_m / wishes.roll_width_m) * (1.0 - lap_m / x) for x in (longest_m, wishes.longest_overhead_m))
    lower = sum(p.blank_m[0] * p.blank_m[1] for p in corners if p.blank_m is not None)
    for facet in solid.facets:
        left, overhead = needed.on(facet)
        lower += (left.area - overhead.area + needed.past_rims(facet).area) / ratio + overhead.area / overhead_ratio
    return lower


class Needed:
    """What only sheets and bands can keep of each surface of a room; ``corners`` are ready-made pieces and folded corner pieces."""

    def __init__(self, solid: Solid, corners: Sequence[Piece], lap_m: float) -> None:
        self.solid, self.lap_m = solid, lap_m
        self.facets = {f.id: f for f in solid.facets}
        self.ready = _kept_ready_made(self.facets, [p for p in corners if p.blank_m is None], lap_m)
        for facet, kept in _kept_folded([p for p in corners if p.blank_m is not None], lap_m):
            self.ready.setdefault(facet, []).append(kept)
        sides = [(joint, self.facets[k], self.facets[n]) for joint in solid.joints for k, n in (joint.facets, joint.facets[::-1])]
        self.legs = _beside([(j, here) for j, here, there in sides if here.kind in OVERHEAD and there.kind not in OVERHEAD],
                            LONGEST_LEG_M)
        self.beside = _beside([(j, here) for j, here, there in sides if here.covering_by is CoveredBy.OTHER
                               and there.covering_by is CoveredBy.PIECES], lap_m / 2)
        self.passed: dict[str, list[Polygon]] = {}
        self.near_rims = _near_rims(solid.facets, [piece for rim in solid.rims for piece in self._read(rim, corners)], lap_m / 2)

    def _read(self, rim: Rim, corners: Sequence[Piece]) -> list[Rim]:
        """Note the stretches of a rim which all that lies along them runs on past; give the others."""
        facet = self.facets[rim.facet]
        line = LineString(facet.frame.drop([rim.start_m, rim.end_m]))
        if facet.covering_by is not CoveredBy.PIECES or rim.reach_m < self.lap_m / 2:
            return [rim]
        here = [j for j in self.solid.joints if rim.facet in j.facets]
        joints = shapely.linestrings(facet.frame.drop([p for j in here for p in (j.start_m, j.end_m)]).reshape(-1, 2, 2)) if here else []
        on = np.array([*joints, *(q.polygon for p in corners for q in p.patches if q.facet == rim.facet)], dtype=object)
        wide_m = np.array([*map(self._leg_m, here), *[SPARE_M] * (len(on) - len(here))])
        near = shapely.dwithin(on, line, wide_m)
        short = shapely.union_all(shapely.buffer(on[near], wide_m[near], quad_segs=2 * QUAD))
        self.passed.setdefault(rim.facet, []).extend(
            self._straight_past(facet, shapely.get_coordinates(g), rim.reach_m) for g in shapely.get_parts(line.difference(short))
            if g.length > self.lap_m)
        ends = [facet.frame.lift(shapely.get_coordinates(g))[[0, -1]].tolist() for g in shapely.get_parts(line.intersection(short))
                if g.length > 0.0]
        return [replace(rim, start_m=tuple(a), end_m=tuple(b)) for a, b in ends]

    def _leg_m(self, joint: Joint) -> float:
        """The longest leg over a joint that any code asks for."""
        dam = any(self.facets[f].kind in PAN_AND_DAM for f in joint.facets)
        return max(LONGEST_LEG_M if dam else 0.0, self.lap_m + LEG_SPARE_M) + SPARE_M

    def _straight_past(self, facet: Facet, ends_m: Floats, reach_m: float) -> Polygon:
        """What lies half a lap inside the material that runs on past a stretch of a rim."""
        a, b = ends_m[0], ends_m[-1]
        run = (b - a) / np.hypot(*(b - a))
        out: Floats = np.array([run[1], -run[0]])
        if facet.polygon.contains(Point((a + b) / 2 + SPARE_M * out)):
            out = -out
        a, b, deep_m = a + self.lap_m / 2 * run, b - self.lap_m / 2 * run, reach_m - self.lap_m / 2
        return Polygon([a, b, b + deep_m * out, a + deep_m * out])

    def past_rims(self, facet: Facet) -> BaseGeometry:
        """What only cut pieces can keep of the plane of a facet past its rims, beside the facet itself."""
        strips = [g for g in self.passed.get(facet.id, []) if g.area > 0.0]
        return unary_union(strips).difference(facet.polygon) if strips else Polygon()

    def on(self, facet: Facet) -> tuple[BaseGeometry, BaseGeometry]:
        """What is to be kept of a facet, and of it what only pieces no longer than those set overhead can keep."""
        by_pieces = facet.covering_by is CoveredBy.PIECES
        if not by_pieces and facet.id not in self.beside:
            return Polygon(), Polygon()
        shape: BaseGeometry = facet.polygon if by_pieces else facet.polygon.intersection(unary_union(self.beside[facet.id]))
        held = [p for p in self.solid.penetrations if p.facet == facet.id]
        pipes = [Point(p.center_m).buffer(p.diameter_m / 2 + self.lap_m / 2 + SPARE_M, quad_segs=2 * QUAD) for p in held]
        # most of these lie apart from one another
        away = shapely.disjoint_subset_union_all([*self.near_rims.get(facet.id, []), *pipes, *self.ready.get(facet.id, [])])
        left = shape.difference(away)
        overhead = facet.kind in OVERHEAD and by_pieces
        return left, left.difference(unary_union(self.legs.get(facet.id, []))) if overhead else Polygon()


def _beside(sides: Sequence[tuple[Joint, Facet]], deep_m: float) -> dict[str, list[BaseGeometry]]:
    """The strips beside joints in the planes of facets, on the facet's side, by facet."""
    if not sides:
        return {}
    ends: Floats = np.array([facet.frame.drop([j.start_m, j.end_m]) for j, facet in sides])
    run = ends[:, 1] - ends[:, 0]
    inward = np.stack([-run[:, 1], run[:, 0]], axis=1) / np.hypot(run[:, 0], run[:, 1])[:, None]
    probe = ends.mean(axis=1) + SPARE_M * inward
    inward[~shapely.contains_xy([facet.polygon for _, facet in sides], probe[:, 0], probe[:, 1])] *= -1.0
    far = ends + deep_m * inward[:, None]
    strips: dict[str, list[BaseGeometry]] = {}
    for (_, facet), strip in zip(sides, shapely.polygons(np.concatenate([ends, far[:, ::-1]], axis=1)), strict=True):
        strips.setdefault(facet.id, []).append(strip)
    return strips


def _kept_ready_made(facets: dict[str, Facet], ready: Sequence[Piece], lap_m: float) -> dict[str, list[BaseGeometry]]:
    """What ready-made pieces may keep, drawn back by half a lap, and a little more, by facet.

    Their edges inside a facet are free, the sleeve of a collar apart, and only these are drawn back; those along the
    facet's own edges may be folds or rims.
    """
    patches = [(facets[q.facet], q) for p in ready for q in p.patches if q.facet in facets]
    if not patches:
        return {}
    shapes = outlines([q.outline_m for _, q in patches])
    on = {f.id: f.polygon for f, _ in patches}
    near = dict(zip(on, shapely.buffer(shapely.boundary(list(on.values())), SPARE_M / 4, quad_segs=1), strict=True))
    free = shapely.difference(shapely.boundary(shapes), np.array([near[f.id] for f, _ in patches], dtype=object))
    left = shapely.difference(shapes, shapely.buffer(free, lap_m / 2, quad_segs=QUAD))
    kept: dict[str, list[BaseGeometry]] = {}
    for (f, _), shape in zip(patches, shapely.buffer(left, SPARE_M, quad_segs=QUAD, join_style="mitre"), strict=True):
        kept.setdefault(f.id, []).append(shape)
    return kept


def _kept_folded(folded: Sequence[Piece], lap_m: float) -> list[tuple[str, BaseGeometry]]:
    """What corner pieces folded from a blank may keep, and a little more, each patch with its facet."""
    found: list[tuple[str, BaseGeometry]] = []
    for piece in folded:
        images = [(q, q.at, shapely.transform(q.polygon, q.at.to_blank)) for q in piece.patches if q.at is not None]
        hull = shapely.convex_hull(shapely.geometrycollections([image for _, _, image in images]))
        inside = shapely.buffer(hull, SPARE_M - lap_m / 2, quad_segs=QUAD)
        found += [(q.facet, shapely.transform(image.intersection(inside), at.to_facet).buffer(SPARE_M)) for q, at, image in images]
    return found


def _near_rims(facets: Sequence[Facet], rims: Sequence[Rim], within_m: float) -> dict[str, list[BaseGeometry]]:
    """All points of each facet's plane that may be within a distance of a rim, and some more, by facet."""
    ends: Floats = np.array([[r.start_m, r.end_m] for r in rims]).reshape(-1, 2, 3)
    origin, normal, axes = (np.array(x) for x in zip(*((f.frame.origin_m, f.frame.normal, (f.frame.u, f.frame.v)) for f in facets),
                                                     strict=True))
    off = np.einsum("fj,rej->fre", normal, ends) - np.einsum("fj,fj->f", normal, origin)[:, None, None]
    first, last = shares_within(off[..., 0], off[..., 1], -within_m, within_m)
    first, last = np.maximum(first, 0.0), np.minimum(last, 1.0)
    f, r = np.nonzero(first < last)
    share = np.stack([first[f, r], last[f, r]], axis=1)[..., None]
    part = ends[r, :1] + share * (ends[r, 1:] - ends[r, :1]) - origin[f][:, None]
    lines = shapely.linestrings(np.einsum("nij,nkj->nki", axes[f], part))
    near: dict[str, list[BaseGeometry]] = {}
    # square ends hold the round ones, and have far fewer corners
    for k, shape in zip(f.tolist(), shapely.buffer(lines, within_m, cap_style="square"), strict=True):
        near.setdefault(facets[k].id, []).append(shape)
    return near
