"""EN 15026 annex A with two general solvers of partial differential equations, where they are installed.

    python -m benchmarks.physics_general

They stand beside `physics_en15026`: same cells, same material, 365 days, settings that meet all 43 limits. One needs
``pip install py-pde``, the other ``pip install fipy``; neither is needed for anything else here.
"""

from __future__ import annotations

import csv
import os
import time
from itertools import pairwise
from pathlib import Path

os.environ.setdefault("FIPY_SOLVERS", "scipy")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from benchmarks.physics_en15026 import DAY_S, DAYS, limits_missed, material, ours, problem
from benchmarks.physics_peers import Rates
from numpy.typing import NDArray

from steamwright.physics.heat_moisture_assembly import finish
from steamwright.physics.moist_air import magnus_pressure_pa

Floats = NDArray[np.float64]
Profiles = tuple[list[Floats], list[Floats], float]


def missed(position_m: Floats, content: list[Floats], celsius: list[Floats]) -> int:
    path, count = Path(__file__).parents[1] / "tests" / "published" / "data" / "en15026_annex_a.csv", 0
    with path.open(encoding="utf-8") as f:
        for row in (r for r in csv.DictReader(f) if r["lower"]):
            k = DAYS.index(float(row["day"]))
            profile = (content if row["quantity"].startswith("w") else celsius)[k]
            count += not float(row["lower"]) <= np.interp(float(row["x_m"]), position_m, profile) <= float(row["upper"])
    return count


def with_pde(cells: int, first_m: float, tolerance: float) -> Profiles:
    """py-pde on an even grid of indices, its SciPy solver with BDF."""
    import pde

    rates = Rates(problem(cells, first_m, 1e-3))
    rates.from_knot, rates.to_knot = 0, len(rates.c.knots_s) - 1
    grid = pde.CartesianGrid([[0, cells]], cells)

    class Annex(pde.PDEBase):  # type: ignore[misc]
        def evolution_rate(self, state: object, t: float = 0.0) -> object:
            y = np.empty(2 * cells)
            y[0::2], y[1::2] = state.data  # type: ignore[attr-defined]
            out = rates(t, y)
            return pde.FieldCollection([pde.ScalarField(grid, out[0::2]), pde.ScalarField(grid, out[1::2])])

    start = material().content_at(0.5)
    state = pde.FieldCollection([pde.ScalarField(grid, float(start)), pde.ScalarField(grid, 20.0)])
    content, celsius, begin = [], [], time.process_time()
    for a, b in pairwise((0.0, *DAYS)):
        state = Annex().solve(state, t_range=(a * DAY_S, b * DAY_S), dt=1.0, solver="scipy", method="BDF", rtol=tolerance, atol=tolerance,
                              tracker=None, backend="numpy")
        content.append(state.data[0].copy())
        celsius.append(state.data[1].copy())
    return content, celsius, time.process_time() - begin


def with_fipy(cells: int, first_m: float, most: float) -> Profiles:
    """FiPy, both equations coupled, direct solver, three sweeps a step, no cell changing by more than ``most`` kg/m3 in a step."""
    from fipy import CellVariable, DiffusionTerm, Grid1D, TransientTerm
    from fipy.solvers.scipy import LinearLUSolver

    m, work = material(), problem(cells, first_m, 1e-3)
    mesh = Grid1D(dx=2.0 * work.grid.half_m)
    w = CellVariable(mesh=mesh, value=float(m.content_at(0.5)), hasOld=True)
    t = CellVariable(mesh=mesh, value=20.0, hasOld=True)
    w.constrain(float(m.content_at(0.95)), mesh.facesLeft)
    t.constrain(30.0, mesh.facesLeft)
    parts = [CellVariable(mesh=mesh, value=1.0) for _ in range(6)]
    slopes = [np.gradient(row, m.content_kg_m3) for row in (m.humidity, m.potential_kg_m_s)]

    def refresh() -> None:
        content, c = np.asarray(w.value), np.asarray(t.value)
        phi, phi_w, move = (np.interp(content, m.content_kg_m3, row) for row in (m.humidity, *slopes))
        full = magnus_pressure_pa(c + 273.15)
        rise = (magnus_pressure_pa(c + 273.16) - full) / 0.01
        delta = np.interp(content, m.content_kg_m3, m.permeability_kg_pa_s_m)
        by_w, by_t = delta * full * phi_w, delta * phi * rise
        heat = np.interp(content, m.content_kg_m3, m.conductivity_w_mk)
        rows = (by_w + move, by_t, 2.5e6 * by_w + 4187.0 * c * move, heat + 2.5e6 * by_t, m.heat_capacity_j_m3k + 4187.0 * content,
                4187.0 * c)
        for part, row in zip(parts, rows, strict=True):
            part.setValue(row)

    a, b, c, d, store, carried = parts
    water = TransientTerm(var=w) == DiffusionTerm(a.arithmeticFaceValue, var=w) + DiffusionTerm(b.arithmeticFaceValue, var=t)
    warmth = (TransientTerm(store, var=t) + TransientTerm(carried, var=w)
              == DiffusionTerm(c.arithmeticFaceValue, var=w) + DiffusionTerm(d.arithmeticFaceValue, var=t))
    both, solver, step, now = water & warmth, LinearLUSolver(tolerance=1e-300, criterion="unscaled"), 1.0, 0.0
    content, celsius, begin = [], [], time.process_time()
    for day in DAYS:
        while now < day * DAY_S - 1e-6:
            step = min(step, day * DAY_S - now)
            w.updateOld()
            t.updateOld()
            for _ in range(3):
                refresh()
                both.sweep(dt=step, solver=solver)
            change = float(np.abs(np.asarray(w.value) - np.asarray(w.old.value)).max())
            now += step
            step *= min(2.0, max(0.5, most / max(change, 1e-9)))
        content.append(np.asarray(w.value).copy())
        celsius.append(np.asarray(t.value).copy())
    return content, celsius, time.process_time() - begin


def run() -> None:
    print(f"{'method':8} {'cells':>5} {'setting':>9} {'CPU s':>9} {'in time kg/m3':>13} {'limits missed':>13}")
    for cells, first in ((120, 2e-3), (200, 1e-3)):
        exact = problem(cells, first, 1e-8)
        exact.run()
        position = finish(exact).position_m
        work, cpu = ours(cells, first, 1e-4)
        apart = float(np.abs(work.state[:, 0] - exact.state[:, 0]).max())
        print(f"{'ours':8} {cells:5d} {1e-4:9.0e} {cpu:9.5f} {apart:13.5f} {limits_missed(work):13d}")
        for name, solve, settings in (("py-pde", with_pde, (1e-3, 1e-4)), ("FiPy", with_fipy, (1.0, 0.5))):
            for setting in settings if cells == 120 else settings[:1]:
                try:
                    content, celsius, cpu = solve(cells, first, setting)
                except ImportError:
                    print(f"{name:8} is not installed")
                    break
                error = float(np.abs(content[-1] - exact.state[:, 0]).max())
                print(f"{name:8} {cells:5d} {setting:9.0e} {cpu:9.3f} {error:13.5f} {missed(position, content, celsius):13d}", flush=True)


if __name__ == "__main__":
    run()
