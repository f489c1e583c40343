"""One step of the march through time: one matrix, built from exact derivatives and used by four stages, and the step's own error.

The method (RODAS3) is linearly implicit, of third order and stiffly accurate.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from steamwright.physics.block_tridiagonal import factor, solve
from steamwright.physics.compiled import inlined
from steamwright.physics.heat_moisture_kernel import CLIMATE_COLUMNS, T_H, Grid, T, cells, inner, outer

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

GAMMA, THIRD = 0.5, -8.0 / 3.0
INSANE = 1e6


class Course(NamedTuple):
    """Climate at the knots, straight between them, two equal times being a jump; and how exactly to follow it.

    ``moving`` is 1 where the climate changes from a knot to the next;
    ``slot`` says where a knot is recorded, -1 nowhere; slots past the profile arrays keep probes and layers only.
    """

    knots_s: Floats
    left: Floats
    right: Floats
    moving: Ints
    slot: Ints
    probe: Ints
    layer: Ints
    tolerance: float
    content_floor_kg_m3: float
    temperature_scale_k: float
    first_step_s: float
    least_step_s: float
    longest_step_s: float
    most_steps: float


class Bench(NamedTuple):
    """Room to work in: cell arrays, rates, stages, the factored matrix, and fluxes through the surfaces."""

    c: Floats
    c2: Floats
    f: Floats
    g: Floats
    z: Floats
    k1: Floats
    k2: Floats
    k3: Floats
    sub: Floats
    dia: Floats
    sup: Floats
    inverse: Floats
    down: Floats
    up: Floats
    where: Ints
    e: Floats
    e2: Floats
    et: Floats
    sums: Floats
    air: Floats
    air2: Floats


@inlined
def felt(k: int, x: float, course: Course, air: Floats) -> None:
    """Climate of both sides at a share of the way from a knot to the next.

    Parameters
    ----------
    k : int
        Knot.
    x : float
        Share, 0 to 1. [1]
    course : Course
        Climate.
    air : ndarray, shape (2, 7)
        Filled.

    References
    ----------
    own derivation
    """
    for q in range(CLIMATE_COLUMNS):
        air[0, q] = course.left[k, q] + x * (course.left[k + 1, q] - course.left[k, q])
        air[1, q] = course.right[k, q] + x * (course.right[k + 1, q] - course.right[k, q])


@inlined
def begin(k: int, t: float, y: Floats, grid: Grid, course: Course, b: Bench, moving: bool) -> None:
    """Rates at the start of a step, their derivatives in the state, and in time where the climate moves.

    Parameters
    ----------
    k : int
        Knot before the step.
    t : float
        Time. [s]
    y : ndarray, shape (n, 2)
        State.
    grid : Grid
        Wall.
    course : Course
        Climate.
    b : Bench
        Filled: c, f, sub, dia, sup, e, et.
    moving : bool
        Whether the climate changes between the knots.

    References
    ----------
    own derivation
    """
    span = course.knots_s[k + 1] - course.knots_s[k]
    x = (t - course.knots_s[k]) / span
    felt(k, x, course, b.air)
    cells(y, grid, b.c, True)
    f, dia, e, et = b.f, b.dia, b.e, b.et
    for i in range(y.shape[0]):
        f[i, 0], f[i, 1] = 0.0, 0.0
    dia[0, 0], dia[0, 1], dia[0, 2], dia[0, 3] = 0.0, 0.0, 0.0, 0.0
    inner(b.c, grid, b.f, b.sub, b.dia, b.sup, True)
    outer(y, b.c, grid, b.air, b.e)
    for q in range(b.where.shape[0]):
        i = b.where[q]
        f[i, 0] += e[q, 0]
        f[i, 1] += e[q, 1]
        for p in range(4):
            dia[i, p] += e[q, 2 + p]
        et[q, 0], et[q, 1] = 0.0, 0.0
    if moving:
        small = 1e-3
        felt(k, x + small, course, b.air2)
        outer(y, b.c, grid, b.air2, b.et)
        for q in range(b.where.shape[0]):
            for p in range(2):
                et[q, p] = (et[q, p] - e[q, p]) / (small * span)


@inlined
def first_stages(step: float, grid: Grid, b: Bench) -> None:
    """Factor the matrix of a step and solve its two stages that use the rates at its start.

    Parameters
    ----------
    step : float
        Step. [s]
    grid : Grid
        Wall.
    b : Bench
        Reads the result of `begin`; fills the factors, k1, k2 and the first two sums.

    References
    ----------
    sandu-1997 RODAS3
    """
    n, over = b.f.shape[0], 1.0 / step
    k1, k2, f, dia, inverse = b.k1, b.k2, b.f, b.dia, b.inverse
    for i in range(n):
        d = 2.0 * grid.half_m[i] * over / GAMMA
        k1[i, 0], k1[i, 1] = f[i, 0], f[i, 1]
        inverse[i, 0], inverse[i, 1], inverse[i, 2], inverse[i, 3] = d - dia[i, 0], -dia[i, 1], -dia[i, 2], d - dia[i, 3]
    factor(b.sub, b.sup, inverse, b.down, b.up)
    for q in range(b.where.shape[0]):
        for p in range(2):
            k1[b.where[q], p] += 0.5 * step * b.et[q, p]
    solve(inverse, b.down, b.up, k1)
    for i in range(n):
        d = 8.0 * grid.half_m[i] * over
        k2[i, 0], k2[i, 1] = f[i, 0] + d * k1[i, 0], f[i, 1] + d * k1[i, 1]
    for q in range(b.where.shape[0]):
        for p in range(2):
            k2[b.where[q], p] += 1.5 * step * b.et[q, p]
    solve(inverse, b.down, b.up, k2)
    # What passed each surface in a stage follows the same linear rule as the cells, so balances close to rounding.
    for q in range(b.where.shape[0]):
        i = b.where[q]
        for p in range(2):
            u, v = b.e[q, 2 + 2 * p], b.e[q, 3 + 2 * p]
            s0 = GAMMA * step * (b.e[q, p] + 0.5 * step * b.et[q, p] + u * k1[i, 0] + v * k1[i, 1])
            b.sums[0, q, p] = s0
            b.sums[1, q, p] = GAMMA * step * (b.e[q, p] + 4.0 * over * s0 + 1.5 * step * b.et[q, p] + u * k2[i, 0] + v * k2[i, 1])


@inlined
def last_stages(step: float, y: Floats, grid: Grid, b: Bench) -> None:
    """Solve the two stages at the end of a step; the last one is the new state and, alone, the error.

    Parameters
    ----------
    step : float
        Step. [s]
    y : ndarray, shape (n, 2)
        State at the start.
    grid : Grid
        Wall.
    b : Bench
        Reads factors, k1, k2 and the climate air2; fills z with the new state, g with the error, k3 and sums.

    References
    ----------
    sandu-1997 RODAS3
    """
    n, over = y.shape[0], 1.0 / step
    k1, k2, k3, g, z, half = b.k1, b.k2, b.k3, b.g, b.z, grid.half_m
    for stage in range(2):
        for i in range(n):
            d = 2.0 * half[i] * over
            for p in range(2):
                a, s = y[i, p] + 2.0 * k1[i, p], k1[i, p] - k2[i, p]
                if stage == 1:
                    a += k3[i, p]
                    s += THIRD * k3[i, p]
                z[i, p] = a
                g[i, p] = d * s
        cells(z, grid, b.c2, False)
        inner(b.c2, grid, g, b.sub, b.dia, b.sup, False)
        outer(z, b.c2, grid, b.air2, b.e2)
        for q in range(b.where.shape[0]):
            for p in range(2):
                g[b.where[q], p] += b.e2[q, p]
        solve(b.inverse, b.down, b.up, g)
        for q in range(b.where.shape[0]):
            i = b.where[q]
            for p in range(2):
                a = b.sums[0, q, p] - b.sums[1, q, p]
                if stage == 1:
                    a += THIRD * b.sums[2, q, p]
                linear = b.e[q, 2 + 2 * p] * g[i, 0] + b.e[q, 3 + 2 * p] * g[i, 1]
                b.sums[2 + stage, q, p] = GAMMA * step * (b.e2[q, p] + over * a + linear)
        if stage == 0:
            for i in range(n):
                k3[i, 0], k3[i, 1] = g[i, 0], g[i, 1]
    for i in range(n):
        z[i, 0] += g[i, 0]
        z[i, 1] += g[i, 1]


@inlined
def judged(y: Floats, grid: Grid, course: Course, b: Bench) -> tuple[float, int]:
    """Error of a step against the tolerance, and the cell that is worst.

    Parameters
    ----------
    y : ndarray, shape (n, 2)
        State before.
    grid : Grid
        Wall.
    course : Course
        Tolerances.
    b : Bench
        Reads z, g and c.

    Returns
    -------
    error : tuple of (float, int)
        Root mean square of the scaled error, above 1 to be refused, and the worst cell.

    References
    ----------
    own derivation
    """
    total, worst, cell = 0.0, 0.0, 0
    floor, scale, water_heat = course.content_floor_kg_m3, 1.0 / course.temperature_scale_k, grid.water_heat_j_kgk
    for i in range(y.shape[0]):
        w0, w1, dw = y[i, 0], b.z[i, 0], b.g[i, 0]
        in_content = dw / (floor + max(abs(w0), abs(w1)))
        in_temperature = (b.g[i, 1] - water_heat * b.c[T, i] * dw) * b.c[T_H, i] * scale
        s = in_content * in_content + in_temperature * in_temperature
        total += s
        if s > worst:
            worst, cell = s, i
        if not (w1 > -0.02 * (floor + grid.stretches[grid.material[i], 6])) or not abs(b.z[i, 1]) < 1e12:
            return INSANE, i
    error = np.sqrt(total / (2.0 * y.shape[0])) / course.tolerance
    return (error, cell) if error < INSANE else (INSANE, cell)
