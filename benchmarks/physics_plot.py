"""Error against time of the fair case, ours and SciPy's, as ``docs/images/physics-error-time.svg``.

python -m benchmarks.physics_plot
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from benchmarks.physics_fair import errors, problem, timed
from benchmarks.physics_peers import integrate

from steamwright.physics.heat_moisture_assembly import finish

DAYS = 20
OUT = Path(__file__).parents[1] / "docs" / "images" / "physics-error-time.svg"
WIDE, HIGH, LEFT, RIGHT, TOP, BOTTOM = 720, 440, 84, 150, 40, 64
INK, TEAL, SLATE = "#1b2a33", "#0f6b6b", "#5c6b77"
Points = list[tuple[float, float]]


def measured() -> dict[str, Points]:
    """CPU seconds a year and largest error of water content at the end. [s, kg/m3]"""
    exact = problem(DAYS, 1e-7)
    exact.run()
    a_year = 365.0 / DAYS
    found: dict[str, Points] = {"ours": [], "SciPy LSODA": [], "SciPy BDF": []}
    for tolerance in (1e-2, 1e-3, 3e-4, 1e-4, 3e-5, 1e-5, 1e-6):
        work = problem(DAYS, tolerance)
        cpu = min(timed(problem(DAYS, tolerance)) for _ in range(3))
        work.run()
        got = finish(work)
        found["ours"].append((cpu * a_year, errors(got.content_kg_m3[-1], got.temperature_k[-1] - 273.15, exact)[0]))
    for method in ("LSODA", "BDF"):
        for tolerance in (1e-2, 1e-3, 1e-4, 1e-5):
            peer = integrate(problem(DAYS, 1e-3), method, tolerance)
            found[f"SciPy {method}"].append((peer.cpu_s * a_year, errors(peer.content_kg_m3, peer.temperature_c, exact)[0]))
    return found


def drawn(found: dict[str, Points]) -> str:
    """A plot on two logarithmic axes."""
    every = np.log10(np.array([p for points in found.values() for p in points]))
    low, high = np.floor(every.min(axis=0)), np.ceil(every.max(axis=0))

    def place(x: float, y: float) -> tuple[float, float]:
        u, v = (np.log10([x, y]) - low) / (high - low)
        return LEFT + u * (WIDE - LEFT - RIGHT), HIGH - BOTTOM - v * (HIGH - TOP - BOTTOM)

    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE} {HIGH}" font-family="sans-serif" font-size="13" fill="{INK}">',
        f'<rect width="{WIDE}" height="{HIGH}" fill="#fcfcf9"/>',
        f'<text x="{LEFT}" y="24" font-size="15">A year of daily steam in a wall of 70 cells: error against time</text>',
    ]
    for k in range(int(low[0]), int(high[0]) + 1):
        x, _ = place(10.0**k, 10.0 ** low[1])
        parts.append(f'<path d="M{x:.1f} {TOP} V{HIGH - BOTTOM}" stroke="#d7dcdf"/>')
        parts.append(f'<text x="{x:.1f}" y="{HIGH - BOTTOM + 20}" text-anchor="middle">{10.0**k:g}</text>')
    for k in range(int(low[1]), int(high[1]) + 1):
        _, y = place(10.0 ** low[0], 10.0**k)
        parts.append(f'<path d="M{LEFT} {y:.1f} H{WIDE - RIGHT}" stroke="#d7dcdf"/>')
        parts.append(f'<text x="{LEFT - 8}" y="{y + 4:.1f}" text-anchor="end">{10.0**k:g}</text>')
    for (name, points), color, dash in zip(found.items(), (TEAL, INK, SLATE), ("", "7 4", "2 4"), strict=True):
        path = " L".join(f"{x:.1f} {y:.1f}" for x, y in (place(*p) for p in points))
        parts.append(f'<path d="M{path}" fill="none" stroke="{color}" stroke-width="2" stroke-dasharray="{dash}"/>')
        for p in points:
            x, y = place(*p)
            parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{color}"/>')
        x, y = place(*points[0])
        side, anchor = (-10, "end") if name.endswith("LSODA") else (10, "start")
        parts.append(f'<text x="{x + side:.1f}" y="{y - 8:.1f}" text-anchor="{anchor}" fill="{color}">{name}</text>')
    parts.append(f'<text x="{(LEFT + WIDE - RIGHT) / 2}" y="{HIGH - 18}" text-anchor="middle">CPU seconds for a year, one core</text>')
    parts.append(
        f'<text transform="translate(22 {HIGH / 2}) rotate(-90)" text-anchor="middle">largest error of water content, kg/m³</text>'
    )
    return "\n".join([*parts, "</svg>", ""])


if __name__ == "__main__":
    OUT.write_text(drawn(measured()), encoding="utf-8")
    print(f"wrote {OUT}")
