"""Least squares of a net of distances, and what its residuals can tell."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from steamwright.errors import NotConvergedError
from steamwright.geometry.frame import Floats
from steamwright.room.network import DATUM, Network, area_sign, jacobian, predict

_RANK = 1e-10  # ratio of eigenvalues below which a free network is loose
_SMALL_M = 1e-9  # a step that ends the iteration
_TURNED = 3  # descents, where a plan turns inside out on its way
_STUCK = 1e8  # damping beyond which no step helps


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


def _datum(network: Network, points_m: Floats) -> Floats:
    """The motions that no distance sees, as orthonormal columns over the free coordinates."""
    if network.held.any():
        return np.zeros((2 * int((~network.held).sum()), 0))
    n = network.points
    d = points_m - points_m.mean(axis=0)
    g = np.zeros((2 * n, DATUM))
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
    for _ in range(_TURNED):
        sign = area_sign(points)
        found = _descend(network, points, sign, iterations)
        if area_sign(found.points_m) == sign or not network.depths_m.any():
            break
        points = found.points_m  # the plan went over to its other side, where depths count the other way
    return found


def _descend(network: Network, start_m: Floats, sign: float, iterations: int) -> Fit:
    """Steps downhill, with the walls standing inward for one sense of the walk."""
    points = start_m.copy()
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
            small = float(np.abs(step).max()) < _SMALL_M
            if new <= chi2 or small or damping > _STUCK:
                break
            damping *= 10.0
        if new <= chi2:
            points, lost, chi2, damping = trial, left, new, max(damping * 0.03, 1e-15)
        if small or damping > _STUCK:
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
