"""Which way a plan turns at its stations, and where its walls cross."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from steamwright.geometry.frame import Floats

LEFT, RIGHT, UNKNOWN = 1, -1, 0
_WORD = {"left": LEFT, "right": RIGHT}
STRAIGHT_DEG = 3.0


def turn_angles_deg(points_m: Floats) -> Floats:
    """Change of direction at every corner of a polygon, walked in order.

    Parameters
    ----------
    points_m : ndarray, shape (n, 2)
        Corners. [m]

    Returns
    -------
    turn_deg : ndarray, shape (n,)
        Positive to the left, from -180 to 180. [deg]

    References
    ----------
    own derivation
    """
    before = np.arange(len(points_m)) - 1
    out = points_m[before + 2 - len(before)] - points_m
    into = out[before]
    cross = into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0]
    turn: Floats = np.degrees(np.arctan2(cross, (into * out).sum(axis=1)))
    return turn


def wrong_turns(points_m: Floats, pattern: Sequence[int]) -> tuple[int, ...]:
    """Corners that clearly turn the other way than they should.

    Parameters
    ----------
    points_m : ndarray, shape (n, 2)
        Corners. [m]
    pattern : sequence of int, length n
        1 left, -1 right, 0 not known. [1]

    Returns
    -------
    corners : tuple of int
        Their indices; a corner within 3 degrees of straight is never wrong.

    References
    ----------
    own derivation
    """
    turn = turn_angles_deg(points_m)
    return tuple(int(i) for i in np.flatnonzero(turn * np.asarray(pattern) < -STRAIGHT_DEG))


def crossings(points_m: Floats) -> tuple[tuple[int, int], ...]:
    """Pairs of sides of a polygon that cross or touch without being neighbours, or that fold back on each other.

    Parameters
    ----------
    points_m : ndarray, shape (n, 2)
        Corners. [m]

    Returns
    -------
    sides : tuple of pairs of int
        Indices of sides; side i runs from corner i to i + 1.

    References
    ----------
    own derivation: the ends of each side lie on both sides of the other.
    """
    n = len(points_m)
    p, q = points_m, np.roll(points_m, -1, axis=0)
    d = q - p

    def beside(points: Floats) -> Floats:
        """Twice the area of the triangle that each side (row) makes with each point (column)."""
        rel = points[None, :, :] - p[:, None, :]
        out: Floats = d[:, None, 0] * rel[..., 1] - d[:, None, 1] * rel[..., 0]
        return out

    parted = beside(p) * beside(q) <= 0.0
    met = parted & parted.T
    gap = np.abs(np.subtract.outer(np.arange(n), np.arange(n)))
    met &= (gap > 1) & (gap < n - 1)
    back = np.flatnonzero(np.abs(turn_angles_deg(points_m)) > 180.0 - 1e-6)
    pairs = [(int(i), int(j)) for i, j in np.argwhere(met) if i < j and _near(p[i], q[i], p[j], q[j])]
    return tuple(pairs + [((int(k) - 1) % n, int(k)) for k in back])


def _near(a: Floats, b: Floats, c: Floats, d: Floats) -> bool:
    """Whether the boxes of two segments meet: rules out collinear sides that lie apart."""
    low = np.maximum(np.minimum(a, b), np.minimum(c, d))
    high = np.minimum(np.maximum(a, b), np.maximum(c, d))
    return bool((low <= high).all())


def patterns(stations: Sequence[str], turns: Mapping[str, str]) -> tuple[tuple[int, ...], ...]:
    """Turn patterns that a person can have meant, the likeliest first.

    Stations that are not named turn as the majority: where a few stations are named, they may be the exceptions (a
    reflex corner) or show the sense of the walk; the readings decide between both.

    Parameters
    ----------
    stations : sequence of str
        Stations in order.
    turns : mapping of str to str
        Station to "left" or "right".

    Returns
    -------
    possible : tuple of tuple of int
        1 left, -1 right, 0 not known. Without named turns: all left, then unknown.

    References
    ----------
    own derivation
    """
    n = len(stations)
    if not turns:
        return (LEFT,) * n, (UNKNOWN,) * n
    said = [_WORD[turns[s]] if s in turns else UNKNOWN for s in stations]
    total = sum(said)
    few = len(turns) * 2 <= n and n > 4
    first = LEFT if total == 0 else (int(np.sign(-total)) if few else int(np.sign(total)))
    fills = [tuple(t or rest for t in said) for rest in (first, -first)]
    possible = [f for i, f in enumerate(fills) if f not in fills[:i] and _can_close(f)]
    return tuple(possible) or (tuple(said),)


def _can_close(pattern: tuple[int, ...]) -> bool:
    """A polygon needs three corners that turn with its walk."""
    return pattern.count(LEFT) >= 3 or pattern.count(RIGHT) >= 3
