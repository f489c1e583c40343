"""A framed facet as boards see it: laid so that supports run up, with what every edge meets and what is deducted there."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import shapely
from shapely import Polygon

from steamwright.buildup.model import BuildUp, Layer
from steamwright.covering.boards.footing import LEVEL, Foot, Plane, feet_of, standing
from steamwright.covering.boards.offsets import Edge, offset_region
from steamwright.covering.boards.practice import practice
from steamwright.errors import InputError
from steamwright.geometry.frame import Point2, Point3
from steamwright.room.model import Facet, FacetKind, JointKind, Penetration, Solid
from steamwright.units import format_tape

LYING = (FacetKind.FLOOR, FacetKind.CEILING, FacetKind.SOFFIT, FacetKind.BENCH_TOP, FacetKind.CURB_TOP, FacetKind.HALF_WALL_TOP,
         FacetKind.HEAD, FacetKind.SILL)  # fmt: skip
OVERHEAD = (FacetKind.CEILING, FacetKind.SOFFIT, FacetKind.HEAD)
RECESS = (FacetKind.NICHE_SIDE, FacetKind.NICHE_BACK, FacetKind.JAMB, FacetKind.HEAD, FacetKind.SILL, FacetKind.OPENING)
BENCH = (FacetKind.BENCH_TOP, FacetKind.BENCH_FACE)
NOT_CUT = frozenset({"hinge", "clamp", "bar", "blocking_screw"})
FLAT_DEG = 25.0
_RANK = {FacetKind.FLOOR: 0, FacetKind.CEILING: 1, FacetKind.SOFFIT: 2, FacetKind.WALL: 3, FacetKind.COLUMN: 4,
         FacetKind.BENCH_FACE: 5, FacetKind.CURB_FACE: 5}  # fmt: skip
_NEAR_M = 3e-4
Ring = tuple[Point2, ...]


@dataclass(frozen=True, slots=True)
class Ground:
    """A facet turned so that its supports run along b: (a, b) is (s, t), or (t, s) where ``swapped``.

    ``whole`` is the facet on the framing face, ``standing`` the same run down to the slab where its framing stands on it with
    ``feet`` as its lower edges, ``region`` what boards may take of it, ``boards`` the board layers with what lies between each
    and the framing, innermost first. ``said_a_m`` are the studs that a person has found. [m]
    """

    facet: Facet
    path: str
    buildup: BuildUp
    boards: tuple[tuple[Layer, float], ...]
    swapped: bool
    first_a_m: float
    whole: Polygon
    region: shapely.Geometry
    edges: tuple[Edge, ...]
    pipes: tuple[tuple[Penetration, Point2], ...]
    standing: Polygon
    feet: tuple[Foot, ...] = ()
    said_a_m: tuple[float, ...] = ()

    @property
    def framed(self) -> bool:
        """Whether supports are laid out behind it."""
        return self.facet.kind is not FacetKind.FLOOR and self.buildup.framing_kind.endswith(("stud", "joist"))

    @property
    def spacing_m(self) -> float:
        """Distance of its supports from middle to middle. [m]"""
        return self.buildup.framing_spacing_m or practice("frame", "spacing_m")

    @property
    def bearing_m(self) -> float:
        """Width of the face of a support. [m]"""
        return practice("frame", "steel_face_m" if self.buildup.framing_kind.startswith("steel") else "wood_face_m")

    def turn(self, p: Point2) -> Point2:
        """(s, t) to (a, b) and back. [m]"""
        return (p[1], p[0]) if self.swapped else p

    def lift(self, p: Point2) -> Point3:
        """(a, b) into the room. [m]"""
        s, t = self.turn(p)
        (x, y, z), (a, b, c), (d, e, f) = self.facet.frame.origin_m, self.facet.frame.u, self.facet.frame.v
        return (x + s * a + t * d, y + s * b + t * e, z + s * c + t * f)


def board_layers(buildup: BuildUp) -> tuple[tuple[Layer, float], ...]:
    """The boards that are fastened to the framing from the room, with what lies between each and the framing.

    Parameters
    ----------
    buildup : BuildUp
        A build-up, steam side first.

    Returns
    -------
    boards : tuple of (Layer, float)
        Innermost first. [m]

    References
    ----------
    own derivation
    """
    front: list[Layer] = []
    for layer in buildup.layers:
        if layer.role in ("cavity", "structure", "framing", "lining", "finish"):
            break
        front.append(layer)
    found, behind = [], 0.0
    for layer in reversed(front):
        if layer.role == "board":
            found.append((layer, behind))
        behind += layer.thickness_m
    return tuple(found)


def thickness_m(facet: Facet, buildups: Mapping[str, BuildUp]) -> float:
    """How far what is built on a facet before its neighbours stands into the room.

    Parameters
    ----------
    facet : Facet
        A facet of the framing face.
    buildups : mapping of str to BuildUp
        By id.

    Returns
    -------
    depth_m : float
        Boards and what lies behind them; on the floor all up to the membrane, since walls stand on it. [m]

    References
    ----------
    own derivation
    """
    buildup = buildups.get(facet.buildup or "")
    if buildup is None:
        return 0.0
    if facet.kind is FacetKind.FLOOR:
        return buildup.to_membrane_m
    layers = board_layers(buildup)
    return layers[-1][0].thickness_m + layers[-1][1] if layers else 0.0


def grounds(framing: Solid, buildups: Sequence[BuildUp], stations: Mapping[str, Point2],
            studs: Mapping[str, Sequence[float]] | None = None, slab: Plane = LEVEL) -> tuple[Ground, ...]:
    """All facets that are framed or boarded.

    Parameters
    ----------
    framing : Solid
        The room on the framing face.
    buildups : sequence of BuildUp
        All build-ups of the job, in its order.
    stations : mapping of str to tuple of float
        Plan points of the stations: supports of a wall are counted from its first one. [m]
    studs : mapping of str to sequence of float, optional
        By wall, the middles of studs as found, from the wall's first station; one alone starts the spacing. [m]
    slab : (float, float, float)
        What the framing stands on: height = a x + b y + c over the level datum.

    Returns
    -------
    grounds : tuple of Ground
        In the order of the facets.

    Raises
    ------
    InputError
        If a stud stands outside its wall.

    References
    ----------
    own derivation
    """
    known = {b.id: b for b in buildups}
    path = {b.id: f"buildup[{i}]" for i, b in enumerate(buildups)}
    order = {f.id: (_RANK.get(f.kind, 6), i) for i, f in enumerate(framing.facets)}
    facets = {f.id: f for f in framing.facets}
    thick = {f.id: thickness_m(f, known) for f in framing.facets}
    links = _links(framing, facets)
    out = []
    for f in framing.facets:
        buildup = known.get(f.buildup or "")
        if buildup is None or f.kind is FacetKind.OPENING:
            continue
        layers = board_layers(buildup)
        if not layers and not buildup.framing_kind.endswith(("stud", "joist")):
            continue
        swapped = _is_swapped(f)
        flat = [(a, b, o, angle, _deduct_m(f, facets.get(o), angle, thick, order)) for a, b, o, angle in links.get(f.id, ())]
        edges = tuple(e for ring in (f.outline_m, *f.holes_m) for e in _edges(ring, flat, facets))
        region = offset_region(f.polygon, edges)
        turned = tuple(Edge(_turn(e.start_m, swapped), _turn(e.end_m, swapped), e.other, e.angle_deg, e.deduct_m) for e in edges)
        turned = tuple(Edge(e.end_m, e.start_m, e.other, e.angle_deg, e.deduct_m) for e in turned) if swapped else turned
        pipes = tuple((p, _turn(p.center_m, swapped)) for p in framing.penetrations if p.facet == f.id)
        whole = _turned(f.polygon, swapped)
        first, said = _first_a(f, stations, whole, swapped), _said_a(f, stations, studs or {})
        if len(said) == 1:
            first, said = said[0], ()
        out.append(Ground(f, path[buildup.id], buildup, layers, swapped, first, whole, _turned(region, swapped), turned, pipes,
                          standing(whole, f, turned, slab), feet_of(f, turned, slab), said))
    return tuple(out)


def _turn(p: Point2, swapped: bool) -> Point2:
    return (p[1], p[0]) if swapped else p


def _turned(g: shapely.Geometry, swapped: bool) -> shapely.Geometry:
    return shapely.transform(g, lambda x: x[:, ::-1]) if swapped else g


def _is_swapped(f: Facet) -> bool:
    """Lying facets have their joists across the shorter span."""
    if f.kind not in LYING:
        return False
    s0, t0, s1, t1 = f.polygon.bounds
    return bool(s1 - s0 < t1 - t0)


def _first_a(f: Facet, stations: Mapping[str, Point2], whole: Polygon, swapped: bool) -> float:
    """Where the supports are counted from: the wall's first station, else the facet's low end."""
    first = stations.get(f.surface.partition("-")[0]) if f.kind is FacetKind.WALL and not swapped else None
    if first is None:
        return float(whole.bounds[0])
    (x, y, _), (a, b, _) = f.frame.origin_m, (*f.frame.u[:2], 0.0)
    return (first[0] - x) * a + (first[1] - y) * b


def _said_a(f: Facet, stations: Mapping[str, Point2], studs: Mapping[str, Sequence[float]]) -> tuple[float, ...]:
    """Middles of the studs that a person has found behind a wall, low to high a."""
    ends = f.surface.split("-")
    side = next((s for s in studs if s.split("-") in (ends, ends[::-1])), None)
    if f.kind is not FacetKind.WALL or side is None:
        return ()
    (x, y, _), (a, b, _) = f.frame.origin_m, (*f.frame.u[:2], 0.0)
    start, end = ((stations[n][0] - x) * a + (stations[n][1] - y) * b for n in side.split("-"))
    for at in studs[side]:
        if not 0.0 <= at <= abs(end - start):
            raise InputError(f"a stud stands {format_tape(at)} along wall {side}, which is {format_tape(abs(end - start))} long",
                             path=f"room.wall.{side}.studs", hint=f"measure the middle of the stud from station {side.split('-')[0]}")
    way = 1.0 if end > start else -1.0
    return tuple(sorted(start + way * at for at in studs[side]))


Link = tuple[Point2, Point2, str, float]


def _links(solid: Solid, facets: Mapping[str, Facet]) -> dict[str, list[Link]]:
    """Joints and rims by facet, in its (s, t)."""
    out: dict[str, list[Link]] = {}

    def put(fid: str, other: str, a: Point3, b: Point3, angle: float) -> None:
        (p, q) = facets[fid].frame.drop((a, b)).tolist()
        out.setdefault(fid, []).append(((p[0], p[1]), (q[0], q[1]), other, angle))

    for j in solid.joints:
        angle = 180.0 if j.kind is JointKind.FLAT else j.angle_deg
        put(j.facets[0], j.facets[1], j.start_m, j.end_m, angle)
        put(j.facets[1], j.facets[0], j.start_m, j.end_m, angle)
    for r in solid.rims:
        put(r.facet, r.opening, r.start_m, r.end_m, 180.0)
    return out


def _deduct_m(f: Facet, other: Facet | None, angle_deg: float, thick: Mapping[str, float], order: Mapping[str, tuple[int, int]]) -> float:
    """What is taken off at an edge: a gap, the boards that stand there first; less than nothing where a board covers another's edge."""
    if other is None or other.kind is FacetKind.OPENING:
        return 0.0
    if abs(angle_deg - 180.0) < FLAT_DEG:
        return practice("lay", "butt_gap_m") / 2
    later = order[f.id] > order[other.id]
    if angle_deg > 180.0:
        return -thick[other.id] * math.sin(math.radians(360.0 - angle_deg)) if later and thick[f.id] > 0 else 0.0
    gap = practice("lay", "pan_gap_m" if other.kind is FacetKind.FLOOR else "corner_gap_m")
    sin, cos = math.sin(math.radians(angle_deg)), math.cos(math.radians(angle_deg))
    ahead = max(0.0, thick[f.id] * cos / sin)
    return gap + ((thick[other.id] / sin + ahead) if later else ahead)


