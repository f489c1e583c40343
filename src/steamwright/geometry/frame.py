"""A flat coordinate system somewhere in the room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely import Polygon

Point2 = tuple[float, float]
Point3 = tuple[float, float, float]
Floats = NDArray[np.float64]


def cross(first: Floats, second: Floats) -> Floats:
    """Cross product of two single vectors, many times faster than the general one.

    Parameters
    ----------
    first, second : ndarray, shape (3,)
        Vectors.

    Returns
    -------
    product : ndarray, shape (3,)
        ``first × second``.

    References
    ----------
    own derivation
    """
    (a, b, c), (d, e, f) = first.tolist(), second.tolist()
    product: Floats = np.array((b * f - c * e, c * d - a * f, a * e - b * d))
    return product


def outlined(outline_m: Sequence[Point2], holes_m: Sequence[Sequence[Point2]] = ()) -> Polygon:
    """Make a polygon of rings of points, without the detours of a general constructor.

    Parameters
    ----------
    outline_m : sequence of (float, float)
        The outline. [m]
    holes_m : sequence of sequence of (float, float), optional
        The holes. [m]

    Returns
    -------
    shape : Polygon
        The polygon.

    References
    ----------
    own derivation
    """
    holes = [shapely.linearrings(np.array(h)) for h in holes_m] or None
    shape: Polygon = shapely.polygons(shapely.linearrings(np.array(outline_m)), holes=holes)
    return shape


@dataclass(frozen=True, slots=True)
class Frame:
    """Origin and two orthonormal directions; ``u × v`` points into the air. [m]"""

    origin_m: Point3
    u: Point3
    v: Point3

    @property
    def normal(self) -> Floats:
        """Unit normal, pointing into the air; shape (3,)."""
        (a, b, c), (d, e, f) = self.u, self.v
        n: Floats = np.array((b * f - c * e, c * d - a * f, a * e - b * d))
        return n

    def lift(self, points_m: ArrayLike) -> Floats:
        """Carry points of the plane into the room.

        Parameters
        ----------
        points_m : array_like, shape (n, 2)
            Plane coordinates (s, t). [m]

        Returns
        -------
        lifted_m : ndarray, shape (n, 3)
            Room coordinates. [m]

        References
        ----------
        own derivation
        """
        lifted: Floats = np.atleast_2d(np.asarray(points_m, float)) @ np.array((self.u, self.v)) + self.origin_m
        return lifted

    def drop(self, points_m: ArrayLike) -> Floats:
        """Project points of the room onto the plane.

        Parameters
        ----------
        points_m : array_like, shape (n, 3)
            Room coordinates. [m]

        Returns
        -------
        dropped_m : ndarray, shape (n, 2)
            Plane coordinates (s, t) of the feet of the perpendiculars. [m]

        References
        ----------
        own derivation
        """
        dropped: Floats = (np.atleast_2d(np.asarray(points_m, float)) - self.origin_m) @ np.array((self.u, self.v)).T
        return dropped
