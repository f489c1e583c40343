"""Evaporation from wet mortar and from standing water, by published formulas that disagree, each with its range."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from steamwright.errors import OutOfRangeError
from steamwright.physics.moist_air import (
    GAS_CONSTANT_AIR_J_KGK,
    STANDARD_PRESSURE_PA,
    ZERO_CELSIUS_K,
    humidity_ratio,
    saturation_pressure_pa,
)

Floats = NDArray[np.float64]

UNDISTURBED_SHARE = 0.74
RISK_KG_M2_H = 1.0
MENZEL_UNCERTAINTY = 0.40
_KPA_PER_PSI = 6.894757
_LB_FT2_KG_M2 = 4.882428
_MPH_M_S = 0.44704


def _checked(surface_k: ArrayLike, air_k: ArrayLike, humidity: ArrayLike, low_k: float, high_k: float) -> tuple[Floats, Floats, Floats]:
    s, a, h = (np.asarray(v, float) for v in (surface_k, air_k, humidity))
    for name, value, low, high in (("surface_k", s, low_k, high_k), ("air_k", a, 253.15, 373.15), ("humidity", h, 0.0, 1.0)):
        if not ((value >= low) & (value <= high)).all():
            raise OutOfRangeError(f"the formula holds from {low:g} to {high:g}", path=name)
    return s, a, h


def uno_kg_m2_h(surface_k: ArrayLike, air_k: ArrayLike, humidity: ArrayLike, wind_m_s: ArrayLike = 0.0) -> Floats:
    """Water that a fresh, bleeding surface loses; a guide to risk, good to about 40 %.

    Parameters
    ----------
    surface_k : array_like
        Mortar, 0 to 50 C. [K]
    air_k : array_like
        Air. [K]
    humidity : array_like
        Relative humidity of the air. [1]
    wind_m_s : array_like
        Air speed. [m/s]

    Returns
    -------
    rate_kg_m2_h : ndarray
        Evaporation, not below 0. [kg/(m2 h)]

    Raises
    ------
    OutOfRangeError
        If a value lies outside the formula's range.

    References
    ----------
    Uno-1998

    Examples
    --------
    >>> round(float(uno_kg_m2_h(308.15, 308.15, 0.30, 15 / 3.6)), 2)
    1.36
    """
    s, a, h = _checked(surface_k, air_k, humidity, 273.15, 323.15)
    ts, ta, v = s - ZERO_CELSIUS_K, a - ZERO_CELSIUS_K, np.asarray(wind_m_s, float) * 3.6
    return np.maximum(5.0 * ((ts + 18.0) ** 2.5 - h * np.maximum(ta + 18.0, 0.0) ** 2.5) * (v + 4.0) * 1e-6, 0.0)


def menzel_kg_m2_h(surface_k: ArrayLike, air_k: ArrayLike, humidity: ArrayLike, wind_m_s: ArrayLike = 0.0) -> Floats:
    """The older formula behind the nomograph of hot-weather concreting.

    Parameters
    ----------
    surface_k : array_like
        Concrete or mortar, 0 to 50 C. [K]
    air_k : array_like
        Air. [K]
    humidity : array_like
        Relative humidity of the air. [1]
    wind_m_s : array_like
        Air speed. [m/s]

    Returns
    -------
    rate_kg_m2_h : ndarray
        Evaporation, not below 0. [kg/(m2 h)]

    Raises
    ------
    OutOfRangeError
        If a value lies outside the formula's range.

    References
    ----------
    Menzel-1954; ACI-305R

    Examples
    --------
    >>> round(float(menzel_kg_m2_h(294.261, 294.261, 0.70, 10 * 0.44704)) / 4.882428, 4)
    0.0582
    """
    s, a, h = _checked(surface_k, air_k, humidity, 273.15, 323.15)
    drop_psi = (saturation_pressure_pa(s) - h * saturation_pressure_pa(a)) / (1e3 * _KPA_PER_PSI)
    rate_lb_ft2_h = 0.44 * drop_psi * (0.253 + 0.096 * np.asarray(wind_m_s, float) / _MPH_M_S)
    return np.maximum(rate_lb_ft2_h * _LB_FT2_KG_M2, 0.0)


def shah_kg_m2_h(water_k: ArrayLike, air_k: ArrayLike, humidity: ArrayLike) -> Floats:
    """Undisturbed water in still air: natural convection, or the small rate that room currents keep up.

    Parameters
    ----------
    water_k : array_like
        Water, 7 to 94 C. [K]
    air_k : array_like
        Air. [K]
    humidity : array_like
        Relative humidity of the air, tested from 28 to 95 %. [1]

    Returns
    -------
    rate_kg_m2_h : ndarray
        Evaporation, not below 0; the mean deviation from tests was 18 %. [kg/(m2 h)]

    Raises
    ------
    OutOfRangeError
        If a value lies outside the formula's range.

    References
    ----------
    Shah-2002

    Examples
    --------
    >>> round(float(shah_kg_m2_h(301.15, 301.15, 0.50)), 3)
    0.136
    """
    s, a, h = _checked(water_k, air_k, humidity, 280.15, 367.15)
    p_s, p_a = saturation_pressure_pa(s), h * saturation_pressure_pa(a)
    # Densities are kilograms of dry air a cubic metre: only so does the published table come out.
    dry_s = (STANDARD_PRESSURE_PA - p_s) / (GAS_CONSTANT_AIR_J_KGK * s)
    dry_a = (STANDARD_PRESSURE_PA - p_a) / (GAS_CONSTANT_AIR_J_KGK * a)
    buoyant = 35.0 * dry_s * np.maximum(dry_a - dry_s, 0.0) ** (1.0 / 3.0) * (humidity_ratio(p_s) - humidity_ratio(p_a))
    return np.maximum(np.maximum(buoyant, 0.00005 * (p_s - p_a)), 0.0)


def carrier_kg_m2_h(water_k: ArrayLike, air_k: ArrayLike, humidity: ArrayLike, wind_m_s: ArrayLike = 0.0) -> Floats:
    """Water under moving air; pools left alone lost 74 % of it in tests.

    Parameters
    ----------
    water_k : array_like
        Water, 5 to 60 C. [K]
    air_k : array_like
        Air. [K]
    humidity : array_like
        Relative humidity of the air. [1]
    wind_m_s : array_like
        Air speed. [m/s]

    Returns
    -------
    rate_kg_m2_h : ndarray
        Evaporation, not below 0. [kg/(m2 h)]

    Raises
    ------
    OutOfRangeError
        If a value lies outside the formula's range.

    References
    ----------
    Smith-1998
    """
    s, a, h = _checked(water_k, air_k, humidity, 278.15, 333.15)
    drop_kpa = 1e-3 * (saturation_pressure_pa(s) - h * saturation_pressure_pa(a))
    latent_kj_kg = 2501.0 - 2.36 * (s - ZERO_CELSIUS_K)
    return np.maximum((0.089 + 0.0782 * np.asarray(wind_m_s, float)) * drop_kpa / latent_kj_kg * 3600.0, 0.0)


def flood_loss_mm(water_k: ArrayLike, air_k: ArrayLike, humidity: ArrayLike, hours: float = 24.0) -> tuple[Floats, Floats]:
    """How far a flooded pan may fall by evaporation alone: a band from low to high.

    Parameters
    ----------
    water_k : array_like
        Water, 7 to 60 C. [K]
    air_k : array_like
        Air. [K]
    humidity : array_like
        Relative humidity of the air. [1]
    hours : float
        Length of the test. [h]

    Returns
    -------
    low_mm : ndarray
        Still air. [mm]
    high_mm : ndarray
        Undisturbed pools, 74 % of the older formula; never under the low end. [mm]

    Raises
    ------
    OutOfRangeError
        If a value lies outside the formulas' range.

    References
    ----------
    Shah-2002; Smith-1998; own derivation for the band
    """
    low = shah_kg_m2_h(water_k, air_k, humidity) * hours
    high = UNDISTURBED_SHARE * carrier_kg_m2_h(water_k, air_k, humidity) * hours
    return low, np.maximum(low, high)
