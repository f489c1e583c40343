"""HAMSTAD benchmark 2: isothermal drying of one layer against its analytic series (Hagentoft et al. 2002).

The series values stand in ``data/hamstad_bm2.csv``; thermal data of the benchmark are from memory and do not matter here.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from steamwright.physics.heat_moisture import March, Settings, march, side
from steamwright.physics.moist_air import saturation_pressure_pa
from steamwright.physics.porous import Porous, potential_of_diffusivity_kg_m_s
from steamwright.physics.wall import Layer, Wall

pytest.importorskip("numba", reason="the compiled physics is an extra")
HOURS = (100.0, 300.0, 1000.0)


def material() -> Porous:
    humidity = np.concatenate((np.linspace(1e-6, 0.4, 40)[:-1], np.linspace(0.4, 1.0, 2400)))
    content = 116.0 / (1.0 - np.log(humidity) / 0.118) ** 0.869
    return Porous(humidity, content, potential_of_diffusivity_kg_m_s(content, np.full_like(content, 6e-10)), np.full_like(content, 1e-20),
                  np.full_like(content, 0.15), 4.2e5, label="benchmark 2")


def run(cells: int, tolerance: float = 1e-4) -> March:
    wall = Wall((Layer(material(), (0.2 / cells,) * cells, 0.95),), start_temperature_k=293.15)
    end = [0.0, HOURS[-1] * 3600.0]
    pressure = float(saturation_pressure_pa(293.15))
    left = side(end, 293.15, 0.45 * pressure, contact=True)
    right = side(end, 293.15, 0.65 * pressure, contact=True)
    return march(wall, left, right, [h * 3600.0 for h in HOURS], Settings(tolerance=tolerance))


def series() -> dict[str, np.ndarray]:
    with (Path(__file__).parent / "data" / "hamstad_bm2.csv").open(encoding="utf-8") as f:
        rows = list(csv.DictReader(f))
    return {name: np.array([float(r[name]) for r in rows]) for name in rows[0]}


def test_the_profile_is_the_series() -> None:
    got, want = run(160), series()
    inner = (want["x_m"] > 0.004) & (want["x_m"] < 0.196)
    for k, h in enumerate(HOURS):
        there = np.interp(want["x_m"], got.position_m, got.content_kg_m3[k])
        assert np.abs(there - want[f"w_{h:.0f}h"])[inner].max() < 0.15


def test_the_error_falls_with_the_square_of_the_cell() -> None:
    want = series()
    inner = (want["x_m"] > 0.02) & (want["x_m"] < 0.18)
    sizes = np.array([20, 40, 80])
    errors = []
    for cells in sizes:
        got = run(int(cells), 1e-6)
        there = np.interp(want["x_m"], got.position_m, got.content_kg_m3[0])
        errors.append(float(np.sqrt(np.mean((there - want["w_100h"])[inner] ** 2))))
    order = -np.polyfit(np.log(sizes), np.log(errors), 1)[0]
    assert 1.6 < order < 2.6
