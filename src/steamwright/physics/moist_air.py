"""Moist air: saturation, humidity, enthalpy and density, from arrays to arrays.

Saturation pressure comes from the formulations of the International Association for the Properties of Water
and Steam, not from the short exponential of the building standards, which is 0.2 % low where a steam room lives.
The short form is here too, because the standards' own worked examples are computed with it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from steamwright.errors import OutOfRangeError

Floats = NDArray[np.float64]

ZERO_CELSIUS_K = 273.15
STANDARD_PRESSURE_PA = 101_325.0
GAS_CONSTANT_AIR_J_KGK = 287.042
GAS_CONSTANT_VAPOR_J_KGK = 461.524
MOLAR_MASS_RATIO = 0.621945
CP_AIR_J_KGK = 1006.0
CP_VAPOR_J_KGK = 1860.0
CP_WATER_J_KGK = 4186.0
LATENT_HEAT_0C_J_KG = 2.501e6

_TRIPLE_K, _TRIPLE_PA = 273.16, 611.657
_LOW_K, _HIGH_K = 173.15, 473.15
_ICE = ((-21.2144006, 0.00333333333), (27.3203819, 1.20666667), (-6.10598130, 1.70333333))
_N = (
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7,
    0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3,
)  # fmt: skip


def _inside(value: Floats, low: float, high: float, name: str) -> None:
    bad = ~((value >= low) & (value <= high))
    if bad.any():
        first = float(value[bad].flat[0])
        raise OutOfRangeError(f"{first:g} is outside {low:g} to {high:g}", path=name)


def saturation_pressure_pa(temperature_k: ArrayLike) -> Floats:
    """Vapor pressure over water, over ice below the triple point.

    Parameters
    ----------
    temperature_k : array_like
        Temperature, 173.15 to 473.15. [K]

    Returns
    -------
    pressure_pa : ndarray
        Saturation pressure, same shape. [Pa]

    Raises
    ------
    OutOfRangeError
        If a temperature lies outside the range.

    References
    ----------
    iapws-if97 region 4 eq. 30; iapws-r14 eq. 6

    Examples
    --------
    >>> round(float(saturation_pressure_pa(300.0)), 3)
    3536.589
    """
    t = np.asarray(temperature_k, float)
    _inside(t, _LOW_K, _HIGH_K, "temperature_k")
    theta = np.minimum(t, _TRIPLE_K) / _TRIPLE_K
    ice = _TRIPLE_PA * np.exp(sum(a * theta**b for a, b in _ICE) / theta)
    tw = np.maximum(t, ZERO_CELSIUS_K)
    v = tw + _N[8] / (tw - _N[9])
    a, b, c = v * v + _N[0] * v + _N[1], (_N[2] * v + _N[3]) * v + _N[4], (_N[5] * v + _N[6]) * v + _N[7]
    water = 1e6 * (2.0 * c / (-b + np.sqrt(b * b - 4.0 * a * c))) ** 4
    pressure: Floats = np.where(t < _TRIPLE_K, ice, water)
    return pressure


def saturation_temperature_k(pressure_pa: ArrayLike) -> Floats:
    """Temperature at which a vapor pressure saturates: the dew point, below the triple point the frost point.

    Parameters
    ----------
    pressure_pa : array_like
        Vapor pressure, 0.0014 to 1.554e6. [Pa]

    Returns
    -------
    temperature_k : ndarray
        Dew point, same shape. [K]

    Raises
    ------
    OutOfRangeError
        If a pressure lies outside the range.

    References
    ----------
    iapws-if97 region 4 eq. 31; iapws-r14 eq. 6 inverted

    Examples
    --------
    >>> round(float(saturation_temperature_k(1e5)), 6)
    372.755919
    """
    p = np.asarray(pressure_pa, float)
    _inside(p, float(saturation_pressure_pa(_LOW_K)), float(saturation_pressure_pa(_HIGH_K)), "pressure_pa")
    beta = (np.maximum(p, 611.0) * 1e-6) ** 0.25
    e, f, g = (beta + _N[2]) * beta + _N[5], (_N[0] * beta + _N[3]) * beta + _N[6], (_N[1] * beta + _N[4]) * beta + _N[7]
    d = 2.0 * g / (-f - np.sqrt(f * f - 4.0 * e * g))
    water = (_N[9] + d - np.sqrt((_N[9] + d) ** 2 - 4.0 * (_N[8] + _N[9] * d))) / 2.0
    target = np.log(np.minimum(p, _TRIPLE_PA) / _TRIPLE_PA)
    theta = 1.0 / (1.0 - target / 22.5)
    for _ in range(6):  # Newton on ln p, which is nearly straight in 1/T
        value = sum(a * theta ** (b - 1.0) for a, b in _ICE)
        slope = sum(a * (b - 1.0) * theta ** (b - 2.0) for a, b in _ICE)
        theta = theta - (value - target) / slope
    temperature: Floats = np.where(p < _TRIPLE_PA, theta * _TRIPLE_K, water)
    return temperature


def magnus_pressure_pa(temperature_k: ArrayLike) -> Floats:
    """Saturation pressure by the short form of the building standards, for their own worked examples only.

    Parameters
    ----------
    temperature_k : array_like
        Temperature. [K]

    Returns
    -------
    pressure_pa : ndarray
        Saturation pressure; 0.2 % low at 45 C. [Pa]

    References
    ----------
    iso-13788 annex E

    Examples
    --------
    >>> round(float(magnus_pressure_pa(293.15)), 1)
    2337.0
    """
    t = np.asarray(temperature_k, float) - ZERO_CELSIUS_K
    return 610.5 * np.where(t >= 0.0, np.exp(17.269 * t / (237.3 + t)), np.exp(21.875 * t / (265.5 + t)))


def magnus_temperature_k(pressure_pa: ArrayLike) -> Floats:
    """Inverse of the short form.

    Parameters
    ----------
    pressure_pa : array_like
        Vapor pressure, positive. [Pa]

    Returns
    -------
    temperature_k : ndarray
        Dew point by the short form. [K]

    References
    ----------
    iso-13788 annex E
    """
    r = np.log(np.asarray(pressure_pa, float) / 610.5)
    return ZERO_CELSIUS_K + np.where(r >= 0.0, 237.3 * r / (17.269 - r), 265.5 * r / (21.875 - r))


def humidity_ratio(vapor_pressure_pa: ArrayLike, pressure_pa: ArrayLike = STANDARD_PRESSURE_PA) -> Floats:
    """Water per dry air, of ideal gases.

    Parameters
    ----------
    vapor_pressure_pa : array_like
        Vapor pressure, 0 to below the total pressure. [Pa]
    pressure_pa : array_like
        Total pressure. [Pa]

    Returns
    -------
    ratio_kg_kg : ndarray
        Humidity ratio; the real mixture holds 0.6 % more at 45 C. [kg/kg]

    Raises
    ------
    OutOfRangeError
        If the vapor pressure is negative or not below the total pressure.

    References
    ----------
    ashrae-hof ch. 1 eq. 20
    """
    p_v, p = np.broadcast_arrays(np.asarray(vapor_pressure_pa, float), np.asarray(pressure_pa, float))
    if (p_v < 0).any() or (p_v >= p).any():
        raise OutOfRangeError("the vapor pressure must lie between zero and the total pressure", path="vapor_pressure_pa")
    ratio: Floats = MOLAR_MASS_RATIO * p_v / (p - p_v)
    return ratio


def vapor_pressure_pa(ratio_kg_kg: ArrayLike, pressure_pa: ArrayLike = STANDARD_PRESSURE_PA) -> Floats:
    """Vapor pressure of air with a given humidity ratio.

    Parameters
    ----------
    ratio_kg_kg : array_like
        Humidity ratio. [kg/kg]
    pressure_pa : array_like
        Total pressure. [Pa]

    Returns
    -------
    vapor_pressure_pa : ndarray
        Vapor pressure. [Pa]

    References
    ----------
    ashrae-hof ch. 1 eq. 20 inverted
    """
    w = np.asarray(ratio_kg_kg, float)
    pressure: Floats = np.asarray(pressure_pa, float) * w / (MOLAR_MASS_RATIO + w)
    return pressure


def enthalpy_j_kg(temperature_k: ArrayLike, ratio_kg_kg: ArrayLike) -> Floats:
    """Enthalpy of moist air per kilogram of dry air, zero for dry air and liquid water at 0 C.

    Parameters
    ----------
    temperature_k : array_like
        Temperature. [K]
    ratio_kg_kg : array_like
        Humidity ratio. [kg/kg]

    Returns
    -------
    enthalpy_j_kg : ndarray
        Enthalpy. [J/kg]

    References
    ----------
    ashrae-hof ch. 1 eq. 30
    """
    t = np.asarray(temperature_k, float) - ZERO_CELSIUS_K
    return CP_AIR_J_KGK * t + np.asarray(ratio_kg_kg, float) * (LATENT_HEAT_0C_J_KG + CP_VAPOR_J_KGK * t)


def density_kg_m3(temperature_k: ArrayLike, vapor_pressure_pa: ArrayLike, pressure_pa: ArrayLike = STANDARD_PRESSURE_PA) -> Floats:
    """Density of moist air, of ideal gases.

    Parameters
    ----------
    temperature_k : array_like
        Temperature. [K]
    vapor_pressure_pa : array_like
        Vapor pressure. [Pa]
    pressure_pa : array_like
        Total pressure. [Pa]

    Returns
    -------
    density_kg_m3 : ndarray
        Density; saturated air at 45 C is lighter than room air. [kg/m3]

    References
    ----------
    ashrae-hof ch. 1 eq. 11

    Examples
    --------
    >>> round(float(density_kg_m3(318.15, saturation_pressure_pa(318.15))), 3)
    1.07
    """
    t, p_v = np.asarray(temperature_k, float), np.asarray(vapor_pressure_pa, float)
    density: Floats = (np.asarray(pressure_pa, float) - p_v) / (GAS_CONSTANT_AIR_J_KGK * t) + p_v / (GAS_CONSTANT_VAPOR_J_KGK * t)
    return density


def vapor_density_kg_m3(temperature_k: ArrayLike, vapor_pressure_pa: ArrayLike) -> Floats:
    """Water vapor per volume of air.

    Parameters
    ----------
    temperature_k : array_like
        Temperature. [K]
    vapor_pressure_pa : array_like
        Vapor pressure. [Pa]

    Returns
    -------
    density_kg_m3 : ndarray
        Absolute humidity. [kg/m3]

    References
    ----------
    ashrae-hof ch. 1 eq. 11
    """
    return np.asarray(vapor_pressure_pa, float) / (GAS_CONSTANT_VAPOR_J_KGK * np.asarray(temperature_k, float))


def air_permeability_kg_pa_s_m(temperature_k: ArrayLike, pressure_pa: ArrayLike = STANDARD_PRESSURE_PA) -> Floats:
    """Vapor permeability of still air, against which resistance factors are counted.

    Parameters
    ----------
    temperature_k : array_like
        Temperature. [K]
    pressure_pa : array_like
        Barometric pressure. [Pa]

    Returns
    -------
    permeability_kg_pa_s_m : ndarray
        1.95e-10 at 23 C. [kg/(Pa s m)]

    References
    ----------
    iso-12572 eq. 4

    Examples
    --------
    >>> float(air_permeability_kg_pa_s_m(296.15).round(13))
    1.953e-10
    """
    t = np.asarray(temperature_k, float)
    ratio = STANDARD_PRESSURE_PA / np.asarray(pressure_pa, float)
    return 2.306e-5 / (GAS_CONSTANT_VAPOR_J_KGK * t) * ratio * (t / ZERO_CELSIUS_K) ** 1.81
