"""From regions of half-spaces to the facets, joints and rims of a room."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from steamwright.errors import GeometryError
from steamwright.geometry.arrangement import surface_edges
from steamwright.geometry.facets import Meeting, Region, meetings, regions
from steamwright.geometry.frame import Floats, Frame, Point2, Point3, cross
from steamwright.geometry.halfspace import Formula
from steamwright.room.draft import Draft, Surface
from steamwright.room.model import CoveredBy, Facet, FacetKind, Joint, JointKind, Rim

FLAT_DEG = 1e-3
CLOSED_M = 1e-5
SLIVER_M2 = 1e-7
RECESSES = ("room.opening", "room.niche")


@dataclass(frozen=True, slots=True)
class Shell:
    """The closed surface of a room. ``surfaces`` gives, for each facet, the names that a job may call it by."""

    facets: tuple[Facet, ...]
    joints: tuple[Joint, ...]
    rims: tuple[Rim, ...]
    surfaces: tuple[tuple[str, ...], ...]
    volume_m3: float
    parts: int


def assemble(draft: Draft, formula: Formula, low_m: Floats, high_m: Floats) -> Shell:
    """Build the facets that bound the air, and how they meet.

    Parameters
    ----------
    draft : Draft
        Half-spaces and surfaces.
    formula : Formula
        The air.
    low_m, high_m : ndarray, shape (3,)
        A box round the room. [m]

    Returns
    -------
    shell : Shell
        Closed; a facet's edges lie where its neighbours' do.

    Raises
    ------
    GeometryError
        If it does not close, or nothing is left of the room.

    References
    ----------
    own derivation
    """
    planes, edges = surface_edges(formula, draft.half_spaces, low_m, high_m)
    if not len(edges.plane):
        raise GeometryError("no air is left in the room", path="room", hint="check the heights of floor, ceiling and fixtures")
    found = regions(planes, edges, [h.key for h in draft.half_spaces])
    facing_back = _facing_back(draft, found)
    if facing_back is not None:
        raise facing_back
    order = sorted(range(len(found)), key=lambda i: _rank(draft, found[i], edges.vertices_m))
    found = tuple(found[i] for i in order)
    meets, open_m = meetings(found, edges.vertices_m)
    if open_m > CLOSED_M:
        raise GeometryError(f"the room does not close: {open_m * 1000:.2f} mm of edge meet nothing", path="room",
                            hint="two surfaces nearly coincide; move one of them by an eighth of an inch")
    ids = [f"facet-{i + 1:02d}" for i in range(len(found))]
    facets = _facets(draft, found, ids, edges.vertices_m)
    joints, rims = _links(draft, found, facets, meets, edges.vertices_m)
    parts = _shells(facets, meets)
    names = tuple(tuple(dict.fromkeys(_surface(draft, o).name for o in r.owners)) for r in found)
    volume = _volume(facets, range(len(facets)))
    return Shell(facets, joints, rims, names, volume, sum(_volume(facets, part) > 0 for part in parts))


def _surface(draft: Draft, owner: int) -> Surface:
    return draft.surfaces[draft.surface_of[owner]]


def _lead(draft: Draft, region: Region) -> Surface:
    """The surface after which a region is named: the first of those that make it."""
    return min((_surface(draft, o) for o in region.owners), key=lambda s: s.order)


def _facing_back(draft: Draft, found: Sequence[Region]) -> GeometryError | None:
    """The air may lie on the wrong side of a surface only where something closes a recess from the room."""
    for r in found:
        h = draft.half_spaces[r.owners[0]]
        if float(np.asarray(h.normal) @ np.asarray(r.normal)) < 0:
            s = _lead(draft, r)
            corners = {v for ring in r.rings() for v in ring}
            beside = [_lead(draft, q) for q in found if corners & set(q.outline)]
            path = next((q.path for q in beside if q.path.startswith(RECESSES)), s.path)
            return GeometryError(f"something stands in front of an opening or a niche at {s.name} and closes part of it", path=path,
                                 hint="move one of them clear of the other")
    return None


def _rank(draft: Draft, region: Region, vertices_m: Floats) -> tuple[object, ...]:
    s = _lead(draft, region)
    p = vertices_m[list(region.outline)]
    turn = round(float(np.arctan2(region.normal[1], region.normal[0])), 6)
    return (s.order, region.owners[0], turn, *np.round(p.mean(axis=0), 6).tolist())


def _frame(surface: Surface, normal: Floats, points_m: Floats) -> tuple[Frame, Floats]:
    """Upright surfaces: v up, u to the right of one who looks at them. Others: u along the surface's own direction.

    The origin is the lower left of the outline, so that plane coordinates start at 0.
    """
    if abs(normal[2]) > 0.5:
        a = np.asarray(surface.along)
        u = a - normal * float(a @ normal)
        u /= np.linalg.norm(u)
        v = cross(normal, u)
    else:
        v = np.array([0.0, 0.0, 1.0]) - normal * float(normal[2])
        v /= np.linalg.norm(v)
        u = cross(v, normal)
    flat = np.stack([points_m @ u, points_m @ v], axis=1)
    low = flat.min(axis=0)
    height = float(np.mean(points_m @ normal))
    origin = low[0] * u + low[1] * v + height * normal
    return Frame(_point3(origin), _point3(u), _point3(v)), flat - low


def _point3(p: Floats) -> Point3:
    return (float(p[0]), float(p[1]), float(p[2]))


def _facets(draft: Draft, found: Sequence[Region], ids: Sequence[str], vertices_m: Floats) -> tuple[Facet, ...]:
    leads = [_lead(draft, r) for r in found]
    count: dict[str, int] = defaultdict(int)
    for s in leads:
        count[s.name] += 1
    seen: dict[str, int] = defaultdict(int)
    out = []
    for region, s, fid in zip(found, leads, ids, strict=True):
        seen[s.name] += 1
        part = f"({seen[s.name]})" if s.kind is FacetKind.WALL else f"{seen[s.name]}"
        name = s.name if count[s.name] == 1 else f"{s.name} {part}"
        used = [v for ring in region.rings() for v in ring]
        frame, flat = _frame(s, np.asarray(region.normal), vertices_m[used])
        place = {v: (float(p[0]), float(p[1])) for v, p in zip(used, flat, strict=True)}
        outline = _from_lower_left(tuple(place[v] for v in region.outline))
        holes = tuple(tuple(place[v] for v in ring) for ring in region.holes)
        area = _area(outline) + sum(_area(h) for h in holes)
        if area < SLIVER_M2:
            raise GeometryError(f"{name} is a sliver of {area * 1e6:.3f} mm2", path=s.path,
                                hint="two surfaces nearly coincide; move one of them by an eighth of an inch")
        out.append(Facet(fid, s.kind, name, frame, outline, holes, area, s.covered_by, s.reason, s.name, s.buildup))
    return tuple(out)


def _from_lower_left(ring: tuple[Point2, ...]) -> tuple[Point2, ...]:
    k = min(range(len(ring)), key=lambda i: (round(ring[i][1], 6), round(ring[i][0], 6)))
    return ring[k:] + ring[:k]


def _area(ring: Sequence[Point2]) -> float:
    return sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(ring, [*ring[1:], ring[0]], strict=True)) / 2


def _links(draft: Draft, found: Sequence[Region], facets: Sequence[Facet], meets: Sequence[Meeting],
           vertices_m: Floats) -> tuple[tuple[Joint, ...], tuple[Rim, ...]]:
    joints: list[Joint] = []
    rims: list[Rim] = []
    for m in meets:
        a, b = facets[m.first], facets[m.second]
        start, end = _point3(vertices_m[m.start]), _point3(vertices_m[m.end])
        bare = [f.covering_by is CoveredBy.NONE for f in (a, b)]
        if all(bare):
            continue
        if any(bare):
            covered, opening = (b, a) if bare[0] else (a, b)
            ending = _lead(draft, found[m.first if bare[0] else m.second]).ending
            rims.append(Rim(f"rim-{len(rims) + 1:02d}", covered.id, opening.id, start, end, ending.text, ending.reach_m, ending.sealed_by))
            continue
        away = m.angle_deg - 180
        kind = JointKind.FLAT if abs(away) < FLAT_DEG else JointKind.INSIDE if away < 0 else JointKind.OUTSIDE
        joints.append(Joint(f"joint-{len(joints) + 1:02d}", (a.id, b.id), start, end, m.angle_deg, kind))
    return tuple(joints), tuple(rims)


def _shells(facets: Sequence[Facet], meets: Sequence[Meeting]) -> list[list[int]]:
    """Facets that hang together."""
    of = list(range(len(facets)))
    for m in meets:
        x, y = of[m.first], of[m.second]
        if x != y:
            of = [x if k == y else k for k in of]
    return [[i for i, k in enumerate(of) if k == part] for part in sorted(set(of))]


def _volume(facets: Sequence[Facet], which: Sequence[int]) -> float:
    """Volume that facets enclose, by the divergence theorem. [m3]"""
    return -sum(float(np.asarray(facets[i].frame.origin_m) @ facets[i].frame.normal) * facets[i].area_m2 for i in which) / 3
