"""The fair case: a steamed wall with hourly weather outside. Ours beside SciPy's BDF and LSODA on the same cells and tables.

    python -m benchmarks.physics_fair [days of the peers]

Seventy cells: tile, mortar, cement board, a 0.5 perm membrane, wool, strand board; an hour of steam every evening.
Figures to reach: a year in 0.25 s of one core, 60 times ahead of SciPy at equal error; ten years of four walls in 10 s on two cores.
The error is the largest over all cells at the end, against tolerance 1e-7 on the same cells.
"""

from __future__ import annotations

import sys
import time
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from benchmarks.physics_peers import integrate

from steamwright.physics.heat_moisture import Settings, Side, side
from steamwright.physics.heat_moisture_assembly import Work, assemble, finish
from steamwright.physics.moist_air import saturation_pressure_pa
from steamwright.physics.porous import (
    Porous,
    potential_of_diffusivity_kg_m_s,
    suction_diffusivity_m2_s,
    suction_points_pa,
    van_genuchten_kg_m3,
)
from steamwright.physics.wall import Film, Layer, Wall, graded_cells_m

DAY_S, K, PERM = 86400.0, 273.15, 5.721349e-11
HUMIDITIES = (0.1, 0.3, 0.5, 0.7, 0.9)


def material(full: float, alpha: float, n: float, mu: tuple[float, ...], heat_w_mk: float, heat_j_m3k: float, absorption: float) -> Porous:
    suction = suction_points_pa(4000)
    content = van_genuchten_kg_m3(suction, full, [1.0], [alpha], [n])
    humidity = np.exp(-suction / (1000.0 * 461.524 * 293.15))
    diffusivity = suction_diffusivity_m2_s(content, absorption, full) if absorption else np.zeros_like(content)
    return Porous(humidity, content, potential_of_diffusivity_kg_m_s(content, diffusivity), 1.95e-10 / np.interp(humidity, HUMIDITIES, mu),
                  heat_w_mk + 0.0005 * content, heat_j_m3k)  # fmt: skip


TILE = material(3.0, 1e-6, 1.8, (280.0,) * 5, 1.3, 1.932e6, 0.0)
MORTAR = material(238.0, 5.016e-7, 1.363, (14.3, 11.8, 9.7, 8.0, 6.5), 1.0, 1.8e6, 0.012)
BOARD = material(483.0, 1.225e-6, 1.7526, (26.0, 26.0, 21.1, 15.9, 12.1), 0.25, 9.66e5, 0.013)
WOOL = material(900.0, 2e-4, 2.0, (1.3,) * 5, 0.037, 4.8e4, 0.0)
STRAND = material(806.0, 1.547e-6, 1.6501, (4404.0, 566.0, 217.0, 113.0, 72.0), 0.1, 1.222e6, 0.0016)


def wall(perm: float = 0.5) -> Wall:
    parts = (
        (TILE, 0.008, 8, 5e-4),
        (MORTAR, 0.004, 6, 4e-4),
        (BOARD, 0.0125, 14, 4e-4),
        (WOOL, 0.089, 24, 1e-3),
        (STRAND, 0.012, 18, 3e-4),
    )
    layers = tuple(Layer(m, graded_cells_m(d, n, first)) for m, d, n, first in parts)
    return Wall(layers, (Film(), Film(), Film(1.0 / (perm * PERM)), Film(), Film(), Film(passes_liquid=False)))


def inside(days: int) -> Side:
    events = (
        (0.0, 20, 0.5, 8.0),
        (18.0, 20, 0.5, 8.0),
        (18.0, 45, 0.98, 25.0),
        (19.0, 45, 0.98, 25.0),
        (19.0, 24, 0.7, 8.0),
        (21.0, 20, 0.5, 8.0),
    )
    rows = [
        (d * DAY_S + hour * 3600.0, t + K, h * float(saturation_pressure_pa(t + K)), film)
        for d in range(days)
        for hour, t, h, film in events
    ]
    rows.append((days * DAY_S, *rows[0][1:]))
    time_s, warm, humid, film = (np.array(column) for column in zip(*rows, strict=True))
    return side(time_s, warm, humid, film, film * 7e-9)


