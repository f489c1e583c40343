"""What is overhead: how each ceiling falls, where its water leaves it, what lies below, and how much room there is to stand."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from shapely import LineString, MultiPoint, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from steamwright.geometry.frame import Floats, Point3
from steamwright.room.model import Facet, FacetKind, JointKind, Solid

LEVEL_RATIO = 1e-4
STANDING_OFF_M = 0.254
SITTING_OFF_M = 0.1
DOOR_REACH_M = 0.45
_LEAVES = 0.05
_OVERHEAD = (FacetKind.CEILING, FacetKind.SOFFIT)
_TOUCH_M = 0.02


@dataclass(frozen=True, slots=True)
class Fall:
    """How a ceiling falls. ``on`` says in words where its water ends, ``over`` what it drips on, ``behind``
    what it runs down to: backs of seats, or glass in which the way in lies and of which no door is known."""

    slope_ratio: float
    on: str
    over: tuple[str, ...]
    behind: tuple[str, ...]


def ceilings(solid: Solid) -> tuple[Facet, ...]:
    """Facets that look down on people: ceilings and the undersides of soffits.

    Parameters
    ----------
    solid : Solid
        The room.

    Returns
    -------
    facets : tuple of Facet
        In the order of the solid; upright faces of soffits are not among them.

    References
    ----------
    own derivation
    """
    return tuple(f for f in solid.facets if f.kind in _OVERHEAD and f.frame.normal[2] < -0.05)


def slope_ratio(facet: Facet) -> float:
    """Rise over run of a facet that is not upright.

    Parameters
    ----------
    facet : Facet
        The facet.

    Returns
    -------
    slope_ratio : float
        0 where it is level.

    References
    ----------
    own derivation
    """
    n = facet.frame.normal
    return float(np.hypot(n[0], n[1]) / abs(n[2]))


def downhill(facet: Facet) -> Floats:
    """Plan direction in which a facet falls.

    Parameters
    ----------
    facet : Facet
        A facet that is not upright.

    Returns
    -------
    direction : ndarray, shape (2,)
        Unit vector; zero where the facet is level.

    References
    ----------
    own derivation
    """
    n = facet.frame.normal
    across = np.hypot(n[0], n[1])
    if across / abs(n[2]) < LEVEL_RATIO:
        return np.zeros(2)
    return np.asarray(np.sign(n[2]) * n[:2] / across)


def plan_polygon(facet: Facet) -> BaseGeometry:
    """A facet seen in plan.

    Parameters
    ----------
    facet : Facet
        A facet that is not upright.

    Returns
    -------
    polygon : BaseGeometry
        With its holes. [m]

    References
    ----------
    own derivation
    """
    rings = [facet.frame.lift(ring)[:, :2] for ring in (facet.outline_m, *facet.holes_m)]
    return Polygon(rings[0], rings[1:]).buffer(0.0)


def distance_m(facet: Facet, at_m: Floats) -> float:
    """Distance of a point of the room from a facet.

    Parameters
    ----------
    facet : Facet
        Any facet.
    at_m : ndarray, shape (3,)
        The point. [m]

    Returns
    -------
    distance_m : float
        The shortest way to it. [m]

    References
    ----------
    own derivation
    """
    flat = facet.frame.drop([at_m])[0]
    off = float((at_m - np.asarray(facet.frame.origin_m)) @ facet.frame.normal)
    return float(np.hypot(facet.polygon.distance(Point(flat)), off))


def height_at_m(facet: Facet, x_m: float, y_m: float) -> float:
    """Height of a facet's plane over a plan point.

    Parameters
    ----------
    facet : Facet
        A facet that is not upright.
    x_m : float
        Plan coordinate. [m]
    y_m : float
        Plan coordinate. [m]

    Returns
    -------
    height_m : float
        Height z. [m]

    References
    ----------
    own derivation
    """
    n, o = facet.frame.normal, facet.frame.origin_m
    return float(o[2] - (n[0] * (x_m - o[0]) + n[1] * (y_m - o[1])) / n[2])


def fall_of(ceiling: Facet, solid: Solid, doors: Sequence[str]) -> Fall:
    """Follow the water of a ceiling to the edges where it leaves it.

    At a wall it runs down. At a valley or at the free edge of a soffit it drips; on a level ceiling it drips anywhere.
    Over a door it drips from the door's head.

    Parameters
    ----------
    ceiling : Facet
        A ceiling or the underside of a soffit.
    solid : Solid
        The room, finished.
    doors : sequence of str
        Surface names of the openings that are doors.

    Returns
    -------
    fall : Fall
        Where the fall ends.

    References
    ----------
    own derivation
    """
    slope, way = slope_ratio(ceiling), downhill(ceiling)
    seats, ways_in = _seats(solid), _ways_in(solid, doors)
    if not way.any():
        under = plan_polygon(ceiling)
        below = [n for n, p in seats if p.intersection(under).area > 1e-4] + [w.name for w in ways_in if w.strip.intersects(under)]
        return Fall(slope, "nowhere, since it is level", tuple(dict.fromkeys(below)), ())
    on: list[str] = []
    over: list[str] = []
    behind: list[str] = []
    for edge in _edges(ceiling, solid):
        if _outward(ceiling, edge.line) @ way <= _LEAVES or edge.runs_on(ceiling, way):
            continue
        on.append(edge.words())
        below = [n for n, p in seats if p.buffer(_TOUCH_M).intersection(edge.line).length > 0.05]
        at_door = [way_in.name for way_in in ways_in if way_in.under(edge)]
        over += (below if edge.drips else []) + at_door
        behind += [] if edge.drips else below
        if edge.neighbour.kind is FacetKind.OPENING and not doors:
            behind.append(f"the way in through {edge.neighbour.name}")
    return Fall(slope, " and ".join(dict.fromkeys(on)) or "where its neighbours carry it on", tuple(dict.fromkeys(over)),
                tuple(dict.fromkeys(behind)))


def headroom_m(low: BaseGeometry, floor_at_m: Callable[[float, float], float], overhead: Sequence[Facet]) -> tuple[float, str] | None:
    """Least height between a floor or seat and what is over it; exact, since both are planes.

    Parameters
    ----------
    low : BaseGeometry
        Plan of the floor or seat. [m]
    floor_at_m : callable
        Its height over a plan point. [m]
    overhead : sequence of Facet
        Ceilings and soffits.

    Returns
    -------
    least : (float, str) or None
        Least height and the name of the facet over it; ``None`` where nothing is over it. [m]

    References
    ----------
    own derivation
    """
    found = []
    for facet in overhead:
        shared = low.intersection(plan_polygon(facet))
        for part in getattr(shared, "geoms", [shared]):
            if isinstance(part, Polygon) and not part.is_empty:
                found += [(height_at_m(facet, x, y) - floor_at_m(x, y), facet.name) for x, y in part.exterior.coords]
    return min(found, default=None)


def standing_plan(floors: Sequence[BaseGeometry]) -> BaseGeometry:
    """Where people stand: the floor, 10 in off all that stands round it.

    Parameters
    ----------
    floors : sequence of BaseGeometry
        Plans of the floor facets. [m]

    Returns
    -------
    plan : BaseGeometry
        Empty where the floor is too narrow. [m]

    References
    ----------
    common practice, no source
    """
    return unary_union(list(floors)).buffer(_TOUCH_M).buffer(-_TOUCH_M - STANDING_OFF_M)


def sitting_plan(seat: Facet) -> BaseGeometry:
    """Where heads of people who sit are: the seat, 4 in off its edges; a seat narrower than that, whole.

    Parameters
    ----------
    seat : Facet
        A bench top.

    Returns
    -------
    plan : BaseGeometry
        Never empty. [m]

    References
    ----------
    common practice, no source
    """
    whole = plan_polygon(seat)
    inner = whole.buffer(-SITTING_OFF_M)
    return whole if inner.is_empty else inner


@dataclass(frozen=True, slots=True)
class _Edge:
    """A stretch of a ceiling's edge and what it meets there."""

    line: LineString
    neighbour: Facet
    drips: bool

    def runs_on(self, ceiling: Facet, way: Floats) -> bool:
        """The water goes on along the neighbour, which falls on in that direction."""
        return self.neighbour.kind in _OVERHEAD and not self.drips and abs(self.neighbour.frame.normal[2]) > 0.05

    def words(self) -> str:
        """Where that is."""
        if not self.drips:
            return f"on {self.neighbour.name}"
        level = abs(self.neighbour.frame.normal[2]) > 0.05
        return f"in a valley with {self.neighbour.name}" if level else "at a free edge"


