"""The planes of a constant pitch, and where the creases between them end at the edge of the floor."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from steamwright.geometry.frame import Floats, Point2

ALIKE_DEG = 5.0
"""Edges that face as nearly the same way share one plane: between two planes a crease of some hundredths of a degree would run,
which nobody can strike off, and between three a sliver. Square to its wall the fall then differs by 0.4 % at most. Common
practice, no source."""
NEAR_M = 0.008
"""A crease that ends so near to a corner is led into it: what it would cut off is narrower than can be laid. Common practice, no
source."""
LESS = 0.03
"""By which share a plane may fall less than said for that. Common practice, no source."""
Plane = tuple[float, float, float]
"""Gradient against which a plane of a bed falls, and by how much it would lie under the flat at the drain. [-, -, m]"""


def falls_of(inward: Floats, length_m: Floats) -> tuple[Floats, NDArray[np.intp]]:
    """Find the directions in which a floor falls.

    Parameters
    ----------
    inward : ndarray, shape (n, 2)
        Inward directions of the edges of the floor.
    length_m : ndarray, shape (n,)
        Their lengths. [m]

    Returns
    -------
    falls : ndarray, shape (m, 2)
        One for all edges that face nearly the same way: that of the longest of them.
    of_edge : ndarray of int, shape (n,)
        For each edge its own.

    References
    ----------
    own derivation
    """
    falls: list[int] = []
    for k in np.argsort(-length_m.round(6), kind="stable").tolist():
        if not falls or (inward[falls] @ inward[k]).max() < np.cos(np.radians(ALIKE_DEG)):
            falls.append(k)
    kept = inward[sorted(falls)]
    return kept, np.argmax(inward @ kept.T, axis=1)


def planes_of(falls: Floats, pitch: float, half_flat_m: float, drain_m: Point2,
              corners_at: Callable[[float], Sequence[Point2]]) -> tuple[Plane, ...]:
    """Lay a plane for each direction of fall, so that no crease ends a hair beside a corner.

    Parameters
    ----------
    falls : ndarray, shape (n, 2)
        From `falls_of`.
    pitch : float
        Rise over run.
    half_flat_m : float
        From the drain to the edges of its flat. [m]
    drain_m : (float, float)
        The drain. [m]
    corners_at : callable
        From a height over the flat to the corners of the floor there. [m]

    Returns
    -------
    planes : tuple of Plane
        One for each fall. Each still starts at the edge of the flat and rises away from the drain, so that no water stands.

    References
    ----------
    own derivation
    """
    drain = np.asarray(drain_m)
    pins: list[list[tuple[Floats, float]]] = [[] for _ in falls]
    order = np.argsort(np.arctan2(falls[:, 1], falls[:, 0])).tolist()
    for i, j in pairwise([*order, order[0]]):
        pin = _pinned(falls[[i, j]], pitch, half_flat_m, drain, corners_at)
        if i != j and pin is not None:
            pins[i].append(pin)
            pins[j].append(pin)
    return tuple(_plane(f, pitch, half_flat_m, some) for f, some in zip(falls, pins, strict=True))


def _pinned(two: Floats, pitch: float, half_flat_m: float, drain: Floats,
            corners_at: Callable[[float], Sequence[Point2]]) -> tuple[Floats, float] | None:
    """The corner, seen from the drain, into which the crease between two planes is led, and its height over the flat."""
    way = -two.sum(axis=0)
    size = float(np.hypot(*way))
    if size < 1e-6:
        return None
    way = way / size
    corners = np.asarray(corners_at(0.0)) - drain
    aside = np.abs(corners[:, 0] * way[1] - corners[:, 1] * way[0])
    aside[corners @ way < 2 * half_flat_m / size] = np.inf  # where the crease starts
    k = int(np.argmin(aside))
    runs = -(two @ corners[k]) - half_flat_m
    if aside[k] > NEAR_M or runs.min() < (1.0 - LESS) * runs.max():
        return None
    at, height_m = corners[k], 0.0
    for _ in range(3):  # between leaning walls the corner lies elsewhere at the height that it gets
        height_m = pitch * float((-(two @ at)).min() - half_flat_m)
        again = np.asarray(corners_at(height_m)) - drain
        at = again[k] if len(again) == len(corners) else at
    return at, height_m


def _plane(fall: Floats, pitch: float, half_flat_m: float, pins: list[tuple[Floats, float]]) -> Plane:
    if len(pins) == 2:
        (p, y), (q, z) = pins
        x = np.linalg.solve(np.array([[*-p, -1.0], [*-q, -1.0], [*(fall * half_flat_m), -1.0]]), np.array([y, z, 0.0]))
        return (float(x[0]), float(x[1]), float(x[2]))
    steep = pitch if not pins else pins[0][1] / (-float(fall @ pins[0][0]) - half_flat_m)
    return (float(fall[0] * steep), float(fall[1] * steep), float(steep * half_flat_m))
