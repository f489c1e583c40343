"""How far cement has come: temperature times time, and hours at a reference temperature."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from steamwright.errors import OutOfRangeError
from steamwright.physics.moist_air import ZERO_CELSIUS_K

Floats = NDArray[np.float64]

GAS_CONSTANT_J_MOLK = 8.314462
REFERENCE_K = 296.15
ACTIVATION_J_MOL = 40_000.0
ACTIVATION_RANGE_J_MOL = (33_500.0, 45_000.0)


def _history(hours: ArrayLike, temperature_k: ArrayLike) -> tuple[Floats, Floats]:
    h, t = np.broadcast_arrays(np.asarray(hours, float), np.asarray(temperature_k, float))
    if (h < 0.0).any():
        raise OutOfRangeError("a stretch of time cannot be negative", path="hours")
    if not ((t >= 253.15) & (t <= 353.15)).all():
        raise OutOfRangeError("mortar is between -20 and 80 C", path="temperature_k")
    return h, t


def nurse_saul_k_h(hours: ArrayLike, temperature_k: ArrayLike, datum_k: float = ZERO_CELSIUS_K) -> float:
    """Temperature-time factor: degrees above a datum, summed over hours; nothing is gained below the datum.

    Parameters
    ----------
    hours : array_like, shape (n,)
        Length of each stretch. [h]
    temperature_k : array_like, shape (n,)
        Mean temperature of each stretch. [K]
    datum_k : float
        Datum temperature. [K]

    Returns
    -------
    factor : float
        Degree-hours.

    Raises
    ------
    OutOfRangeError
        If a stretch is negative or a temperature cannot be.

    References
    ----------
    ASTM-C1074 eq. 1

    Examples
    --------
    >>> round(nurse_saul_k_h([6, 6, 12], [285.15, 289.15, 293.15]))
    408
    """
    h, t = _history(hours, temperature_k)
    return float((h * np.maximum(t - datum_k, 0.0)).sum())


def cold_activation_j_mol(temperature_k: ArrayLike) -> Floats:
    """Activation energy that rises in the cold: 33.5 kJ/mol from 20 C up, 1.47 more for every degree below.

    Parameters
    ----------
    temperature_k : array_like
        Temperature. [K]

    Returns
    -------
    activation_j_mol : ndarray
        Energy per mole.

    References
    ----------
    Freiesleben-1977
    """
    t = np.asarray(temperature_k, float) - ZERO_CELSIUS_K
    return 33_500.0 + 1470.0 * np.maximum(20.0 - t, 0.0)


def equivalent_age_h(
    hours: ArrayLike, temperature_k: ArrayLike, activation_j_mol: float | Callable[[ArrayLike], Floats] = ACTIVATION_J_MOL,
    reference_k: float = REFERENCE_K,
) -> float:  # fmt: skip
    """Hours at a reference temperature that bring cement as far as the real history does.

    Parameters
    ----------
    hours : array_like, shape (n,)
        Length of each stretch. [h]
    temperature_k : array_like, shape (n,)
        Mean temperature of each stretch. [K]
    activation_j_mol : float or callable
        Activation energy, or a function of temperature; sources disagree between 33.5 and 45 kJ/mol, so show both ends.
    reference_k : float
        23 C by the American custom, 20 C by the European. [K]

    Returns
    -------
    age_h : float
        Equivalent age. [h]

    Raises
    ------
    OutOfRangeError
        If a stretch is negative or a temperature cannot be.

    References
    ----------
    Freiesleben-1977; ASTM-C1074 annex X1

    Examples
    --------
    >>> round(equivalent_age_h([6, 6, 12], [285.15, 289.15, 293.15]), 2)
    17.42
    """
    h, t = _history(hours, temperature_k)
    energy = activation_j_mol(t) if callable(activation_j_mol) else activation_j_mol
    return float((h * np.exp(-energy / GAS_CONSTANT_J_MOLK * (1.0 / t - 1.0 / reference_k))).sum())
