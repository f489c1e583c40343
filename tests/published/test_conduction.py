"""Transient conduction against erfc solutions (Carslaw and Jaeger, from memory; numbers from an independent evaluation).

Both solvers are held to them: the coupled march with dry materials, and the panels of the steam room.
"""

from __future__ import annotations

import json
from math import erf, erfc, exp, sqrt
from pathlib import Path

import numpy as np
import pytest

from steamwright.physics.moist_air import saturation_pressure_pa
from steamwright.physics.steam_room import Panel, _Panels

VALUES = json.loads((Path(__file__).parent / "data" / "independent_run.json").read_text(encoding="utf-8"))["conduction"]
TILE, MORTAR = (1.3, 2300 * 840.0), (1.0, 1800 * 1000.0)
FOAM, BOARD = (0.03, 32 * 1450.0), (0.25, 1150 * 840.0)


def step_of_panel(
    panel: Panel, per_layer: int, step_s: float, times_s: list[float], film_w_m2k: float = 0.0
) -> list[tuple[np.ndarray, float]]:
    """Cells and surface flux of a panel after its surface (or the air before its film) jumps by one kelvin."""
    p = _Panels((panel,), per_layer, step_s)
    cells, out = np.zeros((1, 1, p.store.shape[1])), []
    for k in range(round(max(times_s) / step_s)):
        base = np.einsum("pij,gpj->gpi", p.inverse, cells * (p.store / step_s))
        lift = p.lift + (1.0 / film_w_m2k if film_w_m2k else 0.0)
        q = (1.0 - base[:, :, 0]) / lift
        cells = base + p.inverse[:, :, 0] * q[:, :, None]
        if any(abs((k + 1) * step_s - t) < 1e-6 for t in times_s):
            out.append((cells[0, 0].copy(), float(q[0, 0])))
    return out


def panel(*layers: tuple[float, tuple[float, float]]) -> Panel:
    return Panel(1.0, "wall", 1.0, tuple(x[0] for x in layers), tuple(x[1][0] for x in layers), tuple(x[1][1] for x in layers), 0.0, 0.0)


def test_the_table_of_values_is_erfc() -> None:
    alpha = MORTAR[0] / MORTAR[1]
    for x, theta in VALUES["mortar_step_900s"].items():
        assert erfc(float(x) / sqrt(4 * alpha * 900)) == pytest.approx(theta, rel=1e-9)
    x, h, k = 0.02, 20.0, MORTAR[0]
    spread = sqrt(4 * alpha * 900)
    theta = erfc(x / spread) - exp(h * x / k + h * h * alpha * 900 / k**2) * (1 - erf(x / spread + h * sqrt(alpha * 900) / k))
    assert theta == pytest.approx(VALUES["mortar_h20_900s"]["0.02"], rel=1e-7)


@pytest.mark.parametrize(("film", "key", "surface"), [(0.0, "mortar_step_900s", 1.0), (20.0, "mortar_h20_900s", None)])
def test_panels_on_deep_mortar(film: float, key: str, surface: float | None) -> None:
    cells, q = step_of_panel(panel((0.4, MORTAR)), 800, 1.0, [900.0], film)[0]
    at = np.concatenate(([0.0], (np.arange(800) + 0.5) * 0.0005))
    top = surface if surface is not None else 1.0 - q / film
    for x, theta in VALUES[key].items():
        assert np.interp(float(x), at, np.concatenate(([top], cells))) == pytest.approx(theta, abs=4e-4)


@pytest.mark.parametrize(("backing", "key"), [(FOAM, "tile8_on_xps"), (BOARD, "tile8_on_cement_board")])
def test_panels_of_tile_on_a_backing(backing: tuple[float, float], key: str) -> None:
    times = [float(t) for t in VALUES[key]]
    found = step_of_panel(panel((0.008, TILE), (0.24, backing)), 240, 0.25, times)
    for t, (cells, q) in zip(times, found, strict=True):
        want = VALUES[key][f"{t:.0f}"]
        a, b = TILE[0] / (0.008 / 240), backing[0] / (0.24 / 240)
        between = (a * cells[239] + b * cells[240]) / (a + b)
        assert between == pytest.approx(want["theta_interface"], abs=0.004)
        assert 25.0 * q == pytest.approx(want["q25K"], rel=0.012)


def dry_march(cells: int, tolerance: float) -> float:
    """Root mean square error of the coupled march against erfc in half a metre of dry mortar after 900 s. [K of one kelvin]"""
    pytest.importorskip("numba", reason="the compiled physics is an extra")
    from steamwright.physics.heat_moisture import Settings, march, side
    from steamwright.physics.porous import Porous
    from steamwright.physics.wall import Layer, Wall

    dry = Porous(np.array([0.0, 0.5, 1.0]), np.array([0.0, 1e-6, 2e-6]), np.zeros(3), np.full(3, 1e-18), np.full(3, MORTAR[0]), MORTAR[1])
    wall = Wall((Layer(dry, (0.4 / cells,) * cells, 0.5),), start_temperature_k=293.15)
    end, pressure = [0.0, 900.0], 0.5 * float(saturation_pressure_pa(293.15))
    run = march(wall, side(end, 303.15, pressure, vapor_transfer_kg_pa_s_m2=0.0), side(end, 293.15, pressure, 0.0, 0.0), [900.0],
                Settings(tolerance=tolerance))  # fmt: skip
    got = (run.temperature_k[0] - 293.15) / 10.0
    want = np.array([erfc(x / sqrt(4 * MORTAR[0] / MORTAR[1] * 900)) for x in run.position_m])
    return float(np.sqrt(np.mean((got - want) ** 2)))


def test_the_march_conducts_and_its_error_falls_with_the_square_of_the_cell() -> None:
    sizes = np.array([20, 40, 80])
    errors = [dry_march(int(n), 1e-7) for n in sizes]
    assert errors[-1] < 1e-3
    assert -np.polyfit(np.log(sizes), np.log(errors), 1)[0] == pytest.approx(2.0, abs=0.25)
