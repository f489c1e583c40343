"""Compiled inside of the transient: properties of cells, fluxes through faces and their exact derivatives.

Unknowns are water content and heat content of every cell, so fluxes are all that moves them and nothing is lost.
Temperatures are in Celsius here, because heat content is counted from 0 C.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from steamwright.physics.compiled import compiled

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# Rows of the cell array.
P, PW, PT, POT, POT_W, POT_T, RV, RV_W, RV_T, RH, RH_W, RH_T, T, T_W, T_H, PSAT = range(16)
CELL_ROWS = 16
# Columns of the climate arrays: what one side of the wall feels.
AIR_C, VAPOR_PA, HEAT_W_M2K, VAPOR_KG_PA_S_M2, RAIN_KG_M2S, SUN_W_M2, CONTACT_POTENTIAL = range(7)
CLIMATE_COLUMNS = 7
# Water and heat in through the left side, the right side and the exchange with air.
BALANCES = 6
COLDEST_C, STEP_K, TEMPERATURES = -60.0, 0.05, 4000
VAPOR_GAS_CONSTANT, ZERO_C = 461.524, 273.15
AIR_HEAT_J_M3K = 1207.0


@compiled
def cells(y: Floats, half: Floats, capacity: Floats, material: Ints, tables: Floats, stretches: Floats, warm: Floats,
          water_heat: float, out: Floats) -> None:  # fmt: skip
    """Fill the cell array: pressures, potentials and half-cell resistances with their derivatives.

    Parameters
    ----------
    y : ndarray, shape (n, 2)
        Water content [kg/m3] and heat content [J/m3].
    half : ndarray, shape (n,)
        Half thicknesses. [m]
    capacity : ndarray, shape (n,)
        Dry heat capacities. [J/(m3 K)]
    material : ndarray of int, shape (n,)
        Material of each cell.
    tables : ndarray, shape (m, k, 5)
        Tables of the materials.
    stretches : ndarray, shape (m, 8)
        How to look up in them.
    warm : ndarray, shape (4000, 3)
        Saturation pressure [Pa], vapor resistance factor, liquid mobility factor by temperature.
    water_heat : float
        Specific heat of water. [J/(kg K)]
    out : ndarray, shape (16, n)
        Filled.

    References
    ----------
    en-15026 clause 4
    """
    for i in range(y.shape[0]):
        w = y[i, 0]
        m = material[i]
        bend = stretches[m, 0]
        if w < bend:
            scale = stretches[m, 1]
            x = w * scale
        else:
            scale = stretches[m, 2]
            x = stretches[m, 3] + (w - bend) * scale
        k = 0
        if x > 0.0:
            k = int(min(x, stretches[m, 4]))
        x -= k
        low, high = tables[m, k], tables[m, k + 1]
        heat = 1.0 / (capacity[i] + water_heat * w)
        t = y[i, 1] * heat
        z = (t - COLDEST_C) * (1.0 / STEP_K)
        j = 0
        if z > 0.0:
            j = int(min(z, TEMPERATURES - 2.0))
        z -= j
        d_sat, d_air, d_liquid = warm[j + 1, 0] - warm[j, 0], warm[j + 1, 1] - warm[j, 1], warm[j + 1, 2] - warm[j, 2]
        saturation, air, liquid = warm[j, 0] + z * d_sat, warm[j, 1] + z * d_air, warm[j, 2] + z * d_liquid
        rise = high[0] - low[0]
        humidity = low[0] + x * rise
        out[P, i], out[PW, i], out[PT, i] = humidity * saturation, rise * scale * saturation, humidity * d_sat * (1.0 / STEP_K)
        out[PSAT, i] = saturation
        rise = high[1] - low[1]
        potential = low[1] + x * rise
        out[POT, i], out[POT_W, i], out[POT_T, i] = potential * liquid, rise * scale * liquid, potential * d_liquid * (1.0 / STEP_K)
        rise = high[2] - low[2]
        resistance = max(low[2] + x * rise, 0.2 * low[2]) * half[i]
        out[RV, i], out[RV_W, i], out[RV_T, i] = resistance * air, rise * scale * half[i] * air, resistance * d_air * (1.0 / STEP_K)
        rise = high[3] - low[3]
        resistance = max(low[3] + x * rise, 0.2 * low[3]) * half[i]
        growth = stretches[m, 5]
        g = growth * (t - 10.0)
        out[RH, i] = resistance * (1.0 - g + 0.5 * g * g)
        out[RH_W, i] = rise * scale * half[i] * (1.0 - g + 0.5 * g * g)
        out[RH_T, i] = -resistance * growth * (1.0 - g)
        out[T, i], out[T_W, i], out[T_H, i] = t, -water_heat * t * heat, heat


@compiled
def join(k: int, a: float, a_t: float, b: float, b_t: float, joins: Floats, spans: Floats) -> tuple[float, float, float]:
    """Liquid from one material into another at one suction, and its slopes in both scaled potentials.

    Parameters
    ----------
    k : int
        Which join.
    a : float
        Potential of the left cell times its mobility factor. [kg/(m s)]
    a_t : float
        Inverse of the left half thickness. [1/m]
    b : float
        Potential of the right cell. [kg/(m s)]
    b_t : float
        Inverse of the right half thickness. [1/m]
    joins : ndarray, shape (j, c)
        Left share of the sum of scaled potentials, by the logarithm of the sum.
    spans : ndarray, shape (j, 2)
        Logarithm of the least sum and inverse spacing.

    Returns
    -------
    flux_kg_m2s : tuple of float
        Flux to the right and its slopes in a and b. [kg/(m2 s)]

    References
    ----------
    own derivation
    """
    total = a * a_t + b * b_t
    if total <= 0.0:
        return 0.0, 0.0, 0.0
    x = (np.log(total) - spans[k, 0]) * spans[k, 1]
    last = joins.shape[1] - 2
    i = 0
    if x > 0.0:
        i = int(min(x, last))
        x = min(x - i, 1.0)
    else:
        x = 0.0
    rise = joins[k, i + 1] - joins[k, i]
    share = joins[k, i] + x * rise
    slope = share + rise * spans[k, 1]
    return a * a_t - total * share, a_t * (1.0 - slope), -b_t * slope


@compiled
def inner(c: Floats, half: Floats, kind: Ints, vapor: Floats, heat: Floats, joins: Floats, spans: Floats, latent: float,
          vapor_heat: float, water_heat: float, f: Floats, sub: Floats, dia: Floats, sup: Floats, slopes: bool) -> None:  # fmt: skip
    """Add the fluxes of all inner faces, and their derivatives when wanted.

    Parameters
    ----------
    c : ndarray, shape (16, n)
        Cell array.
    half : ndarray, shape (n,)
        Half thicknesses. [m]
    kind : ndarray of int, shape (n + 1,)
        Face i lies left of cell i: -1 lets no liquid pass, 0 lies within a material, k joins two materials.
    vapor : ndarray, shape (n + 1,)
        Vapor resistances of films. [Pa m2 s/kg]
    heat : ndarray, shape (n + 1,)
        Heat resistances of films. [m2 K/W]
    joins : ndarray, shape (j, c)
        See `join`.
    spans : ndarray, shape (j, 2)
        See `join`.
    latent : float
        Heat of evaporation at 0 C. [J/kg]
    vapor_heat : float
        Specific heat of vapor. [J/(kg K)]
    water_heat : float
        Specific heat of water. [J/(kg K)]
    f : ndarray, shape (n, 2)
        Rates of water and heat, added to. [kg/(m2 s), W/m2]
    sub : ndarray, shape (n, 4)
        Derivatives to the left neighbor, filled.
    dia : ndarray, shape (n, 4)
        Own derivatives, added to.
    sup : ndarray, shape (n, 4)
        Derivatives to the right neighbor, filled.
    slopes : bool
        Whether derivatives are wanted.

    References
    ----------
    en-15026 eq. 1 to 8
    """
    for j in range(1, c.shape[1]):
        i = j - 1
        rv = 1.0 / (c[RV, i] + c[RV, j] + vapor[j])
        g = (c[P, i] - c[P, j]) * rv
        liquid, liquid_a, liquid_b = 0.0, 0.0, 0.0
        k = kind[j]
        if k == 0:
            liquid_a = 1.0 / (half[i] + half[j])
            liquid_b = -liquid_a
            liquid = (c[POT, i] - c[POT, j]) * liquid_a
        elif k > 0:
            liquid, liquid_a, liquid_b = join(k - 1, c[POT, i], 1.0 / half[i], c[POT, j], 1.0 / half[j], joins, spans)
        t = 0.5 * (c[T, i] + c[T, j])
        rh = 1.0 / (c[RH, i] + c[RH, j] + heat[j])
        conduction = (c[T, i] - c[T, j]) * rh
        h_v, h_l = latent + vapor_heat * t, water_heat * t
        q = conduction + g * h_v + liquid * h_l
        f[i, 0] -= g + liquid
        f[i, 1] -= q
        f[j, 0] += g + liquid
        f[j, 1] += q
        if slopes:
            carried = 0.5 * (g * vapor_heat + liquid * water_heat)
            gw, gt = (c[PW, i] - g * c[RV_W, i]) * rv, (c[PT, i] - g * c[RV_T, i]) * rv
            lw, lt = liquid_a * c[POT_W, i], liquid_a * c[POT_T, i]
            qw = -conduction * c[RH_W, i] * rh + gw * h_v + lw * h_l
            qt = (1.0 - conduction * c[RH_T, i]) * rh + gt * h_v + lt * h_l + carried
            mw, mt = gw + lw, gt + lt
            a0, a1, a2, a3 = mw + mt * c[T_W, i], mt * c[T_H, i], qw + qt * c[T_W, i], qt * c[T_H, i]
            gw, gt = -(c[PW, j] + g * c[RV_W, j]) * rv, -(c[PT, j] + g * c[RV_T, j]) * rv
            lw, lt = liquid_b * c[POT_W, j], liquid_b * c[POT_T, j]
            qw = -conduction * c[RH_W, j] * rh + gw * h_v + lw * h_l
            qt = -(1.0 + conduction * c[RH_T, j]) * rh + gt * h_v + lt * h_l + carried
            mw, mt = gw + lw, gt + lt
            b0, b1, b2, b3 = mw + mt * c[T_W, j], mt * c[T_H, j], qw + qt * c[T_W, j], qt * c[T_H, j]
            dia[i, 0] -= a0
            dia[i, 1] -= a1
            dia[i, 2] -= a2
            dia[i, 3] -= a3
            sup[i, 0], sup[i, 1], sup[i, 2], sup[i, 3] = -b0, -b1, -b2, -b3
            sub[j, 0], sub[j, 1], sub[j, 2], sub[j, 3] = a0, a1, a2, a3
            dia[j, 0] += b0
            dia[j, 1] += b1
            dia[j, 2] += b2
            dia[j, 3] += b3


@compiled
def edge(c: Floats, i: int, half: float, vapor: float, heat: float, contact: bool, mobility: float, mobility_w: float, full: float,
         air: Floats, latent: float, vapor_heat: float, water_heat: float, e: Floats) -> None:  # fmt: skip
    """Water and heat into the cell behind one surface, and the derivatives.

    Parameters
    ----------
    c : ndarray, shape (16, n)
        Cell array.
    i : int
        Cell behind the surface.
    half : float
        Its half thickness. [m]
    vapor : float
        Vapor resistance of a coat on the surface. [Pa m2 s/kg]
    heat : float
        Heat resistance of the coat. [m2 K/W]
    contact : bool
        Whether the surface is held at the humidity of the air, liquid included.
    mobility : float
        Liquid mobility of the cell per humidity. [kg/(m s)]
    mobility_w : float
        Its slope in water content. [m2/s]
    full : float
        Liquid potential of the full material. [kg/(m s)]
    air : ndarray, shape (7,)
        What the side feels.
    latent : float
        Heat of evaporation at 0 C. [J/kg]
    vapor_heat : float
        Specific heat of vapor. [J/(kg K)]
    water_heat : float
        Specific heat of water. [J/(kg K)]
    e : ndarray, shape (6,)
        Filled: water [kg/(m2 s)], heat [W/m2], and derivatives of both in content and heat.

    References
    ----------
    en-15026 clause 6; own derivation for the half cell
    """
    ta, t = air[AIR_C], c[T, i]
    # Inside the half cell vapor and liquid share the path; both are driven by humidity there.
    inside = 1.0 / c[RV, i]
    inside_w, inside_t = -c[RV_W, i] * inside * inside, -c[RV_T, i] * inside * inside
    if not contact:
        scale = 1.0 / (half * c[PSAT, i])
        inside += mobility * scale
        inside_w += mobility_w * scale
        inside_t -= mobility * scale * c[PT, i] / max(c[P, i], 1e-9)
    r = 1.0 / inside + vapor
    if air[VAPOR_KG_PA_S_M2] < 1e3:
        r += 1.0 / max(air[VAPOR_KG_PA_S_M2], 1e-30)
    r = 1.0 / r
    drive = air[VAPOR_PA] - c[P, i]
    g = drive * r
    grow = drive * r * r / (inside * inside)
    gw, gt = -c[PW, i] * r + grow * inside_w, -c[PT, i] * r + grow * inside_t
    up = ta if g > 0.0 else t
    carried = 0.0 if g > 0.0 else vapor_heat * g
    h_v = latent + vapor_heat * up
    liquid, lw, lt = 0.0, 0.0, 0.0
    if contact:
        liquid, lw, lt = (air[CONTACT_POTENTIAL] - c[POT, i]) / half, -c[POT_W, i] / half, -c[POT_T, i] / half
    elif air[RAIN_KG_M2S] > 0.0:
        room = (full - c[POT, i]) / half
        if air[RAIN_KG_M2S] < room:
            liquid = air[RAIN_KG_M2S]
        elif room > 0.0:
            liquid, lw, lt = room, -c[POT_W, i] / half, -c[POT_T, i] / half
    film = 0.0
    if air[HEAT_W_M2K] < 1e6:
        film = 1.0 / max(air[HEAT_W_M2K], 1e-12)
    k = 1.0 / (film + heat + c[RH, i])
    conduction = (ta + air[SUN_W_M2] * film - t) * k
    q = conduction + g * h_v + liquid * water_heat * ta
    qw = -conduction * c[RH_W, i] * k + gw * h_v + lw * water_heat * ta
    qt = -(1.0 + conduction * c[RH_T, i]) * k + gt * h_v + carried + lt * water_heat * ta
    mw, mt = gw + lw, gt + lt
    e[0], e[1] = g + liquid, q
    e[2], e[3], e[4], e[5] = mw + mt * c[T_W, i], mt * c[T_H, i], qw + qt * c[T_W, i], qt * c[T_H, i]


@compiled
def exchanged(c: Floats, i: int, flow: float, air: Floats, latent: float, vapor_heat: float, e: Floats) -> None:
    """Water and heat that a stream of air brings into a cell and takes out again.

    Parameters
    ----------
    c : ndarray, shape (16, n)
        Cell array.
    i : int
        Cell.
    flow : float
        Air per wall area. [m3/(m2 s)]
    air : ndarray, shape (7,)
        Where the air comes from.
    latent : float
        Heat of evaporation at 0 C. [J/kg]
    vapor_heat : float
        Specific heat of vapor. [J/(kg K)]
    e : ndarray, shape (6,)
        Filled as by `edge`.

    References
    ----------
    own derivation
    """
    ta, t = air[AIR_C], c[T, i]
    come = flow * air[VAPOR_PA] / (VAPOR_GAS_CONSTANT * (ta + ZERO_C))
    per = flow / (VAPOR_GAS_CONSTANT * (t + ZERO_C))
    go = per * c[P, i]
    gw, gt = -per * c[PW, i], -per * c[PT, i] + go / (t + ZERO_C)
    h = latent + vapor_heat * t
    qw, qt = gw * h, gt * h - go * vapor_heat - flow * AIR_HEAT_J_M3K
    e[0] = come - go
    e[1] = flow * AIR_HEAT_J_M3K * (ta - t) + come * (latent + vapor_heat * ta) - go * h
    e[2], e[3], e[4], e[5] = gw + gt * c[T_W, i], gt * c[T_H, i], qw + qt * c[T_W, i], qt * c[T_H, i]
