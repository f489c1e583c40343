"""Compiled inside of the transient: properties of cells, fluxes through faces and their exact derivatives.

Unknowns are water content and heat content of every cell, so fluxes are all that moves them and nothing is lost.
Temperatures are in Celsius here, because heat content is counted from 0 C.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from steamwright.physics.compiled import compiled, inlined

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# Rows of the cell array: what a stage reads first, what only derivatives need after it.
P, POT, RV, RH, T, PSAT, PW, PT, POT_W, POT_T, RV_W, RV_T, RH_W, RH_T, T_W, T_H = range(16)
CELL_ROWS = 16
# Columns of the climate arrays: what one side of the wall feels.
AIR_C, VAPOR_PA, HEAT_W_M2K, VAPOR_KG_PA_S_M2, RAIN_KG_M2S, SUN_W_M2, CONTACT_POTENTIAL = range(7)
CLIMATE_COLUMNS = 7
COLDEST_C, STEP_K, TEMPERATURES = -60.0, 0.05, 4000
VAPOR_GAS_CONSTANT, ZERO_C = 461.524, 273.15
AIR_HEAT_J_M3K = 1207.0
WIDE_OPEN_VAPOR, WIDE_OPEN_HEAT = 1e3, 1e6


class Grid(NamedTuple):
    """A wall in arrays: n cells, n + 1 faces (face i lies left of cell i), m materials, x streams of air.

    ``kind`` of a face: -1 lets no liquid pass, 0 lies within a material, k joins two materials by table k - 1.
    """

    half_m: Floats
    capacity_j_m3k: Floats
    material: Ints
    kind: Ints
    vapor_pa_s_m2_kg: Floats
    heat_m2k_w: Floats
    tables: Floats
    stretches: Floats
    warm: Floats
    joins: Floats
    spans: Floats
    contact: Ints
    exchange_cell: Ints
    exchange_side: Ints
    exchange_flow_m3_s_m2: Floats
    latent_j_kg: float
    vapor_heat_j_kgk: float
    water_heat_j_kgk: float


@compiled
def cells(y: Floats, grid: Grid, out: Floats, slopes: bool) -> None:
    """Fill the cell array: pressures, potentials, half-cell resistances, and their derivatives when wanted.

    Parameters
    ----------
    y : ndarray, shape (n, 2)
        Water content [kg/m3] and heat content [J/m3].
    grid : Grid
        Wall.
    out : ndarray, shape (16, n)
        Filled.
    slopes : bool
        Whether derivatives are wanted.

    References
    ----------
    en-15026 clause 4
    """
    half, capacity, material = grid.half_m, grid.capacity_j_m3k, grid.material
    tables, stretches, warm, water_heat = grid.tables, grid.stretches, grid.warm, grid.water_heat_j_kgk
    for i in range(y.shape[0]):
        w, m = y[i, 0], material[i]
        bend = stretches[m, 0]
        scale = stretches[m, 1]
        x = w * scale
        if w >= bend:
            scale = stretches[m, 2]
            x = stretches[m, 3] + (w - bend) * scale
        k = 0
        if x > 0.0:
            k = int(min(x, stretches[m, 4]))
        x -= k
        heat = 1.0 / (capacity[i] + water_heat * w)
        t = y[i, 1] * heat
        z = (t - COLDEST_C) * (1.0 / STEP_K)
        j = 0
        if z > 0.0:
            j = int(min(z, TEMPERATURES - 2.0))
        z -= j
        a0, a1, a2, a3 = tables[m, k, 0], tables[m, k, 1], tables[m, k, 2], tables[m, k, 3]
        d0, d1, d2, d3 = tables[m, k + 1, 0] - a0, tables[m, k + 1, 1] - a1, tables[m, k + 1, 2] - a2, tables[m, k + 1, 3] - a3
        d_sat, d_air, d_liquid = warm[j + 1, 0] - warm[j, 0], warm[j + 1, 1] - warm[j, 1], warm[j + 1, 2] - warm[j, 2]
        saturation, air, liquid = warm[j, 0] + z * d_sat, warm[j, 1] + z * d_air, warm[j, 2] + z * d_liquid
        humidity, potential = a0 + x * d0, a1 + x * d1
        h = half[i]
        r_vapor, r_heat = max(a2 + x * d2, 0.2 * a2) * h, max(a3 + x * d3, 0.2 * a3) * h
        g = stretches[m, 5] * (t - 10.0)
        warmth = 1.0 - g + 0.5 * g * g
        out[P, i], out[POT, i], out[RV, i], out[RH, i] = humidity * saturation, potential * liquid, r_vapor * air, r_heat * warmth
        out[T, i], out[PSAT, i] = t, saturation
        if slopes:
            per = 1.0 / STEP_K
            out[PW, i], out[PT, i] = d0 * scale * saturation, humidity * d_sat * per
            out[POT_W, i], out[POT_T, i] = d1 * scale * liquid, potential * d_liquid * per
            out[RV_W, i], out[RV_T, i] = d2 * scale * h * air, r_vapor * d_air * per
            out[RH_W, i], out[RH_T, i] = d3 * scale * h * warmth, -r_heat * stretches[m, 5] * (1.0 - g)
            out[T_W, i], out[T_H, i] = -water_heat * t * heat, heat


@inlined
def join(k: int, a: float, a_per_m: float, b: float, b_per_m: float, joins: Floats, spans: Floats) -> tuple[float, float, float]:
    """Liquid from one material into another at one common suction.

    Both half cells hold their Kirchhoff potential; the suction on the face is the one at which as much arrives as
    leaves. It depends on the sum of both scaled potentials alone, so a table of one variable replaces an iteration.

    Parameters
    ----------
    k : int
        Which join.
    a : float
        Potential of the left cell. [kg/(m s)]
    a_per_m : float
        Inverse of the left half thickness. [1/m]
    b : float
        Potential of the right cell. [kg/(m s)]
    b_per_m : float
        Inverse of the right half thickness. [1/m]
    joins : ndarray, shape (j, c)
        Left share of the sum of scaled potentials, by the logarithm of the sum.
    spans : ndarray, shape (j, 2)
        Logarithm of the least sum and inverse spacing.

    Returns
    -------
    flux_kg_m2s : tuple of float
        Flux to the right [kg/(m2 s)] and its slopes in both potentials. [1/m]

    References
    ----------
    own derivation
    """
    left = a * a_per_m
    total = left + b * b_per_m
    if total <= 0.0:
        return 0.0, 0.0, 0.0
    x = (np.log(total) - spans[k, 0]) * spans[k, 1]
    i, rise = 0, 0.0
    if x > 0.0:
        i = int(min(x, joins.shape[1] - 2.0))
        x = min(x - i, 1.0)
        rise = joins[k, i + 1] - joins[k, i]
    share = joins[k, i] + x * rise if x > 0.0 else joins[k, 0]
    slope = share + rise * spans[k, 1]
    return left - total * share, a_per_m * (1.0 - slope), -b_per_m * slope


@inlined
def inner(c: Floats, grid: Grid, f: Floats, sub: Floats, dia: Floats, sup: Floats, slopes: bool) -> None:
    """Add the fluxes of all inner faces, and their derivatives when wanted.

    Parameters
    ----------
    c : ndarray, shape (16, n)
        Cell array.
    grid : Grid
        Wall.
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
    half, kind, vapor, heat, joins, spans = grid.half_m, grid.kind, grid.vapor_pa_s_m2_kg, grid.heat_m2k_w, grid.joins, grid.spans
    latent, vapor_heat, water_heat = grid.latent_j_kg, grid.vapor_heat_j_kgk, grid.water_heat_j_kgk
    for j in range(1, c.shape[1]):
        i = j - 1
        rv, rh = 1.0 / (c[RV, i] + c[RV, j] + vapor[j]), 1.0 / (c[RH, i] + c[RH, j] + heat[j])
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
        conduction = (c[T, i] - c[T, j]) * rh
        h_v, h_l = latent + vapor_heat * t, water_heat * t
        flux, q = g + liquid, conduction + g * h_v + liquid * h_l
        f[i, 0] -= flux
        f[i, 1] -= q
        f[j, 0] += flux
        f[j, 1] += q
        if slopes:
            carried = 0.5 * (g * vapor_heat + liquid * water_heat)
            gw, gt = (c[PW, i] - g * c[RV_W, i]) * rv, (c[PT, i] - g * c[RV_T, i]) * rv
            lw, lt = liquid_a * c[POT_W, i], liquid_a * c[POT_T, i]
            qw = -conduction * c[RH_W, i] * rh + gw * h_v + lw * h_l
            qt = (1.0 - conduction * c[RH_T, i]) * rh + gt * h_v + lt * h_l + carried
            mt = gt + lt
            a0, a1, a2, a3 = gw + lw + mt * c[T_W, i], mt * c[T_H, i], qw + qt * c[T_W, i], qt * c[T_H, i]
            gw, gt = -(c[PW, j] + g * c[RV_W, j]) * rv, -(c[PT, j] + g * c[RV_T, j]) * rv
            lw, lt = liquid_b * c[POT_W, j], liquid_b * c[POT_T, j]
            qw = -conduction * c[RH_W, j] * rh + gw * h_v + lw * h_l
            qt = -(1.0 + conduction * c[RH_T, j]) * rh + gt * h_v + lt * h_l + carried
            mt = gt + lt
            b0, b1, b2, b3 = gw + lw + mt * c[T_W, j], mt * c[T_H, j], qw + qt * c[T_W, j], qt * c[T_H, j]
            sub[j, 0], sub[j, 1], sub[j, 2], sub[j, 3] = a0, a1, a2, a3
            sup[i, 0], sup[i, 1], sup[i, 2], sup[i, 3] = -b0, -b1, -b2, -b3
            dia[i, 0], dia[i, 1], dia[i, 2], dia[i, 3] = dia[i, 0] - a0, dia[i, 1] - a1, dia[i, 2] - a2, dia[i, 3] - a3
            dia[j, 0], dia[j, 1], dia[j, 2], dia[j, 3] = b0, b1, b2, b3


