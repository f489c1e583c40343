"""How a piece lies on its blank: turned so that the rectangle round it is small."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from steamwright.covering.draft import Draft, Part
from steamwright.covering.model import Role
from steamwright.geometry.unfolding import Motion

GAIN_M2 = 0.01
GAIN_RATIO = 0.03


def squared(draft: Draft, widest_m: float, longest_m: float) -> Draft:
    """Turn a piece on its blank where a slanted rectangle is markedly smaller than the straight one.

    Bands are as wide as their roll and stay as they lie.

    The smallest rectangle round a flat shape has a side along an edge of the shape's hull, so those directions suffice.

    Parameters
    ----------
    draft : Draft
        A piece.
    widest_m, longest_m : float
        Largest blank. [m]

    Returns
    -------
    turned : Draft
        The same piece, or itself where little would be gained.

    References
    ----------
    own derivation
    """
    if draft.moulded or draft.role is Role.BAND:
        return draft
    length, width = draft.size_m()
    least_m2 = max(GAIN_M2, GAIN_RATIO * length * width)
    if length * width - sum(p.image.area for p in draft.parts) < least_m2:
        return draft
    shape = shapely.convex_hull(shapely.geometrycollections([*(p.image for p in draft.parts), *draft.beyond]))
    if length * width - shape.area < least_m2:
        return draft
    hull = shapely.get_coordinates(shape)
    run = np.diff(hull, axis=0)
    angles = np.arctan2(run[:, 1], run[:, 0])
    along = hull @ np.stack([np.cos(angles), np.sin(angles)])
    across = hull @ np.stack([-np.sin(angles), np.cos(angles)])
    a, b = np.ptp(along, axis=0), np.ptp(across, axis=0)
    fits = (np.minimum(a, b) <= widest_m) & (np.maximum(a, b) <= longest_m)
    area = np.where(fits, np.round(a * b, 9), np.inf)
    best = int(np.argmin(area))
    if area[best] > length * width - least_m2:
        return draft
    turn = Motion.rotation(-float(angles[best]) - (0.0 if a[best] >= b[best] else np.pi / 2))
    return replace(draft, parts=[Part(p.facet, p.polygon, p.motion.then(turn)) for p in draft.parts],
                   beyond=[turn.polygon(g) for g in draft.beyond])
