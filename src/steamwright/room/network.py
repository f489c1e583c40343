"""A net of distances between points: what it predicts, and how that changes with the points.

The net may hold points fixed (a published trilateration) or be free (a room, which no outside point ties down). A
reading taken on another face than the reference runs between the corners of the polygon whose walls are each moved into
the room by their own depth, so readings on framing, board and tile adjust together.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steamwright.geometry.frame import Floats

Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

_STEP = 1e-30  # of the complex-step derivative: no cancellation, so it can be as small as numbers go
_STRAIGHT = 3e-4  # squared sine of one degree: straighter corners have no meeting point of their walls
DATUM = 3  # two shifts and a turn


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """Distances between points. [m]

    ``start`` and ``end`` (m,) index the points; ``face`` (m,) picks the row of ``depths_m`` (faces, n): how far each
    wall, from point i to point i + 1, stands into the room on that face. ``held`` (n,) marks points that stay.
    """

    start: Ints
    end: Ints
    measured_m: Floats
    sd_m: Floats
    face: Ints
    depths_m: Floats
    held: Flags

    @property
    def points(self) -> int:
        """Number of points. [count]"""
        return len(self.held)

    @property
    def defect(self) -> int:
        """How many motions of the whole net no distance sees: 3 for a free one. [count]"""
        return 0 if self.held.sum() >= 2 else DATUM - 2 * int(self.held.sum())

    @property
    def dof(self) -> int:
        """Degrees of freedom: readings beyond the needed ones, where these are well placed. [count]"""
        return len(self.start) - (2 * int((~self.held).sum()) - self.defect)


def area_sign(points_m: Floats) -> float:
    """Which way round a polygon runs.

    Parameters
    ----------
    points_m : ndarray, shape (n, 2)
        Its corners in order. [m]

    Returns
    -------
    sign : float
        1.0 counter-clockwise, -1.0 clockwise. [1]

    References
    ----------
    own derivation
    """
    x, y = points_m[:, 0].real, points_m[:, 1].real
    after = np.arange(len(x)) - len(x) + 1
    return 1.0 if float(x @ y[after] - y @ x[after]) >= 0 else -1.0


def offset_corners(points_m: NDArray[np.inexact], depths_m: Floats, sign: float) -> NDArray[np.inexact]:
    """Corners of a polygon whose walls are each moved inward by their own depth.

    Parameters
    ----------
    points_m : ndarray, shape (..., n, 2)
        Corners on the reference face; complex numbers pass through. [m]
    depths_m : ndarray, shape (faces, n)
        How far the wall from corner i to i + 1 moves into the room. [m]
    sign : float
        1.0 if the corners run counter-clockwise, else -1.0. [1]

    Returns
    -------
    corners_m : ndarray, shape (..., faces, n, 2)
        Where the moved walls meet; at a straight corner, beside it. [m]

    References
    ----------
    own derivation: the point at depth d0 from one wall and d1 from the next, n0 and n1 being their inward normals.
    """
    before = np.arange(points_m.shape[-2]) - 1  # taking by place costs a tenth of rolling
    after = before + 2 - len(before)
    along = points_m.take(after, axis=-2) - points_m
    length = np.sqrt((along * along).sum(axis=-1, keepdims=True))
    n1 = np.stack([-along[..., 1], along[..., 0]], axis=-1) * (sign / length)
    n0 = n1.take(before, axis=-2)
    n0, n1 = n0[..., None, :, :], n1[..., None, :, :]
    d1 = depths_m[..., None]
    d0 = d1.take(before, axis=-2)
    c = (n0 * n1).sum(axis=-1, keepdims=True)
    sine2 = 1.0 - c * c
    straight = sine2.real < _STRAIGHT
    sine2 = np.where(straight, 1.0, sine2)
    meeting = ((d0 - c * d1) * n0 + (d1 - c * d0) * n1) / sine2
    beside = 0.25 * (d0 + d1) * (n0 + n1)
    moved: NDArray[np.inexact] = points_m[..., None, :, :] + np.where(straight, beside, meeting)
    return moved


def predict(network: Network, points_m: NDArray[np.inexact], sign: float) -> NDArray[np.inexact]:
    """Distances that the readings would show if the points stood there.

    Parameters
    ----------
    network : Network
        The net.
    points_m : ndarray, shape (..., n, 2)
        Points on the reference face; complex numbers pass through. [m]
    sign : float
        1.0 if the points run counter-clockwise, else -1.0. [1]

    Returns
    -------
    predicted_m : ndarray, shape (..., m)
        Distances, each on its own face. [m]

    References
    ----------
    own derivation
    """
    if network.depths_m.any():
        corners = offset_corners(points_m, network.depths_m, sign)
        d = corners[..., network.face, network.end, :] - corners[..., network.face, network.start, :]
    else:
        d = points_m[..., network.end, :] - points_m[..., network.start, :]
    predicted: NDArray[np.inexact] = np.sqrt((d * d).sum(axis=-1))
    return predicted


def jacobian(network: Network, points_m: Floats, sign: float) -> Floats:
    """Derivative of the predicted distances by the coordinates of the points that may move.

    Parameters
    ----------
    network : Network
        The net.
    points_m : ndarray, shape (n, 2)
        Points on the reference face. [m]
    sign : float
        1.0 if the points run counter-clockwise, else -1.0. [1]

    Returns
    -------
    derivative : ndarray, shape (m, k)
        In the order x, y of every free point. [1]

    References
    ----------
    own derivation: complex step, exact to machine precision.
    """
    n = network.points
    free = np.flatnonzero(np.repeat(~network.held, 2))
    moved = np.tile(points_m.reshape(1, 2 * n).astype(complex), (len(free), 1))
    moved[np.arange(len(free)), free] += 1j * _STEP
    derivative: Floats = predict(network, moved.reshape(-1, n, 2), sign).imag.T / _STEP
    return derivative
