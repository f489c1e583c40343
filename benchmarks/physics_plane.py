"""Plane heat: a steel stud behind tile and board, at 26,000 vertices and around; ours beside SciPy's general sparse solver.

    python -m benchmarks.physics_plane

Figure to reach: 26,000 cells in 0.1 s, and the difference to a halved grid reported. The peer assembles the same grid and
its answer is compared, so neither time is bought with another error. One thread, CPU time.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy, which starts the threads

import time

import numpy as np
from scipy.sparse import csc_array
from scipy.sparse.linalg import spsolve

from steamwright.physics.heat_plane import Block, Field, Section, Surface, _conductances, _conductivity, _lines, solve_section


def stud() -> Section:
    blocks = (
        Block(0.0, 0.4, 0.0, 0.012, 1.2), Block(0.0, 0.4, 0.012, 0.0245, 0.25), Block(0.0, 0.4, 0.0245, 0.1165, 0.037),
        Block(0.2, 0.2012, 0.0245, 0.1165, 50.0), Block(0.2, 0.241, 0.0245, 0.0257, 50.0), Block(0.2, 0.241, 0.1153, 0.1165, 50.0),
        Block(0.0, 0.4, 0.1165, 0.1285, 0.13),
    )  # fmt: skip
    return Section(0.4, 0.1285, blocks, (Surface("bottom", 0.0, 0.4, 318.15, 0.04), Surface("top", 0.0, 0.4, 263.15, 0.04)))


def general(section: Section, fineness: int) -> np.ndarray:
    """Assemble as a scientist would script it and solve with spsolve. [K]"""
    x, y = _lines(section, fineness, 1)
    along, up = _conductances(_conductivity(section, x, y), x, y, False)
    nx, ny = len(x), len(y)
    number = np.arange(nx * ny).reshape(nx, ny)
    pairs = np.concatenate(
        (np.stack((number[:-1].ravel(), number[1:].ravel()), 1), np.stack((number[:, :-1].ravel(), number[:, 1:].ravel()), 1))
    )
    g = np.concatenate((along.ravel(), up.ravel()))
    diagonal = np.bincount(pairs.ravel(), np.repeat(g, 2), nx * ny)
    film = 0.5 * (np.diff(x, prepend=x[0]) + np.diff(x, append=x[-1])) / 0.04
    diagonal[number[:, 0]] += film
    diagonal[number[:, -1]] += film
    right = np.zeros(nx * ny)
    right[number[:, 0]] += film * 55.0
    rows = np.concatenate((np.arange(nx * ny), pairs[:, 0], pairs[:, 1]))
    columns = np.concatenate((np.arange(nx * ny), pairs[:, 1], pairs[:, 0]))
    return spsolve(csc_array((np.concatenate((diagonal, -g, -g)), (rows, columns))), right).reshape(nx, ny) + 263.15


def timed(run: object, times: int = 5) -> tuple[float, object]:
    """Shortest of several runs [s] and what came out."""
    spent, out = [], None
    for _ in range(times):
        begin = time.process_time()
        out = run()  # type: ignore[operator]
        spent.append(time.process_time() - begin)
    return min(spent), out


def run() -> None:
    section = stud()
    finest = solve_section(section, 40, halved=False).heat_w_m[0]
    print(f"{'fineness':>8} {'vertices':>9} {'ours s':>8} {'spsolve s':>9} {'ratio':>6} {'apart K':>8} {'heat W/m':>9} {'to finest':>9}")
    for fineness in (2, 6, 12, 32):
        ours, field = timed(lambda f=fineness: solve_section(section, f, halved=False))
        peer, temperatures = timed(lambda f=fineness: general(section, f))
        assert isinstance(field, Field)
        assert isinstance(temperatures, np.ndarray)
        apart = float(np.abs(field.temperature_k - temperatures).max())
        heat = field.heat_w_m[0]
        print(f"{fineness:8d} {field.temperature_k.size:9d} {ours:8.4f} {peer:9.4f} {peer / ours:6.2f} {apart:8.1e} {heat:9.4f} "
              f"{heat / finest - 1.0:9.3%}")  # fmt: skip
    both, field = timed(lambda: solve_section(section, 8))
    assert isinstance(field, Field)
    print(f"as reported, with its halved grid of {field.temperature_k.size} vertices: {both:.4f} s; "
          f"heat changes by {field.halved_heat_change:.2%}, corners by {field.halved_temperature_change_k:.4f} K")  # fmt: skip


if __name__ == "__main__":
    run()