@dataclass(frozen=True, slots=True)
class _WayIn:
    """The floor just inside a door, across its whole width, and the plan direction in which one enters."""

    name: str
    strip: BaseGeometry
    into: Floats

    def under(self, edge: _Edge) -> bool:
        """Water of an edge falls there: from a free edge over it, or from the wall over the door's own head."""
        if self.strip.intersection(edge.line).length <= 0.01:
            return False
        (ax, ay), (bx, by) = edge.line.coords
        return edge.drips or abs(float(np.array([bx - ax, by - ay]) @ self.into)) / edge.line.length < 0.3


def _edges(ceiling: Facet, solid: Solid) -> list[_Edge]:
    by_id = {f.id: f for f in solid.facets}
    edges = []
    for joint in solid.joints:
        if ceiling.id in joint.facets:
            other = by_id[joint.facets[1] if joint.facets[0] == ceiling.id else joint.facets[0]]
            line = _plan_line(joint.start_m, joint.end_m)
            edges.append(_Edge(line, other, _drips(ceiling, other, line, joint.kind)))
    edges += [_Edge(_plan_line(r.start_m, r.end_m), by_id[r.opening], False) for r in solid.rims if r.facet == ceiling.id]
    return [e for e in edges if e.line.length > 1e-3]


def _drips(ceiling: Facet, other: Facet, line: LineString, kind: JointKind) -> bool:
    if abs(other.frame.normal[2]) <= 0.05:
        return kind is JointKind.OUTSIDE
    if other.kind not in _OVERHEAD:
        return False
    return float(_outward(ceiling, line) @ downhill(other)) <= LEVEL_RATIO


