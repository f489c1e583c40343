"""Rigid motions of the plane, and turning one facet into the plane of its neighbour."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely import Polygon

from steamwright.geometry.frame import Floats


@dataclass(frozen=True, slots=True)
class Motion:
    """A motion of the plane, ``p → turn · p + shift``; a flip has determinant −1. Lengths are kept."""

    turn: Floats
    shift: Floats

    @classmethod
    def identity(cls) -> Motion:
        """The motion that leaves everything where it is; always the same one."""
        return _STILL

    @classmethod
    def rotation(cls, angle_rad: float, about_m: ArrayLike = (0.0, 0.0)) -> Motion:
        """Turn counter-clockwise about a point.

        Parameters
        ----------
        angle_rad : float
            Angle. [rad]
        about_m : array_like, shape (2,)
            The point that stays. [m]

        Returns
        -------
        motion : Motion
            The rotation.

        References
        ----------
        own derivation
        """
        c, s = np.cos(angle_rad), np.sin(angle_rad)
        turn = np.array([[c, -s], [s, c]])
        about = np.asarray(about_m, float)
        return cls(turn, about - turn @ about)

    @classmethod
    def translation(cls, by_m: ArrayLike) -> Motion:
        """Shift by a vector, shape (2,). [m]"""
        return cls(np.eye(2), np.asarray(by_m, float))

    @classmethod
    def mirror(cls, point_m: ArrayLike, direction: ArrayLike) -> Motion:
        """Fold back over a line: the reflection that keeps every point of it.

        Parameters
        ----------
        point_m : array_like, shape (2,)
            A point of the line. [m]
        direction : array_like, shape (2,)
            Its unit direction.

        Returns
        -------
        motion : Motion
            The reflection, determinant −1.

        References
        ----------
        own derivation
        """
        d = np.asarray(direction, float)
        turn = 2.0 * np.outer(d, d) - np.eye(2)
        p = np.asarray(point_m, float)
        return cls(turn, p - turn @ p)

    def then(self, later: Motion) -> Motion:
        """This motion first, ``later`` after it."""
        return Motion(later.turn @ self.turn, later.turn @ self.shift + later.shift)

    def inverse(self) -> Motion:
        """The motion that undoes this one."""
        return Motion(self.turn.T, -self.turn.T @ self.shift)

    def points(self, points_m: ArrayLike) -> Floats:
        """Move points, shape (n, 2). [m]"""
        points = np.asarray(points_m, float)
        return (points if points.ndim > 1 else points[None]) @ self.turn.T + self.shift

    def polygon(self, polygon: Polygon) -> Polygon:
        """Move a polygon. [m]"""
        if self is _STILL:
            return polygon
        moved: Polygon = shapely.transform(polygon, self.points)
        return moved

    @property
    def is_flip(self) -> bool:
        """True where the motion turns the plane over."""
        (a, b), (c, d) = self.turn.tolist()
        return bool(a * d < b * c)

    @property
    def angle_deg(self) -> float:
        """The angle of ``R`` in ``R · diag(±1, 1)``. [deg]"""
        first = -self.turn[:, 0] if self.is_flip else self.turn[:, 0]
        return float(np.degrees(np.arctan2(first[1], first[0])))


_STILL = Motion(np.eye(2), np.zeros(2))


def unfold(start_there_m: ArrayLike, end_there_m: ArrayLike, start_here_m: ArrayLike, end_here_m: ArrayLike) -> Motion:
    """Turn a neighbour into the plane of a facet about their common stretch.

    Both facets are seen from the air, so the motion is a proper one and the neighbour comes to lie on the far side.

    Parameters
    ----------
    start_there_m, end_there_m : array_like, shape (2,)
        The stretch in the neighbour's coordinates. [m]
    start_here_m, end_here_m : array_like, shape (2,)
        The same two points in the facet's coordinates. [m]

    Returns
    -------
    motion : Motion
        Carries the neighbour's coordinates to the facet's.

    References
    ----------
    own derivation
    """
    (ax, ay), (bx, by) = np.asarray(start_there_m, float).tolist(), np.asarray(end_there_m, float).tolist()
    (ex, ey), (fx, fy) = np.asarray(start_here_m, float).tolist(), np.asarray(end_here_m, float).tolist()
    cos = (bx - ax) * (fx - ex) + (by - ay) * (fy - ey)
    sin = (bx - ax) * (fy - ey) - (by - ay) * (fx - ex)
    size = math.hypot(cos, sin)
    cos, sin = cos / size, sin / size
    return Motion(np.array([[cos, -sin], [sin, cos]]), np.array([ex - cos * ax + sin * ay, ey - sin * ax - cos * ay]))
