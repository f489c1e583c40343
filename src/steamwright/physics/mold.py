"""Growth of mold on a surface from hourly temperature and humidity: the index of Hukka and Viitanen with later classes.

Index 0 none, 1 first signs under the microscope, 3 seen by eye, 6 all covered. The design criterion keeps it under 3.
It tells of the risk behind tile, not of health, and holds for 0 to 50 C.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from steamwright.errors import InputError
from steamwright.physics.moist_air import ZERO_CELSIUS_K

Floats = NDArray[np.float64]
Class = Literal["very_sensitive", "sensitive", "medium_resistant", "resistant"]

LIMIT_INDEX = 3.0
_HOURS_A_WEEK = 168.0


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """Constants of a class of material: speed before and after index 1, the highest index, least humidity, decline."""

    early: float
    late: float
    a: float
    b: float
    c: float
    least_humidity: float
    decline: float


CLASSES: dict[Class, Sensitivity] = {
    "very_sensitive": Sensitivity(1.0, 2.0, 1.0, 7.0, 2.0, 0.80, 1.0),
    "sensitive": Sensitivity(0.578, 0.386, 0.3, 6.0, 1.0, 0.80, 0.25),
    "medium_resistant": Sensitivity(0.072, 0.097, 0.0, 5.0, 1.5, 0.85, 0.1),
    "resistant": Sensitivity(0.033, 0.014, 0.0, 3.0, 1.0, 0.85, 0.1),
}


def critical_humidity(temperature_k: ArrayLike, least: float = 0.80) -> Floats:
    """Humidity under which mold does not grow.

    Parameters
    ----------
    temperature_k : array_like
        Surface. [K]
    least : float
        Humidity that it takes in warmth, 0.80 or 0.85 by class of material. [1]

    Returns
    -------
    humidity : ndarray
        Critical relative humidity; 1 below freezing. [1]

    References
    ----------
    Hukka-1999 eq. 1; ASHRAE-160 clause 6.1

    Examples
    --------
    >>> round(float(critical_humidity(278.15)), 4)
    0.8802
    """
    t = np.asarray(temperature_k, float) - ZERO_CELSIUS_K
    cold = (-0.00267 * t**3 + 0.160 * t**2 - 3.13 * t + 100.0) / 100.0
    return np.where(t <= 0.0, 1.0, np.where(t < 20.0, np.maximum(cold, least), least))


def weeks_to_start(temperature_k: float, humidity: float, sapwood: bool = True) -> float:
    """Weeks until the first growth on wood at a steady climate.

    Parameters
    ----------
    temperature_k : float
        Surface, above freezing. [K]
    humidity : float
        Relative humidity. [1]
    sapwood : bool
        Pine rather than spruce.

    Returns
    -------
    weeks : float
        Time to index 1.

    References
    ----------
    Hukka-1999 eq. 2
    """
    t, h = temperature_k - ZERO_CELSIUS_K, 100.0 * humidity
    return float(np.exp(-0.68 * np.log(t) - 13.9 * np.log(h) + 0.14 * (0.0 if sapwood else 1.0) + 66.02))


def mold_index(temperature_k: ArrayLike, humidity: ArrayLike, sensitivity: Class = "sensitive", step_h: float = 1.0) -> Floats:
    """Mold index through time.

    Parameters
    ----------
    temperature_k : array_like, shape (n,)
        Surface at even steps. [K]
    humidity : array_like, shape (n,)
        Relative humidity there; above 1 counts as 1. [1]
    sensitivity : str
        Class of material.
    step_h : float
        Length of a step. [h]

    Returns
    -------
    index : ndarray, shape (n,)
        Index at the end of every step, 0 to 6. [1]

    Raises
    ------
    InputError
        If the arrays differ in length or hold a gap.

    References
    ----------
    Hukka-1999 eq. 3 to 7; ASHRAE-160 clause 6.1 and addendum e
    """
    t, h = np.asarray(temperature_k, float) - ZERO_CELSIUS_K, np.minimum(np.asarray(humidity, float), 1.0)
    if t.shape != h.shape or t.ndim != 1 or not np.isfinite(t).all() or not np.isfinite(h).all():
        raise InputError("temperature and humidity must be as long and without gaps", path="humidity")
    kind = CLASSES[sensitivity]
    critical = critical_humidity(t + ZERO_CELSIUS_K, kind.least_humidity)
    wet = (h > critical) & (t > 0.0)
    share = np.clip((critical - h) / (critical - 1.0 - 1e-12), 0.0, 1.0)
    ceiling = np.maximum(kind.a + kind.b * share - kind.c * share**2, 0.0)
    tt = np.maximum(t, 0.1)
    # Growth in a step on sapwood of pine; the class scales it.
    pace = step_h / (_HOURS_A_WEEK * np.exp(-0.68 * np.log(tt) - 13.9 * np.log(100.0 * h + 1e-9) + 66.02))
    index, dry_h, level = np.empty(len(t)), 0.0, 0.0
    for k in range(len(t)):
        if wet[k]:
            dry_h = 0.0
            k1 = kind.early if level < 1.0 else kind.late
            k2 = max(1.0 - np.exp(2.3 * (level - ceiling[k])), 0.0)
            level += pace[k] * k1 * k2
        else:
            dry_h += step_h
            fall = 0.00133 if dry_h <= 6.0 else (0.0 if dry_h <= 24.0 else 0.000667)
            level = max(level - kind.decline * fall * step_h, 0.0)
        index[k] = level
    return index