@inlined
def mobility(w: float, m: int, tables: Floats, stretches: Floats) -> tuple[float, float]:
    """Liquid mobility of a surface cell per humidity, and its slope in content.

    Parameters
    ----------
    w : float
        Water content. [kg/m3]
    m : int
        Material.
    tables : ndarray, shape (m, k, 5)
        Tables.
    stretches : ndarray, shape (m, 8)
        How to look up.

    Returns
    -------
    mobility_kg_m_s : tuple of float
        Mobility [kg/(m s)] and slope [m2/s].

    References
    ----------
    own derivation
    """
    bend, scale = stretches[m, 0], stretches[m, 1]
    x = w * scale
    if w >= bend:
        scale = stretches[m, 2]
        x = stretches[m, 3] + (w - bend) * scale
    k = 0
    if x > 0.0:
        k = int(min(x, stretches[m, 4]))
    rise = tables[m, k + 1, 4] - tables[m, k, 4]
    return max(tables[m, k, 4] + max(x - k, 0.0) * rise, 0.0), rise * scale


@inlined
def edge(y: Floats, c: Floats, grid: Grid, s: int, air: Floats, e: Floats) -> None:
    """Water and heat into the cell behind one surface, and the derivatives.

    Parameters
    ----------
    y : ndarray, shape (n, 2)
        State.
    c : ndarray, shape (16, n)
        Cell array; its derivative rows may be stale, then those of the result are too.
    grid : Grid
        Wall.
    s : int
        0 left, 1 right.
    air : ndarray, shape (2, 7)
        What both sides feel.
    e : ndarray, shape (2 + x, 6)
        Row of the side filled: water [kg/(m2 s)], heat [W/m2], and derivatives of both in content and heat.

    References
    ----------
    en-15026 clause 6; own derivation for the half cell
    """
    n = c.shape[1]
    i, face = (0, 0) if s == 0 else (n - 1, n)
    half, m, contact = grid.half_m[i], grid.material[i], grid.contact[s] == 1
    latent, vapor_heat, water_heat = grid.latent_j_kg, grid.vapor_heat_j_kgk, grid.water_heat_j_kgk
    ta, t = air[s, AIR_C], c[T, i]
    # Inside the half cell vapor and liquid share the path; both are driven by humidity there.
    inside = 1.0 / c[RV, i]
    inside_w, inside_t = -c[RV_W, i] * inside * inside, -c[RV_T, i] * inside * inside
    if not contact:
        move, move_w = mobility(y[i, 0], m, grid.tables, grid.stretches)
        scale = 1.0 / (half * c[PSAT, i])
        inside += move * scale
        inside_w += move_w * scale
        inside_t -= move * scale * c[PT, i] / max(c[P, i], 1e-9)
    r = 1.0 / inside + grid.vapor_pa_s_m2_kg[face]
    if air[s, VAPOR_KG_PA_S_M2] < WIDE_OPEN_VAPOR:
        r += 1.0 / max(air[s, VAPOR_KG_PA_S_M2], 1e-30)
    r = 1.0 / r
    g = (air[s, VAPOR_PA] - c[P, i]) * r
    grow = g * r / (inside * inside)
    gw, gt = -c[PW, i] * r + grow * inside_w, -c[PT, i] * r + grow * inside_t
    h_v, carried = latent + vapor_heat * ta, 0.0
    if g < 0.0:
        h_v, carried = latent + vapor_heat * t, vapor_heat * g
    liquid, lw, lt = 0.0, 0.0, 0.0
    room = -1.0
    if contact:
        room = (air[s, CONTACT_POTENTIAL] - c[POT, i]) / half
    elif air[s, RAIN_KG_M2S] > 0.0:
        room = max((grid.tables[m, grid.tables.shape[1] - 2, 1] - c[POT, i]) / half, 0.0)
    if contact or (air[s, RAIN_KG_M2S] > room >= 0.0):
        liquid, lw, lt = room, -c[POT_W, i] / half, -c[POT_T, i] / half
    elif air[s, RAIN_KG_M2S] > 0.0:
        liquid = air[s, RAIN_KG_M2S]
    film = 0.0
    if air[s, HEAT_W_M2K] < WIDE_OPEN_HEAT:
        film = 1.0 / max(air[s, HEAT_W_M2K], 1e-12)
    k = 1.0 / (film + grid.heat_m2k_w[face] + c[RH, i])
    conduction = (ta + air[s, SUN_W_M2] * film - t) * k
    qw = -conduction * c[RH_W, i] * k + gw * h_v + lw * water_heat * ta
    qt = -(1.0 + conduction * c[RH_T, i]) * k + gt * h_v + carried + lt * water_heat * ta
    mt = gt + lt
    e[s, 0], e[s, 1] = g + liquid, conduction + g * h_v + liquid * water_heat * ta
    e[s, 2], e[s, 3], e[s, 4], e[s, 5] = gw + lw + mt * c[T_W, i], mt * c[T_H, i], qw + qt * c[T_W, i], qt * c[T_H, i]


