"""A piece while it is being laid out: patches with their motions onto one common plane, the blank-to-be."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import islice

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from steamwright.covering.model import Patch, Piece, Placing, Role
from steamwright.geometry.frame import Floats, Point2
from steamwright.geometry.unfolding import Motion

SLIVER_M2 = 1e-7
GRID_M = 1e-9
ON_LINE_M = 2e-5
Ring = list[list[float]]


@dataclass(slots=True)
class Part:
    """A polygon on one facet, the motion that carries it to the draft's plane, and its image there."""

    facet: str
    polygon: Polygon
    motion: Motion
    image: Polygon = field(init=False)
    rings: list[Ring] = field(init=False)

    def __post_init__(self) -> None:
        self.image = self.motion.polygon(self.polygon)
        self.rings = []

    def spans(self, a_m: Floats, b_m: Floats) -> list[tuple[float, float]]:
        """Where the polygon's outline runs along a line, as `spans_along`; its rings are read once for many lines. [m]"""
        self.rings = self.rings or rings_of(self.polygon)
        return _spans(self.rings, a_m, b_m)


@dataclass(slots=True)
class Draft:
    """Patches on a common plane; ``beyond`` is material that runs on past rims and lies on no facet.

    ``torn`` are joints that a leg had to leave open, and how far [m], because the blank has something else there. A piece
    that a person has pinned has its ``name`` already; one that ``is_set`` lies under everything that comes later. It may be
    two parts of one blank, see ``Piece``.
    """

    role: Role
    item: str
    material: str
    parts: list[Part] = field(default_factory=list)
    beyond: list[Polygon] = field(default_factory=list)
    moulded: bool = False
    torn: list[tuple[str, float]] = field(default_factory=list)
    name: str = ""
    is_set: bool = False
    parting_m: tuple[tuple[float, float], ...] = ()
    second_at: int = 0

    def bounds_m(self) -> tuple[float, float, float, float]:
        """Bounding box of all images on the draft's plane: x and y from, x and y to. [m]"""
        boxes = shapely.bounds(np.array([*(p.image for p in self.parts), *self.beyond], dtype=object))
        low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])

    def size_m(self) -> tuple[float, float]:
        """Length and width of the blank as the draft lies. [m]"""
        x0, y0, x1, y1 = self.bounds_m()
        return x1 - x0, y1 - y0


def frozen(drafts: Sequence[Draft], ids: Sequence[str]) -> list[Piece]:
    """Freeze drafts into pieces whose blanks start at (0, 0).

    Parameters
    ----------
    drafts : sequence of Draft
        All of one covering.
    ids : sequence of str
        The pieces' numbers.

    Returns
    -------
    pieces : list of Piece
        Without place numbers, laps and cuts, which later steps add.

    References
    ----------
    own derivation
    """
    boxes = [(0.0, 0.0, 0.0, 0.0) if d.moulded else d.bounds_m() for d in drafts]
    rows: list[tuple[str, Polygon, Placing | None]] = []
    for d, (x0, y0, _, _) in zip(drafts, boxes, strict=True):
        home = Motion.translation((-x0, -y0))
        rows += [(p.facet, p.polygon, None if d.moulded else placing(p.motion.then(home))) for p in d.parts]
    patches = iter(Patch.of(rows))
    return [Piece(name, d.role, d.item, d.material, tuple(islice(patches, len(d.parts))), None if d.moulded else (x1 - x0, y1 - y0),
                  parting_m=tuple((x - x0, y - y0) for x, y in d.parting_m), second_at=d.second_at)
            for d, name, (x0, y0, x1, y1) in zip(drafts, ids, boxes, strict=True)]


def placing(motion: Motion) -> Placing:
    """Write a motion as the place of a patch on its blank.

    Parameters
    ----------
    motion : Motion
        From the facet to the blank.

    Returns
    -------
    place : Placing
        The same motion as the plan file holds it.

    References
    ----------
    own derivation
    """
    return Placing(float(motion.shift[0]), float(motion.shift[1]), motion.angle_deg, motion.is_flip)


def polygons(geometry: object) -> list[Polygon]:
    """Take the polygons out of any geometry, slivers left out.

    Parameters
    ----------
    geometry : geometry
        What an overlay gave.

    Returns
    -------
    found : list of Polygon
        Those larger than 1e-7 m².

    References
    ----------
    own derivation
    """
    if isinstance(geometry, Polygon):
        return [geometry] if geometry.area > SLIVER_M2 else []
    return [p for g in getattr(geometry, "geoms", ()) for p in polygons(g)]


def quad(*corners_m: Floats | Point2) -> Polygon:
    """Make a polygon of corners, without the detours of a general constructor.

    Parameters
    ----------
    *corners_m : ndarray, shape (2,)
        In turn. [m]

    Returns
    -------
    shape : Polygon
        The polygon.

    References
    ----------
    own derivation
    """
    shape: Polygon = shapely.polygons(np.array(corners_m))
    return shape


