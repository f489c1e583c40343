"""Where a straight line runs inside a polygon: fast enough to be asked for every support and every row of screws."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import shapely

from steamwright.geometry.frame import Point2

Rings = tuple[tuple[Point2, ...], ...]


def rings_of(geometry: shapely.Geometry) -> Rings:
    """All rings of the polygons of a geometry, without their closing points.

    Parameters
    ----------
    geometry : Geometry
        A polygon, several, or a collection.

    Returns
    -------
    rings : tuple of tuple of tuple of float
        Outlines and holes. [m]

    References
    ----------
    own derivation
    """
    out: list[tuple[Point2, ...]] = []
    for g in polygons_of(geometry):
        whole = [g] if not shapely.get_num_interior_rings(g) else shapely.get_rings(g)
        out += [tuple((x, y) for x, y in shapely.get_coordinates(ring).tolist()[:-1]) for ring in whole]
    return tuple(out)


def polygons_of(geometry: shapely.Geometry) -> list[shapely.Polygon]:
    """The polygons of a geometry.

    Parameters
    ----------
    geometry : Geometry
        Any geometry.

    Returns
    -------
    polygons : list of Polygon
        In the geometry's order, empty ones left out.

    References
    ----------
    own derivation
    """
    if geometry.geom_type == "Polygon":
        return [] if geometry.is_empty else [geometry]
    return [p for g in getattr(geometry, "geoms", ()) for p in polygons_of(g)]


def section(rings: Iterable[Sequence[Point2]], at_m: float, axis: int = 0) -> list[tuple[float, float]]:
    """Where the line on which one coordinate is fixed runs inside.

    Parameters
    ----------
    rings : tuple of tuple of tuple of float
        Outlines and holes in any sense.
    at_m : float
        The fixed coordinate. [m]
    axis : int
        Which coordinate is fixed: 0 or 1.

    Returns
    -------
    intervals : list of (float, float)
        Of the other coordinate, rising. [m]

    References
    ----------
    own derivation
    """
    other = 1 - axis
    hits: list[float] = []
    for ring in rings:
        p = ring[-1]
        for q in ring:
            if (p[axis] > at_m) != (q[axis] > at_m):
                hits.append(p[other] + (at_m - p[axis]) * (q[other] - p[other]) / (q[axis] - p[axis]))
            p = q
    hits.sort()
    return list(zip(hits[::2], hits[1::2], strict=False))


def less(intervals: Iterable[tuple[float, float]], taken: Sequence[tuple[float, float]], least_m: float) -> list[tuple[float, float]]:
    """Intervals less others.

    Parameters
    ----------
    intervals : iterable of (float, float)
        What there is. [m]
    taken : sequence of (float, float)
        What is taken away. [m]
    least_m : float
        Shorter rests are dropped. [m]

    Returns
    -------
    rests : list of (float, float)
        What is left. [m]

    References
    ----------
    own derivation
    """
    out = []
    for lo, hi in intervals:
        for a, b in sorted(taken):
            if b <= lo or a >= hi:
                continue
            if a - lo > least_m:
                out.append((lo, a))
            lo = max(lo, b)
        if hi - lo > least_m:
            out.append((lo, hi))
    return out
