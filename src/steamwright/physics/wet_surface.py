"""Steam condensing on a cold surface in the presence of air: heat and water by the analogy of heat and mass transfer.

Still, well mixed air; the transfer may be multiplied by ``stirring`` for the jet of a steam outlet. Published fits give
up to twice the analogy, so results belong in a band from 1 to 2.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from steamwright.errors import OutOfRangeError
from steamwright.physics.moist_air import (
    CP_AIR_J_KGK,
    CP_VAPOR_J_KGK,
    CP_WATER_J_KGK,
    GAS_CONSTANT_VAPOR_J_KGK,
    LATENT_HEAT_0C_J_KG,
    STANDARD_PRESSURE_PA,
    ZERO_CELSIUS_K,
    density_kg_m3,
    humidity_ratio,
    saturation_pressure_pa,
)

Floats = NDArray[np.float64]
LIES = ("wall", "ceiling", "floor")

GRAVITY_M_S2 = 9.80665
_TABLE_K = ZERO_CELSIUS_K - 20.0 + 0.02 * np.arange(6001)
_TABLE_PA = saturation_pressure_pa(_TABLE_K)


def tabled_saturation_pa(temperature_k: ArrayLike) -> Floats:
    """Saturation pressure by straight lines between 6001 points, for loops that ask for it thousands of times.

    Parameters
    ----------
    temperature_k : array_like
        Temperature, -20 to 100 C; held at the ends outside. [K]

    Returns
    -------
    pressure_pa : ndarray
        Within a millionth of `saturation_pressure_pa`. [Pa]

    References
    ----------
    IAPWS-IF97 region 4
    """
    return np.asarray(np.interp(np.asarray(temperature_k, float), _TABLE_K, _TABLE_PA), float)


@dataclass(frozen=True, slots=True, eq=False)
class Condensing:
    """Water to the surface, sensible heat from the air, heat into the wall, enthalpy from the air, and the film."""

    water_kg_m2_s: Floats
    sensible_w_m2: Floats
    heat_w_m2: Floats
    from_air_w_m2: Floats
    film_w_m2k: Floats


def _air(t_k: Floats, p_v: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Specific heat, conductivity, viscosity of moist air and diffusivity of vapor in it, at normal pressure."""
    w = humidity_ratio(p_v)
    cp = (CP_AIR_J_KGK + w * CP_VAPOR_J_KGK) / (1.0 + w)
    mole = p_v / STANDARD_PRESSURE_PA
    c = t_k - ZERO_CELSIUS_K
    mu_a, mu_v = 1.716e-5 * (t_k / 273.15) ** 1.5 * 384.15 / (t_k + 111.0), (9.22 + 0.0331 * c) * 1e-6
    k_a, k_v = 0.02418 + 7.3e-5 * c, 0.01671 + 7.7e-5 * c
    share = 1.608  # ratio of molar masses, air to vapor

    def blend(a: Floats, v: Floats) -> Floats:  # Wilke's rule, its coefficients from the viscosities
        av = (1.0 + np.sqrt(mu_a / mu_v) * share**-0.25) ** 2 / np.sqrt(8.0 * (1.0 + share))
        va = (1.0 + np.sqrt(mu_v / mu_a) * share**0.25) ** 2 / np.sqrt(8.0 * (1.0 + 1.0 / share))
        return np.asarray(a / (1.0 + av * mole / np.maximum(1.0 - mole, 1e-9)) + v * mole / np.maximum(mole + va * (1.0 - mole), 1e-9))

    d = 0.926e-3 / STANDARD_PRESSURE_PA * t_k**2.5 / (t_k + 245.0)  # ASHRAE's form in SI
    return cp, blend(k_a, k_v), blend(mu_a, mu_v), d


def film_properties(film_k: ArrayLike, film_pa: ArrayLike) -> Floats:
    """What a film's transfer needs of its moist air, at normal pressure.

    Parameters
    ----------
    film_k : array_like
        Mean of air and surface. [K]
    film_pa : array_like
        Mean of their vapor pressures. [Pa]

    Returns
    -------
    groups : ndarray, shape (4, ...)
        Conductivity; Rayleigh number by difference of density and cube of the length; water by film and drive; the factor of
        the Prandtl number on upright surfaces.

    References
    ----------
    ASHRAE-HOF ch. 6; Churchill-1975
    """
    t, p = np.asarray(film_k, float), np.asarray(film_pa, float)
    cp, k, mu, d = _air(t, p)
    rho = density_kg_m3(t, p)
    alpha, nu = k / (rho * cp), mu / rho
    transfer = STANDARD_PRESSURE_PA / (GAS_CONSTANT_VAPOR_J_KGK * t) / (rho * cp) * (alpha / d) ** (-2.0 / 3.0)
    return np.array([k, GRAVITY_M_S2 / rho / (nu * alpha), transfer, (1.0 + (0.492 * alpha / nu) ** (9.0 / 16.0)) ** (-8.0 / 27.0)])


