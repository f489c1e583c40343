"""Porous materials as arrays: water content, vapor and liquid transport and heat conduction along one curve.

A material is a list of points from dry to full. Every property hangs on the water content, so that the transient
solver can keep water and heat themselves as its unknowns and lose neither.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from steamwright.errors import InputError, OutOfRangeError
from steamwright.physics.moist_air import GAS_CONSTANT_VAPOR_J_KGK

Floats = NDArray[np.float64]

WATER_DENSITY_KG_M3 = 1000.0
KELVIN_TEMPERATURE_K = 293.15
KELVIN_PRESSURE_PA = WATER_DENSITY_KG_M3 * GAS_CONSTANT_VAPOR_J_KGK * KELVIN_TEMPERATURE_K

# Columns of the tables that the compiled code reads.
HUMIDITY, POTENTIAL, VAPOR_RESISTIVITY, HEAT_RESISTIVITY, MOBILITY = range(5)
TABLE_COLUMNS = 5


@dataclass(frozen=True, slots=True, eq=False)
class Porous:
    """A material as points from dry to full; all arrays have one shape (n,) and are never changed.

    ``humidity`` and ``content_kg_m3`` rise strictly; ``potential_kg_m_s`` is the integral of the liquid conductivity
    over suction (Kirchhoff potential) and does not fall; ``heat_capacity_j_m3k`` is of the dry material;
    ``conductivity_growth_1_k`` is the relative rise of the conductivity with temperature, from 10 C.
    """

    humidity: Floats
    content_kg_m3: Floats
    potential_kg_m_s: Floats
    permeability_kg_pa_s_m: Floats
    conductivity_w_mk: Floats
    heat_capacity_j_m3k: float
    conductivity_growth_1_k: float = 0.0
    label: str = "material"

    def __post_init__(self) -> None:
        _check(self)

    def content_at(self, humidity: ArrayLike) -> Floats:
        """Water content in balance with a humidity.

        Parameters
        ----------
        humidity : array_like
            Relative humidity, 0 to 1. [1]

        Returns
        -------
        content_kg_m3 : ndarray
            Water content. [kg/m3]

        References
        ----------
        own derivation
        """
        content: Floats = np.interp(np.asarray(humidity, float), self.humidity, self.content_kg_m3)
        return content

    def potential_at(self, humidity: ArrayLike) -> Floats:
        """Liquid potential in balance with a humidity.

        Parameters
        ----------
        humidity : array_like
            Relative humidity, 0 to 1. [1]

        Returns
        -------
        potential_kg_m_s : ndarray
            Kirchhoff potential. [kg/(m s)]

        References
        ----------
        own derivation
        """
        potential: Floats = np.interp(np.asarray(humidity, float), self.humidity, self.potential_kg_m_s)
        return potential


def _check(p: Porous) -> None:
    n = len(p.humidity)
    columns = {
        "content_kg_m3": p.content_kg_m3, "potential_kg_m_s": p.potential_kg_m_s,
        "permeability_kg_pa_s_m": p.permeability_kg_pa_s_m, "conductivity_w_mk": p.conductivity_w_mk,
    }  # fmt: skip
    for name, column in columns.items():
        if len(column) != n or n < 2:
            raise InputError(f"needs {max(n, 2)} points like humidity, has {len(column)}", path=f"{p.label}.{name}")
        if not np.isfinite(column).all():
            raise InputError("holds a value that is no number", path=f"{p.label}.{name}")
    for name, column in (("humidity", p.humidity), ("content_kg_m3", p.content_kg_m3)):
        step = np.diff(column)
        if (step <= 0).any():
            at = float(p.humidity[int(np.argmax(step <= 0))])
            raise InputError(
                f"falls or stands still past {at:.1%} relative humidity", path=f"{p.label}.{name}",
                hint="a sorption curve must rise all the way to saturation",
            )  # fmt: skip
    if (np.diff(p.potential_kg_m_s) < 0).any():
        raise InputError("falls", path=f"{p.label}.potential_kg_m_s", hint="liquid conductivity cannot be negative")
    if not (p.permeability_kg_pa_s_m > 0).all() or not (p.conductivity_w_mk > 0).all() or not p.heat_capacity_j_m3k > 0:
        raise InputError("vapor permeability, heat conductivity and heat capacity must be positive", path=p.label)
    if p.humidity[0] < 0 or p.humidity[-1] > 1.0 + 1e-12:
        raise OutOfRangeError("relative humidity goes from 0 to 1", path=f"{p.label}.humidity")


def suction_pa(humidity: ArrayLike) -> Floats:
    """Capillary suction of a relative humidity after Kelvin, at 20 C as the standard's benchmark has it.

    Parameters
    ----------
    humidity : array_like
        Relative humidity, above 0. [1]

    Returns
    -------
    suction_pa : ndarray
        Suction, positive. [Pa]

    References
    ----------
    en-15026 clause 4.3
    """
    suction: Floats = -KELVIN_PRESSURE_PA * np.log(np.asarray(humidity, float))
    return suction


def suction_points_pa(count: int = 4000, driest_humidity: float = 1e-3, wettest_pa: float = 1.0) -> Floats:
    """Suctions from dry to nearly full, evenly spaced on a logarithm.

    Parameters
    ----------
    count : int
        How many. [1]
    driest_humidity : float
        Humidity of the first. [1]
    wettest_pa : float
        Suction of the last. [Pa]

    Returns
    -------
    suction_pa : ndarray, shape (count,)
        Falling. [Pa]

    References
    ----------
    own derivation
    """
    return np.geomspace(float(suction_pa(driest_humidity)), wettest_pa, count)


def van_genuchten_kg_m3(
    suction_pa: ArrayLike, saturation_kg_m3: float, weight: ArrayLike, alpha_1_pa: ArrayLike, exponent: ArrayLike
) -> Floats:
    """Water content of one or several pore systems.

    Parameters
    ----------
    suction_pa : array_like, shape (n,)
        Suction. [Pa]
    saturation_kg_m3 : float
        Content at no suction. [kg/m3]
    weight : array_like, shape (k,)
        Share of each pore system; they sum to 1. [1]
    alpha_1_pa : array_like, shape (k,)
        Scale of each. [1/Pa]
    exponent : array_like, shape (k,)
        Exponent n of each, above 1; m = 1 - 1/n. [1]

    Returns
    -------
    content_kg_m3 : ndarray, shape (n,)
        Water content. [kg/m3]

    References
    ----------
    hamstad-2002 material functions

    Examples
    --------
    >>> round(float(van_genuchten_kg_m3(9.3806e7, 146.0, [1.0], [8e-8], [1.6])), 1)
    42.9
    """
    s = np.atleast_1d(np.asarray(suction_pa, float))[:, None]
    a, n, share = (np.atleast_1d(np.asarray(v, float)) for v in (alpha_1_pa, exponent, weight))
    content = saturation_kg_m3 * (share * (1.0 + (a * s) ** n) ** -(1.0 - 1.0 / n)).sum(axis=1)
    return content if np.ndim(suction_pa) else content[0]  # type: ignore[no-any-return]


def potential_of_conductivity_kg_m_s(suction_pa: ArrayLike, conductivity_s: ArrayLike) -> Floats:
    """Kirchhoff potential from the liquid conductivity.

    Parameters
    ----------
    suction_pa : array_like, shape (n,)
        Falling suctions. [Pa]
    conductivity_s : array_like, shape (n,)
        Liquid conductivity, flux per gradient of suction. [s]

    Returns
    -------
    potential_kg_m_s : ndarray, shape (n,)
        Integral over suction from the driest point. [kg/(m s)]

    References
    ----------
    own derivation
    """
    s, k = np.asarray(suction_pa, float), np.asarray(conductivity_s, float)
    steps = 0.5 * (k[1:] * s[1:] + k[:-1] * s[:-1]) * -np.diff(np.log(s))  # k ds = k s d(ln s)
    return np.concatenate(([0.0], np.cumsum(steps)))


def potential_of_diffusivity_kg_m_s(content_kg_m3: ArrayLike, diffusivity_m2_s: ArrayLike) -> Floats:
    """Kirchhoff potential from the liquid diffusivity.

    Parameters
    ----------
    content_kg_m3 : array_like, shape (n,)
        Rising water contents. [kg/m3]
    diffusivity_m2_s : array_like, shape (n,)
        Liquid diffusivity. [m2/s]

    Returns
    -------
    potential_kg_m_s : ndarray, shape (n,)
        Integral over content from the driest point. [kg/(m s)]

    References
    ----------
    own derivation
    """
    w, d = np.asarray(content_kg_m3, float), np.asarray(diffusivity_m2_s, float)
    return np.concatenate(([0.0], np.cumsum(0.5 * (d[1:] + d[:-1]) * np.diff(w))))


def suction_diffusivity_m2_s(content_kg_m3: ArrayLike, absorption_kg_m2_s05: float, capillary_kg_m3: float) -> Floats:
    """Liquid diffusivity guessed from the water absorption coefficient.

    Parameters
    ----------
    content_kg_m3 : array_like
        Water content. [kg/m3]
    absorption_kg_m2_s05 : float
        Water absorption coefficient. [kg/(m2 s0.5)]
    capillary_kg_m3 : float
        Capillary (free) saturation. [kg/m3]

    Returns
    -------
    diffusivity_m2_s : ndarray
        An estimate: good within a factor of a few, so results that hang on it need a band. [m2/s]

    References
    ----------
    kunzel-1995 eq. 24
    """
    w = np.asarray(content_kg_m3, float)
    scale = 3.8 * (absorption_kg_m2_s05 / capillary_kg_m3) ** 2
    return scale * 1000.0 ** (np.minimum(w / capillary_kg_m3, 1.0) - 1.0)


def table_of(porous: Porous, count: int = 1024) -> tuple[Floats, Floats]:
    """Sample a material on two even stretches of water content, for look-up without a search.

    Parameters
    ----------
    porous : Porous
        Material.
    count : int
        Intervals in each stretch. [1]

    Returns
    -------
    table : ndarray, shape (2 count + 2, 5)
        Humidity, liquid potential, vapor and heat resistivity, liquid mobility in humidity.
    stretch : ndarray, shape (8,)
        Where the second stretch begins, the two inverse spacings, count, last interval, conductivity growth, saturation.

    References
    ----------
    own derivation
    """
    full = float(porous.content_kg_m3[-1])
    bend = float(np.clip(porous.content_at(0.95), 1e-6 * full, 0.9 * full))
    w = np.concatenate((np.linspace(0.0, bend, count + 1), bend + (full - bend) / count * np.arange(1, count + 2)))
    table = np.empty((len(w), TABLE_COLUMNS))
    source = porous.content_kg_m3
    dry = np.concatenate(([0.0], source)) if source[0] > 0 else source
    humid = np.concatenate(([0.0], porous.humidity)) if source[0] > 0 else porous.humidity
    table[:, HUMIDITY] = np.interp(w, dry, humid)
    table[:, POTENTIAL] = np.interp(w, source, porous.potential_kg_m_s)
    permeability = np.interp(w, source, porous.permeability_kg_pa_s_m)
    table[:, VAPOR_RESISTIVITY] = 1.0 / np.maximum(permeability, 1e-6 * permeability.max())
    table[:, HEAT_RESISTIVITY] = 1.0 / np.interp(w, source, porous.conductivity_w_mk)
    # Past full, humidity creeps on so that it still tells more water from less, and liquid keeps its last diffusivity.
    table[-1, HUMIDITY] = table[-2, HUMIDITY] + 1e-7
    table[-1, POTENTIAL] = 2.0 * table[-2, POTENTIAL] - table[-3, POTENTIAL]
    rise = np.maximum(np.gradient(table[:, HUMIDITY], w), 1e-12)
    table[:, MOBILITY] = np.gradient(table[:, POTENTIAL], w) / rise
    stretch = np.array([bend, count / bend, count / (full - bend), count, 2 * count, porous.conductivity_growth_1_k, full, 0.0])
    return table, stretch
