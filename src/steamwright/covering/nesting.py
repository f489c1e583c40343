"""Two outlines in the smallest rectangle in which one straight cut parts them."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from steamwright.geometry.frame import Floats, Point2
from steamwright.geometry.outline import area_m2
from steamwright.geometry.unfolding import Motion

CUT_M = 1e-3
"""What the cut between two parts takes; common practice, no source."""
HAIR_M = 1e-7
LEAST_SLANT = 0.05
"""A cut that runs nearly along the way on which two outlines are moved apart would open a gap without end."""


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a convex outline from its lowest to its highest level: levels and where it is there. [m]"""

    y_m: tuple[float, ...]
    x_m: tuple[float, ...]

    def at(self, level_m: float) -> float:
        """Where the side is at a level between its ends. [m]"""
        k = min(max(bisect_left(self.y_m, level_m), 1), len(self.y_m) - 1)
        (y0, y1), (x0, x1) = self.y_m[k - 1:k + 1], self.x_m[k - 1:k + 1]
        return x0 + (x1 - x0) * min(max((level_m - y0) / (y1 - y0), 0.0), 1.0)


@dataclass(frozen=True, slots=True)
class Turned:
    """A convex outline after some quarter turns: its box (x from, to, y from, to) and its two sides. [m]"""

    box_m: tuple[float, float, float, float]
    left: Side
    right: Side


@dataclass(frozen=True, slots=True)
class Outline:
    """A convex outline, corners counter-clockwise, its area, and how it looks after no, one, two and three quarter turns. [m]"""

    corners_m: Floats
    area_m2: float
    ways: tuple[Turned, ...]


@dataclass(frozen=True, slots=True)
class Nest:
    """Where two outlines lie on a blank, the cut between them from edge to edge, and what is saved over a blank each."""

    first: Motion
    second: Motion
    blank_m: Point2
    parting_m: tuple[Point2, Point2]
    gain_m2: float


def outline(corners_m: Floats) -> Outline:
    """Prepare an outline for being laid beside many others.

    Parameters
    ----------
    corners_m : ndarray, shape (n, 2)
        Corners of a convex outline, counter-clockwise. [m]

    Returns
    -------
    outline : Outline
        With its sides after each quarter turn.

    References
    ----------
    own derivation
    """
    ways = tuple(_turned(Motion.rotation(k * np.pi / 2).points(corners_m)) for k in range(4))
    return Outline(corners_m, area_m2(corners_m.tolist()), ways)


def _turned(ring: Floats) -> Turned:
    points = [(round(x, 9), round(y, 9)) for x, y in ring.tolist()]
    edges = list(zip(points, [*points[1:], points[0]], strict=True))
    rising = sorted({p for a, b in edges if b[1] - a[1] > HAIR_M for p in (a, b)}, key=lambda p: p[1])
    falling = sorted({p for a, b in edges if a[1] - b[1] > HAIR_M for p in (a, b)}, key=lambda p: p[1])
    left, right = (Side(tuple(y for _, y in s), tuple(x for x, _ in s)) for s in (falling, rising))
    (x0, y0), (x1, y1) = ring.min(axis=0).tolist(), ring.max(axis=0).tolist()
    return Turned((x0, x1, y0, y1), left, right)


def nested(first: Outline, second: Outline, widest_m: float, longest_m: float) -> Nest | None:
    """Lay two convex outlines side by side so that the rectangle round both is smallest.

    Either may be turned by half a turn; they touch along the blank or across it, with one of their ends level. Convex
    outlines that do not overlap are always parted by a straight line, which runs along an edge of one of them where they
    touch.

    Parameters
    ----------
    first, second : Outline
        The outlines, each as it lies on a blank of its own.
    widest_m, longest_m : float
        The largest blank, either way round. [m]

    Returns
    -------
    nest : Nest or None
        None where no rectangle in reach is smaller than the two together.

    References
    ----------
    own derivation
    """
    alone = sum((x1 - x0) * (y1 - y0) for x0, x1, y0, y1 in (first.ways[0].box_m, second.ways[0].box_m))
    filled = first.area_m2 + second.area_m2
    best: tuple[float, int, int, float] | None = None
    for a in range(4):
        for b in (a, (a + 2) % 4):
            one, other = first.ways[a], second.ways[b]
            for up in (one.box_m[2] - other.box_m[2], one.box_m[3] - other.box_m[3]):
                width = max(one.box_m[3], other.box_m[3] + up) - min(one.box_m[2], other.box_m[2] + up)
                least = max(one.box_m[1] - one.box_m[0], other.box_m[1] - other.box_m[0], filled / width)
                if not _fits(least, width, widest_m, longest_m) or alone - least * width <= (best[0] if best else 0.0):
                    continue
                length = max(one.box_m[1], other.box_m[1] + _touching(one.right, other.left, up)) - one.box_m[0]
                if _fits(length, width, widest_m, longest_m) and alone - length * width > (best[0] if best else 0.0) + HAIR_M:
                    best = alone - length * width, a, b, up
    nest = None if best is None else _laid(first, second, best[1:], alone)
    return nest if nest is not None and nest.gain_m2 > 0.0 and _fits(*nest.blank_m, widest_m, longest_m) else None