@dataclass(frozen=True, slots=True)
class Base:
    """A stretch from which distances are taken along and to the left, in plain numbers. [m]"""

    start_m: Point2
    length_m: float
    way: Point2

    @classmethod
    def of(cls, ends_m: Floats) -> Base:
        """The stretch between two points, shape (2, 2). [m]"""
        (ax, ay), (bx, by) = ends_m.tolist()
        length = math.hypot(bx - ax, by - ay)
        return cls((ax, ay), length, ((bx - ax) / length, (by - ay) / length))

    def at(self, along_m: float, left_m: float = 0.0) -> Point2:
        """The point so far along and to the left. [m]"""
        (x, y), (dx, dy) = self.start_m, self.way
        return x + along_m * dx - left_m * dy, y + along_m * dy + left_m * dx

    def along_m(self, x_m: float, y_m: float) -> float:
        """How far along a point lies. [m]"""
        return (x_m - self.start_m[0]) * self.way[0] + (y_m - self.start_m[1]) * self.way[1]

    def left_m(self, x_m: float, y_m: float) -> float:
        """How far to the left a point lies. [m]"""
        return (y_m - self.start_m[1]) * self.way[0] - (x_m - self.start_m[0]) * self.way[1]


def touching(found: Iterable[Polygon], a_m: Floats, b_m: Floats) -> list[Polygon]:
    """Take the polygons whose outline runs along a stretch.

    Parameters
    ----------
    found : iterable of Polygon
        What an overlay gave.
    a_m, b_m : ndarray, shape (2,)
        Ends of the stretch. [m]

    Returns
    -------
    touching : list of Polygon
        Those that touch it over a millimetre or more.

    References
    ----------
    own derivation
    """
    return [p for p in found if spans_along(p, a_m, b_m)]


def clip(polygon: BaseGeometry, by: BaseGeometry) -> list[Polygon]:
    """Intersect on a fine grid: plain floating overlay loses whole polygons where edges all but coincide.

    Parameters
    ----------
    polygon, by : Polygon
        Shapes of one plane. [m]

    Returns
    -------
    kept : list of Polygon
        What lies in both.

    References
    ----------
    own derivation
    """
    return polygons(shapely.intersection(polygon, by, grid_size=GRID_M))


def without(polygon: BaseGeometry, by: BaseGeometry) -> list[Polygon]:
    """Subtract on the same fine grid.

    Parameters
    ----------
    polygon, by : Polygon
        Shapes of one plane. [m]

    Returns
    -------
    kept : list of Polygon
        What lies in the first alone.

    References
    ----------
    own derivation
    """
    return polygons(shapely.difference(polygon, by, grid_size=GRID_M))


def spans_along(polygon: Polygon, a_m: Floats, b_m: Floats) -> list[tuple[float, float]]:
    """Where a polygon's outline runs along a line.

    Parameters
    ----------
    polygon : Polygon
        Any polygon of the plane.
    a_m, b_m : ndarray, shape (2,)
        Ends of the line. [m]

    Returns
    -------
    spans : list of tuple of float
        Distances from the line's start, in order, none shorter than a millimetre. [m]

    References
    ----------
    own derivation
    """
    return _spans(rings_of(polygon), a_m, b_m)


def rings_of(polygon: Polygon) -> list[Ring]:
    """Read the points of a polygon's outline and of its holes, closing points included.

    Parameters
    ----------
    polygon : Polygon
        In metres.

    Returns
    -------
    rings_m : list
        Points of every ring. [m]

    References
    ----------
    own derivation
    """
    rings = [polygon] if not shapely.get_num_interior_rings(polygon) else shapely.get_rings(polygon)
    return [shapely.get_coordinates(r).tolist() for r in rings]


def _spans(rings: Sequence[Ring], a_m: Floats, b_m: Floats) -> list[tuple[float, float]]:
    (ax, ay), (bx, by) = a_m.tolist(), b_m.tolist()
    length = math.hypot(bx - ax, by - ay)
    dx, dy = (bx - ax) / length, (by - ay) / length
    edges: list[tuple[float, float]] = []
    for points in rings:
        # a few points each: plain floats are faster here than arrays
        on = [-ON_LINE_M < (y - ay) * dx - (x - ax) * dy < ON_LINE_M for x, y in points]
        if any(on):
            along = [(x - ax) * dx + (y - ay) * dy for x, y in points]
            edges += [(s, t) if s < t else (t, s) for s, t, p, q in zip(along, along[1:], on, on[1:], strict=False) if p and q]
    spans: list[tuple[float, float]] = []
    for t0, t1 in sorted(edges):
        start, end = max(t0, 0.0), min(t1, length)
        if spans and start <= spans[-1][1] + ON_LINE_M:
            spans[-1] = spans[-1][0], max(end, spans[-1][1])
        elif end > start:
            spans.append((start, end))
    return [s for s in spans if s[1] - s[0] > 1e-3]


def nearest(found: Iterable[Polygon], point_m: tuple[float, float]) -> Polygon | None:
    """Find the polygon that holds or touches a point.

    Parameters
    ----------
    found : iterable of Polygon
        What an overlay gave.
    point_m : tuple of float
        The point. [m]

    Returns
    -------
    nearest : Polygon or None
        ``None`` where no polygon does.

    References
    ----------
    own derivation
    """
    at = shapely.points(point_m)
    return next((p for p in found if shapely.dwithin(p, at, 1e-5)), None)