def _plan_line(start_m: Point3, end_m: Point3) -> LineString:
    return LineString([start_m[:2], end_m[:2]])


def _outward(facet: Facet, line: LineString) -> Floats:
    """Unit plan normal of an edge, away from the facet."""
    (ax, ay), (bx, by) = line.coords
    normal = np.array([by - ay, ax - bx]) / line.length
    middle = line.interpolate(0.5, normalized=True)
    step = Point(middle.x + 1e-3 * normal[0], middle.y + 1e-3 * normal[1])
    return np.asarray(-normal if plan_polygon(facet).contains(step) else normal)


def _seats(solid: Solid) -> list[tuple[str, BaseGeometry]]:
    return [(f.name, plan_polygon(f)) for f in solid.facets if f.kind is FacetKind.BENCH_TOP]


def _ways_in(solid: Solid, doors: Sequence[str]) -> list[_WayIn]:
    ways = []
    for facet in solid.facets:
        if facet.kind is FacetKind.OPENING and facet.surface in doors:
            feet = facet.frame.lift(facet.outline_m)[:, :2]
            into = feet + facet.frame.normal[:2] * DOOR_REACH_M
            ways.append(_WayIn(facet.name, MultiPoint(np.vstack([feet, into])).convex_hull, facet.frame.normal[:2]))
    return ways
