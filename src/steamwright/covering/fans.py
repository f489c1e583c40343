"""Corners of a room: the points where joints meet, each with the angles of its facets in turn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steamwright.covering.ground import NEAR_M, Terrain
from steamwright.geometry.frame import Floats, Point2, Point3

Indices = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Sector:
    """A facet at a corner: its two rays, counter-clockwise seen from the air, and what runs along them."""

    facet: str
    apex_m: Point2
    start_rad: float
    angle_rad: float
    along_start: str | None
    along_end: str | None


@dataclass(frozen=True, slots=True)
class Corner:
    """A point where facets meet: sectors in turn; ``closed`` where they go all the way round."""

    point_m: Point3
    sectors: tuple[Sector, ...]
    closed: bool

    @property
    def total_rad(self) -> float:
        """Sum of the facets' angles; 2π on a flat surface."""
        return sum(s.angle_rad for s in self.sectors)


def find_corners(terrain: Terrain) -> list[Corner]:
    """All points where two joints or more meet, each with its facets in turn.

    Parameters
    ----------
    terrain : Terrain
        The room.

    Returns
    -------
    corners : list of Corner
        In the order of their points' coordinates.

    References
    ----------
    own derivation
    """
    ends = np.array([p for j in terrain.solid.joints for p in (j.start_m, j.end_m)]).reshape(-1, 3)
    first = np.zeros(len(ends), bool)
    for k, near in enumerate(np.abs(ends[:, None] - ends).max(axis=2) < NEAR_M):
        first[k] = not (near & first).any()
    points = sorted(ends[first].tolist(), key=lambda p: [round(x, 5) for x in p])
    if not points:
        return []
    return [c for p, sectors in zip(points, _sectors(terrain, np.array(points)), strict=True)
            for c in _fans(terrain, (p[0], p[1], p[2]), sectors)]


def _fans(terrain: Terrain, point_m: Point3, sectors: list[Sector]) -> list[Corner]:
    by_start = {(s.along_start, s.facet): s for s in sectors if s.along_start in terrain.joints}
    used: set[int] = set()

    def follow(first: Sector) -> list[Sector]:
        chain = [first]
        used.add(id(first))
        while chain[-1].along_end in terrain.joints:
            joint = terrain.joints[str(chain[-1].along_end)]
            after = by_start.get((joint.id, terrain.far_side(joint, chain[-1].facet)))
            if after is None or id(after) in used:
                break
            chain.append(after)
            used.add(id(after))
        return chain

    fans = [(follow(s), False) for s in sectors if s.along_start not in terrain.joints]
    while rest := [s for s in sectors if id(s) not in used]:
        fans.append((follow(rest[0]), True))
    return [Corner(point_m, tuple(chain), closed) for chain, closed in fans if len(chain) > 1]


def _sectors(terrain: Terrain, points_m: Floats) -> list[list[Sector]]:
    """For every point the angles of all facets whose outlines pass it: found at once, since each is a matter of a few numbers."""
    grounds = list(terrain.grounds.values())
    owner = np.repeat(np.arange(len(grounds)), [len(g.edges) for g in grounds])
    edges = np.concatenate([g.edges for g in grounds])
    first = np.searchsorted(owner, owner)
    before = first + np.concatenate([g.before for g in grounds])
    normals = np.array([g.facet.frame.normal for g in grounds])
    origins = np.array([g.facet.frame.origin_m for g in grounds])
    in_plane = np.abs(points_m @ normals.T - np.vecdot(normals, origins)) < 5 * NEAR_M
    point, edge = np.nonzero(in_plane[:, owner])
    axes = np.array([[g.facet.frame.u, g.facet.frame.v] for g in grounds])[owner[edge]]
    p = np.vecdot((points_m[point] - origins[owner[edge]])[:, None], axes)
    start, run = edges[edge, 0], edges[edge, 1] - edges[edge, 0]
    rel, length = p - start, np.hypot(run[:, 0], run[:, 1])
    along = (rel * run).sum(axis=1) / length
    off = np.abs(run[:, 0] * rel[:, 1] - run[:, 1] * rel[:, 0]) / length
    starts = np.hypot(rel[:, 0], rel[:, 1]) < 2 * NEAR_M
    passes = (off < 2 * NEAR_M) & (along > 2 * NEAR_M) & (along < length - 2 * NEAR_M)
    here = np.flatnonzero(starts | passes)
    here = here[np.lexsort((edge[here], passes[here], owner[edge[here]], point[here]))]
    passing = passes[here, None]
    apex = np.where(passing, p[here], start[here])
    back = np.where(passing, -run[here], edges[before[edge[here]], 0] - apex)
    found = _turned(terrain, owner[edge[here]], apex, run[here], back)
    out: list[list[Sector]] = [[] for _ in points_m]
    for k, sector in zip(point[here].tolist(), found, strict=True):
        out[k].append(sector)
    return out


def _turned(terrain: Terrain, facet: Indices, apex: Floats, out: Floats, back: Floats) -> list[Sector]:
    """Sectors from the ray ``out`` to the ray ``back``."""
    names = list(terrain.grounds)
    first, last = np.arctan2(out[:, 1], out[:, 0]), np.arctan2(back[:, 1], back[:, 0])
    along = _along(terrain, np.concatenate([facet, facet]), np.concatenate([apex, apex]), np.concatenate([out, back]))
    columns = ([names[k] for k in facet.tolist()], [(x, y) for x, y in apex.tolist()], first.tolist(),
               ((last - first) % (2 * np.pi)).tolist(), along[:len(facet)], along[len(facet):])
    return [Sector(*row) for row in zip(*columns, strict=True)]


def _along(terrain: Terrain, facet: Indices, apex: Floats, way: Floats) -> list[str | None]:
    """Ids of the joints or rims that leave points of outlines in directions."""
    grounds = list(terrain.grounds.values())
    stretches = [(k, s.id, terrain.line(g.facet.id, s)) for k, g in enumerate(grounds) for s in g.stretches]
    size = np.hypot(way[:, 0], way[:, 1])
    probe = apex + way / size[:, None] * np.minimum(1e-3, size / 3)[:, None]
    lines = np.array([line for *_, line in stretches])
    run, rel = lines[:, 1] - lines[:, 0], probe[:, None] - lines[:, 0]
    share = np.clip((rel * run).sum(axis=2) / (run * run).sum(axis=1), 0.0, 1.0)
    gap = rel - share[..., None] * run
    off = np.where(facet[:, None] == [k for k, *_ in stretches], np.hypot(gap[..., 0], gap[..., 1]), np.inf)
    # of a facet that ends in a thin point both of its edges are near: the nearer one is meant
    return [stretches[k][1] if near else None
            for k, near in zip(off.argmin(axis=1).tolist(), (off.min(axis=1) < 2 * NEAR_M).tolist(), strict=True)]
