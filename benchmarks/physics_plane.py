"""Plane heat: a steel stud behind tile and board, some 26,000 vertices; ours beside SciPy's general sparse solver.

    python -m benchmarks.physics_plane

Figure to reach: 26,000 cells in 0.1 s, and the difference to a halved grid reported.
"""

from __future__ import annotations

import time

import numpy as np
from scipy.sparse import csc_array
from scipy.sparse.linalg import spsolve

from steamwright.physics.heat_plane import Block, Section, Surface, _conductances, _conductivity, _lines, solve_section


def stud() -> Section:
    blocks = (
        Block(0.0, 0.4, 0.0, 0.012, 1.2), Block(0.0, 0.4, 0.012, 0.0245, 0.25), Block(0.0, 0.4, 0.0245, 0.1165, 0.037),
        Block(0.2, 0.2012, 0.0245, 0.1165, 50.0), Block(0.2, 0.241, 0.0245, 0.0257, 50.0), Block(0.2, 0.241, 0.1153, 0.1165, 50.0),
        Block(0.0, 0.4, 0.1165, 0.1285, 0.13),
    )  # fmt: skip
    return Section(0.4, 0.1285, blocks, (Surface("bottom", 0.0, 0.4, 318.15, 0.04), Surface("top", 0.0, 0.4, 263.15, 0.04)))


def general(section: Section, fineness: int) -> float:
    """Assemble and solve with spsolve. [s]"""
    begin = time.process_time()
    x, y = _lines(section, fineness, 1)
    along, up = _conductances(_conductivity(section, x, y), x, y, False)
    nx, ny = len(x), len(y)
    number = np.arange(nx * ny).reshape(nx, ny)
    pairs = np.concatenate(
        (np.stack((number[:-1].ravel(), number[1:].ravel()), 1), np.stack((number[:, :-1].ravel(), number[:, 1:].ravel()), 1))
    )
    g = np.concatenate((along.ravel(), up.ravel()))
    diagonal = np.bincount(pairs.ravel(), np.repeat(g, 2), nx * ny)
    film = np.gradient(x) / 0.04
    diagonal[number[:, 0]] += film
    diagonal[number[:, -1]] += film
    right = np.zeros(nx * ny)
    right[number[:, 0]] += film * 55.0
    rows = np.concatenate((np.arange(nx * ny), pairs[:, 0], pairs[:, 1]))
    columns = np.concatenate((np.arange(nx * ny), pairs[:, 1], pairs[:, 0]))
    spsolve(csc_array((np.concatenate((diagonal, -g, -g)), (rows, columns))), right)
    return time.process_time() - begin


def run() -> None:
    print(f"{'fineness':>8} {'vertices':>9} {'ours CPU s':>10} {'spsolve CPU s':>13} {'heat W/m':>9}")
    for fineness in (4, 12, 24, 48):
        begin = time.process_time()
        field = solve_section(stud(), fineness, halved=False)
        spent = time.process_time() - begin
        print(f"{fineness:8d} {field.temperature_k.size:9d} {spent:10.4f} {general(stud(), fineness):13.4f} {field.heat_w_m[0]:9.4f}")
    field = solve_section(stud(), 12)
    print(f"halved grid: heat changes by {field.halved_heat_change:.2%}, corners by {field.halved_temperature_change_k:.4f} K")


if __name__ == "__main__":
    run()