def _edges(ring: Ring, links: Sequence[tuple[Point2, Point2, str, float, float]], facets: Mapping[str, Facet]) -> list[Edge]:
    """A ring's edges, parted where what they meet changes."""
    out: list[Edge] = []
    for p, q in zip(ring, ring[1:] + ring[:1], strict=True):
        length = math.dist(p, q)
        if length < _NEAR_M:
            continue
        d = ((q[0] - p[0]) / length, (q[1] - p[1]) / length)
        spans = []
        for a, b, other, angle, deduct in links:
            if max(abs((x[0] - p[0]) * d[1] - (x[1] - p[1]) * d[0]) for x in (a, b)) < _NEAR_M:
                lo, hi = sorted((x[0] - p[0]) * d[0] + (x[1] - p[1]) * d[1] for x in (a, b))
                lo, hi = max(0.0, lo), min(length, hi)
                if hi - lo > 2 * _NEAR_M:
                    spans.append((lo, hi, facets[other].kind if other in facets else None, angle, deduct))
        spans.sort(key=lambda s: (s[0], s[1]))
        at = 0.0
        for lo, hi, kind, angle, deduct in spans:
            if hi <= at + _NEAR_M:
                continue
            start = at if lo - at < 2 * _NEAR_M else lo
            if start > at:
                out.append(Edge(_along(p, d, at), _along(p, d, start), None, 180.0, 0.0))
            end = length if length - hi < 2 * _NEAR_M else hi
            out.append(Edge(_along(p, d, start), _along(p, d, end), kind, angle, deduct))
            at = end
        if length - at > 2 * _NEAR_M:
            out.append(Edge(_along(p, d, at), q, None, 180.0, 0.0))
    return out


def _along(p: Point2, d: Point2, x: float) -> Point2:
    return (p[0] + x * d[0], p[1] + x * d[1])
