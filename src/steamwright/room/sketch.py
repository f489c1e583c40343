"""From corners that a finger tapped to stations, turns and the readings that hold the plan and check each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import LineString, Polygon

from steamwright.errors import GeometryError
from steamwright.geometry.frame import Floats

MOST_STATIONS = 30
_NEAREST_M = 0.02
_CHECKED = 0.12  # share of an error in a reading that shows; below it the reading is as good as unchecked
_WORTH = 0.02  # less than that in all is not worth a walk across the room
_STRAIGHT_DEG = 20.0
_NEW = 1e-3  # a tie that a hand's width at its end would not move holds nothing


@dataclass(frozen=True, slots=True)
class SketchedPlan:
    """A plan as it was sketched. ``readings`` are pairs of kind and stations, in the order in which a person walks."""

    stations: tuple[str, ...]
    walls: tuple[str, ...]
    turns: tuple[tuple[str, str], ...]
    approximate_m: tuple[tuple[float, float], ...]
    readings: tuple[tuple[str, str], ...]


def station_name(index: int) -> str:
    """Name a station by its place.

    Parameters
    ----------
    index : int
        From 0. [count]

    Returns
    -------
    name : str
        A to Z, then A1 to Z1 and so on.

    References
    ----------
    own derivation
    """
    turn, letter = divmod(index, 26)
    return chr(ord("A") + letter) + (str(turn) if turn else "")


def sketch_plan(points_m: Sequence[tuple[float, float]]) -> SketchedPlan:
    """Make stations of sketched corners and say what to tape.

    Parameters
    ----------
    points_m : sequence of pair of float
        Corners in order round the room, either way; the first is not repeated. [m]

    Returns
    -------
    plan : SketchedPlan
        Every wall, then as few ties across the air as hold the plan and let each length be checked by the others, where
        the corners allow it.

    Raises
    ------
    GeometryError
        Fewer than three corners, two on one another, walls that cross, or too many.

    References
    ----------
    own derivation (rank and redundancy of the network of lengths)
    """
    points = np.asarray(points_m, float)
    outline = _outline(points)
    n = len(points)
    names = tuple(station_name(i) for i in range(n))
    walls = [(i, (i + 1) % n) for i in range(n)]
    ties = _ties(points, walls, outline)
    readings = [("wall", f"{names[a]}-{names[b]}") for a, b in walls]
    readings += [("diagonal", f"{names[a]}-{names[b]}") for a, b in sorted(ties)]
    approximate = tuple((round(float(x), 4), round(float(y), 4)) for x, y in points - points[0])
    return SketchedPlan(names, tuple(of for kind, of in readings if kind == "wall"), _turns(points, names), approximate, tuple(readings))


def _outline(points_m: Floats) -> Polygon:
    if len(points_m) < 3:
        raise GeometryError("a room has at least three corners", path="points_m", hint="tap every corner once, in order")
    if len(points_m) > MOST_STATIONS:
        raise GeometryError(f"more than {MOST_STATIONS} corners", path="points_m", hint="leave out what is no corner of a wall")
    if not np.isfinite(points_m).all() or np.abs(points_m).max() > 1000.0:
        raise GeometryError("a corner lies nowhere near the others", path="points_m", hint="tap it again")
    for i, point in enumerate(points_m):
        gaps = np.hypot(*(points_m[:i] - point).T)
        if i and gaps.min() < _NEAREST_M:
            raise GeometryError(f"corner {station_name(i)} lies on corner {station_name(int(gaps.argmin()))}", path=f"points_m[{i}]",
                                hint="move one of the two")
    outline = Polygon(points_m)
    if not outline.is_valid or outline.area < 1e-3:
        raise GeometryError("walls of the sketch cross or lie on one another", path="points_m",
                            hint="tap the corners in order round the room")
    return outline


def _turns(points_m: Floats, names: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """The way the walls turn at each corner as the person walks, where it is clear."""
    into, out = points_m - np.roll(points_m, 1, axis=0), np.roll(points_m, -1, axis=0) - points_m
    angle = np.degrees(np.arctan2(into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0], (into * out).sum(axis=1)))
    return tuple((name, "left" if a > 0 else "right") for name, a in zip(names, angle, strict=True) if abs(a) > _STRAIGHT_DEG)


def _ties(points_m: Floats, walls: Sequence[tuple[int, int]], outline: Polygon) -> list[tuple[int, int]]:
    """Ties that hold the plan, then those that check it; of several, the one that steps over fewest corners comes first."""
    n = len(points_m)
    seen = outline.buffer(1e-6)
    across = [(a, b) for a in range(n) for b in range(a + 2, n) if (a, b) != (0, n - 1) and seen.covers(LineString(points_m[[a, b]]))]
    across.sort(key=lambda t: (min(t[1] - t[0], n - t[1] + t[0]), t))
    taken = list(walls)
    basis = np.linalg.qr(_rows(points_m, walls).T)[0].T
    for tie in across:
        row = _rows(points_m, [tie])[0]
        new = row - (basis @ row) @ basis
        if np.hypot.reduce(new) > _NEW:
            basis = np.vstack([basis, new / np.hypot.reduce(new)])
            taken.append(tie)
    left = [tie for tie in across if tie not in taken]
    while left:
        gains = _gains(points_m, taken, left)
        if gains.max() < _WORTH:
            break
        taken.append(left.pop(int(gains.argmax())))
    return taken[n:]


def _gains(points_m: Floats, taken: Sequence[tuple[int, int]], left: Sequence[tuple[int, int]]) -> Floats:
    """How much better each further tie lets those lengths be checked that are not checked well yet."""
    rows, more = _rows(points_m, taken), _rows(points_m, left)
    inverse = np.linalg.pinv(rows.T @ rows, rcond=1e-6, hermitian=True)
    shares = np.clip(1.0 - np.einsum("ij,jk,ik->i", rows, inverse, rows), 0.0, _CHECKED)
    new = (rows @ inverse @ more.T) ** 2 / (1.0 + np.einsum("ij,jk,ik->i", more, inverse, more))
    gains: Floats = np.round((np.minimum(shares[:, None] + new, _CHECKED) - shares[:, None]).sum(axis=0), 9)
    return gains


def _rows(points_m: Floats, lengths: Sequence[tuple[int, int]]) -> Floats:
    rows = np.zeros((len(lengths), 2 * len(points_m)))
    for row, (a, b) in zip(rows, lengths, strict=True):
        along = points_m[b] - points_m[a]
        along = along / np.hypot(*along)
        row[2 * a : 2 * a + 2], row[2 * b : 2 * b + 2] = -along, along
    return rows
