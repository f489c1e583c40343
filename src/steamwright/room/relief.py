"""The surface of a bed: its height at every place, and the flat pieces it is made of."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Geometry, Polygon

from steamwright.geometry.frame import Floats, Point2, Point3, outlined
from steamwright.room.bed import Bed, rise_m
from steamwright.room.inputs import Pan


def heights_m(pan: Pan, bed: Bed, at_m: Sequence[Point2]) -> list[float]:
    """Heights of the bed over the level datum at plan points.

    Parameters
    ----------
    pan : Pan
        What was said.
    bed : Bed
        The bed.
    at_m : sequence of (float, float)
        Plan points. [m]

    Returns
    -------
    heights_m : list of float
        Heights. [m]

    References
    ----------
    own derivation
    """
    p, n, at = np.asarray(bed.outline_m), np.asarray(bed.inward), np.asarray(at_m)
    slope, run = np.asarray(bed.slope), np.asarray(bed.run_m)
    if pan.drain == "line":
        k = int(np.argmin(run))
        z = bed.low_m + pan.pitch * (np.vecdot(at - p[k], away_from_line(bed, pan)) + run[k])
    elif pan.perimeter == "level":
        # of the triangles between drain and edges the one that holds the point; beyond reflex corners others would be higher
        d = np.roll(p, -1, axis=0) - p
        drain = np.asarray(bed.drain_m)
        (x, y), e, f = (at - drain).T[..., None], p - drain, p + d - drain
        in_wedge = (e[:, 0] * y - e[:, 1] * x > -1e-9) & (x * f[:, 1] - y * f[:, 0] > -1e-9)
        z = np.where(in_wedge, bed.perimeter_m - slope * _inside_m(at, p, n), bed.low_m).max(axis=1).clip(bed.low_m)
    else:
        assert bed.drain_m is not None
        z = bed.low_m + rise_m(bed.planes, bed.drain_m, at_m).clip(0.0)
    heights: list[float] = z.tolist()
    return heights


def _inside_m(at: Floats, corners: Floats, inward: Floats) -> Floats:
    """How far points lie inside edges; shape (points, edges). [m]"""
    inside: Floats = np.einsum("kij,ij->ki", at[:, None] - corners, inward)
    return inside


def away_from_line(bed: Bed, pan: Pan) -> Floats:
    """Plan direction away from a line drain.

    Parameters
    ----------
    bed : Bed
        A bed that falls to a wall.
    pan : Pan
        What was said.

    Returns
    -------
    direction : ndarray, shape (2,)
        Of unit length.

    References
    ----------
    own derivation
    """
    n, s = np.asarray(bed.inward), np.asarray(bed.slope)
    fit, *_ = np.linalg.lstsq(n, -s / pan.pitch, rcond=None)
    return np.asarray(fit)


def bed_pieces(pan: Pan, bed: Bed) -> list[Polygon]:
    """The floor in pieces over each of which the bed is flat.

    Parameters
    ----------
    pan : Pan
        What was said.
    bed : Bed
        The bed.

    Returns
    -------
    pieces : list of Polygon
        They cover the floor once; the height is linear on each. [m]

    References
    ----------
    own derivation
    """
    whole = outlined(bed.outline_m)
    if bed.drain_m is None:
        return [whole]
    p, drain = np.asarray(bed.outline_m), np.asarray(bed.drain_m)
    out: list[Polygon] = []
    if pan.perimeter == "level":
        q = drain + bed.flat_share * (p - drain)
        for i in range(len(p)):
            k = (i + 1) % len(p)
            out.append(shapely.polygons(np.array([p[i], p[k], q[k], q[i]])))
        return [*out, shapely.polygons(q)]
    planes = [(np.asarray(plane[:2]), plane[2]) for plane in bed.planes]
    for i, (g, under) in enumerate(planes):
        part = whole
        for j, (other, lower) in enumerate(planes):
            if j != i:  # where plane i is the higher
                part = part.intersection(_where(drain, g - other, under - lower))
        flat = part.intersection(_where(drain, -g, -under))
        out += [g for g in (flat, part.difference(flat)) if g.area > 1e-9]
    return out


def surface_m(pan: Pan, bed: Bed, pieces: Sequence[Geometry], lower_m: float = 0.0) -> tuple[tuple[Point3, ...], ...]:
    """The top of a bed as flat pieces in the room.

    Parameters
    ----------
    pan : Pan
        What was said.
    bed : Bed
        The bed.
    pieces : sequence of Geometry
        Its flat pieces in plan, over which its height is linear. [m]
    lower_m : float
        How far under the bed the surface lies. [m]

    Returns
    -------
    rings_m : tuple of tuple of Point3
        Corners of each piece, the first not said again. [m]

    References
    ----------
    own derivation
    """
    flat = [g for g in shapely.get_parts(np.asarray(pieces)) if g.geom_type == "Polygon"]
    rings = [[(float(x), float(y)) for x, y in g.exterior.coords[:-1]] for g in flat]
    heights = [heights_m(pan, bed, ring) for ring in rings]
    return tuple(tuple((x, y, z - lower_m) for (x, y), z in zip(ring, zs, strict=True)) for ring, zs in zip(rings, heights, strict=True))


def _where(drain: Floats, way: Floats, least_m: float) -> Polygon:
    """The half of the plan where ``way · (drain - x)`` is at least so much."""
    return half_plane(drain - way * (least_m / (way @ way)), -way)


def half_plane(through_m: Floats, into: Floats) -> Polygon:
    """The half of the plan on one side of a line, as a large polygon.

    Parameters
    ----------
    through_m : ndarray, shape (2,)
        A point of the line. [m]
    into : ndarray, shape (2,)
        Direction into the half, square to the line; of any length but zero.

    Returns
    -------
    half : Polygon
        Reaching 99 m. [m]

    References
    ----------
    own derivation
    """
    n = into / np.hypot(*into)
    d = np.array([-n[1], n[0]]) * 99
    return Polygon([through_m - d, through_m + d, through_m + d + n * 99, through_m - d + n * 99])