def _fits(length: float, width: float, widest_m: float, longest_m: float) -> bool:
    return min(length, width) <= widest_m + HAIR_M and max(length, width) <= longest_m + HAIR_M


def _touching(right: Side, left: Side, up: float) -> float:
    """How far the second outline has to move to the right, once it is lifted, to touch the first."""
    low, high = max(right.y_m[0], left.y_m[0] + up), min(right.y_m[-1], left.y_m[-1] + up)
    levels = [low, high, *(y for y in right.y_m if low < y < high), *(y + up for y in left.y_m if low < y + up < high)]
    return max(right.at(y) - left.at(y - up) for y in levels)


def _laid(first: Outline, second: Outline, way: tuple[int, int, float], alone_m2: float) -> Nest | None:
    """The two with room for the cut between them."""
    a, b, up = way
    along = _touching(first.ways[a].right, second.ways[b].left, up)
    here, there = Motion.rotation(a * np.pi / 2), Motion.rotation(b * np.pi / 2).then(Motion.translation((along, up)))
    touching = parting(here.points(first.corners_m), there.points(second.corners_m))
    if touching is None:
        return None
    run = touching[1] - touching[0]
    slant = float(abs(run[1]) / np.hypot(*run))
    if slant < LEAST_SLANT:
        return None
    there = there.then(Motion.translation((CUT_M / slant, 0.0)))
    both = np.vstack([here.points(first.corners_m), there.points(second.corners_m)])
    home = Motion.translation(-both.min(axis=0))
    here, there = here.then(home), there.then(home)
    length, width = np.ptp(both, axis=0).tolist()
    line = parting(here.points(first.corners_m), there.points(second.corners_m))
    return None if line is None else Nest(here, there, (length, width), _across(line, (length, width)), alone_m2 - length * width)


def parting(one: Floats, other: Floats) -> Floats | None:
    """Find a straight cut between two convex outlines.

    Parameters
    ----------
    one, other : ndarray, shape (n, 2)
        Corners of either in turn. [m]

    Returns
    -------
    line_m : ndarray, shape (2, 2), or None
        Two points of the line that is farthest from both, the first outline on its left; None where they overlap. [m]

    References
    ----------
    own derivation
    """
    edges = np.vstack([np.stack([ring, np.roll(ring, -1, axis=0)], axis=1) for ring in (one, other)])
    run = edges[:, 1] - edges[:, 0]
    size = np.hypot(run[:, 0], run[:, 1])
    edges, run = edges[size > 1e-6], run[size > 1e-6] / size[size > 1e-6, None]
    run = np.concatenate([run, -run])
    start = np.concatenate([edges[:, 0], edges[:, 0]])
    normal = np.stack([-run[:, 1], run[:, 0]], axis=1)
    low = (np.einsum("ki,ni->kn", normal, one)).min(axis=1) - np.einsum("ki,ki->k", normal, start)
    high = (np.einsum("ki,ni->kn", normal, other)).max(axis=1) - np.einsum("ki,ki->k", normal, start)
    k = int(np.argmax(np.round(low - high, 9)))
    if low[k] - high[k] < -10 * HAIR_M:
        return None
    middle = start[k] + normal[k] * (low[k] + high[k]) / 2
    return np.array([middle, middle + run[k]])


def _across(line: Floats, blank_m: Sequence[float]) -> tuple[Point2, Point2]:
    """A line cut off at the blank's edges."""
    (x, y), (dx, dy) = line[0], line[1] - line[0]
    low, high = -np.inf, np.inf
    for at, step, size in ((x, dx, blank_m[0]), (y, dy, blank_m[1])):
        if abs(step) > 1e-12:
            t0, t1 = sorted((-at / step, (size - at) / step))
            low, high = max(low, t0), min(high, t1)
    (x0, y0), (x1, y1) = line[0] + low * (line[1] - line[0]), line[0] + high * (line[1] - line[0])
    return (float(x0), float(y0)), (float(x1), float(y1))
