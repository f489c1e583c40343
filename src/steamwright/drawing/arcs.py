"""Circles in outlines: which runs of corners are an arc, so that it is told by middle and diameter."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from steamwright.geometry.frame import Floats, Point2

OFF_M = 1e-3
"""A run of corners this near a circle is one: a cutter follows no line better. Common practice, no source."""
LEAST = 6
SMALLEST_M, LARGEST_M = 4e-3, 0.3
"""Radii between which a cut is worth a pair of dividers. Common practice, no source."""
TURN_DEG = 60.0


@dataclass(frozen=True, slots=True)
class Arc:
    """A run of corners on a circle: ``first`` is its first corner in the ring, ``count`` how many it has. [m]"""

    first: int
    count: int
    center_m: Point2
    radius_m: float
    whole: bool


def arcs_of(ring_m: Sequence[Point2]) -> tuple[Arc, ...]:
    """Find the arcs of a ring.

    Parameters
    ----------
    ring_m : sequence of (float, float)
        Corners, the first not repeated. [m]

    Returns
    -------
    arcs : tuple of Arc
        Of six corners or more, a sixth of a circle or more, on radii of 4 mm to 0.3 m, all of them and the middles of their edges
        within a millimetre of the circle. A whole circle is the only arc of its ring.

    References
    ----------
    own derivation
    """
    p = np.asarray(ring_m, dtype=float)
    n = len(p)
    if n >= LEAST and (found := _fit(np.vstack([p, p[:1]]))) is not None:
        return (Arc(0, n, *found, True),)
    out: list[Arc] = []
    taken: set[int] = set()
    for start in range(n if n > LEAST else 0):
        found, first, count = _fit(_run(p, start, LEAST)), start, LEAST
        if found is None or taken & {(start + k) % n for k in range(LEAST - 1)}:
            continue
        while count < n and (more := _fit(_run(p, first, count + 1))) is not None:
            found, count = more, count + 1
        while count < n and (more := _fit(_run(p, first - 1, count + 1))) is not None:
            found, first, count = more, first - 1, count + 1
        taken |= {(first + k) % n for k in range(count - 1)}
        if _turn_deg(_run(p, first, count), found[0]) >= TURN_DEG:
            out.append(Arc(first % n, count, *found, False))
    return tuple(out)


def _run(p: Floats, first: int, count: int) -> Floats:
    run: Floats = p[(first + np.arange(count)) % len(p)]
    return run


def _fit(run: Floats) -> tuple[Point2, float] | None:
    """The circle through a run of corners, if it and its edges lie on one."""
    middle = run.mean(axis=0)
    q = run - middle
    # x² + y² = 2 a x + 2 b y + c, by least squares
    (a, b, c), *_ = np.linalg.lstsq(np.column_stack([2 * q, np.ones(len(q))]), (q * q).sum(axis=1), rcond=None)
    radius = math.sqrt(max(0.0, c + a * a + b * b))
    seen = np.vstack([q, (q[1:] + q[:-1]) / 2])
    if not SMALLEST_M <= radius <= LARGEST_M or np.abs(np.hypot(seen[:, 0] - a, seen[:, 1] - b) - radius).max() > OFF_M:
        return None
    return (float(a + middle[0]), float(b + middle[1])), radius


def _turn_deg(run: Floats, center_m: Point2) -> float:
    angles = np.unwrap(np.arctan2(run[:, 1] - center_m[1], run[:, 0] - center_m[0]))
    return math.degrees(abs(float(angles[-1] - angles[0])))
