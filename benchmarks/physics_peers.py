"""The same wall, the same cells and the same tables for general-purpose integrators: rates in plain NumPy."""

from __future__ import annotations

import time
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.sparse import diags_array

from steamwright.physics.heat_moisture_assembly import Work
from steamwright.physics.heat_moisture_kernel import COLDEST_C, STEP_K, TEMPERATURES, WIDE_OPEN_HEAT, WIDE_OPEN_VAPOR

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Outcome:
    """Where a peer ended and what it cost."""

    content_kg_m3: Floats
    temperature_c: Floats
    cpu_s: float
    calls: int


class Rates:
    """Time derivatives of (water, temperature), cell by cell in pairs, as a scientist would script them."""

    def __init__(self, work: Work) -> None:
        g, c = work.grid, work.course
        self.g, self.c, self.calls = g, c, 0
        self.n = len(g.half_m)
        tables, stretch = g.tables[g.material], g.stretches[g.material]
        self.bend, self.low, self.high, self.count, self.last = (stretch[:, k] for k in range(5))
        self.growth = stretch[:, 5]
        self.tables, self.rows = tables, np.arange(self.n)
        self.kind = g.kind[1:-1]
        self.inside = self.kind == 0
        self.joined = np.flatnonzero(self.kind > 0)
        self.span = 1.0 / (g.half_m[1:] + g.half_m[:-1])

    def look(self, w: Floats, celsius: Floats) -> tuple[Floats, ...]:
        x = np.where(w < self.bend, w * self.low, self.count + (w - self.bend) * self.high)
        k = np.clip(x, 0.0, self.last).astype(np.int64)
        x = x - k
        low, high = self.tables[self.rows, k], self.tables[self.rows, k + 1]
        value = low + x[:, None] * (high - low)
        z = (celsius - COLDEST_C) / STEP_K
        j = np.clip(z, 0, TEMPERATURES - 2).astype(np.int64)
        warm = self.g.warm[j] + (z - j)[:, None] * (self.g.warm[j + 1] - self.g.warm[j])
        half, lean = self.g.half_m, self.growth * (celsius - 10.0)
        return (value[:, 0] * warm[:, 0], value[:, 1] * warm[:, 2],
                np.maximum(value[:, 2], 0.2 * low[:, 2]) * half * warm[:, 1],
                np.maximum(value[:, 3], 0.2 * low[:, 3]) * half * (1 - lean + 0.5 * lean**2),
                np.maximum(value[:, 4], 0.0), warm[:, 0])  # fmt: skip

    def edge(self, s: int, i: int, face: int, air: Floats, p: Floats, pot: Floats, rv: Floats, rh: Floats, move: Floats, sat: Floats,
             celsius: Floats) -> tuple[float, float]:  # fmt: skip
        g = self.g
        half, contact = g.half_m[i], g.contact[s] == 1
        inside = 1.0 / rv[i] + (0.0 if contact else move[i] / (half * sat[i]))
        r = 1.0 / inside + g.vapor_pa_s_m2_kg[face] + (1.0 / max(air[3], 1e-30) if air[3] < WIDE_OPEN_VAPOR else 0.0)
        flow = (air[1] - p[i]) / r
        liquid = (air[6] - pot[i]) / half if contact else 0.0
        film = 1.0 / air[2] if air[2] < WIDE_OPEN_HEAT else 0.0
        heat = (air[0] + air[5] * film - celsius[i]) / (film + g.heat_m2k_w[face] + rh[i])
        heat += flow * (g.latent_j_kg + g.vapor_heat_j_kgk * (air[0] if flow > 0 else celsius[i])) + liquid * g.water_heat_j_kgk * air[0]
        return flow + liquid, heat

    def climate(self, k: int, t: float) -> tuple[Floats, Floats]:
        x = (t - self.c.knots_s[k]) / (self.c.knots_s[k + 1] - self.c.knots_s[k])
        return (self.c.left[k] + x * (self.c.left[k + 1] - self.c.left[k]), self.c.right[k] + x * (self.c.right[k + 1] - self.c.right[k]))

    def __call__(self, t: float, y: Floats) -> Floats:
        self.calls += 1
        g, c = self.g, self.c
        w, celsius = y[0::2], y[1::2]
        p, pot, rv, rh, move, sat = self.look(w, celsius)
        k = min(max(int(np.searchsorted(c.knots_s, t, side="right")) - 1, self.from_knot), self.to_knot - 1)
        left, right = self.climate(k, t)
        vapor = (p[:-1] - p[1:]) / (rv[:-1] + rv[1:] + g.vapor_pa_s_m2_kg[1:-1])
        liquid = np.where(self.inside, (pot[:-1] - pot[1:]) * self.span, 0.0)
        for f in self.joined:
            a, b = pot[f] / g.half_m[f], pot[f + 1] / g.half_m[f + 1]
            if a + b > 0:
                m = self.kind[f] - 1
                x = (np.log(a + b) - g.spans[m, 0]) * g.spans[m, 1]
                liquid[f] = a - (a + b) * np.interp(x, np.arange(g.joins.shape[1]), g.joins[m])
        mean = 0.5 * (celsius[:-1] + celsius[1:])
        heat = (celsius[:-1] - celsius[1:]) / (rh[:-1] + rh[1:] + g.heat_m2k_w[1:-1])
        heat = heat + vapor * (g.latent_j_kg + g.vapor_heat_j_kgk * mean) + liquid * g.water_heat_j_kgk * mean
        flow_l, heat_l = self.edge(0, 0, 0, left, p, pot, rv, rh, move, sat, celsius)
        flow_r, heat_r = self.edge(1, self.n - 1, self.n, right, p, pot, rv, rh, move, sat, celsius)
        flow = np.concatenate(([flow_l], vapor + liquid, [-flow_r]))
        warm = np.concatenate(([heat_l], heat, [-heat_r]))
        size = 2.0 * g.half_m
        dw = (flow[:-1] - flow[1:]) / size
        dh = (warm[:-1] - warm[1:]) / size
        out = np.empty_like(y)
        out[0::2] = dw
        out[1::2] = (dh - g.water_heat_j_kgk * celsius * dw) / (g.capacity_j_m3k + g.water_heat_j_kgk * w)
        return out


