"""A net of distances between points: what it predicts, its least squares, and what the residuals can tell.

The net may hold points fixed (a published trilateration) or be free (a room, which no outside point ties down). A
reading taken on another face than the reference runs between the corners of the polygon whose walls are each moved into
the room by their own depth, so readings on framing, board and tile adjust together.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steamwright.errors import NotConvergedError
from steamwright.geometry.frame import Floats

Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

_STEP = 1e-30  # of the complex-step derivative: no cancellation, so it can be as small as numbers go
_STRAIGHT = 3e-4  # squared sine of one degree: straighter corners have no meeting point of their walls
_DATUM = 3  # two shifts and a turn
_RANK = 1e-10  # ratio of eigenvalues below which a free network is loose


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
        return 0 if self.held.sum() >= 2 else _DATUM - 2 * int(self.held.sum())

    @property
    def dof(self) -> int:
        """Degrees of freedom: readings beyond the needed ones, where these are well placed. [count]"""
        return len(self.start) - (2 * int((~self.held).sum()) - self.defect)


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """Where an iteration ended. ``points_m`` has shape (n, 2)."""

    points_m: Floats
    chi2: float


@dataclass(frozen=True, slots=True, eq=False)
class Assessment:
    """What the readings and their residuals tell at the solution.

    ``design`` (m, k) is the Jacobian over the standard deviations, ``cofactor`` (k, k) the covariance of the free
    coordinates, ``projector`` (m, m) the part of errors that shows in residuals; its diagonal are the redundancies.
    """

    predicted_m: Floats
    residual_m: Floats
    chi2: float
    dof: int
    rank: int
    design: Floats
    cofactor: Floats
    projector: Floats
    redundancy: Floats
    standardized: Floats
    sd_m: Floats

    @property
    def sd_unit_ratio(self) -> float:
        """Standard deviation of unit weight, the square root of chi2 / dof; 0 without redundancy. [1]"""
        return float(np.sqrt(self.chi2 / self.dof)) if self.dof > 0 else 0.0


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
    return 1.0 if float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) >= 0 else -1.0


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
    along = np.roll(points_m, -1, axis=-2) - points_m
    length = np.sqrt((along * along).sum(axis=-1, keepdims=True))
    n1 = np.stack([-along[..., 1], along[..., 0]], axis=-1) * (sign / length)
    n0 = np.roll(n1, 1, axis=-2)
    n0, n1 = n0[..., None, :, :], n1[..., None, :, :]
    d1 = depths_m[..., None]
    d0 = np.roll(d1, 1, axis=-2)
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


def _datum(network: Network, points_m: Floats) -> Floats:
    """The motions that no distance sees, as orthonormal columns over the free coordinates."""
    if network.held.any():
        return np.zeros((2 * int((~network.held).sum()), 0))
    n = network.points
    d = points_m - points_m.mean(axis=0)
    g = np.zeros((2 * n, _DATUM))
    g[0::2, 0] = g[1::2, 1] = 1.0 / np.sqrt(n)
    g[0::2, 2], g[1::2, 2] = -d[:, 1], d[:, 0]
    g[:, 2] /= max(float(np.linalg.norm(g[:, 2])), 1e-12)
    return g


def fit(network: Network, start_m: Floats, iterations: int = 80) -> Fit:
    """Damped Gauss-Newton (Levenberg) from a start to the minimum of chi2 next to it.

    Which minimum that is depends on the start: a mirror solution of a trilateration is one too. Judge the chi2.

    Parameters
    ----------
    network : Network
        The net.
    start_m : ndarray, shape (n, 2)
        First coordinates; held points are taken from here. [m]
    iterations : int
        Most steps that are tried. [count]

    Returns
    -------
    found : Fit
        Adjusted points and their chi2, of a free net with the least change against the start.

    Raises
    ------
    NotConvergedError
        If the steps do not become small.

    References
    ----------
    own derivation
    """
    points = np.array(start_m, float)
    sign = area_sign(points)
    free = ~network.held
    weight = 1.0 / network.sd_m
    lost = (network.measured_m - predict(network, points, sign).real) * weight
    chi2, damping = float(lost @ lost), 1e-6
    for _ in range(iterations):
        a = jacobian(network, points, sign) * weight[:, None]
        normal = a.T @ a
        scale = float(np.trace(normal)) / len(normal)
        g = _datum(network, points)
        normal = normal + scale * (g @ g.T)
        pull = a.T @ lost
        while True:
            step = np.linalg.solve(normal + damping * scale * np.eye(len(normal)), pull)
            trial = points.copy()
            trial[free] += step.reshape(-1, 2)
            left = (network.measured_m - predict(network, trial, sign).real) * weight
            new = float(left @ left)
            if new <= chi2 or damping > 1e8:
                break
            damping *= 10.0
        small = float(np.abs(step).max()) < 1e-10
        if new <= chi2:
            points, lost, chi2, damping = trial, left, new, max(damping * 0.03, 1e-15)
        if small or damping > 1e8:
            return Fit(points, chi2)
    if float(np.abs(step).max()) < 1e-6:
        return Fit(points, chi2)
    raise NotConvergedError("the adjustment of the distances does not settle", path="survey.reading",
                            hint="give approximate coordinates of the stations")


def best_fit(network: Network, starts_m: Iterable[Floats]) -> Fit:
    """The lowest of the minima that several starts lead to.

    Parameters
    ----------
    network : Network
        The net.
    starts_m : iterable of ndarray, shape (n, 2)
        First coordinates. [m]

    Returns
    -------
    found : Fit
        The fit of lowest chi2.

    Raises
    ------
    NotConvergedError
        If no start leads to a minimum.

    References
    ----------
    own derivation
    """
    best: Fit | None = None
    for start in starts_m:
        try:
            found = fit(network, start)
        except (NotConvergedError, np.linalg.LinAlgError):
            continue
        if best is None or found.chi2 < best.chi2 * (1.0 - 1e-9):
            best = found
    if best is None:
        raise NotConvergedError("no start leads to a solution", path="survey.reading", hint="give approximate coordinates")
    return best


def assess(network: Network, points_m: Floats) -> Assessment:
    """Residuals, covariance and redundancy numbers at the solution.

    Parameters
    ----------
    network : Network
        The net.
    points_m : ndarray, shape (n, 2)
        Adjusted points. [m]

    Returns
    -------
    found : Assessment
        ``rank`` under the number of free coordinates less ``network.defect`` means that the net is loose.

    References
    ----------
    own derivation: pseudo-inverse of the normal matrix (minimum-norm datum), redundancy numbers of Baarda's
    reliability theory, standardized residuals v / (sd sqrt(r)).
    """
    sign = area_sign(points_m)
    predicted = predict(network, points_m, sign).real.astype(float)
    residual = predicted - network.measured_m
    design = jacobian(network, points_m, sign) / network.sd_m[:, None]
    values, vectors = np.linalg.eigh(design.T @ design)
    loose = values <= _RANK * values[-1]
    loose[: network.defect] = True
    kept = vectors[:, ~loose] / np.sqrt(values[~loose])
    cofactor = kept @ kept.T
    shown = design @ kept
    projector = np.eye(len(residual)) - shown @ shown.T
    redundancy = np.clip(np.diag(projector), 0.0, 1.0)
    redundancy = np.where(redundancy < 1e-9, 0.0, redundancy)
    whitened = residual / network.sd_m
    standardized = np.divide(whitened, np.sqrt(redundancy), out=np.zeros_like(whitened), where=redundancy > 1e-6)
    rank = int((~loose).sum())
    return Assessment(predicted, residual, float(whitened @ whitened), len(residual) - rank, rank, design, cofactor, projector,
                      redundancy, standardized, _semi_axes(network, cofactor))


def _semi_axes(network: Network, cofactor: Floats) -> Floats:
    """The larger semi-axis of every point's error ellipse; 0 for held points."""
    index = np.flatnonzero(~network.held)
    k = 2 * np.arange(len(index))
    xx, yy, xy = cofactor[k, k], cofactor[k + 1, k + 1], cofactor[k, k + 1]
    out = np.zeros(network.points)
    out[index] = np.sqrt(0.5 * (xx + yy) + np.hypot(0.5 * (xx - yy), xy))
    return out
