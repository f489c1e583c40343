"""Compiled march through time: a linearly implicit method of third order whose steps follow its own error.

One matrix a step, built from exact derivatives and used by four stages (RODAS3). The method is stiffly accurate and
needs no start-up after a jump of the climate, which a steam room makes twice in every session.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from steamwright.physics.block_tridiagonal import factor, solve
from steamwright.physics.compiled import compiled
from steamwright.physics.heat_moisture_kernel import BALANCES, CELL_ROWS, CLIMATE_COLUMNS, P, PSAT, T, T_H, cells, edge, exchanged, inner

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

GAMMA = 0.5
DONE, STEP_TOO_SMALL, TOO_MANY_STEPS = 0, 1, 2
# Entries of the array of plain numbers.
LATENT, VAPOR_HEAT, WATER_HEAT, TOLERANCE, CONTENT_FLOOR, TEMPERATURE_SCALE, LEAST_STEP, MOST_STEPS, FIRST_STEP, LONGEST_STEP = range(10)


@compiled
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


@compiled
def outer(y: Floats, c: Floats, half: Floats, material: Ints, tables: Floats, stretches: Floats, vapor: Floats, heat: Floats,
          contact: Ints, air: Floats, exchange_cell: Ints, exchange_side: Ints, exchange_flow: Floats, numbers: Floats, e: Floats) -> None:  # fmt: skip
    """Fluxes through both surfaces and by exchange with air, one row each.

    Parameters
    ----------
    y : ndarray, shape (n, 2)
        State.
    c : ndarray, shape (16, n)
        Cell array.
    half : ndarray, shape (n,)
        Half thicknesses. [m]
    material : ndarray of int, shape (n,)
        Materials.
    tables : ndarray, shape (m, k, 5)
        Tables.
    stretches : ndarray, shape (m, 8)
        How to look up.
    vapor : ndarray, shape (n + 1,)
        Vapor resistances at faces. [Pa m2 s/kg]
    heat : ndarray, shape (n + 1,)
        Heat resistances at faces. [m2 K/W]
    contact : ndarray of int, shape (2,)
        Sides held at a humidity with liquid contact.
    air : ndarray, shape (2, 7)
        What both sides feel.
    exchange_cell : ndarray of int, shape (x,)
        Cells that exchange air.
    exchange_side : ndarray of int, shape (x,)
        With which side.
    exchange_flow : ndarray, shape (x,)
        How much. [m3/(m2 s)]
    numbers : ndarray, shape (10,)
        Plain numbers.
    e : ndarray, shape (2 + x, 6)
        Filled.

    References
    ----------
    en-15026 clause 6
    """
    n = half.shape[0]
    for s in range(2):
        i = 0 if s == 0 else n - 1
        m = material[i]
        move, move_w = mobility(y[i, 0], m, tables, stretches)
        full = tables[m, tables.shape[1] - 2, 1]
        edge(c, i, half[i], vapor[0 if s == 0 else n], heat[0 if s == 0 else n], contact[s] == 1, move, move_w, full, air[s],
             numbers[LATENT], numbers[VAPOR_HEAT], numbers[WATER_HEAT], e[s])  # fmt: skip
    for x in range(exchange_cell.shape[0]):
        exchanged(c, exchange_cell[x], exchange_flow[x], air[exchange_side[x]], numbers[LATENT], numbers[VAPOR_HEAT], e[2 + x])


@compiled
def march(y: Floats, half: Floats, capacity: Floats, material: Ints, kind: Ints, vapor: Floats, heat: Floats, tables: Floats,
          stretches: Floats, warm: Floats, joins: Floats, spans: Floats, contact: Ints, knots: Floats, air_left: Floats, air_right: Floats,
          exchange_cell: Ints, exchange_side: Ints, exchange_flow: Floats, numbers: Floats, slot: Ints, probe: Ints, layer: Ints,
          out_content: Floats, out_celsius: Floats, out_probe: Floats, out_layer: Floats, balance: Floats, counts: Floats) -> int:  # fmt: skip
    """Carry one wall through its climate.

    Parameters
    ----------
    y : ndarray, shape (n, 2)
        Water content [kg/m3] and heat content [J/m3]; carried on in place.
    half : ndarray, shape (n,)
        Half thicknesses. [m]
    capacity : ndarray, shape (n,)
        Dry heat capacities. [J/(m3 K)]
    material : ndarray of int, shape (n,)
        Materials.
    kind : ndarray of int, shape (n + 1,)
        Kind of each face.
    vapor : ndarray, shape (n + 1,)
        Vapor resistances at faces. [Pa m2 s/kg]
    heat : ndarray, shape (n + 1,)
        Heat resistances at faces. [m2 K/W]
    tables : ndarray, shape (m, k, 5)
        Tables of the materials.
    stretches : ndarray, shape (m, 8)
        How to look up.
    warm : ndarray, shape (4000, 3)
        Table by temperature.
    joins : ndarray, shape (j, c)
        Liquid joins.
    spans : ndarray, shape (j, 2)
        How to look up.
    contact : ndarray of int, shape (2,)
        Sides with liquid contact.
    knots : ndarray, shape (t,)
        Rising times; two equal ones are a jump. [s]
    air_left : ndarray, shape (t, 7)
        Climate of the left side at the knots, straight between them.
    air_right : ndarray, shape (t, 7)
        Climate of the right side.
    exchange_cell : ndarray of int, shape (x,)
        Cells that exchange air.
    exchange_side : ndarray of int, shape (x,)
        With which side.
    exchange_flow : ndarray, shape (x,)
        How much. [m3/(m2 s)]
    numbers : ndarray, shape (10,)
        Plain numbers.
    slot : ndarray of int, shape (t,)
        Where a knot is recorded, -1 nowhere; rows past the profile arrays record probes and layers only.
    probe : ndarray of int, shape (p,)
        Probed cells.
    layer : ndarray of int, shape (n,)
        Layer of each cell.
    out_content : ndarray, shape (o, n)
        Filled. [kg/m3]
    out_celsius : ndarray, shape (o, n)
        Filled. [C]
    out_probe : ndarray, shape (r, p, 2)
        Filled: humidity [1] and temperature [C].
    out_layer : ndarray, shape (r, l)
        Filled: water of each layer. [kg/m2]
    balance : ndarray, shape (6,)
        Added to: water through left, right, exchange; heat through the same. [kg/m2, J/m2]
    counts : ndarray, shape (8,)
        Filled: steps, refused steps, last time, worst cell, last step, sum of error norms.

    Returns
    -------
    status : int
        0 done, 1 step too small, 2 too many steps.

    References
    ----------
    sandu-1997 RODAS3; en-15026
    """
    n, nx = half.shape[0], exchange_cell.shape[0]
    latent, vapor_heat, water_heat = numbers[LATENT], numbers[VAPOR_HEAT], numbers[WATER_HEAT]
    tolerance, floor, t_scale = numbers[TOLERANCE], numbers[CONTENT_FLOOR], numbers[TEMPERATURE_SCALE]
    c, c2 = np.empty((CELL_ROWS, n)), np.empty((CELL_ROWS, n))
    f, ft, g, z = np.empty((n, 2)), np.zeros((n, 2)), np.empty((n, 2)), np.empty((n, 2))
    k1, k2, k3 = np.empty((n, 2)), np.empty((n, 2)), np.empty((n, 2))
    sub, dia, sup = np.zeros((n, 4)), np.zeros((n, 4)), np.zeros((n, 4))
    inverse, down, up, lhs = np.empty((n, 4)), np.empty((n, 4)), np.empty((n, 4)), np.empty((n, 4))
    e, e2, et = np.empty((2 + nx, 6)), np.empty((2 + nx, 6)), np.zeros((2 + nx, 6))
    where = np.empty(2 + nx, np.int64)
    where[0], where[1] = 0, n - 1
    where[2:] = exchange_cell
    air, air2 = np.empty((2, CLIMATE_COLUMNS)), np.empty((2, CLIMATE_COLUMNS))
    sums = np.empty((4, 2 + nx, 2))
    h, restart, jumped = numbers[FIRST_STEP], numbers[FIRST_STEP], True
    steps, refused, error_sum = 0, 0, 0.0

    for k in range(knots.shape[0]):
        if slot[k] >= 0:
            r = slot[k]
            cells(y, half, capacity, material, tables, stretches, warm, water_heat, c)
            if r < out_content.shape[0]:
                for i in range(n):
                    out_content[r, i], out_celsius[r, i] = y[i, 0], c[T, i]
            for q in range(probe.shape[0]):
                out_probe[r, q, 0], out_probe[r, q, 1] = c[P, probe[q]] / c[PSAT, probe[q]], c[T, probe[q]]
            for i in range(n):
                out_layer[r, layer[i]] += 2.0 * half[i] * y[i, 0]
        if k + 1 == knots.shape[0]:
            break
        t0, t1 = knots[k], knots[k + 1]
        if t1 <= t0:
            jumped = True
            continue
        moving = False
        for q in range(CLIMATE_COLUMNS):
            if air_left[k, q] != air_left[k + 1, q] or air_right[k, q] != air_right[k + 1, q]:
                moving = True
        t, fresh = t0, True
        if jumped:
            h = min(h, restart)
        first = jumped
        jumped = False
        while t < t1:
            left = t1 - t
            last = False
            if h >= 0.999 * left:
                step, last = left, True
            elif 2.0 * h > left:
                step = 0.5 * left
            else:
                step = h
            if step > numbers[LONGEST_STEP]:
                step, last = numbers[LONGEST_STEP], False
            if fresh:
                x = (t - t0) / (t1 - t0)
                for q in range(CLIMATE_COLUMNS):
                    air[0, q] = air_left[k, q] + x * (air_left[k + 1, q] - air_left[k, q])
                    air[1, q] = air_right[k, q] + x * (air_right[k + 1, q] - air_right[k, q])
                cells(y, half, capacity, material, tables, stretches, warm, water_heat, c)
                f[:, :] = 0.0
                dia[:, :] = 0.0
                inner(c, half, kind, vapor, heat, joins, spans, latent, vapor_heat, water_heat, f, sub, dia, sup, True)
                outer(y, c, half, material, tables, stretches, vapor, heat, contact, air, exchange_cell, exchange_side, exchange_flow,
                      numbers, e)  # fmt: skip
                for q in range(2 + nx):
                    i = where[q]
                    f[i, 0] += e[q, 0]
                    f[i, 1] += e[q, 1]
                    for p in range(4):
                        dia[i, p] += e[q, 2 + p]
                if moving:
                    small = 1e-3
                    for q in range(CLIMATE_COLUMNS):
                        air2[0, q] = air[0, q] + small * (air_left[k + 1, q] - air_left[k, q])
                        air2[1, q] = air[1, q] + small * (air_right[k + 1, q] - air_right[k, q])
                    outer(y, c, half, material, tables, stretches, vapor, heat, contact, air2, exchange_cell, exchange_side,
                          exchange_flow, numbers, et)  # fmt: skip
                    for q in range(2 + nx):
                        et[q, 0] = (et[q, 0] - e[q, 0]) / (small * (t1 - t0))
                        et[q, 1] = (et[q, 1] - e[q, 1]) / (small * (t1 - t0))
                else:
                    et[:, :] = 0.0
                fresh = False
            over = 1.0 / step
            for i in range(n):
                d = 2.0 * half[i] * over / GAMMA
                lhs[i, 0], lhs[i, 1], lhs[i, 2], lhs[i, 3] = d - dia[i, 0], -dia[i, 1], -dia[i, 2], d - dia[i, 3]
                k1[i, 0], k1[i, 1] = f[i, 0], f[i, 1]
                sub_i, sup_i = sub[i], sup[i]
                for p in range(4):
                    ft_sub = -sub_i[p]
                    ft_sup = -sup_i[p]
                    down[i, p], up[i, p] = ft_sub, ft_sup
            factor(down, lhs, up, inverse, down, up)
            for q in range(2 + nx):
                k1[where[q], 0] += 0.5 * step * et[q, 0]
                k1[where[q], 1] += 0.5 * step * et[q, 1]
            solve(inverse, down, up, k1)
            for i in range(n):
                d = 8.0 * half[i] * over
                k2[i, 0], k2[i, 1] = f[i, 0] + d * k1[i, 0], f[i, 1] + d * k1[i, 1]
            for q in range(2 + nx):
                k2[where[q], 0] += 1.5 * step * et[q, 0]
                k2[where[q], 1] += 1.5 * step * et[q, 1]
            solve(inverse, down, up, k2)
            # Balance of every stage: what passed each surface in it, by the same linear rule as the cells.
            for q in range(2 + nx):
                i = where[q]
                for p in range(2):
                    b = e[q, 2 + 2 * p] * k1[i, 0] + e[q, 3 + 2 * p] * k1[i, 1]
                    sums[0, q, p] = GAMMA * step * (e[q, p] + 0.5 * step * et[q, p] + b)
                    b = e[q, 2 + 2 * p] * k2[i, 0] + e[q, 3 + 2 * p] * k2[i, 1]
                    sums[1, q, p] = GAMMA * step * (e[q, p] + 4.0 * over * sums[0, q, p] + 1.5 * step * et[q, p] + b)
            x = (t + step - t0) / (t1 - t0)
            for q in range(CLIMATE_COLUMNS):
                air2[0, q] = air_left[k, q] + x * (air_left[k + 1, q] - air_left[k, q])
                air2[1, q] = air_right[k, q] + x * (air_right[k + 1, q] - air_right[k, q])
            for stage in range(2):
                for i in range(n):
                    z[i, 0], z[i, 1] = y[i, 0] + 2.0 * k1[i, 0], y[i, 1] + 2.0 * k1[i, 1]
                    if stage == 1:
                        z[i, 0] += k3[i, 0]
                        z[i, 1] += k3[i, 1]
                cells(z, half, capacity, material, tables, stretches, warm, water_heat, c2)
                g[:, :] = 0.0
                inner(c2, half, kind, vapor, heat, joins, spans, latent, vapor_heat, water_heat, g, sub, dia, sup, False)
                outer(z, c2, half, material, tables, stretches, vapor, heat, contact, air2, exchange_cell, exchange_side,
                      exchange_flow, numbers, e2)  # fmt: skip
                for q in range(2 + nx):
                    g[where[q], 0] += e2[q, 0]
                    g[where[q], 1] += e2[q, 1]
                third = 0.0 if stage == 0 else -8.0 / 3.0
                for i in range(n):
                    d = 2.0 * half[i] * over
                    for p in range(2):
                        b = k1[i, p] - k2[i, p]
                        if stage == 1:
                            b += third * k3[i, p]
                        g[i, p] += d * b
                solve(inverse, down, up, g)
                for q in range(2 + nx):
                    i = where[q]
                    for p in range(2):
                        b = e[q, 2 + 2 * p] * g[i, 0] + e[q, 3 + 2 * p] * g[i, 1]
                        a = sums[0, q, p] - sums[1, q, p]
                        if stage == 1:
                            a += third * sums[2, q, p]
                        sums[2 + stage, q, p] = GAMMA * step * (e2[q, p] + over * a + b)
                if stage == 0:
                    k3[:, :] = g
            norm, worst, worst_cell, sane = 0.0, 0.0, 0, True
            for i in range(n):
                w0 = y[i, 0]
                z[i, 0] += g[i, 0]
                z[i, 1] += g[i, 1]
                w1 = z[i, 0]
                a = g[i, 0] / (floor + max(abs(w0), abs(w1)))
                b = (g[i, 1] - water_heat * c[T, i] * g[i, 0]) * c[T_H, i] / t_scale
                s = a * a + b * b
                norm += s
                if s > worst:
                    worst, worst_cell = s, i
                if not (w1 > -0.02 * (floor + stretches[material[i], 6])) or not (abs(z[i, 1]) < 1e12):
                    sane, worst_cell = False, i
            norm = np.sqrt(norm / (2.0 * n)) / tolerance
            if not sane or not (norm < 1e6):
                norm = 1e6
            if norm <= 1.0:
                steps += 1
                error_sum += norm * tolerance
                t = t1 if last else t + step
                y[:, :] = z
                fresh = True
                for q in range(2 + nx):
                    slot_q = min(q, 2)
                    for p in range(2):
                        balance[3 * p + slot_q] += 2.0 * sums[0, q, p] + sums[2, q, p] + sums[3, q, p]
                if first:
                    restart = step * min(2.0, max(0.3, 0.8 * max(norm, 1e-9) ** (-1.0 / 3.0)))
                    first = False
            else:
                refused += 1
            h_next = step * min(6.0, max(0.15, 0.9 * max(norm, 1e-9) ** (-1.0 / 3.0)))
            # A step cut short by a knot says little about the next one.
            h = max(h, h_next) if (norm <= 1.0 and step < h) else h_next
            if h < numbers[LEAST_STEP] or steps + refused > numbers[MOST_STEPS]:
                counts[0], counts[1], counts[2], counts[3], counts[4], counts[5] = steps, refused, t, worst_cell, step, error_sum
                return STEP_TOO_SMALL if h < numbers[LEAST_STEP] else TOO_MANY_STEPS
    counts[0], counts[1], counts[2], counts[3], counts[4], counts[5] = steps, refused, knots[-1], -1.0, h, error_sum
    return DONE
