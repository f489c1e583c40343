"""EN 15026 annex A, 365 days: ours beside SciPy's BDF and LSODA, same cells, same tables, CPU time and error.

    python -m benchmarks.physics_en15026

Figure to reach: 3 ms after compilation, inside all 43 limits, 20 times ahead of the fastest peer at equal error.
The error is against the same cells marched with a tolerance of 1e-8 (time) and against 1200 cells (all).
"""

from __future__ import annotations

import csv
import time
from pathlib import Path

import numpy as np
from benchmarks.physics_peers import integrate

from steamwright.physics.heat_moisture import Settings, side, table_temperatures_k
from steamwright.physics.heat_moisture_assembly import Work, assemble, finish
from steamwright.physics.moist_air import magnus_pressure_pa
from steamwright.physics.porous import Porous, potential_of_conductivity_kg_m_s, suction_points_pa
from steamwright.physics.wall import Layer, Wall, graded_cells_m

DAY_S, R_VAPOR = 86400.0, 462.0
DAYS = (7.0, 30.0, 365.0)


def material() -> Porous:
    suction = suction_points_pa(6000)
    content = 146.0 / (1.0 + (8e-8 * suction) ** 1.6) ** 0.375
    y = content - 73.0
    conductivity = np.exp(-39.2619 + 0.0704 * y - 1.7420e-4 * y**2 - 2.7953e-6 * y**3 - 1.1566e-7 * y**4 + 2.5969e-9 * y**5)
    dry = 1.0 - content / 146.0
    permeability = 1.0 / (R_VAPOR * 293.15) * 26.1e-6 / 200.0 * dry / (0.503 * dry**2 + 0.497)
    humidity = np.exp(-suction / (1000.0 * R_VAPOR * 293.15))
    potential = potential_of_conductivity_kg_m_s(suction, conductivity)
    return Porous(humidity, content, potential, permeability, 1.5 + 0.0158 * content, 1.824e6, label="annex A")


def problem(cells: int, first_m: float, tolerance: float, days: tuple[float, ...] = DAYS) -> Work:
    wall = Wall((Layer(material(), graded_cells_m(40.0, cells, first_m, both_ends=False)),))
    end = [0.0, days[-1] * DAY_S]
    left = side(end, 303.15, 0.95 * magnus_pressure_pa(303.15), contact=True)
    right = side(end, 293.15, 0.5 * magnus_pressure_pa(293.15))
    settings = Settings(tolerance, latent_heat_j_kg=2.5e6, vapor_heat_j_kgk=0.0, water_heat_j_kgk=4187.0,
                        saturation_pa=magnus_pressure_pa(table_temperatures_k()))  # fmt: skip
    return assemble(wall, left, right, [d * DAY_S for d in days], settings, (), ())


def ours(cells: int, first_m: float, tolerance: float) -> tuple[Work, float]:
    best = np.inf
    for _ in range(5):
        work = problem(cells, first_m, tolerance)
        begin = time.process_time()
        work.run()
        best = min(best, time.process_time() - begin)
    return work, best


def limits_missed(work: Work) -> int:
    path = Path(__file__).parents[1] / "tests" / "published" / "data" / "en15026_annex_a.csv"
    got, missed = finish(work), 0
    with path.open(encoding="utf-8") as f:
        for row in (r for r in csv.DictReader(f) if r["lower"]):
            k = DAYS.index(float(row["day"]))
            profile = got.content_kg_m3[k] if row["quantity"].startswith("w") else got.temperature_k[k] - 273.15
            missed += not float(row["lower"]) <= np.interp(float(row["x_m"]), got.position_m, profile) <= float(row["upper"])
    return missed


def run() -> None:
    begin = time.process_time()
    problem(40, 5e-3, 1e-3).run()
    print(f"first run, with compiling or loading from the cache: {time.process_time() - begin:.2f} s CPU")
    finest = problem(1200, 1e-4, 1e-7)
    finest.run()
    far = finish(finest)
    places = np.array([0.01, 0.02, 0.03, 0.04, 0.05, 0.06, 0.08, 0.10])
    want = np.interp(places, far.position_m, far.content_kg_m3[2])
    print(f"{'method':28} {'cells':>5} {'tolerance':>9} {'CPU ms':>9} {'in time kg/m3':>13} {'in all kg/m3':>12} {'limits missed':>13}")
    for cells, first in ((80, 3e-3), (120, 2e-3), (200, 1e-3)):
        exact = problem(cells, first, 1e-8)
        exact.run()
        for tolerance in (1e-3, 1e-4, 1e-5):
            work, cpu = ours(cells, first, tolerance)
            got = finish(work)
            in_time = np.abs(work.state[:, 0] - exact.state[:, 0]).max()
            in_all = np.abs(np.interp(places, got.position_m, got.content_kg_m3[2]) - want).max()
            print(f"{'ours':28} {cells:5d} {tolerance:9.0e} {cpu * 1e3:9.2f} {in_time:13.5f} {in_all:12.3f} {limits_missed(work):13d}")
        position = finish(exact).position_m
        for method in ("BDF", "LSODA"):
            for tolerance in (1e-3, 1e-4, 1e-6):
                peer = integrate(problem(cells, first, 1e-3, (365.0,)), method, tolerance)
                in_time = np.abs(peer.content_kg_m3 - exact.state[:, 0]).max()
                in_all = np.abs(np.interp(places, position, peer.content_kg_m3) - want).max()
                print(
                    f"{'SciPy ' + method:28} {cells:5d} {tolerance:9.0e} {peer.cpu_s * 1e3:9.2f} {in_time:13.5f} {in_all:12.3f} {'-':>13}"
                )


if __name__ == "__main__":
    run()
