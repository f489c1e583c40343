"""From regions of half-spaces to the facets, joints and rims of a room."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from steamwright.errors import GeometryError
from steamwright.geometry.arrangement import surface_edges
from steamwright.geometry.facets import Meeting, Region, meetings, regions
from steamwright.geometry.frame import Floats, Frame, Point2, Point3, crosses
from steamwright.geometry.halfspace import Formula
from steamwright.room.draft import Draft, Surface
from steamwright.room.model import CoveredBy, Facet, FacetKind, Joint, JointKind, Rim

FLAT_DEG = 1e-3
CLOSED_M = 1e-5
SLIVER_M2 = 1e-7
BLOCKS = ("room.bench", "room.curb", "room.half_wall", "room.soffit", "room.column")
PARTS_OF_THINGS = (" left", " right", " top", " front", " end", " underside", " jamb", " side", " sill", " head", " back")
"""What the names of surfaces end in behind the name of the thing itself, the last word first."""
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
    corners: list[Point3] = [(x, y, z) for x, y, z in edges.vertices_m.tolist()]
    found = tuple(sorted(found, key=lambda r: _rank(_lead(draft, r), r, corners)))
    leads = [_lead(draft, r) for r in found]
    meets, open_m = meetings(found, edges.vertices_m)
    if open_m > CLOSED_M:
        raise GeometryError(f"the room does not close: {open_m * 1000:.2f} mm of edge meet nothing", path="room",
                            hint="two surfaces nearly coincide; move one of them by an eighth of an inch")
    ids = [f"facet-{i + 1:02d}" for i in range(len(found))]
    facets = _facets(found, leads, ids, edges.vertices_m)
    joints, rims = _links(leads, facets, meets, corners)
    names = tuple(tuple(dict.fromkeys(_surface(draft, o).name for o in r.owners)) for r in found)
    cones = _cones(facets)
    parts = sum(sum(cones[i] for i in part) > 0 for part in _shells(facets, meets))
    return Shell(facets, joints, rims, names, sum(cones), parts)


def _surface(draft: Draft, owner: int) -> Surface:
    return draft.surfaces[draft.surface_of[owner]]


def _lead(draft: Draft, region: Region) -> Surface:
    """The surface after which a region is named: the first of those that make it."""
    return min((_surface(draft, o) for o in region.owners), key=lambda s: s.order)


def _facing_back(draft: Draft, found: Sequence[Region]) -> GeometryError | None:
    """The air may lie on the wrong side of a surface only where something closes a recess from the room."""
    sides = np.vecdot([draft.half_spaces[r.owners[0]].normal for r in found], [r.normal for r in found])
    for r in (found[i] for i in np.flatnonzero(sides < 0).tolist()):
        s = _lead(draft, r)
        corners = set(r.vertices())
        beside = [_lead(draft, q) for q in found if corners & set(q.outline)]
        recess = next((q for q in beside if q.path.startswith(RECESSES)), None)
        block = next((q for q in beside if q.path.startswith(BLOCKS)), None)
        return _closed_off(s, recess, block)
    return None


def _closed_off(at: Surface, recess: Surface | None, block: Surface | None) -> GeometryError:
    """What stands in the way of what, named by the things that a person put there."""
    if recess is None and block is not None:
        what = _thing(block)
        return GeometryError(f"{what} closes off a pocket at the end of {at.name}, which no covering reaches", path=block.path,
                             hint=f"end {what} clear of {at.name}, or let both walls in line there have layers of one thickness")
    what = _thing(block) if block is not None else "something"
    which = _thing(recess) if recess is not None else "an opening or a niche"
    return GeometryError(f"{what} stands in front of {which} at {at.name} and closes part of it",
                         path=recess.path if recess is not None else at.path,
                         hint=f"move {which} or shorten {what}, so that one is clear of the other")


def _thing(surface: Surface) -> str:
    """The fixture or opening that a surface belongs to."""
    name = surface.name
    for word in PARTS_OF_THINGS:
        name = name.removesuffix(word)
    return name


def _rank(lead: Surface, region: Region, corners: Sequence[Point3]) -> tuple[object, ...]:
    x, y, z = zip(*(corners[v] for v in region.outline), strict=True)
    turn = round(math.atan2(region.normal[1], region.normal[0]), 6)
    return (lead.order, region.owners[0], turn, *(round(sum(part) / len(part), 6) for part in (x, y, z)))


def _frames(leads: Sequence[Surface], found: Sequence[Region], vertices_m: Floats) -> list[tuple[Frame, list[Point2]]]:
    """Upright surfaces: v up, u to the right of one who looks at them. Others: u along the surface's own direction.

    The origin is the lower left of the outline, so that plane coordinates start at 0; with each frame come its vertices.
    """
    normal = np.array([r.normal for r in found])
    lies = np.abs(normal[:, 2:]) > 0.5
    main = np.where(lies, [s.along for s in leads], (0.0, 0.0, 1.0))
    main = main - normal * np.vecdot(main, normal)[:, None]
    main /= np.sqrt(np.vecdot(main, main))[:, None]
    u = np.where(lies, main, crosses(main, normal))
    v = np.where(lies, crosses(normal, main), main)
    flat = []
    place = np.empty((len(found), 3))
    for i, r in enumerate(found):
        points = vertices_m[list(r.vertices())]
        s, t = (points @ u[i]).tolist(), (points @ v[i]).tolist()
        left, low = min(s), min(t)
        place[i] = left, low, np.add.reduce(points @ normal[i]) / len(points)
        flat.append([(x - left, y - low) for x, y in zip(s, t, strict=True)])
    origin = place[:, :1] * u + place[:, 1:2] * v + place[:, 2:] * normal
    axes = zip(*([(x, y, z) for x, y, z in part.tolist()] for part in (origin, u, v)), strict=True)
    return [(Frame(*three), points) for three, points in zip(axes, flat, strict=True)]


def _facets(found: Sequence[Region], leads: Sequence[Surface], ids: Sequence[str], vertices_m: Floats) -> tuple[Facet, ...]:
    count: dict[str, int] = defaultdict(int)
    for s in leads:
        count[s.name] += 1
    seen: dict[str, int] = defaultdict(int)
    out = []
    for region, s, fid, (frame, flat) in zip(found, leads, ids, _frames(leads, found, vertices_m), strict=True):
        seen[s.name] += 1
        part = f"({seen[s.name]})" if s.kind is FacetKind.WALL else f"{seen[s.name]}"
        name = s.name if count[s.name] == 1 else f"{s.name} {part}"
        place = dict(zip(region.vertices(), flat, strict=True))
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


def _links(leads: Sequence[Surface], facets: Sequence[Facet], meets: Sequence[Meeting],
           corners: Sequence[Point3]) -> tuple[tuple[Joint, ...], tuple[Rim, ...]]:
    joints: list[Joint] = []
    rims: list[Rim] = []
    for m in meets:
        a, b = facets[m.first], facets[m.second]
        start, end = corners[m.start], corners[m.end]
        bare = [f.covering_by is CoveredBy.NONE for f in (a, b)]
        if all(bare):
            continue
        if any(bare):
            covered, opening = (b, a) if bare[0] else (a, b)
            ending = leads[m.first if bare[0] else m.second].ending
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


def _cones(facets: Sequence[Facet]) -> list[float]:
    """Signed volumes between facets and the origin; those of facets that close sum to the volume that they enclose. [m3]"""
    away = np.vecdot([f.frame.origin_m for f in facets], [f.frame.normal for f in facets])
    return [-d * f.area_m2 / 3 for d, f in zip(away.tolist(), facets, strict=True)]
