"""Straight segments in a plane, many at a time: where they lie on a line, and what of them does not."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from steamwright.geometry.frame import Floats

Span = tuple[float, float]


def ring_segments(shape: BaseGeometry) -> Floats:
    """All edges of a polygon, a multipolygon or their rings.

    Parameters
    ----------
    shape : BaseGeometry
        Polygons with or without holes.

    Returns
    -------
    segments_m : ndarray, shape (n, 2, 2)
        Start and end of every edge. [m]

    References
    ----------
    own derivation
    """
    rings = shapely.get_rings(shapely.get_parts(np.array([shape], dtype=object)))
    return ring_array_segments(rings)[0]


def ring_array_segments(rings: NDArray[np.object_]) -> tuple[Floats, NDArray[np.intp]]:
    """All edges of many rings, with the number of the ring that each belongs to.

    Parameters
    ----------
    rings : ndarray, shape (k,)
        Closed rings.

    Returns
    -------
    segments_m : ndarray, shape (n, 2, 2)
        Start and end of every edge. [m]
    ring : ndarray, shape (n,)
        Index of the ring of every edge.

    References
    ----------
    own derivation
    """
    points, ring = shapely.get_coordinates(rings, return_index=True)
    follows = ring[:-1] == ring[1:]
    return np.stack([points[:-1], points[1:]], axis=1)[follows], ring[:-1][follows]


def _within(at_start: Floats, at_end: Floats, low: Floats | float, high: Floats | float) -> tuple[Floats, Floats]:
    """Where, along 0 to 1, a value that runs evenly from start to end lies between low and high; empty as (inf, -inf)."""
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
    lines_m : ndarray, shape (..., 2, 2)
        Start and end of the lines, none of them of no length. [m]
    segments_m : ndarray, shape (..., 2, 2)
        Start and end of the segments; broadcast against the lines. [m]
    tol_m : float
        How far off the line, or past its ends, still counts as on it. [m]

    Returns
    -------
    first : ndarray, shape (...)
        Where the part begins, as a share of the segment.
    last : ndarray, shape (...)
        Where it ends; not more than ``first`` where there is none.

    References
    ----------
    own derivation
    """
    run = lines_m[..., 1, :] - lines_m[..., 0, :]
    length = np.hypot(run[..., 0], run[..., 1])
    d = run / length[..., None]
    rel = segments_m - lines_m[..., :1, :]
    along = rel[..., 0] * d[..., None, 0] + rel[..., 1] * d[..., None, 1]
    off = rel[..., 1] * d[..., None, 0] - rel[..., 0] * d[..., None, 1]
    a0, a1 = _within(off[..., 0], off[..., 1], -tol_m, tol_m)
    b0, b1 = _within(along[..., 0], along[..., 1], -tol_m, length + tol_m)
    return np.maximum(np.maximum(a0, b0), 0.0), np.minimum(np.minimum(a1, b1), 1.0)


def points_at(segments_m: Floats, share: Floats) -> Floats:
    """The point at a share of each segment; shape (n, 2). [m]"""
    return np.asarray(segments_m[:, 0] + (segments_m[:, 1] - segments_m[:, 0]) * share[:, None])


def spans_on(line_m: Floats, segments_m: Floats, tol_m: float) -> list[Span]:
    """Where segments lie on a line, as stretches along it.

    Parameters
    ----------
    line_m : ndarray, shape (2, 2)
        Start and end of the line. [m]
    segments_m : ndarray, shape (n, 2, 2)
        The segments. [m]
    tol_m : float
        How far off still counts as on the line; stretches no longer than four times this are crossings, not contacts. [m]

    Returns
    -------
    spans_m : list of (float, float)
        Merged stretches from the line's start, in order. [m]

    References
    ----------
    own derivation
    """
    first, last = near_parts(line_m[None], segments_m, tol_m)
    hit = last > first
    if not hit.any():
        return []
    segs, first, last = segments_m[hit], first[hit], last[hit]
    run = line_m[1] - line_m[0]
    length = float(np.hypot(*run))
    d = run / length
    a = (points_at(segs, first) - line_m[0]) @ d
    b = (points_at(segs, last) - line_m[0]) @ d
    low, high = np.clip(np.minimum(a, b), 0.0, length), np.clip(np.maximum(a, b), 0.0, length)
    return merged([(float(x), float(y)) for x, y in zip(low, high, strict=True) if y - x > 4 * tol_m])


def without(segments_m: Floats, line_m: Floats, tol_m: float) -> Floats:
    """What is left of segments when their parts on a line are taken away.

    Parameters
    ----------
    segments_m : ndarray, shape (n, 2, 2)
        The segments. [m]
    line_m : ndarray, shape (2, 2)
        Start and end of the line. [m]
    tol_m : float
        How far off, or past its ends, still counts as on the line. [m]

    Returns
    -------
    left_m : ndarray, shape (m, 2, 2)
        The remaining segments. [m]

    References
    ----------
    own derivation
    """
    if not len(segments_m):
        return segments_m
    first, last = near_parts(line_m[None], segments_m, tol_m)
    run = segments_m[:, 1] - segments_m[:, 0]
    length = np.hypot(run[:, 0], run[:, 1])
    # a segment that only crosses the line is free all along
    hit = (last - first) * length > 4 * tol_m
    if not hit.any():
        return segments_m
    cut, first, last, length = segments_m[hit], first[hit], last[hit], length[hit]
    head = np.stack([cut[:, 0], points_at(cut, first)], axis=1)[first * length > 1e-6]
    tail = np.stack([points_at(cut, last), cut[:, 1]], axis=1)[(1.0 - last) * length > 1e-6]
    return np.concatenate([segments_m[~hit], head, tail])


def merged(spans_m: list[Span]) -> list[Span]:
    """Join stretches that overlap or touch, in order. [m]"""
    out: list[Span] = []
    for low, high in sorted(spans_m):
        if out and low <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], high))
        else:
            out.append((low, high))
    return out


def shared(a_m: list[Span], b_m: list[Span]) -> list[Span]:
    """The stretches that lie in both lists. [m]"""
    return merged([(max(p, r), min(q, s)) for p, q in a_m for r, s in b_m if min(q, s) > max(p, r)])


def missing(spans_m: list[Span], length_m: float) -> list[Span]:
    """What merged stretches leave uncovered between 0 and a length. [m]"""
    out: list[Span] = []
    at = 0.0
    for low, high in spans_m:
        if low > at:
            out.append((at, low))
        at = max(at, high)
    return [*out, (at, length_m)] if at < length_m else out


def total(spans_m: list[Span]) -> float:
    """The length of stretches that do not overlap. [m]"""
    return sum(high - low for low, high in spans_m)


def chains(segments_m: Floats) -> MultiLineString | None:
    """Join segments end to end where they meet, so that rounding them off does not round every joint.

    Parameters
    ----------
    segments_m : ndarray, shape (n, 2, 2)
        The segments. [m]

    Returns
    -------
    lines : MultiLineString or None
        The same points as long lines; None where there are no segments.

    References
    ----------
    own derivation
    """
    if not len(segments_m):
        return None
    lines = shapely.line_merge(MultiLineString(list(segments_m)))
    return lines if isinstance(lines, MultiLineString) else MultiLineString([lines])


def outer(shape: Polygon) -> Polygon:
    """The polygon with its holes filled."""
    return Polygon(shape.exterior)
