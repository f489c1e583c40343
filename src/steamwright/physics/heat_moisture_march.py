"""Compiled march through time: steps of a linearly implicit method of third order that follow its own error.

The method needs no start-up after a jump of the climate, which a steam room makes twice in every session.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from steamwright.physics.compiled import compiled, inlined
from steamwright.physics.heat_moisture_kernel import PSAT, Grid, P, T, cells
from steamwright.physics.heat_moisture_stages import Bench, Course, begin, felt, first_stages, judged, last_stages

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

DONE, STEP_TOO_SMALL, TOO_MANY_STEPS = 0, 1, 2


class Kept(NamedTuple):
    """Results: profiles (o, n), probes (r, p, 2), layers (r, l), balances (2, 3), counts (8,)."""

    content_kg_m3: Floats
    temperature_c: Floats
    probes: Floats
    layer_kg_m2: Floats
    balance: Floats
    counts: Floats


@compiled
def record(k: int, y: Floats, grid: Grid, course: Course, kept: Kept, b: Bench) -> None:
    """Keep the state at a knot.

    Parameters
    ----------
    k : int
        Knot.
    y : ndarray, shape (n, 2)
        State.
    grid : Grid
        Wall.
    course : Course
        Climate.
    kept : Kept
        Filled.
    b : Bench
        Room to work in.

    References
    ----------
    own derivation
    """
    r = course.slot[k]
    cells(y, grid, b.c, False)
    if r < kept.content_kg_m3.shape[0]:
        for i in range(y.shape[0]):
            kept.content_kg_m3[r, i], kept.temperature_c[r, i] = y[i, 0], b.c[T, i]
    for q in range(course.probe.shape[0]):
        i = course.probe[q]
        kept.probes[r, q, 0], kept.probes[r, q, 1] = b.c[P, i] / b.c[PSAT, i], b.c[T, i]
    for i in range(y.shape[0]):
        kept.layer_kg_m2[r, course.layer[i]] += 2.0 * grid.half_m[i] * y[i, 0]


@inlined
def cross(k: int, h: float, jumped: bool, y: Floats, grid: Grid, course: Course, kept: Kept, b: Bench) -> tuple[float, float, int]:
    """March from a knot to the next.

    Parameters
    ----------
    k : int
        Knot.
    h : float
        First step to try. [s]
    jumped : bool
        Whether the climate jumped at the knot.
    y : ndarray, shape (n, 2)
        State, carried on.
    grid : Grid
        Wall.
    course : Course
        Climate and tolerances.
    kept : Kept
        Balances and counts, added to.
    b : Bench
        Room to work in.

    Returns
    -------
    next : tuple of (float, float, int)
        Step to try next [s], step that suited the first moment [s], status.

    References
    ----------
    own derivation
    """
    t, t1, suited, counts = course.knots_s[k], course.knots_s[k + 1], h, kept.counts
    moving, fresh, first = course.moving[k] == 1, True, True
    while t < t1:
        left = t1 - t
        step, last = h, False
        if h >= 0.999 * left:
            step, last = left, True
        elif 2.0 * h > left:
            step = 0.5 * left
        if step > course.longest_step_s:
            step, last = course.longest_step_s, False
        if fresh:
            begin(k, t, y, grid, course, b, moving)
        fresh = False
        first_stages(step, grid, b)
        felt(k, (t + step - course.knots_s[k]) / (t1 - course.knots_s[k]), course, b.air2)
        last_stages(step, y, grid, b)
        error, cell = judged(y, grid, course, b)
        factor_next = 0.9 * max(error, 1e-9) ** (-1.0 / 3.0)
        if error <= 1.0:
            counts[0] += 1.0
            counts[5] += error * course.tolerance
            t = t1 if last else t + step
            for i in range(y.shape[0]):
                y[i, 0], y[i, 1] = b.z[i, 0], b.z[i, 1]
            fresh = True
            for q in range(b.where.shape[0]):
                for p in range(2):
                    kept.balance[p, min(q, 2)] += 2.0 * b.sums[0, q, p] + b.sums[2, q, p] + b.sums[3, q, p]
            if first:
                suited, first = step * min(2.0, max(0.3, factor_next)), False
            # A step cut short by a knot says little about the next one.
            h = max(h, step * min(6.0, factor_next)) if step < h else step * min(6.0, max(0.15, factor_next))
        else:
            counts[1] += 1.0
            h = step * max(0.15, min(0.9, factor_next))
        if h < course.least_step_s or counts[0] + counts[1] > course.most_steps:
            counts[2], counts[3], counts[4] = t, cell, h
            return h, suited, STEP_TOO_SMALL if h < course.least_step_s else TOO_MANY_STEPS
    return h, suited, DONE


@compiled
def march(y: Floats, grid: Grid, course: Course, kept: Kept, b: Bench) -> int:
    """Carry one wall through its climate.

    Parameters
    ----------
    y : ndarray, shape (n, 2)
        Water content [kg/m3] and heat content [J/m3]; carried on in place.
    grid : Grid
        Wall.
    course : Course
        Climate and tolerances.
    kept : Kept
        Results, filled.
    b : Bench
        Room to work in.

    Returns
    -------
    status : int
        0 done, 1 step too small, 2 too many steps.

    References
    ----------
    sandu-1997 RODAS3; en-15026
    """
    h, restart, jumped = course.first_step_s, course.first_step_s, True
    for k in range(course.knots_s.shape[0]):
        if course.slot[k] >= 0:
            record(k, y, grid, course, kept, b)
        if k + 1 == course.knots_s.shape[0]:
            break
        if course.knots_s[k + 1] <= course.knots_s[k]:
            jumped = True
            continue
        if jumped:
            h = min(h, restart)
        h, suited, status = cross(k, h, jumped, y, grid, course, kept, b)
        if status != DONE:
            return status
        if jumped:
            restart, jumped = suited, False
    return DONE
