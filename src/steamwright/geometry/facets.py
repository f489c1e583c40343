"""From directed edges to flat regions with holes, and from those to the stretches along which they meet."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from steamwright.errors import GeometryError
from steamwright.geometry.arrangement import TOL_M, Edges, Planes
from steamwright.geometry.frame import Floats, Point3, crosses, scalar_product, vector_product

Ring = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Region:
    """A connected flat piece of the surface. ``normal`` points into the air; rings hold vertex numbers, the region on
    the left of each; ``owners`` are the half-spaces that make it, in order; ``holes`` run the other way."""

    normal: Point3
    key: int
    owners: tuple[int, ...]
    outline: Ring
    holes: tuple[Ring, ...]

    def rings(self) -> tuple[Ring, ...]:
        """Outline and holes."""
        return (self.outline, *self.holes)

    def vertices(self) -> Ring:
        """Numbers of all vertices, ring by ring."""
        return sum(self.holes, self.outline)


@dataclass(frozen=True, slots=True)
class Meeting:
    """A straight stretch along which two regions meet; ``angle_deg`` is measured through the air."""

    first: int
    second: int
    start: int
    end: int
    angle_deg: float


def regions(planes: Planes, edges: Edges, keys: Sequence[int]) -> tuple[Region, ...]:
    """Chain edges into regions.

    Parameters
    ----------
    planes : Planes
        The distinct planes.
    edges : Edges
        Directed stretches, each surface on the left of its own.
    keys : sequence of int
        Key of each half-space.

    Returns
    -------
    found : tuple of Region
        In order of their planes; several of one plane where it is parted.

    References
    ----------
    own derivation
    """
    groups: dict[tuple[int, int, int], list[int]] = defaultdict(list)
    for e, (plane, facing, owner) in enumerate(np.stack([edges.plane, edges.facing, edges.owner], axis=1).tolist()):
        groups[plane, facing, keys[owner]].append(e)
    ordered = sorted(groups.items())
    normals = np.array([planes.normals[plane] * facing for (plane, facing, _), _ in ordered])
    ends, line, owner_of = edges.ends.tolist(), edges.line.tolist(), edges.owner.tolist()
    out: list[Region] = []
    for ((_, _, key), members), normal, flat in zip(ordered, normals.tolist(), _flat(edges.vertices_m, normals), strict=True):
        met = list({v for e in members for v in ends[e]})
        seen = _Chains(ends, line, owner_of, dict(zip(met, flat[met].tolist(), strict=True)))
        out.extend(_regions_of(seen, seen.rings(members), (normal[0], normal[1], normal[2]), key))
    return tuple(out)


def _flat(points_m: Floats, normals: Floats) -> Floats:
    """Plane coordinates of points for each normal, in which a region seen from the air keeps its sense of turning. [m]"""
    u = crosses(np.eye(3)[np.argmin(np.abs(normals), axis=1)], normals)
    u /= np.linalg.norm(u, axis=1)[:, None]
    return np.asarray(points_m @ np.stack([u, crosses(normals, u)], axis=2))


@dataclass(frozen=True, slots=True)
class _Chains:
    """Edges in plain numbers, seen flat in one plane: their ends, lines and owners, and where the vertices of its edges lie in it. [m]"""

    ends: list[list[int]]
    line: list[int]
    owner: list[int]
    flat_m: Mapping[int, list[float]]

    def rings(self, members: list[int]) -> list[list[int]]:
        """Closed chains of edges; at a vertex with several ways on, the sharpest left turn keeps regions apart."""
        leaving: dict[int, list[int]] = defaultdict(list)
        for e in members:
            leaving[self.ends[e][0]].append(e)
        left = set(members)
        found: list[list[int]] = []
        for first in members:
            if first not in left:
                continue
            chain = [first]
            left.discard(first)
            while self.ends[chain[-1]][1] != self.ends[first][0] or self._better(chain[-1], first, leaving, left):
                nxt = self._next(chain[-1], leaving, left)
                if nxt is None:
                    raise GeometryError("the surface of the room has a gap", path="room",
                                        hint="two surfaces nearly coincide; move one of them by an eighth of an inch")
                chain.append(nxt)
                left.discard(nxt)
            found.append(chain)
        return found

    def _next(self, e: int, leaving: dict[int, list[int]], left: set[int]) -> int | None:
        ways = leaving[self.ends[e][1]]
        if len(ways) == 1:
            return ways[0] if ways[0] in left else None
        return min((k for k in ways if k in left), key=lambda k: self._turn(e, k), default=None)

    def _better(self, e: int, first: int, leaving: dict[int, list[int]], left: set[int]) -> bool:
        """Whether a sharper left turn than back into the first edge is still open at a vertex that several chains pass."""
        nxt = self._next(e, leaving, left)
        return nxt is not None and self._turn(e, nxt) < self._turn(e, first)

    def _turn(self, e: int, k: int) -> float:
        """Angle clockwise from the way back to edge k. [rad]"""
        (ax, ay), (bx, by), (cx, cy) = (self.flat_m[v] for v in (*self.ends[e], self.ends[k][1]))
        return (math.atan2(ay - by, ax - bx) - math.atan2(cy - by, cx - bx)) % (2 * math.pi)

    def simple(self, chain: list[int]) -> list[list[int]]:
        """Part a chain at vertices that it passes twice."""
        out: list[list[int]] = []
        path: list[int] = []
        seen: dict[int, int] = {}
        for e in chain:
            v = self.ends[e][0]
            if v in seen:
                at = seen[v]
                loop, path = path[at:], path[:at]
                out.append(loop)
                for k in loop:
                    seen.pop(self.ends[k][0], None)
            seen[v] = len(path)
            path.append(e)
        return [*out, path]

    def corners(self, chain: list[int]) -> list[list[float]]:
        """Where the edges of a chain start. [m]"""
        return [self.flat_m[self.ends[e][0]] for e in chain]

    def without_straight(self, chain: list[int]) -> Ring:
        """Vertex numbers of a ring, those on a straight run left out."""
        keep = []
        p = self.corners(chain)
        for i, e in enumerate(chain):
            (ax, ay), (bx, by), (cx, cy) = p[i - 1], p[i], p[(i + 1) % len(p)]
            dx, dy = cx - ax, cy - ay
            size = math.hypot(dx, dy)
            off = abs(dx * (by - ay) - dy * (bx - ax)) / size if size > TOL_M else 1.0
            straight = self.line[chain[i - 1]] == self.line[e] or off < TOL_M / 10
            if not straight or (bx - ax) * (cx - bx) + (by - ay) * (cy - by) < 0:
                keep.append(self.ends[e][0])
        return tuple(keep)


def _regions_of(seen: _Chains, chains: list[list[int]], normal: Point3, key: int) -> list[Region]:
    outers: list[tuple[Ring, list[list[float]], list[int]]] = []
    holes: list[tuple[Ring, list[list[float]], list[int]]] = []
    for chain in (part for c in chains for part in seen.simple(c)):
        flat = seen.corners(chain)
        area = _area(flat)
        if len(chain) < 3 or abs(area) < TOL_M * sum(abs(x - z) + abs(y - w) for (x, y), (z, w) in pairwise([*flat, flat[0]])):
            continue  # a sliver whose two sides have become one
        (outers if area > 0 else holes).append((seen.without_straight(chain), flat, [seen.owner[e] for e in chain]))
    mine: list[list[int]] = [[] for _ in outers]
    for i, (_, flat, _owners) in enumerate(holes):
        inside = [k for k, (_r, outer, _o) in enumerate(outers) if _covers(outer, flat)]
        if inside:
            mine[min(inside, key=lambda k: _area(outers[k][1]))].append(i)
    out = []
    for (ring, _, owners), hs in zip(outers, mine, strict=True):
        all_owners = sorted({*owners, *(o for i in hs for o in holes[i][2])})
        out.append(Region(normal, key, tuple(all_owners), ring, tuple(holes[i][0] for i in hs)))
    return out


def _area(flat_m: list[list[float]]) -> float:
    return sum(x * w - y * z for (x, y), (z, w) in pairwise([*flat_m, flat_m[0]])) / 2


def _covers(outer: list[list[float]], ring: list[list[float]]) -> bool:
    """Whether a ring lies inside another that it may touch: judged at the middle of its first edge, a hair inside."""
    (ax, ay), (bx, by) = ring[:2]
    hair = 10 * TOL_M / math.hypot(bx - ax, by - ay)
    x, y = (ax + bx) / 2 - hair * (by - ay), (ay + by) / 2 + hair * (bx - ax)  # a hole has the region on its left
    right = [x0 + (y - y0) * (x1 - x0) / (y1 - y0) > x for (x0, y0), (x1, y1) in pairwise([*outer, outer[0]]) if (y0 > y) != (y1 > y)]
    return sum(right) % 2 == 1


def meetings(found: Sequence[Region], vertices_m: Floats) -> tuple[tuple[Meeting, ...], float]:
    """Stretches along which regions meet.

    Parameters
    ----------
    found : sequence of Region
        Regions that enclose a solid.
    vertices_m : ndarray, shape (n, 3)
        Their vertices. [m]

    Returns
    -------
    meets : tuple of Meeting
        Longest straight stretches, in the direction of the first region's edge.
    open_m : float
        Total length of edge that meets nothing. [m]

    References
    ----------
    own derivation
    """
    corners: list[Point3] = [(x, y, z) for x, y, z in vertices_m.tolist()]
    at: dict[tuple[int, int], tuple[list[int], list[int]]] = defaultdict(lambda: ([], []))
    for f, a, b in _split(found, vertices_m):
        at[min(a, b), max(a, b)][a > b].append(f)
    options: dict[tuple[int, int], list[tuple[float, int, int]]] = {edge: [] for edge in at}
    ways = [(f, g, a, b) for (a, b), (forward, backward) in at.items() for f in forward for g in backward]
    for (f, g, a, b), angle in zip(ways, _angles_deg(found, vertices_m, ways), strict=True):
        options[a, b].append((angle, f, g))
    pairs: dict[tuple[int, int], list[tuple[int, int, float]]] = defaultdict(list)
    for (a, b), rows in options.items():
        rest = sorted(rows)
        while rest:
            angle, f, g = rest[0]
            if f < g:
                pairs[f, g].append((a, b, angle))
            else:
                pairs[g, f].append((b, a, angle))
            rest = [o for o in rest if o[1] != f and o[2] != g]
    open_m = sum(math.dist(corners[a], corners[b]) for (a, b), (forward, backward) in at.items() if len(forward) != len(backward))
    out = []
    for (f, g), rows3 in sorted(pairs.items()):
        out += [Meeting(f, g, a, b, angle) for a, b, angle in _longest(rows3, corners)]
    return tuple(out), float(open_m)


def _split(found: Sequence[Region], vertices_m: Floats) -> list[tuple[int, int, int]]:
    """Edges of the regions, parted at every vertex that lies on them: region, from, to."""
    raw = [(f, a, b) for f, r in enumerate(found) for ring in r.rings() for a, b in zip(ring, ring[1:] + ring[:1], strict=True)]
    table = np.array(raw)
    used = np.array(sorted({a for _, a, _ in raw}))
    start = vertices_m[table[:, 1]].T[..., None]
    d = vertices_m[table[:, 2]].T[..., None] - start
    length = np.linalg.norm(d, axis=0)
    d /= length
    q = vertices_m[used].T[:, None] - start
    t = (q * d).sum(axis=0)
    near = np.abs(q - t * d).max(axis=0) < 5 * TOL_M
    between: dict[int, list[tuple[float, int]]] = defaultdict(list)
    for e, k in np.argwhere(near & (t > 2 * TOL_M) & (t < length - 2 * TOL_M)).tolist():
        between[e].append((float(t[e, k]), int(used[k])))
    out = []
    for e, (f, a, b) in enumerate(raw):
        stops = [a, *(v for _, v in sorted(between[e])), b] if e in between else [a, b]
        out += [(f, x, y) for x, y in pairwise(stops)]
    return out


def _angles_deg(found: Sequence[Region], vertices_m: Floats, ways: Sequence[tuple[int, int, int, int]]) -> list[float]:
    """Angles through the air between regions f, which have edges a to b, and g, which have b to a; rows of f, g, a, b. [deg]"""
    f, g, a, b = np.array(ways, np.int64).reshape(-1, 4).T
    normals = np.array([r.normal for r in found])
    e = vertices_m[b] - vertices_m[a]
    e /= np.sqrt(np.vecdot(e, e))[:, None]
    n = normals[f]
    into_f, into_g = crosses(n, e), crosses(e, normals[g])
    angle = np.degrees(np.arctan2(np.vecdot(into_g, n), np.vecdot(into_g, into_f))) % 360
    angles: list[float] = np.where(angle < 1e-9, 360.0, angle).tolist()
    return angles


def _longest(rows: list[tuple[int, int, float]], corners: Sequence[Point3]) -> list[tuple[int, int, float]]:
    """Join stretches of one pair that follow each other in a straight line."""
    after = {a: (b, angle) for a, b, angle in rows}
    before = {b: a for a, b, _ in rows}

    def runs_on(a: int, b: int, c: int) -> bool:
        d, e = ((q[0] - p[0], q[1] - p[1], q[2] - p[2]) for p, q in pairwise((corners[a], corners[b], corners[c])))
        off = math.hypot(*vector_product(d, e))
        return off < 5 * TOL_M * math.hypot(*d) * max(1.0, math.hypot(*e)) and scalar_product(d, e) > 0

    out = []
    for a, b, angle in sorted(rows):
        if a in before and runs_on(before[a], a, b):
            continue
        end = b
        while end in after and runs_on(a, end, after[end][0]):
            end = after[end][0]
        out.append((a, end, angle))
    return out