def integrate(work: Work, method: str, tolerance: float) -> Outcome:
    """March with an integrator of SciPy, restarted where the climate jumps, stopped nowhere else.

    Every kink of hourly weather counts as none for the peer, which is free to step over it.
    """
    rates = Rates(work)
    n, knots = rates.n, work.course.knots_s
    celsius = work.start[:, 1] / (work.grid.capacity_j_m3k + work.grid.water_heat_j_kgk * work.start[:, 0])
    y = np.empty(2 * n)
    y[0::2], y[1::2] = work.start[:, 0], celsius
    scale = np.empty(2 * n)
    scale[0::2], scale[1::2] = tolerance * work.course.content_floor_kg_m3, tolerance * work.course.temperature_scale_k
    stops = [0, *np.flatnonzero(np.diff(knots) == 0).tolist(), len(knots) - 1]
    band = diags_array([np.ones(2 * n - abs(k)) for k in range(-3, 4)], offsets=list(range(-3, 4))).tocsc()
    extra = {"jac_sparsity": band} if method == "BDF" else {"lband": 3, "uband": 3}
    begin = time.process_time()
    for a, b in pairwise(stops):
        first = a if a == 0 else a + 1
        rates.from_knot, rates.to_knot = first, b
        if knots[b] <= knots[first]:
            continue
        got = solve_ivp(rates, (knots[first], knots[b]), y, method=method, rtol=tolerance, atol=scale, **extra)
        if not got.success:
            raise RuntimeError(f"{method}: {got.message}")
        y = got.y[:, -1]
    return Outcome(y[0::2].copy(), y[1::2].copy(), time.process_time() - begin, rates.calls)
