"""The room as the placing of pieces needs it: facets with their net polygons, joints in facet coordinates, corners."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely import Point, Polygon, unary_union

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
    snug: Polygon | None = None
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
        if self.snug is None:
            self.snug = self.net.buffer(HAIR_M, join_style="mitre")
            shapely.prepare(self.snug)
        return bool(self.snug.contains(polygon))

    @property
    def by_pieces(self) -> bool:
        """True where this tool's pieces make the facet tight."""
        return self.facet.covering_by is CoveredBy.PIECES


@dataclass(frozen=True, slots=True)
class Sector:
    """A facet at a corner: its two rays, counter-clockwise seen from the air, and what runs along them."""

    facet: str
    apex_m: tuple[float, float]
    start_rad: float
    angle_rad: float
    along_start: str | None
    along_end: str | None


@dataclass(frozen=True, slots=True)
class Corner:
    """A point where facets meet: sectors in turn; ``closed`` where they go all the way round."""

    point_m: tuple[float, float, float]
    sectors: tuple[Sector, ...]
    closed: bool

    @property
    def total_rad(self) -> float:
        """Sum of the facets' angles; 2π on a flat surface."""
        return sum(s.angle_rad for s in self.sectors)


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
        self._lines: dict[tuple[str, str], Floats] = {}
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
        self._normals = np.array([g.facet.frame.normal for g in self.grounds.values()]).reshape(-1, 3)
        self._levels = np.array([n @ np.array(g.facet.frame.origin_m) for n, g in zip(self._normals, self.grounds.values(), strict=True)])
        self.joints = {j.id: j for j in solid.joints}
        kinds = {f.id: f.kind for f in solid.facets}
        self.legs_m = {j.id: leg_m(kinds[j.facets[0]], kinds[j.facets[1]]) if leg_m else 0.0 for j in solid.joints}
        for j in solid.joints:
            for fid in j.facets:
                self.grounds[fid].joints.append(j)
        for r in solid.rims:
            self.grounds[r.facet].rims.append(r)

    def line(self, facet_id: str, stretch: Joint | Rim) -> Floats:
        """Ends of a joint or rim in a facet's coordinates, shape (2, 2), the facet to the left. [m]"""
        key = facet_id, stretch.id
        if key not in self._lines:
            self._lines[key] = self._line(facet_id, stretch)
        return self._lines[key]

    def _line(self, facet_id: str, stretch: Joint | Rim) -> Floats:
        g = self.grounds[facet_id]
        ends = g.facet.frame.drop([stretch.start_m, stretch.end_m])
        d = ends[1] - ends[0]
        d = d / np.hypot(*d)
        middle = ends.mean(axis=0)
        probe = Point(middle + 1e-4 * np.array([-d[1], d[0]]))
        return ends if g.polygon.covers(probe) else ends[::-1]

    def corner_reach_m(self, point_m: tuple[float, float, float]) -> float:
        """How far the corner piece at an end of a joint reaches; 0 where there is none."""
        near = [r for p, r in self.reaches_m.items() if math.dist(p, point_m) < 5 * NEAR_M]
        return max(near, default=0.0)

    def ends_at_rim(self, facet_id: str, point_m: tuple[float, float, float]) -> bool:
        """True where a rim of the facet starts or ends at a point of the room."""
        g = self.grounds[facet_id]
        here = g.facet.frame.drop(point_m)[0]
        return any(np.hypot(*(here - q)) < 1e-4 for rim in g.rims for q in self.line(facet_id, rim))

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
        ends = [joint.start_m, joint.end_m]
        a = self.grounds[there].facet.frame.drop(ends)
        b = self.grounds[here].facet.frame.drop(ends)
        return unfold(a[0], a[1], b[0], b[1])

    def corners(self) -> list[Corner]:
        """All points where two joints or more meet, each with its facets in turn."""
        points: list[Floats] = []
        for j in self.solid.joints:
            for p in (j.start_m, j.end_m):
                q = np.array(p)
                if not any(np.abs(q - r).max() < NEAR_M for r in points):
                    points.append(q)
        points.sort(key=lambda p: [round(float(x), 5) for x in p])
        return [c for p in points for c in self._fans(p)]

    def _fans(self, point: Floats) -> list[Corner]:
        off = np.abs(self._normals @ point - self._levels)
        sectors = [s for fid, d in zip(self.grounds, off, strict=True) if d < 5 * NEAR_M for s in self._sectors(fid, point)]
        by_start = {(s.along_start, s.facet): s for s in sectors if s.along_start in self.joints}
        used: set[int] = set()

        def follow(first: Sector) -> list[Sector]:
            chain = [first]
            used.add(id(first))
            while chain[-1].along_end in self.joints:
                joint = self.joints[str(chain[-1].along_end)]
                after = by_start.get((joint.id, self.far_side(joint, chain[-1].facet)))
                if after is None or id(after) in used:
                    break
                chain.append(after)
                used.add(id(after))
            return chain

        fans = [(follow(s), False) for s in sectors if s.along_start not in self.joints]
        while rest := [s for s in sectors if id(s) not in used]:
            fans.append((follow(rest[0]), True))
        place = (float(point[0]), float(point[1]), float(point[2]))
        return [Corner(place, tuple(chain), closed) for chain, closed in fans if len(chain) > 1]

    def _sectors(self, facet_id: str, point: Floats) -> list[Sector]:
        """The facet's angles at a point of its outline (none where the point is elsewhere)."""
        g = self.grounds[facet_id]
        p = g.facet.frame.drop(point)[0]
        start, end = g.edges[:, 0], g.edges[:, 1]
        run = end - start
        length = np.hypot(run[:, 0], run[:, 1])
        rel = p - start
        along = (rel * run).sum(axis=1) / length
        off = np.abs(run[:, 0] * rel[:, 1] - run[:, 1] * rel[:, 0]) / length
        starts_here = np.hypot(rel[:, 0], rel[:, 1]) < 2 * NEAR_M
        passes = (off < 2 * NEAR_M) & (along > 2 * NEAR_M) & (along < length - 2 * NEAR_M)
        found = [self._sector(g, start[k], run[k], start[g.before[k]] - start[k]) for k in np.flatnonzero(starts_here)]
        return found + [self._sector(g, p, run[k], -run[k]) for k in np.flatnonzero(passes)]

    def _sector(self, g: Ground, p: Floats, out: Floats, back: Floats) -> Sector:
        start, end = np.arctan2(out[1], out[0]), np.arctan2(back[1], back[0])
        angle = float((end - start) % (2 * np.pi))
        apex = (float(p[0]), float(p[1]))
        return Sector(g.facet.id, apex, float(start), angle, self._along(g, p, out), self._along(g, p, back))

    def _along(self, g: Ground, p: Floats, direction: Floats) -> str | None:
        """Id of the joint or rim that leaves a point of the outline in a direction."""
        size = float(np.hypot(*direction))
        probe = p + direction / size * min(1e-3, size / 3)
        stretches: list[Joint | Rim] = [*g.joints, *g.rims]
        if not stretches:
            return None
        lines = np.array([self.line(g.facet.id, s) for s in stretches])
        run, rel = lines[:, 1] - lines[:, 0], probe - lines[:, 0]
        share = np.clip((rel * run).sum(axis=1) / (run * run).sum(axis=1), 0.0, 1.0)
        gap = rel - share[:, None] * run
        near = np.flatnonzero(np.hypot(gap[:, 0], gap[:, 1]) < 2 * NEAR_M)
        return stretches[near[0]].id if len(near) else None


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