def outside(days: int) -> Side:
    """Weather made of a season, a day and a wandering part, from a fixed seed."""
    hour = np.arange(days * 24 + 1.0)
    noise, wander = np.random.default_rng(1).normal(size=len(hour)), np.zeros(len(hour))
    for i in range(1, len(hour)):
        wander[i] = 0.98 * wander[i - 1] + 0.6 * noise[i]
    season = 8.0 - 12.0 * np.cos(2 * np.pi * hour / 8766.0)
    warm = season + 4.0 * np.sin(2 * np.pi * (hour - 9.0) / 24.0) + wander + K
    humid = np.minimum(0.75 * saturation_pressure_pa(season + K), 0.98 * saturation_pressure_pa(warm))
    return side(hour * 3600.0, warm, humid, 23.0, 2e-7)


def problem(days: int, tolerance: float, perm: float = 0.5, hourly: bool = True) -> Work:
    hours = np.arange(days * 24 + 1) * 3600.0 if hourly else ()
    return assemble(
        wall(perm), inside(days), outside(days), [days * DAY_S], Settings(tolerance), hours, [0.013, 0.11, 0.114] if hourly else ()
    )


def timed(work: Work) -> float:
    begin = time.process_time()
    work.run()
    return time.process_time() - begin


def row(method: str, tolerance: float, days: int, cpu: float, steps: float, e: tuple[float, float]) -> str:
    a_year, steps_text = cpu * 365 / days, f"{steps:.1f}" if steps else "-"
    return f"{method:14} {tolerance:9.0e} {days:5d} {cpu:8.4f} {a_year:12.3f} {steps_text:>11} {e[0]:9.5f} {e[1]:8.5f}"


def errors(content: np.ndarray, celsius: np.ndarray, exact: Work) -> tuple[float, float]:
    want = finish(exact)
    return float(np.abs(content - want.content_kg_m3[-1]).max()), float(np.abs(celsius + K - want.temperature_k[-1]).max())


def run() -> None:
    peer_days = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    begin = time.process_time()
    problem(1, 1e-3).run()
    print(f"first run, with compiling or loading from the cache: {time.process_time() - begin:.2f} s CPU; 5 layers, 70 cells")
    exact = problem(peer_days, 1e-7)
    exact.run()
    print(f"{'method':14} {'tolerance':>9} {'days':>5} {'CPU s':>8} {'CPU s a year':>12} {'steps a day':>11} {'w kg/m3':>9} {'T K':>8}")
    for tolerance in (1e-2, 3e-3, 1e-3, 3e-4, 1e-4, 1e-5):
        work = problem(peer_days, tolerance)
        cpu = min(timed(problem(peer_days, tolerance)) for _ in range(3))
        work.run()
        got = finish(work)
        e = errors(got.content_kg_m3[-1], got.temperature_k[-1] - K, exact)
        print(row("ours", tolerance, peer_days, cpu, got.steps / peer_days, e))
    for method in ("LSODA", "BDF"):
        for tolerance in (1e-3, 1e-4, 1e-5):
            peer = integrate(problem(peer_days, 1e-3), method, tolerance)
            e = errors(peer.content_kg_m3, peer.temperature_c, exact)
            print(row(f"SciPy {method}", tolerance, peer_days, peer.cpu_s, 0.0, e))
    for tolerance in (3e-3, 1e-3):
        print(f"ours, a whole year, tolerance {tolerance:.0e}: {min(timed(problem(365, tolerance)) for _ in range(3)):.3f} s CPU")
    walls = [problem(3650, 1e-3, perm) for perm in (0.06, 0.1, 0.5, 1.0)]
    begin, wall_clock = time.process_time(), time.perf_counter()
    with ThreadPoolExecutor(2) as pool:
        list(pool.map(Work.run, walls))
    clock, cpu = time.perf_counter() - wall_clock, time.process_time() - begin
    print(f"ours, ten years of four walls on two threads: {clock:.2f} s on the clock, {cpu:.2f} s CPU")


if __name__ == "__main__":
    run()