def film_w_m2k(rayleigh: ArrayLike, prandtl: ArrayLike, conductivity_w_mk: ArrayLike, length_m: ArrayLike, lie: ArrayLike) -> Floats:
    """Natural convection on a surface colder than the air.

    Parameters
    ----------
    rayleigh : array_like
        Rayleigh number. [1]
    prandtl : array_like
        Prandtl number. [1]
    conductivity_w_mk : array_like
        Of the air. [W/(m K)]
    length_m : array_like
        Height of a wall; area by perimeter of a ceiling or floor. [m]
    lie : array_like of str
        ``wall``, ``ceiling`` (cold above warm air: lively) or ``floor`` (cold below: sluggish).

    Returns
    -------
    film_w_m2k : ndarray
        Heat transfer. [W/(m2 K)]

    Raises
    ------
    OutOfRangeError
        If a surface lies in no known way.

    References
    ----------
    Churchill-1975 for walls; McAdams-1954 for ceilings; Incropera-2011 eq. 9.32 for floors
    """
    ra, pr = np.maximum(np.asarray(rayleigh, float), 1e-3), np.asarray(prandtl, float)
    how, length = np.asarray(lie), np.asarray(length_m, float)
    if not np.isin(how, LIES).all():
        raise OutOfRangeError(f"a surface is one of {', '.join(LIES)}", path="lie")
    wall = (0.825 + 0.387 * ra ** (1.0 / 6.0) / (1.0 + (0.492 / pr) ** (9.0 / 16.0)) ** (8.0 / 27.0)) ** 2
    ceiling = np.where(ra < 1e7, 0.54 * ra**0.25, 0.15 * ra ** (1.0 / 3.0))
    nu = np.where(how == "wall", wall, np.where(how == "ceiling", ceiling, 0.52 * ra**0.2))
    return np.asarray(nu * np.asarray(conductivity_w_mk, float) / length)


def condensation(
    air_k: ArrayLike, humidity: ArrayLike, surface_k: ArrayLike, length_m: ArrayLike, lie: ArrayLike = "wall", stirring: ArrayLike = 1.0
) -> Condensing:
    """Heat and water from moist air to a wet surface; a warmer surface gives heat back, and no water.

    Parameters
    ----------
    air_k : array_like
        Air, 0 to 80 C. [K]
    humidity : array_like
        Relative humidity of the air. [1]
    surface_k : array_like
        Surface. [K]
    length_m : array_like
        Height of a wall; area by perimeter of a ceiling or floor. [m]
    lie : array_like of str
        ``wall``, ``ceiling`` or ``floor``.
    stirring : array_like
        Factor on the transfer of still air, 1 to 2. [1]

    Returns
    -------
    condensing : Condensing
        Rates; water is negative nowhere, sensible heat may be.

    Raises
    ------
    OutOfRangeError
        If a temperature is outside the range.

    References
    ----------
    ASHRAE-HOF ch. 6 for the analogy; own derivation for the film with bulk flow
    """
    t, h, s = np.broadcast_arrays(*(np.asarray(v, float) for v in (air_k, humidity, surface_k)))
    if not ((t >= 253.15) & (t <= 353.15) & (s >= 253.15) & (s <= 353.15)).all():
        raise OutOfRangeError("steam rooms lie between -20 and 80 C", path="air_k")
    p_v, p_s = h * tabled_saturation_pa(t), tabled_saturation_pa(s)
    rho_air, rho_surface = density_kg_m3(t, p_v), density_kg_m3(s, np.minimum(p_s, p_v))
    film_k, film_v = 0.5 * (t + s), 0.5 * (p_v + np.minimum(p_s, p_v))
    cp, k, mu, d = _air(film_k, film_v)
    rho = density_kg_m3(film_k, film_v)
    alpha, nu = k / (rho * cp), mu / rho
    rayleigh = GRAVITY_M_S2 * np.abs(rho_surface - rho_air) / rho * np.asarray(length_m, float) ** 3 / (nu * alpha)
    film = film_w_m2k(rayleigh, nu / alpha, k, length_m, lie) * np.asarray(stirring, float)
    beta = film / (rho * cp) * (alpha / d) ** (-2.0 / 3.0)
    drive = np.log((STANDARD_PRESSURE_PA - np.minimum(p_s, p_v)) / (STANDARD_PRESSURE_PA - p_v))
    water = beta * STANDARD_PRESSURE_PA / (GAS_CONSTANT_VAPOR_J_KGK * film_k) * drive
    # Ackermann: the flow to the wall carries sensible heat along.
    phi = np.maximum(water * CP_VAPOR_J_KGK / film, 1e-12)
    sensible = film * (t - s) * phi / np.expm1(phi)
    tc, sc = t - ZERO_CELSIUS_K, s - ZERO_CELSIUS_K
    from_air = water * (LATENT_HEAT_0C_J_KG + CP_VAPOR_J_KGK * tc) + sensible
    return Condensing(water, sensible, from_air - water * CP_WATER_J_KGK * sc, from_air, film)
