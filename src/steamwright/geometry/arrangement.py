"""From a formula of half-spaces to the edges of the surface that bounds it.

Two planes meet in a line; the other planes cut it into stretches. Round a stretch the formula can only change at the
planes through it, so its value just left and just right of the line, on either side of each plane, tells exactly which
surfaces end there and which way they run. No polygon is ever cut: the edges of two surfaces that meet are the same
stretch, and the surface closes by construction.

Three tolerances keep apart what must not be mixed. Planes that nearly coincide are made one, whatever their numbers. A
plane holds a line only where rounding alone parts them; all else is judged by its numbers, however near. Only in the end
are corners that lie within ``TOL_M`` made one, which takes away slivers as thin as that without opening the surface.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steamwright.errors import GeometryError
from steamwright.geometry.frame import Floats, crosses
from steamwright.geometry.halfspace import Bits, Formula, HalfSpace, evaluate

TOL_M = 1e-6
ANGLE_TOL = 1e-8
SAME_PLANE_M = 1e-7
ROUNDING_M = 1e-9

Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Planes:
    """Distinct planes and, for every half-space, its plane and whether it looks the same way (+1) or not (−1)."""

    normals: Floats
    offsets_m: Floats
    plane_of: Ints
    sign_of: Ints


@dataclass(frozen=True, slots=True)
class Edges:
    """Directed stretches, the surface to the left seen from the air.

    Shapes (n,) but ``ends`` (n, 2), the numbers of vertices. ``facing`` is +1 where the air lies on the side of the
    plane's normal. ``owner`` is the half-space that makes the surface, ``line`` the line the stretch lies on.
    """

    plane: Ints
    facing: Ints
    owner: Ints
    line: Ints
    ends: Ints
    vertices_m: Floats


@dataclass(frozen=True, slots=True)
class _Lines:
    """Lines in which planes meet, inside a box; ``on`` says which planes hold a line, ``at_*`` how far they are at its ends."""

    start_m: Floats
    step_m: Floats
    length_m: Floats
    on: NDArray[np.bool_]
    at_start_m: Floats
    at_end_m: Floats


def distinct_planes(half_spaces: Sequence[HalfSpace]) -> Planes:
    """Gather half-spaces whose planes coincide.

    Parameters
    ----------
    half_spaces : sequence of HalfSpace
        With normals of unit length.

    Returns
    -------
    planes : Planes
        The distinct planes, in order of first appearance.

    References
    ----------
    own derivation
    """
    normals = np.array([h.normal for h in half_spaces])
    offsets = np.array([h.offset_m for h in half_spaces])
    sign = np.where(normals @ normals.T >= 0, 1, -1)
    near = np.abs(normals - sign[..., None] * normals[:, None]).max(axis=2) < ANGLE_TOL
    near &= np.abs(offsets - sign * offsets[:, None]) < SAME_PLANE_M
    firsts: list[int] = []
    plane_of, sign_of = [], []
    for h, same in enumerate(near.tolist()):
        plane = next((k for k, g in enumerate(firsts) if same[g]), len(firsts))
        if plane == len(firsts):
            firsts.append(h)
        plane_of.append(plane)
        sign_of.append(sign[h, firsts[plane]])
    return Planes(normals[firsts], offsets[firsts], np.array(plane_of, np.int64), np.array(sign_of, np.int64))


def surface_edges(formula: Formula, half_spaces: Sequence[HalfSpace], low_m: Floats, high_m: Floats) -> tuple[Planes, Edges]:
    """Edges of the surface of the set that a formula describes.

    Parameters
    ----------
    formula : Formula
        The set; it must lie well inside the box.
    half_spaces : sequence of HalfSpace
        The half-spaces that its indices mean.
    low_m, high_m : ndarray, shape (3,)
        Corners of a box round the set. [m]

    Returns
    -------
    planes : Planes
        The distinct planes.
    edges : Edges
        Every stretch at which a surface ends, once for each surface.

    References
    ----------
    own derivation
    """
    planes = distinct_planes(half_spaces)
    lines = _lines(planes, low_m, high_m)
    line_of, lo, hi = _stretches(lines)
    plane, pick = np.nonzero(lines.on.T[:, line_of])
    left, right = _owners(formula, planes, lines, plane, line_of[pick], (lo[pick] + hi[pick]) / 2)
    key = np.array([*(h.key for h in half_spaces), -1], np.int64)  # owner 0 means none, and reads the last
    change = (np.sign(left) != np.sign(right)) | (key[np.abs(left) - 1] != key[np.abs(right) - 1])
    at_left, at_right = np.flatnonzero(change & (left != 0)), np.flatnonzero(change & (right != 0))
    at, side = np.concatenate([at_left, at_right]), np.repeat([1, -1], [len(at_left), len(at_right)])
    order = np.argsort(plane[at], kind="stable")
    at, side = at[order], side[order]
    owner, seg = np.where(side > 0, left[at], right[at]), pick[at]
    facing, ln = np.sign(owner), line_of[seg]
    along = np.where(facing * side > 0, (lo[seg], hi[seg]), (hi[seg], lo[seg]))
    ends_m = lines.start_m[ln] + along[..., None] * lines.step_m[ln]
    ids, vertices = merged_points(ends_m.transpose(1, 0, 2).reshape(-1, 3))
    pairs = ids.reshape(-1, 2)
    keep = pairs[:, 0] != pairs[:, 1]
    return planes, Edges(plane[at][keep], facing[keep], np.abs(owner[keep]) - 1, ln[keep], pairs[keep], vertices)


def _lines(planes: Planes, low_m: Floats, high_m: Floats) -> _Lines:
    n, d = planes.normals, planes.offsets_m
    i, j = np.triu_indices(len(n), 1)
    step = crosses(n[i], n[j])
    size = np.linalg.norm(step, axis=1)
    ok = size > ANGLE_TOL / 2
    i, j, step, size = i[ok], j[ok], step[ok], size[ok]
    point = (d[i, None] * crosses(n[j], step) + d[j, None] * crosses(step, n[i])) / (size**2)[:, None]
    step = step / size[:, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        a, b = (low_m - point) / step, (high_m - point) / step
    flat = np.abs(step) < 1e-12
    outside = (flat & ((point < low_m) | (point > high_m))).any(axis=1)
    t0 = np.where(flat, -np.inf, np.minimum(a, b)).max(axis=1)
    t1 = np.where(flat, np.inf, np.maximum(a, b)).min(axis=1)
    ok = ~outside & (t1 - t0 > 1e-3)
    i, j, step, point, t0, t1 = i[ok], j[ok], step[ok], point[ok], t0[ok], t1[ok]
    start = point + t0[:, None] * step
    at_start = start @ n.T - d
    at_end = (start + (t1 - t0)[:, None] * step) @ n.T - d
    on = np.maximum(np.abs(at_start), np.abs(at_end)) < ROUNDING_M
    rows = np.arange(len(i))
    on[rows, i] = on[rows, j] = True
    ok = _kept_once(i, j, on)
    return _Lines(start[ok], step[ok], (t1 - t0)[ok], on[ok], at_start[ok], at_end[ok])


def _kept_once(i: Ints, j: Ints, on: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which lines to keep where more than two planes share one: the first that holds both planes of the others.

    Two planes that meet at a very small angle may both hold a line of a third without meeting each other there, so that
    it is not enough to look which planes hold a line.
    """
    keep = np.ones(len(i), bool)
    kept: list[int] = []
    for row in np.flatnonzero(on.sum(axis=1) > 2):
        if any(on[k, i[row]] and on[k, j[row]] for k in kept if on[row, i[k]] and on[row, j[k]]):
            keep[row] = False
        else:
            kept.append(int(row))
    return keep


