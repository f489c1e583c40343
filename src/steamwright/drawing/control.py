"""Control lines: the plumb and the level line that are snapped on a facet before anything is measured on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from steamwright.drawing.digest import STANDING, Digest
from steamwright.drawing.lay_lines import lay_lines
from steamwright.room.model import Facet
from steamwright.units import INCH_M

CLEAR_M = 0.06


@dataclass(frozen=True, slots=True)
class Control:
    """The two snapped lines of a facet, in its (s, t). [m]

    ``plumb_from_corner_m`` is measured along the floor line from the facet's lower left corner, ``level_height_m`` is the
    height of the level line over the floor datum z = 0, or over the facet's lowest edge where it does not stand.
    """

    plumb_s_m: float
    plumb_from_corner_m: float
    level_t_m: float
    level_height_m: float


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
        Plumb line 12 in (300 mm) from the lower left corner or, near an upright edge of a sheet, where it is clear of it;
        level line 48 in (1200 mm) over the floor datum, each less on a facet that is too small for that.

    References
    ----------
    own derivation
    """
    points = np.array(facet.outline_m)
    s0, t0, s1, t1 = (float(v) for v in (*points.min(axis=0), *points.max(axis=0)))
    step = INCH_M if d.system == "inch" else 0.025
    low = points[points[:, 1] < t0 + 0.02 + 0.02 * (t1 - t0)]
    corner = float(low[:, 0].min())
    taken = [s for line in lay_lines(d, facet) if line.upright for s in (line.start_m[0], line.end_m[0])]
    along = [n * step for n in (12, 16, 20, 24, 8, 6, 30, 4, 3, 2, 1) if n * step < 0.6 * (s1 - s0)]
    clear = [a for a in along if all(abs(corner + a - s) > CLEAR_M for s in taken)]
    from_corner = (clear or along or [0.0])[0]
    rise = facet.frame.v[2]
    if facet.kind in STANDING and rise > 0.5:
        z0 = facet.frame.origin_m[2]
        low_z, high_z = z0 + t0 * rise, z0 + t1 * rise
        height = next((n * step for n in (48, 36, 24, 12, 6) if low_z + 0.1 < n * step < high_z - 0.1), low_z)
        return Control(corner + from_corner, from_corner, (height - z0) / rise, height)
    up = next((n * step for n in (12, 6, 4, 3, 2, 1) if n * step < 0.4 * (t1 - t0)), 0.0)
    return Control(corner + from_corner, from_corner, t0 + up, up)
