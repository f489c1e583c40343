"""Vapor that goes round a membrane: through the mortar inside a lap, past collars, through holes, with leaking air."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from steamwright.errors import InputError, OutOfRangeError
from steamwright.physics.moist_air import GAS_CONSTANT_VAPOR_J_KGK

Floats = NDArray[np.float64]

GRAVITY_M_S2 = 9.80665
DISCHARGE = 0.6
DRIEST_SHARE = 1e-3


def lap_kg_pa_s_m(
    width_m: ArrayLike, filler_m: ArrayLike, permeability_kg_pa_s_m: ArrayLike, permeance_kg_pa_s_m2: ArrayLike = 0.0
) -> Floats:
    """Vapor through one metre of lap for every pascal, in the filler and through both sheets of the lap.

    Parameters
    ----------
    width_m : array_like
        Width of the lap. [m]
    filler_m : array_like
        Thickness of the mortar or glue between the sheets. [m]
    permeability_kg_pa_s_m : array_like
        Vapor permeability of the filler. [kg/(Pa s m)]
    permeance_kg_pa_s_m2 : array_like
        Permeance of each sheet; 0 leaves the lateral path alone. [kg/(Pa s m2)]

    Returns
    -------
    conductance_kg_pa_s_m : ndarray
        Flow per length of lap and pressure. [kg/(Pa s m)]

    Raises
    ------
    OutOfRangeError
        If a size is not positive.

    References
    ----------
    own derivation

    Examples
    --------
    >>> f"{float(lap_kg_pa_s_m(0.05, 0.002, 1.95e-11)):.3e}"
    '7.800e-13'
    """
    b, d, delta, w = (np.asarray(v, float) for v in (width_m, filler_m, permeability_kg_pa_s_m, permeance_kg_pa_s_m2))
    if not ((b > 0.0) & (d > 0.0) & (delta > 0.0)).all() or (w < 0.0).any():
        raise OutOfRangeError("a lap has width, filler and permeability above zero", path="lap")
    x = np.sqrt(2.0 * w / (delta * d)) * b  # fin number: how much leaves through the sheets on the way
    lateral = delta * d / b
    small = x < 1e-6
    safe = np.where(small, 1.0, x)
    return np.asarray(np.where(small, lateral, lateral * 0.5 * safe / np.tanh(0.5 * safe)) + 0.5 * w * b)


def capillary_lap_kg_m_s(width_m: float, filler_m: float, absorption_kg_m2_s05: float, capillary_kg_m3: float) -> float:
    """Most liquid that the filler of a lap can carry when its room edge is wet and its far edge dry.

    Parameters
    ----------
    width_m : float
        Width of the lap. [m]
    filler_m : float
        Thickness of the filler. [m]
    absorption_kg_m2_s05 : float
        Water absorption coefficient of the filler.
    capillary_kg_m3 : float
        Capillary saturation of the filler. [kg/m3]

    Returns
    -------
    flow_kg_m_s : float
        Flow per metre of lap, an upper bound. [kg/(m s)]

    References
    ----------
    Kunzel-1995 eq. 24; own derivation for the integral
    """
    potential = 3.8 * absorption_kg_m2_s05**2 / (capillary_kg_m3 * np.log(1000.0)) * (1.0 - DRIEST_SHARE)
    return float(potential * filler_m / width_m)


def collar_kg_pa_s(pipe_m: ArrayLike, collar_m: ArrayLike, filler_m: ArrayLike, permeability_kg_pa_s_m: ArrayLike) -> Floats:
    """Vapor under a ring that is bonded round a pipe.

    Parameters
    ----------
    pipe_m : array_like
        Diameter of the hole. [m]
    collar_m : array_like
        Outer diameter of the ring. [m]
    filler_m : array_like
        Thickness of the mortar under it. [m]
    permeability_kg_pa_s_m : array_like
        Vapor permeability of the mortar. [kg/(Pa s m)]

    Returns
    -------
    conductance_kg_pa_s : ndarray
        Flow per pressure. [kg/(Pa s)]

    References
    ----------
    own derivation
    """
    ratio = np.asarray(collar_m, float) / np.asarray(pipe_m, float)
    return np.asarray(2.0 * np.pi * np.asarray(permeability_kg_pa_s_m, float) * np.asarray(filler_m, float) / np.log(ratio))


def hole_kg_pa_s(diameter_m: ArrayLike, sheet_m: ArrayLike, air_kg_pa_s_m: ArrayLike = 1.95e-10) -> Floats:
    """Vapor that diffuses through a round hole in a sheet, air being still.

    Parameters
    ----------
    diameter_m : array_like
        Diameter. [m]
    sheet_m : array_like
        Thickness of the sheet. [m]
    air_kg_pa_s_m : array_like
        Permeability of air. [kg/(Pa s m)]

    Returns
    -------
    conductance_kg_pa_s : ndarray
        Flow per pressure. [kg/(Pa s)]

    References
    ----------
    own derivation
    """
    r = 0.5 * np.asarray(diameter_m, float)
    return np.asarray(air_kg_pa_s_m, float) * np.pi * r**2 / (np.asarray(sheet_m, float) + 0.5 * np.pi * r)


def gap_kg_pa_s_m(gap_m: ArrayLike, depth_m: ArrayLike, air_kg_pa_s_m: ArrayLike = 1.95e-10) -> Floats:
    """Vapor that diffuses through one metre of open gap between two sheets, air being still.

    Parameters
    ----------
    gap_m : array_like
        Width of the gap. [m]
    depth_m : array_like
        Length of the way through it: sheet and whatever of the joint behind is open. [m]
    air_kg_pa_s_m : array_like
        Permeability of air. [kg/(Pa s m)]

    Returns
    -------
    conductance_kg_pa_s_m : ndarray
        Flow per length of gap and pressure; without the crowding of flow at its mouths, so high. [kg/(Pa s m)]

    References
    ----------
    own derivation
    """
    return np.asarray(np.asarray(air_kg_pa_s_m, float) * np.asarray(gap_m, float) / np.asarray(depth_m, float))


def enclosure_permeance_kg_pa_s_m2(
    area_m2: ArrayLike, permeance_kg_pa_s_m2: ArrayLike, lap_m: ArrayLike = (), lap_conductance_kg_pa_s_m: ArrayLike = (),
    lap_covered_kg_pa_s_m: ArrayLike = (), single_kg_pa_s: ArrayLike = (),
) -> float:  # fmt: skip
    """Effective permeance of a whole covering: sheets by area, laps and gaps by length, collars and holes one by one.

    Parameters
    ----------
    area_m2 : array_like, shape (a,)
        Areas of equal permeance. [m2]
    permeance_kg_pa_s_m2 : array_like, shape (a,)
        Their permeances. [kg/(Pa s m2)]
    lap_m : array_like, shape (l,)
        Lengths of laps, edges of bands and gaps. [m]
    lap_conductance_kg_pa_s_m : array_like, shape (l,)
        Flow of each by length. [kg/(Pa s m)]
    lap_covered_kg_pa_s_m : array_like, shape (l,)
        What the area under each lap was already counted to pass, permeance times width. [kg/(Pa s m)]
    single_kg_pa_s : array_like, shape (s,)
        Collars and holes. [kg/(Pa s)]

    Returns
    -------
    permeance_kg_pa_s_m2 : float
        Mean over the area. [kg/(Pa s m2)]

    Raises
    ------
    InputError
        If the lists differ in length or there is no area.

    References
    ----------
    own derivation
    """
    a, w, length, flow, covered, one = (
        np.atleast_1d(np.asarray(v, float))
        for v in (area_m2, permeance_kg_pa_s_m2, lap_m, lap_conductance_kg_pa_s_m, lap_covered_kg_pa_s_m, single_kg_pa_s)
    )
    if len(a) != len(w) or len(length) != len(flow) or len(length) != len(covered) or not a.sum() > 0.0:
        raise InputError("areas and laps need one value each, and some area", path="area_m2")
    return float(((a * w).sum() + ((flow - covered) * length).sum() + one.sum()) / a.sum())


def air_leak_kg_s(
    area_m2: ArrayLike, height_m: ArrayLike, inside_kg_m3: ArrayLike, outside_kg_m3: ArrayLike, vapor_inside_pa: ArrayLike,
    inside_k: ArrayLike, vapor_outside_kg_m3: ArrayLike,
) -> Floats:  # fmt: skip
    """Vapor that light steamy air carries out through an opening by its own lift.

    Parameters
    ----------
    area_m2 : array_like
        Opening. [m2]
    height_m : array_like
        Height over the level of equal pressure. [m]
    inside_kg_m3 : array_like
        Density of the steam room's air. [kg/m3]
    outside_kg_m3 : array_like
        Density of the air outside it. [kg/m3]
    vapor_inside_pa : array_like
        Vapor pressure inside. [Pa]
    inside_k : array_like
        Air inside. [K]
    vapor_outside_kg_m3 : array_like
        Vapor in the air outside. [kg/m3]

    Returns
    -------
    vapor : ndarray
        Net vapor lost, in kilograms a second.

    References
    ----------
    own derivation; discharge coefficient common practice, no source
    """
    inner, outer = np.asarray(inside_kg_m3, float), np.asarray(outside_kg_m3, float)
    lift = np.maximum(outer - inner, 0.0) * GRAVITY_M_S2 * np.asarray(height_m, float)
    vapor = np.asarray(vapor_inside_pa, float) / (GAS_CONSTANT_VAPOR_J_KGK * np.asarray(inside_k, float))
    lost = DISCHARGE * np.asarray(area_m2, float) * np.sqrt(2.0 * lift / inner) * (vapor - np.asarray(vapor_outside_kg_m3, float))
    return np.asarray(lost)