@inlined
def exchanged(c: Floats, grid: Grid, x: int, air: Floats, e: Floats) -> None:
    """Water and heat that a stream of air brings into a cell and takes out again.

    Parameters
    ----------
    c : ndarray, shape (16, n)
        Cell array.
    grid : Grid
        Wall.
    x : int
        Which stream.
    air : ndarray, shape (2, 7)
        What both sides feel.
    e : ndarray, shape (2 + x, 6)
        Row of the stream filled, as by `edge`.

    References
    ----------
    own derivation
    """
    i, flow, latent, vapor_heat = grid.exchange_cell[x], grid.exchange_flow_m3_s_m2[x], grid.latent_j_kg, grid.vapor_heat_j_kgk
    s = grid.exchange_side[x]
    ta, t = air[s, AIR_C], c[T, i]
    come = flow * air[s, VAPOR_PA] / (VAPOR_GAS_CONSTANT * (ta + ZERO_C))
    per = flow / (VAPOR_GAS_CONSTANT * (t + ZERO_C))
    go, h = per * c[P, i], latent + vapor_heat * t
    gw, gt = -per * c[PW, i], -per * c[PT, i] + go / (t + ZERO_C)
    qw, qt = gw * h, gt * h - go * vapor_heat - flow * AIR_HEAT_J_M3K
    e[2 + x, 0] = come - go
    e[2 + x, 1] = flow * AIR_HEAT_J_M3K * (ta - t) + come * (latent + vapor_heat * ta) - go * h
    e[2 + x, 2], e[2 + x, 3], e[2 + x, 4], e[2 + x, 5] = gw + gt * c[T_W, i], gt * c[T_H, i], qw + qt * c[T_W, i], qt * c[T_H, i]


@inlined
def outer(y: Floats, c: Floats, grid: Grid, air: Floats, e: Floats) -> None:
    """Fluxes through both surfaces and by exchange with air, one row each.

    Parameters
    ----------
    y : ndarray, shape (n, 2)
        State.
    c : ndarray, shape (16, n)
        Cell array.
    grid : Grid
        Wall.
    air : ndarray, shape (2, 7)
        What both sides feel.
    e : ndarray, shape (2 + x, 6)
        Filled.

    References
    ----------
    en-15026 clause 6
    """
    edge(y, c, grid, 0, air, e)
    edge(y, c, grid, 1, air, e)
    for x in range(grid.exchange_cell.shape[0]):
        exchanged(c, grid, x, air, e)