def _stretches(lines: _Lines) -> tuple[Ints, Floats, Floats]:
    """Stretches of the lines between neighbouring crossings: line, and from where to where along it."""
    a, b = lines.at_start_m, lines.at_end_m
    crosses = (a * b < 0) & ~lines.on
    with np.errstate(divide="ignore", invalid="ignore"):
        t = np.where(crosses, a / (a - b), np.inf) * lines.length_m[:, None]
    ends = np.stack([np.zeros(len(t)), lines.length_m], axis=1)
    t = np.sort(np.concatenate([np.where(crosses, t, np.inf), ends], axis=1), axis=1)
    with np.errstate(invalid="ignore"):
        ok = np.isfinite(t[:, 1:]) & (t[:, 1:] - t[:, :-1] > TOL_M)
    line, k = np.nonzero(ok)
    return line, t[line, k], t[line, k + 1]


def _owners(formula: Formula, planes: Planes, lines: _Lines, plane: Ints, line: Ints, at_m: Floats) -> tuple[Ints, Ints]:
    """Who makes the surface left and right of stretches in planes: ± (half-space + 1), 0 where there is none.

    Each stretch stands here once for every plane that holds it. Going through that plane from its minus side to its plus
    side, the half-spaces that lie in it are passed one after the other; the one at which the air begins (or ends) owns the
    surface. Bit j stands for the place after j of them, first left of the line, then right of it; where a plane has fewer
    half-spaces than another, its last places are one and the same.
    """
    rank, members = _in_plane(planes)
    most = members.shape[1]
    if most > 31:
        raise GeometryError("more than 31 surfaces lie in one plane", path="room", hint="give niches or sills slightly different heights")
    shift = np.uint64(most + 1)
    left = np.uint64(2 ** (most + 1) - 1)
    full = left | left << shift
    ratio = at_m / lines.length_m[line]
    inside = lines.at_start_m.T[:, line] * (1 - ratio) + lines.at_end_m.T[:, line] * ratio > 0
    to_left = crosses(planes.normals[plane], lines.step_m[line])  # seen against the normal
    beside = np.where(planes.normals @ to_left.T > 0, left, left << shift)
    word = np.where(lines.on.T[:, line], beside, np.where(inside, full, np.uint64(0)))
    values: list[Bits] = []
    for p, s, r in zip(planes.plane_of.tolist(), planes.sign_of.tolist(), rank, strict=True):
        passed = left & ~np.uint64(2 ** (r + 1) - 1)
        mine = np.where(plane == p, passed | passed << shift, word[p])
        values.append(mine if s > 0 else mine ^ full)
    air = evaluate(formula, values, np.asarray(full))
    return _owner(air & left, members[plane]), _owner(air >> shift, members[plane])


