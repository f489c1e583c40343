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


def crosses(first: Floats, second: Floats) -> Floats:
    """Cross products of many pairs of vectors, without the detours of the general one.

    Parameters
    ----------
    first, second : ndarray, shape (n, 3)
        Vectors.

    Returns
    -------
    products : ndarray, shape (n, 3)
        ``first × second``.

    References
    ----------
    own derivation
    """
    (a, b, c), (d, e, f) = first.T, second.T
    products: Floats = np.stack((b * f - c * e, c * d - a * f, a * e - b * d), axis=1)
    return products


def vector_product(first: Point3, second: Point3) -> Point3:
    """Cross product of two single vectors in plain numbers, where an array would cost more than the product.

    Parameters
    ----------
    first, second : (float, float, float)
        Vectors.

    Returns
    -------
    product : (float, float, float)
        ``first × second``.

    References
    ----------
    own derivation
    """
    (a, b, c), (d, e, f) = first, second
    return b * f - c * e, c * d - a * f, a * e - b * d


def scalar_product(first: Point3, second: Point3) -> float:
    """Dot product of two single vectors in plain numbers.

    Parameters
    ----------
    first, second : (float, float, float)
        Vectors.

    Returns
    -------
    product : float
        ``first · second``.

    References
    ----------
    own derivation
    """
    return first[0] * second[0] + first[1] * second[1] + first[2] * second[2]


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


def outlines(rings_m: Sequence[Sequence[Point2]]) -> NDArray[np.object_]:
    """Make many polygons without holes in one go.

    Parameters
    ----------
    rings_m : sequence of sequence of (float, float)
        Their outlines, each of three points or more. [m]

    Returns
    -------
    shapes : ndarray of Polygon, shape (n,)
        The polygons.

    References
    ----------
    own derivation
    """
    points = np.array([p for ring in rings_m for p in ring], dtype=float).reshape(-1, 2)
    rings = shapely.linearrings(points, indices=np.repeat(np.arange(len(rings_m)), [len(ring) for ring in rings_m]))
    shapes: NDArray[np.object_] = np.asarray(shapely.polygons(rings))
    return shapes


@dataclass(frozen=True, slots=True)
class Frame:
    """Origin and two orthonormal directions; ``u × v`` points into the air. [m]"""

    origin_m: Point3
    u: Point3
    v: Point3

    @property
    def normal(self) -> Floats:
        """Unit normal, pointing into the air; shape (3,)."""
        n: Floats = np.array(vector_product(self.u, self.v))
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
