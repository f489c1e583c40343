"""Control lines: the plumb and the level line that are snapped on a facet before anything is measured on it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from steamwright.drawing.digest import STANDING, Digest
from steamwright.geometry.frame import Floats
from steamwright.room.model import Facet
from steamwright.units import INCH_M

CLEAR_M = 0.06
UPRIGHT = 0.02


@dataclass(frozen=True, slots=True)
class Control:
    """The two snapped lines of a facet, in its (s, t). [m]

    ``plumb_from_corner_m`` is measured from the facet's left corner, the lower one or, where ``corner`` says so, the upper;
    ``level_height_m`` is the height of the level line over the floor datum z = 0, or over the facet's lowest edge where it
    does not stand.
    """

    plumb_s_m: float
    plumb_from_corner_m: float
    level_t_m: float
    level_height_m: float
    corner: str = "lower"


def control_lines(d: Digest, facet: Facet) -> Control:
    """Choose the control lines of a facet.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    facet : Facet
        A wall or another standing facet; on other facets the lines are parallel to ``v`` and ``u``.

    Returns
    -------
    control : Control
        Plumb line 12 in (300 mm) from the lower left corner or, near an upright edge of a sheet or an opening, where it is clear of it;
        level line 48 in (1200 mm) over the floor datum, each less on a facet that is too small for that.

    References
    ----------
    own derivation
    """
    points = np.array(facet.outline_m)
    s0, t0, s1, t1 = (float(v) for v in (*points.min(axis=0), *points.max(axis=0)))
    step = INCH_M if d.system == "inch" else 0.025
    corner, where = left_corner(points, facet.kind in STANDING)
    taken = [s for line in d.lay_lines(facet.id) if line.upright for s in (line.start_m[0], line.end_m[0])]
    taken += [sa for ring in (facet.outline_m, *facet.holes_m) for (sa, ta), (sb, tb) in pairwise((*ring, ring[0]))
              if abs(sb - sa) < UPRIGHT * abs(tb - ta)]  # fmt: skip
    along = [n * step for n in (12, 16, 20, 24, 8, 6, 30, 4, 3, 2, 1) if n * step < 0.6 * (s1 - s0) and corner + n * step < s1]
    clear = [a for a in along if all(abs(corner + a - s) > CLEAR_M for s in taken)]
    across = (clear or along or [0.0])[0]
    rise = facet.frame.v[2]
    if facet.kind in STANDING and rise > 0.5:
        z0 = facet.frame.origin_m[2]
        low_z, high_z = z0 + t0 * rise, z0 + t1 * rise
        height = next((n * step for n in (48, 36, 24, 12, 6) if low_z + 0.1 < n * step < high_z - 0.1), low_z)
        return Control(corner + across, across, (height - z0) / rise, height)
    up = next((n * step for n in (12, 6, 4, 3, 2, 1) if n * step < 0.4 * (t1 - t0)), 0.0)
    return Control(corner + across, across, t0 + up, up, where)


def left_corner(points_m: Floats, standing: bool) -> tuple[float, str]:
    """Find the corner of an outline from which its plumb line is measured.

    Parameters
    ----------
    points_m : ndarray, shape (n, 2)
        Its corners. [m]
    standing : bool
        Whether the facet stands.

    Returns
    -------
    corner : (float, str)
        Where the left end of the lower edge lies along the facet, or of the upper one on a lying facet that ends below in a point, [m]
        and which of both it is.

    References
    ----------
    own derivation
    """
    t0, t1 = float(points_m[:, 1].min()), float(points_m[:, 1].max())
    slack = 0.02 + 0.02 * (t1 - t0)
    low, high = points_m[points_m[:, 1] < t0 + slack], points_m[points_m[:, 1] > t1 - slack]
    if not standing and float(np.ptp(low[:, 0])) < 0.1 < float(np.ptp(high[:, 0])):
        return float(high[:, 0].min()), "upper"
    return float(low[:, 0].min()), "lower"