def _in_plane(planes: Planes) -> tuple[list[int], Ints]:
    """The place of every half-space among those of its plane, and the half-spaces of every plane, filled up with -1."""
    of: list[list[int]] = [[] for _ in planes.normals]
    rank = []
    for h, p in enumerate(planes.plane_of.tolist()):
        rank.append(len(of[p]))
        of[p].append(h)
    most = max(map(len, of))
    return rank, np.array([[*mine, *[-1] * (most - len(mine))] for mine in of], np.int64)


def _owner(air: Bits, members: Ints) -> Ints:
    """The half-space at which air begins or ends for good on the way through a plane, ± (its number + 1)."""
    places = (air[:, None] >> np.arange(members.shape[1] + 1, dtype=np.uint64) & np.uint64(1)).astype(np.int64)
    facing = places[:, -1] - places[:, 0]
    out = np.zeros(len(air), np.int64)
    for j in range(members.shape[1]):
        step = places[:, j + 1] - places[:, j]
        out = np.where((step == facing) & (facing != 0), facing * (members[:, j] + 1), out)
    return out


def merged_points(points_m: Floats) -> tuple[Ints, Floats]:
    """Give points that lie within the tolerance of each other one number and one place.

    Parameters
    ----------
    points_m : ndarray, shape (n, 3)
        Points. [m]

    Returns
    -------
    ids : ndarray of int, shape (n,)
        Number of the place of each point.
    places_m : ndarray, shape (m, 3)
        Mean place of the points with each number. [m]

    References
    ----------
    own derivation
    """
    cell = np.round(points_m * 1e8)
    order = np.lexsort(cell.T[::-1])
    starts = np.concatenate([[True], (cell[order[1:]] != cell[order[:-1]]).any(axis=1)])
    fine, places = _clusters(points_m[order[starts]])
    ids = np.empty(len(points_m), np.int64)
    ids[order] = fine[np.cumsum(starts) - 1]
    return ids, places


def _clusters(points_m: Floats) -> tuple[Ints, Floats]:
    sweep = points_m @ np.array([0.3770, 0.5293, 0.7602])  # a direction in which few corners of rooms tie
    order = np.argsort(sweep, kind="stable")
    p, s = points_m[order], sweep[order]
    label = np.arange(len(p))
    off = 1
    while off < len(p) and (near := s[off:] - s[:-off] < 4 * TOL_M).any():
        a = np.flatnonzero(near)
        a = a[np.abs(p[a] - p[a + off]).max(axis=1) < 2 * TOL_M]
        for i in a:
            x, y = label[i], label[i + off]
            if x != y:
                label[label == max(x, y)] = min(x, y)
        off += 1
    heads = label == np.arange(len(p))
    ids = np.empty(len(p), np.int64)
    ids[order] = (np.cumsum(heads) - 1)[label]
    count = np.bincount(ids)
    places = np.stack([np.bincount(ids, points_m[:, c]) for c in range(3)], axis=1) / count[:, None]
    return ids, places
