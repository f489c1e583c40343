"""Straight segments in many planes at once: where they lie on lines, and what of them does not.

Segments and lines carry the number of their owner (a patch, a facet); only those of the same owner meet.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from steamwright.covering.spans import Span, merged, missing
from steamwright.geometry.frame import Floats

Indices = NDArray[np.intp]
Shapes = NDArray[np.object_]


def edges_of(shapes: Shapes) -> tuple[Floats, Indices]:
    """All edges of polygons, with the number of the polygon that each belongs to.

    Parameters
    ----------
    shapes : ndarray, shape (k,)
        Polygons or multipolygons with or without holes.

    Returns
    -------
    segments_m : ndarray, shape (n, 2, 2)
        Start and end of every edge. [m]
    owner : ndarray, shape (n,)
        Index of the polygon of every edge.

    References
    ----------
    own derivation
    """
    segments, owner = ring_edges(shapes)
    run = segments[:, 1] - segments[:, 0]
    real = np.hypot(run[:, 0], run[:, 1]) > 1e-9
    return segments[real], owner[real]


def ring_edges(shapes: Shapes) -> tuple[Floats, Indices]:
    """All edges of polygons, those of next to no length too, so that every ring closes.

    Parameters
    ----------
    shapes : ndarray, shape (k,)
        Polygons or multipolygons with or without holes; lines and points give none.

    Returns
    -------
    segments_m : ndarray, shape (n, 2, 2)
        Start and end of every edge. [m]
    owner : ndarray, shape (n,)
        Index of the polygon of every edge, in ascending order.

    References
    ----------
    own derivation
    """
    parts, shape = shapely.get_parts(shapes, return_index=True)
    rings, part = shapely.get_rings(parts, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    follows = ring[:-1] == ring[1:]
    return np.stack([points[:-1], points[1:]], axis=1)[follows], shape[part][ring[:-1][follows]]


def same_owner(owner: Indices, other: Indices) -> tuple[Indices, Indices]:
    """All pairs that have the same owner.

    Parameters
    ----------
    owner : ndarray, shape (n,)
        Owners of the first kind.
    other : ndarray, shape (m,)
        Owners of the second kind.

    Returns
    -------
    i : ndarray, shape (k,)
        Indices into the first.
    j : ndarray, shape (k,)
        Indices into the second, in ascending order.

    References
    ----------
    own derivation
    """
    order = np.argsort(owner, kind="stable")
    low, high = (np.searchsorted(owner[order], other, side=side) for side in ("left", "right"))
    count = high - low
    j = np.repeat(np.arange(len(other)), count)
    within = np.arange(len(j)) - np.repeat(np.cumsum(count) - count, count)
    return order[np.repeat(low, count) + within], j


def shares_within(at_start: Floats, at_end: Floats, low: Floats | float, high: Floats | float) -> tuple[Floats, Floats]:
    """Where, along 0 to 1 and beyond, a value that runs evenly from start to end lies between low and high.

    Parameters
    ----------
    at_start, at_end : ndarray
        The value at 0 and at 1.
    low, high : ndarray or float
        The limits, in the value's unit.

    Returns
    -------
    first, last : ndarray
        Shares; endless where the value is even and lies between the limits, (inf, -inf) where it does not.

    References
    ----------
    own derivation
    """
    rise = at_end - at_start
    level = np.abs(rise) < 1e-12
    safe = np.where(level, 1.0, rise)
    a, b = (low - at_start) / safe, (high - at_start) / safe
    inside = (at_start >= low) & (at_start <= high)
    first = np.where(level, np.where(inside, -np.inf, np.inf), np.minimum(a, b))
    last = np.where(level, np.where(inside, np.inf, -np.inf), np.maximum(a, b))
    return first, last


def near_parts(lines_m: Floats, segments_m: Floats, tol_m: float) -> tuple[Floats, Floats]:
    """The part of each segment that lies on its line.

    Parameters
    ----------
    lines_m : ndarray, shape (n, 2, 2)
        Start and end of the lines, none of them of no length. [m]
    segments_m : ndarray, shape (n, 2, 2)
        Start and end of the segments. [m]
    tol_m : float
        How far off the line, or past its ends, still counts as on it. [m]

    Returns
    -------
    first : ndarray, shape (n,)
        Where the part begins, as a share of the segment.
    last : ndarray, shape (n,)
        Where it ends; equal to ``first`` where there is none, or where a longer segment only crosses the line.

    References
    ----------
    own derivation
    """
    run = lines_m[:, 1] - lines_m[:, 0]
    length = np.hypot(run[:, 0], run[:, 1])
    d = run / length[:, None]
    rel = segments_m - lines_m[:, :1]
    along = rel[..., 0] * d[:, None, 0] + rel[..., 1] * d[:, None, 1]
    off = rel[..., 1] * d[:, None, 0] - rel[..., 0] * d[:, None, 1]
    a0, a1 = shares_within(off[:, 0], off[:, 1], -tol_m, tol_m)
    b0, b1 = shares_within(along[:, 0], along[:, 1], -tol_m, length + tol_m)
    first, last = np.maximum(np.maximum(a0, b0), 0.0), np.minimum(np.minimum(a1, b1), 1.0)
    long = np.hypot(along[:, 1] - along[:, 0], off[:, 1] - off[:, 0])
    # a segment shorter than the tolerance that lies wholly on the line is on it, whichever way it runs
    contact = ((last - first) * long > 4 * tol_m) | ((last - first >= 1.0) & (long < 4 * tol_m))
    return np.where(contact, first, 0.0), np.where(contact, last, 0.0)


def points_at(segments_m: Floats, share: Floats) -> Floats:
    """The point at a share of each segment.

    Parameters
    ----------
    segments_m : ndarray, shape (n, 2, 2)
        The segments. [m]
    share : ndarray, shape (n,)
        0 at the start, 1 at the end.

    Returns
    -------
    points_m : ndarray, shape (n, 2)
        The points. [m]

    References
    ----------
    own derivation
    """
    return np.asarray(segments_m[:, 0] + (segments_m[:, 1] - segments_m[:, 0]) * share[:, None])


def contacts(lines_m: Floats, line_owner: Indices, segments_m: Floats, owner: Indices, tol_m: float) -> list[list[Span]]:
    """Where segments lie on lines of the same owner.

    Parameters
    ----------
    lines_m : ndarray, shape (k, 2, 2)
        Start and end of the lines. [m]
    line_owner : ndarray, shape (k,)
        Their owners.
    segments_m : ndarray, shape (n, 2, 2)
        The segments. [m]
    owner : ndarray, shape (n,)
        Their owners.
    tol_m : float
        How far off still counts as on the line; contacts no longer than four times this are crossings. [m]

    Returns
    -------
    spans_m : list of list of (float, float)
        For each line, merged stretches from its start, in order. [m]

    References
    ----------
    own derivation
    """
    out: list[list[Span]] = [[] for _ in range(len(lines_m))]
    i, j = same_owner(owner, line_owner)
    first, last = near_parts(lines_m[j], segments_m[i], tol_m)
    hit = last > first
    i, j, first, last = i[hit], j[hit], first[hit], last[hit]
    run = lines_m[j, 1] - lines_m[j, 0]
    length = np.hypot(run[:, 0], run[:, 1])
    ends = [np.einsum("ni,ni->n", points_at(segments_m[i], x) - lines_m[j, 0], run) / length for x in (first, last)]
    low, high = np.clip(np.minimum(*ends), 0.0, length), np.clip(np.maximum(*ends), 0.0, length)
    for k, a, b in zip(j.tolist(), low.tolist(), high.tolist(), strict=True):
        out[k].append((a, b))
    return [merged(spans) for spans in out]


def pared(lines_m: Floats, line_owner: Indices, segments_m: Floats, owner: Indices, tol_m: float) -> tuple[Floats, Indices]:
    """What is left of segments when their parts on lines of the same owner are taken away.

    Parameters
    ----------
    lines_m : ndarray, shape (k, 2, 2)
        Start and end of the lines. [m]
    line_owner : ndarray, shape (k,)
        Their owners.
    segments_m : ndarray, shape (n, 2, 2)
        The segments. [m]
    owner : ndarray, shape (n,)
        Their owners.
    tol_m : float
        How far off, or past its ends, still counts as on the line. [m]

    Returns
    -------
    left_m : ndarray, shape (m, 2, 2)
        The remaining segments. [m]
    left_owner : ndarray, shape (m,)
        Their owners.

    References
    ----------
    own derivation
    """
    i, j = same_owner(owner, line_owner)
    first, last = near_parts(lines_m[j], segments_m[i], tol_m)
    hit = last > first
    if not hit.any():
        return segments_m, owner
    gone: dict[int, list[Span]] = {}
    for k, a, b in zip(i[hit].tolist(), first[hit].tolist(), last[hit].tolist(), strict=True):
        gone.setdefault(k, []).append((a, b))
    rests = [(k, a, b) for k, spans in gone.items() for a, b in missing(merged(spans), 1.0)]
    rest = np.array([k for k, _, _ in rests], dtype=np.intp)
    cut = segments_m[rest]
    bits = np.stack([points_at(cut, np.array([x[n] for x in rests])) for n in (1, 2)], axis=1)
    run = bits[:, 1] - bits[:, 0]
    real = np.hypot(run[:, 0], run[:, 1]) > 1e-6
    whole = np.ones(len(segments_m), dtype=bool)
    whole[list(gone)] = False
    return np.concatenate([segments_m[whole], bits[real]]), np.concatenate([owner[whole], owner[rest[real]]])


def chains(segments_m: Floats, owner: Indices, count: int) -> Shapes:
    """Join the segments of each owner end to end where they meet, so that moving them does not round every joint.

    Parameters
    ----------
    segments_m : ndarray, shape (n, 2, 2)
        The segments. [m]
    owner : ndarray, shape (n,)
        Their owners, below ``count``.
    count : int
        The number of owners.

    Returns
    -------
    lines : ndarray, shape (count,)
        A line or lines for each owner; None for those without segments.

    References
    ----------
    own derivation
    """
    out = np.full(count, None, dtype=object)
    if len(segments_m):
        order = np.argsort(owner, kind="stable")
        owner = owner[order]
        # ends that the arithmetic left a hair apart are one point
        ends = np.round(segments_m[order], 8)
        first = np.concatenate([[True], (owner[1:] != owner[:-1]) | (ends[1:, 0] != ends[:-1, 1]).any(axis=1)])
        run = np.cumsum(first) - 1
        points = np.concatenate([ends[first, 0], ends[:, 1]])
        along = np.argsort(np.concatenate([np.arange(run[-1] + 1), run]), kind="stable")
        lines = shapely.linestrings(points[along], indices=np.concatenate([np.arange(run[-1] + 1), run])[along])
        who, dense = np.unique(owner[first], return_inverse=True)
        out[who] = shapely.line_merge(shapely.multilinestrings(lines, indices=dense))
    return out


def within_reach(segments_m: Floats, owner: Indices, shapes: Shapes, reach_m: float) -> tuple[Floats, Indices]:
    """Keep the segments that can be within reach of their owner's shape.

    Parameters
    ----------
    segments_m : ndarray, shape (n, 2, 2)
        The segments. [m]
    owner : ndarray, shape (n,)
        Their owners.
    shapes : ndarray, shape (k,)
        The owners' shapes.
    reach_m : float
        How far from its shape a segment still counts. [m]

    Returns
    -------
    kept_m : ndarray, shape (m, 2, 2)
        Segments whose boxes come that near to the shape's box. [m]
    kept_owner : ndarray, shape (m,)
        Their owners.

    References
    ----------
    own derivation
    """
    boxes = shapely.bounds(shapes)[owner]
    near = ((segments_m.min(axis=1) <= boxes[:, 2:] + reach_m) & (segments_m.max(axis=1) >= boxes[:, :2] - reach_m)).all(axis=1)
    return segments_m[near], owner[near]
