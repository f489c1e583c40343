"""The film of `wet_surface` on a fixed set of panels, for marches that ask for it thousands of times.

The properties of the film depend on its temperature and vapor pressure alone. They are fitted once, to the full formulas,
by cubics of their logarithms; everything else is reckoned as there.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from steamwright.physics.moist_air import (
    CP_VAPOR_J_KGK,
    CP_WATER_J_KGK,
    GAS_CONSTANT_AIR_J_KGK,
    GAS_CONSTANT_VAPOR_J_KGK,
    LATENT_HEAT_0C_J_KG,
    STANDARD_PRESSURE_PA,
    ZERO_CELSIUS_K,
)
from steamwright.physics.steam_room import Panel
from steamwright.physics.wet_surface import film_properties, tabled_saturation_pa

Floats = NDArray[np.float64]

_LOW_K, _HIGH_K = 253.15, 353.15
_MID_K, _SPAN_K, _SPAN_PA = 300.0, 50.0, 2e4
_X, _Y = np.array([(i, j) for i in range(4) for j in range(4 - i)]).T
_LIGHTER = 1.0 - GAS_CONSTANT_AIR_J_KGK / GAS_CONSTANT_VAPOR_J_KGK


class Film(NamedTuple):
    """Water to the panels, its drive ``ln((P-p_s)/(P-p))``, heat into them, enthalpy from the air, and the film."""

    water_kg_m2_s: Floats
    drive: Floats
    surface_pa: Floats
    heat_w_m2: Floats
    from_air_w_m2: Floats
    film_w_m2k: Floats


@cache
def _fit() -> Floats:
    """Coefficients (4, 10) of the logarithms of four groups of properties."""
    kelvin, share = (a.ravel() for a in np.meshgrid(np.linspace(_LOW_K, _HIGH_K, 60), np.linspace(0.0, 1.0, 30)))
    pressure = share * tabled_saturation_pa(np.minimum(_HIGH_K, 2.0 * kelvin - _LOW_K))
    terms = _terms((kelvin - _MID_K) / _SPAN_K, pressure / _SPAN_PA)
    return np.asarray(np.linalg.lstsq(terms.T, np.log(film_properties(kelvin, pressure)).T, rcond=None)[0].T)


def _terms(x: Floats, y: Floats) -> Floats:
    powers = np.ones((2, 4, x.size))
    powers[0, 1], powers[1, 1] = x, y
    np.multiply(powers[:, 1], powers[:, 1], out=powers[:, 2])
    np.multiply(powers[:, 1], powers[:, 2], out=powers[:, 3])
    return np.asarray(powers[0, _X] * powers[1, _Y])


class WetPanels:
    """Films on panels that lie as they lie.

    Parameters
    ----------
    panels : tuple of Panel
        Surfaces; they are the last axis of everything that is asked.
    stirring : ndarray
        Factor on the transfer of still air, in a shape that goes with what is asked. [1]

    References
    ----------
    ASHRAE-HOF ch. 6 for the analogy; own derivation for the film with bulk flow
    """

    def __init__(self, panels: tuple[Panel, ...], stirring: Floats) -> None:
        self._coefficients = _fit()
        self._cube = np.array([p.length_m for p in panels]) ** 3
        self._scale = stirring / np.array([p.length_m for p in panels])
        lies = np.array([p.lie for p in panels])
        self._walls, self._ceilings, self._floors = (np.flatnonzero(lies == lie) for lie in ("wall", "ceiling", "floor"))

    def film(self, air_k: Floats, air_pa: Floats, surface_k: Floats) -> Film:
        """Heat and water from the air to the panels.

        Parameters
        ----------
        air_k : ndarray
            Air, -20 to 80 C. [K]
        air_pa : ndarray
            Its vapor pressure. [Pa]
        surface_k : ndarray
            Surfaces, -20 to 80 C, panels last. [K]

        Returns
        -------
        film : Film
            Within 2e-4 of `condensation`.

        References
        ----------
        own derivation
        """
        full = tabled_saturation_pa(surface_k)
        wet_pa = np.minimum(full, air_pa)
        kelvin = 0.5 * (air_k + surface_k)
        shape = kelvin.shape
        terms = _terms(((kelvin - _MID_K) / _SPAN_K).ravel(), ((wet_pa + air_pa) * (0.5 / _SPAN_PA)).ravel())
        conductivity, buoyancy, transfer, prandtl = np.exp(self._coefficients @ terms).reshape(4, *shape)
        lighter = ((STANDARD_PRESSURE_PA - _LIGHTER * wet_pa) / surface_k
                   - (STANDARD_PRESSURE_PA - _LIGHTER * air_pa) / air_k) / GAS_CONSTANT_AIR_J_KGK
        rayleigh = np.maximum(np.abs(lighter) * buoyancy * self._cube, 1e-3)
        film = self._nusselt(rayleigh, prandtl) * conductivity * self._scale
        drive = np.log((STANDARD_PRESSURE_PA - wet_pa) / (STANDARD_PRESSURE_PA - air_pa))
        water = film * transfer * drive
        phi = water * CP_VAPOR_J_KGK / film
        # Ackermann's phi / (exp(phi) - 1), as a series: phi stays under 0.3.
        sensible = film * (air_k - surface_k) * (1.0 + phi * (-0.5 + phi * (1.0 / 12.0 - phi * phi / 720.0)))
        from_air = water * (LATENT_HEAT_0C_J_KG + CP_VAPOR_J_KGK * (air_k - ZERO_CELSIUS_K)) + sensible
        heat = from_air - water * (CP_WATER_J_KGK * (surface_k - ZERO_CELSIUS_K))
        return Film(water, drive, full, heat, from_air, film)

    def _nusselt(self, rayleigh: Floats, prandtl: Floats) -> Floats:
        out = np.empty(rayleigh.shape)
        w, c, f = self._walls, self._ceilings, self._floors
        out[..., w] = (0.825 + 0.387 * rayleigh[..., w] ** (1.0 / 6.0) * prandtl[..., w]) ** 2
        if len(c):
            low = np.sqrt(np.sqrt(rayleigh[..., c]))
            out[..., c] = np.where(rayleigh[..., c] < 1e7, 0.54 * low, 0.15 * np.cbrt(rayleigh[..., c]))
        if len(f):
            out[..., f] = 0.52 * rayleigh[..., f] ** 0.2
        return out
