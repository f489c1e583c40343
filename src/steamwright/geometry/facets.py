"""From directed edges to flat regions with holes, and from those to the stretches along which they meet."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from steamwright.errors import GeometryError
from steamwright.geometry.arrangement import TOL_M, Edges, Planes
from steamwright.geometry.frame import Floats, cross

Ring = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Region:
    """A connected flat piece of the surface. ``normal`` points into the air; rings hold vertex numbers, the region on
    the left of each; ``owners`` are the half-spaces that make it, in order; ``holes`` run the other way."""

    normal: tuple[float, float, float]
    key: int
    owners: tuple[int, ...]
    outline: Ring
    holes: tuple[Ring, ...]

    def rings(self) -> tuple[Ring, ...]:
        """Outline and holes."""
        return (self.outline, *self.holes)


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
    for e in range(len(edges.plane)):
        groups[int(edges.plane[e]), int(edges.facing[e]), keys[edges.owner[e]]].append(e)
    out: list[Region] = []
    for (plane, facing, key), members in sorted(groups.items()):
        normal = planes.normals[plane] * facing
        rings = _rings(edges, members, _flat(edges.vertices_m, normal))
        out.extend(_regions_of(edges, rings, normal, key))
    return tuple(out)


def _flat(points_m: Floats, normal: Floats) -> Floats:
    """Plane coordinates in which a region seen from the air keeps its sense of turning; shape (n, 2). [m]"""
    helper = np.eye(3)[int(np.argmin(np.abs(normal)))]
    u = cross(helper, normal)
    u /= np.linalg.norm(u)
    return np.stack([points_m @ u, points_m @ cross(normal, u)], axis=1)


def _rings(edges: Edges, members: list[int], flat_m: Floats) -> list[list[int]]:
    """Closed chains of edges; at a vertex with several ways on, the sharpest left turn keeps regions apart."""
    leaving: dict[int, list[int]] = defaultdict(list)
    for e in members:
        leaving[int(edges.ends[e, 0])].append(e)
    left = set(members)
    rings: list[list[int]] = []
    for first in members:
        if first not in left:
            continue
        chain = [first]
        left.discard(first)
        while edges.ends[chain[-1], 1] != edges.ends[first, 0] or _better(edges, chain[-1], first, leaving, left, flat_m):
            nxt = _next(edges, chain[-1], leaving, left, flat_m)
            if nxt is None:
                raise GeometryError("the surface of the room has a gap", path="room",
                                    hint="two surfaces nearly coincide; move one of them by an eighth of an inch")
            chain.append(nxt)
            left.discard(nxt)
        rings.append(chain)
    return rings


def _next(edges: Edges, e: int, leaving: dict[int, list[int]], left: set[int], flat_m: Floats) -> int | None:
    ways = [k for k in leaving[int(edges.ends[e, 1])] if k in left]
    if len(ways) <= 1:
        return ways[0] if ways else None
    return min(ways, key=lambda k: _turn(edges, e, k, flat_m))


def _better(edges: Edges, e: int, first: int, leaving: dict[int, list[int]], left: set[int], flat_m: Floats) -> bool:
    """Whether a sharper left turn than back into the first edge is still open at a vertex that several chains pass."""
    nxt = _next(edges, e, leaving, left, flat_m)
    return nxt is not None and _turn(edges, e, nxt, flat_m) < _turn(edges, e, first, flat_m)


def _turn(edges: Edges, e: int, k: int, flat_m: Floats) -> float:
    """Angle clockwise from the way back to edge k. [rad]"""
    at = flat_m[edges.ends[e, 1]]
    back, on = flat_m[edges.ends[e, 0]] - at, flat_m[edges.ends[k, 1]] - at
    return float((np.arctan2(back[1], back[0]) - np.arctan2(on[1], on[0])) % (2 * np.pi))


def _simple(chain: list[int], edges: Edges) -> list[list[int]]:
    """Part a chain at vertices that it passes twice."""
    out: list[list[int]] = []
    path: list[int] = []
    seen: dict[int, int] = {}
    for e in chain:
        v = int(edges.ends[e, 0])
        if v in seen:
            at = seen[v]
            loop, path = path[at:], path[:at]
            out.append(loop)
            for k in loop:
                seen.pop(int(edges.ends[k, 0]), None)
        seen[v] = len(path)
        path.append(e)
    return [*out, path]


def _regions_of(edges: Edges, chains: list[list[int]], normal: Floats, key: int) -> list[Region]:
    outers: list[tuple[Ring, Floats, list[int]]] = []
    holes: list[tuple[Ring, Floats, list[int]]] = []
    for chain in (part for c in chains for part in _simple(c, edges)):
        flat = _flat(edges.vertices_m[edges.ends[chain, 0]], normal)
        if len(chain) < 3 or abs(_area(flat)) < TOL_M * float(np.abs(flat - np.roll(flat, 1, axis=0)).sum()):
            continue  # a sliver whose two sides have become one
        row = (_without_straight(chain, edges, flat), flat, [int(edges.owner[e]) for e in chain])
        (outers if _area(flat) > 0 else holes).append(row)
    mine: list[list[int]] = [[] for _ in outers]
    for i, (_, flat, _owners) in enumerate(holes):
        inside = [k for k, (_r, outer, _o) in enumerate(outers) if _covers(outer, flat)]
        if inside:
            mine[min(inside, key=lambda k: _area(outers[k][1]))].append(i)
    out = []
    for (ring, _, owners), hs in zip(outers, mine, strict=True):
        all_owners = sorted({*owners, *(o for i in hs for o in holes[i][2])})
        n = (float(normal[0]), float(normal[1]), float(normal[2]))
        out.append(Region(n, key, tuple(all_owners), ring, tuple(holes[i][0] for i in hs)))
    return out


def _without_straight(chain: list[int], edges: Edges, flat_m: Floats) -> Ring:
    """Vertex numbers of a ring, those on a straight run left out."""
    keep = []
    for i, e in enumerate(chain):
        a, b, c = flat_m[i - 1], flat_m[i], flat_m[(i + 1) % len(chain)]
        d = c - a
        size = float(np.hypot(*d))
        off = abs(float(d[0] * (b[1] - a[1]) - d[1] * (b[0] - a[0]))) / size if size > TOL_M else 1.0
        straight = edges.line[chain[i - 1]] == edges.line[e] or off < TOL_M / 10
        if not straight or float((b - a) @ (c - b)) < 0:
            keep.append(int(edges.ends[e, 0]))
    return tuple(keep)


def _area(flat_m: Floats) -> float:
    x, y = flat_m[:, 0], flat_m[:, 1]
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def _covers(outer: Floats, ring: Floats) -> bool:
    """Whether a ring lies inside another that it may touch: judged at the middle of its first edge, a hair inside."""
    a, b = ring[0], ring[1]
    d = (b - a) / np.hypot(*(b - a))
    q = (a + b) / 2 + 10 * TOL_M * np.array([-d[1], d[0]])  # a hole has the region on its left
    x0, y0 = outer[:, 0], outer[:, 1]
    x1, y1 = np.roll(x0, -1), np.roll(y0, -1)
    cross = (y0 > q[1]) != (y1 > q[1])
    with np.errstate(divide="ignore", invalid="ignore"):
        at = x0 + (q[1] - y0) * (x1 - x0) / (y1 - y0)
    return bool(np.count_nonzero(cross & (at > q[0])) % 2)


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
    pieces = _split(found, vertices_m)
    at: dict[tuple[int, int], list[tuple[int, bool]]] = defaultdict(list)
    for f, a, b in pieces:
        at[min(a, b), max(a, b)].append((f, a < b))
    pairs: dict[tuple[int, int], list[tuple[int, int, float]]] = defaultdict(list)
    open_m = 0.0
    for (a, b), rows in at.items():
        forward, backward = [f for f, way in rows if way], [f for f, way in rows if not way]
        options = sorted((_angle_deg(found, vertices_m, f, g, a, b), f, g) for f in forward for g in backward)
        while options:
            angle, f, g = options[0]
            if f < g:
                pairs[f, g].append((a, b, angle))
            else:
                pairs[g, f].append((b, a, angle))
            options = [o for o in options if o[1] != f and o[2] != g]
        if len(forward) != len(backward):
            open_m += float(np.linalg.norm(vertices_m[a] - vertices_m[b]))
    out = []
    for (f, g), rows3 in sorted(pairs.items()):
        out += [Meeting(f, g, a, b, angle) for a, b, angle in _longest(rows3, vertices_m)]
    return tuple(out), open_m


def _split(found: Sequence[Region], vertices_m: Floats) -> list[tuple[int, int, int]]:
    """Edges of the regions, parted at every vertex that lies on them: region, from, to."""
    used = np.asarray(sorted({v for r in found for ring in r.rings() for v in ring}))
    p = vertices_m[used]
    raw = [(f, a, b) for f, r in enumerate(found) for ring in r.rings() for a, b in zip(ring, ring[1:] + ring[:1], strict=True)]
    start, end = vertices_m[[a for _, a, _ in raw]], vertices_m[[b for *_, b in raw]]
    d = end - start
    length = np.linalg.norm(d, axis=1)
    d = d / length[:, None]
    out = []
    for (f, a, b), s, w, size in zip(raw, start, d, length, strict=True):
        q = p - s
        t = q @ w
        near = np.abs(q - t[:, None] * w).max(axis=1) < 5 * TOL_M
        mid = np.flatnonzero(near & (t > 2 * TOL_M) & (t < size - 2 * TOL_M))
        stops = [a, *(int(used[k]) for k in mid[np.argsort(t[mid], kind="stable")]), b]
        out += [(f, x, y) for x, y in pairwise(stops)]
    return out


def _angle_deg(found: Sequence[Region], vertices_m: Floats, f: int, g: int, a: int, b: int) -> float:
    """Angle through the air between region f, which has edge a to b, and g, which has b to a. [deg]"""
    e = vertices_m[b] - vertices_m[a]
    e = e / np.linalg.norm(e)
    n, m = np.asarray(found[f].normal), np.asarray(found[g].normal)
    into_f, into_g = cross(n, e), cross(m, -e)
    angle = float(np.degrees(np.arctan2(into_g @ n, into_g @ into_f)) % 360)
    return 360.0 if angle < 1e-9 else angle


def _longest(rows: list[tuple[int, int, float]], vertices_m: Floats) -> list[tuple[int, int, float]]:
    """Join stretches of one pair that follow each other in a straight line."""
    after = {a: (b, angle) for a, b, angle in rows}
    before = {b: a for a, b, _ in rows}

    def runs_on(a: int, b: int, c: int) -> bool:
        d, e = vertices_m[b] - vertices_m[a], vertices_m[c] - vertices_m[b]
        return bool(np.linalg.norm(cross(d, e)) < 5 * TOL_M * np.linalg.norm(d) * max(1.0, float(np.linalg.norm(e))) and d @ e > 0)

    out = []
    for a, b, angle in sorted(rows):
        if a in before and runs_on(before[a], a, b):
            continue
        end = b
        while end in after and runs_on(a, end, after[end][0]):
            end = after[end][0]
        out.append((a, end, angle))
    return out
