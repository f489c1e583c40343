"""The surface of a bed: its height at every place, and the flat pieces it is made of."""

from __future__ import annotations

import numpy as np
import shapely
from shapely import Polygon

from steamwright.geometry.frame import Floats, Point2, outlined
from steamwright.room.bed import Bed
from steamwright.room.inputs import Pan


def height_m(pan: Pan, bed: Bed, at_m: Point2) -> float:
    """Height of the bed over the level datum at a plan point.

    Parameters
    ----------
    pan : Pan
        What was said.
    bed : Bed
        The bed.
    at_m : (float, float)
        Plan point. [m]

    Returns
    -------
    height_m : float
        Height. [m]

    References
    ----------
    own derivation
    """
    p, n = np.asarray(bed.outline_m), np.asarray(bed.inward)
    inside = np.einsum("ij,ij->i", np.asarray(at_m) - p, n)
    slope, run = np.asarray(bed.slope), np.asarray(bed.run_m)
    if pan.drain == "line":
        k = int(np.argmin(run))
        away = away_from_line(bed, pan)
        return bed.low_m + pan.pitch * float((np.asarray(at_m) - p[k]) @ away + run[k])
    if pan.perimeter == "level":
        # of the triangles between drain and edges the one that holds the point; beyond reflex corners others would be higher
        d = np.roll(p, -1, axis=0) - p
        drain, q = np.asarray(bed.drain_m), np.asarray(at_m) - np.asarray(bed.drain_m)
        e, f = p - drain, p + d - drain
        in_wedge = (e[:, 0] * q[1] - e[:, 1] * q[0] > -1e-9) & (q[0] * f[:, 1] - q[1] * f[:, 0] > -1e-9)
        z = bed.perimeter_m - slope * inside
        return max(bed.low_m, float(z[in_wedge].max()))
    return max(bed.low_m, bed.low_m + float((pan.pitch * (run - inside - pan.flat_m / 2)).max()))


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


class _Height:
    """The bed's height as a function of plan coordinates."""

    def __init__(self, pan: Pan, bed: Bed) -> None:
        self.pan, self.bed = pan, bed

    def __call__(self, x_m: float, y_m: float) -> float:
        return height_m(self.pan, self.bed, (x_m, y_m))


def bed_pieces(pan: Pan, bed: Bed) -> list[tuple[Polygon, _Height]]:
    """The floor in flat pieces, each with the height of the bed over it.

    Parameters
    ----------
    pan : Pan
        What was said.
    bed : Bed
        The bed.

    Returns
    -------
    pieces : list of (Polygon, callable)
        They cover the floor once; the height is linear on each. [m]

    References
    ----------
    own derivation
    """
    z = _Height(pan, bed)
    whole = outlined(bed.outline_m)
    if bed.drain_m is None:
        return [(whole, z)]
    p, n, drain = np.asarray(bed.outline_m), np.asarray(bed.inward), np.asarray(bed.drain_m)
    out: list[tuple[Polygon, _Height]] = []
    if pan.perimeter == "level":
        q = drain + bed.flat_share * (p - drain)
        for i in range(len(p)):
            k = (i + 1) % len(p)
            out.append((shapely.polygons(np.array([p[i], p[k], q[k], q[i]])), z))
        return [*out, (shapely.polygons(q), z)]
    for i in range(len(n)):
        part = whole
        for j in range(len(n)):
            if j != i:  # where edge i asks for the greater height
                part = part.intersection(_half(drain, n[j] - n[i]))
        flat = part.intersection(_half(drain - n[i] * pan.flat_m / 2, n[i]))
        out += [(g, z) for g in (flat, part.difference(flat)) if g.area > 1e-9]
    return out


def _half(through: Floats, into: Floats) -> Polygon:
    size = float(np.hypot(*into))
    if size < 1e-9:
        return Polygon([(-99, -99), (99, -99), (99, 99), (-99, 99)])
    n = into / size
    d = np.array([-n[1], n[0]]) * 99
    return Polygon([through - d, through + d, through + d + n * 99, through - d + n * 99])
