"""The room as the placing of pieces needs it: facets with their net polygons, joints in facet coordinates."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely import Point, Polygon, unary_union

from steamwright.covering.clipping import Clippable
from steamwright.geometry.frame import Floats, Point2
from steamwright.geometry.unfolding import Motion, unfold
from steamwright.room.model import CoveredBy, Facet, FacetKind, Joint, Penetration, Rim, Solid

NEAR_M = 2e-5
HAIR_M = 2e-6
CIRCLE_SEGMENTS = 64


@dataclass(slots=True)
class Ground:
    """One facet to be covered, prepared once: all edges of its rings, and for each the one before it."""

    facet: Facet
    polygon: Polygon
    net: Polygon
    holes: list[tuple[Penetration, Polygon]]
    edges: Floats = field(init=False)
    before: list[int] = field(init=False)
    snug: Polygon = field(init=False)
    clippable: Clippable | None = None
    joints: list[Joint] = field(default_factory=list)
    rims: list[Rim] = field(default_factory=list)

    def __post_init__(self) -> None:
        edges: list[tuple[Point2, Point2]] = []
        before: list[int] = []
        for ring in (self.facet.outline_m, *self.facet.holes_m):
            first, count = len(edges), len(ring)
            edges += [(ring[k], ring[(k + 1) % count]) for k in range(count)]
            before += [first + (k - 1) % count for k in range(count)]
        self.edges, self.before = np.array(edges), before

    def holds(self, polygon: Polygon) -> bool:
        """True where a polygon lies on the facet but for a hair: then it needs no overlay to be trimmed."""
        return bool(shapely.contains(self.snug, polygon))

    def inside(self, outline_m: Sequence[Point2]) -> list[Polygon]:
        """What of the net polygon lies in a convex outline, its corners counter-clockwise. [m]"""
        if self.clippable is None:
            self.clippable = Clippable.of(self.net)
        return self.clippable.inside(outline_m)

    @property
    def stretches(self) -> list[Joint | Rim]:
        """What the facet meets: its joints, then its rims."""
        return [*self.joints, *self.rims]

    @property
    def by_pieces(self) -> bool:
        """True where this tool's pieces make the facet tight."""
        return self.facet.covering_by is CoveredBy.PIECES


class Terrain:
    """A solid, indexed for placing pieces.

    Parameters
    ----------
    solid : Solid
        The room on its membrane face.
    lap_m : float, optional
        Planned lap. [m]
    leg_m : callable, optional
        How far a band or a folded sheet has to lie on either side of a joint between two kinds of facets. [m]
    """

    def __init__(self, solid: Solid, lap_m: float = 0.0, leg_m: Callable[[FacetKind, FacetKind], float] | None = None) -> None:
        self.solid, self.lap_m = solid, lap_m
        self.grounds: dict[str, Ground] = {}
        self._motions: dict[tuple[str, str], Motion] = {}
        self.memory: dict[tuple[object, ...], object] = {}
        self.reaches_m: dict[tuple[float, float, float], float] = {}
        for f in solid.facets:
            if f.covering_by is CoveredBy.NONE:
                continue
            polygon = f.polygon
            holes = [(p, circle(p.center_m, p.diameter_m / 2)) for p in solid.penetrations if p.facet == f.id]
            net = shapely.difference(polygon, unary_union([h for _, h in holes]), grid_size=1e-9) if holes else polygon
            self.grounds[f.id] = Ground(f, polygon, net, holes)
        self.joints = {j.id: j for j in solid.joints}
        kinds = {f.id: f.kind for f in solid.facets}
        self.legs_m = {j.id: leg_m(kinds[j.facets[0]], kinds[j.facets[1]]) if leg_m else 0.0 for j in solid.joints}
        for j in solid.joints:
            for fid in j.facets:
                self.grounds[fid].joints.append(j)
        for r in solid.rims:
            self.grounds[r.facet].rims.append(r)
        self._lines = _lines(list(self.grounds.values()))
        snug = shapely.buffer([g.net for g in self.grounds.values()], HAIR_M, join_style="mitre")
        shapely.prepare(snug)
        for g, polygon in zip(self.grounds.values(), snug, strict=True):
            g.snug = polygon

    def line(self, facet_id: str, stretch: Joint | Rim) -> Floats:
        """Ends of a joint or rim in a facet's coordinates, shape (2, 2), the facet to the left. [m]"""
        return self._lines[facet_id, stretch.id]

    def corner_reach_m(self, point_m: tuple[float, float, float]) -> float:
        """How far the corner piece at an end of a joint reaches; 0 where there is none."""
        near = [r for p, r in self.reaches_m.items() if math.dist(p, point_m) < 5 * NEAR_M]
        return max(near, default=0.0)

    def ends_at_rim(self, facet_id: str, point_m: tuple[float, float, float]) -> bool:
        """True where a rim of the facet starts or ends at a point of the room."""
        g = self.grounds[facet_id]
        return any(math.dist(point_m, end) < 5 * NEAR_M for rim in g.rims for end in (rim.start_m, rim.end_m))

    def far_side(self, joint: Joint, facet_id: str) -> str:
        """The other facet of a joint."""
        a, b = joint.facets
        return b if facet_id == a else a

    def motion(self, joint: Joint, there: str, here: str) -> Motion:
        """Unfold facet ``there`` about a joint into the plane of facet ``here``."""
        key = joint.id, there
        if key not in self._motions:
            self._motions[key] = self._motion(joint, there, here)
        return self._motions[key]

    def _motion(self, joint: Joint, there: str, here: str) -> Motion:
        # each facet lies on the left of its own line, so that the two run opposite ways
        end, start = self.line(there, joint)
        return unfold(start, end, *self.line(here, joint))


def _lines(grounds: Sequence[Ground]) -> dict[tuple[str, str], Floats]:
    """Ends of every joint and rim in the coordinates of its facets, the facet to the left. [m]"""
    rows = [(g, s) for g in grounds for s in g.stretches]
    if not rows:
        return {}
    rel = np.array([(s.start_m, s.end_m) for _, s in rows]) - np.array([g.facet.frame.origin_m for g, _ in rows])[:, None]
    axes = np.array([(g.facet.frame.u, g.facet.frame.v) for g, _ in rows])
    lines = np.vecdot(rel[:, :, None], axes[:, None])
    d = lines[:, 1] - lines[:, 0]
    d /= np.hypot(d[:, 0], d[:, 1])[:, None]
    probe = lines.mean(axis=1) + 1e-4 * np.stack([-d[:, 1], d[:, 0]], axis=1)
    left = shapely.intersects_xy(np.array([g.polygon for g, _ in rows], dtype=object), probe)
    lines[~left] = lines[~left, ::-1]
    return {(g.facet.id, s.id): line for (g, s), line in zip(rows, lines, strict=True)}


def circle(center_m: tuple[float, float], radius_m: float) -> Polygon:
    """A polygon that contains a circle, so that a hole cut by it leaves nothing over the pipe.

    Parameters
    ----------
    center_m : tuple of float
        Middle. [m]
    radius_m : float
        Radius of the circle inside. [m]

    Returns
    -------
    around : Polygon
        Regular polygon of 64 sides.

    References
    ----------
    own derivation
    """
    outer = radius_m / np.cos(np.pi / CIRCLE_SEGMENTS)
    around: Polygon = Point(center_m).buffer(outer, quad_segs=CIRCLE_SEGMENTS // 4)
    return around
