"""Surveys of invented plans, for tests."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from steamwright.geometry.frame import Floats
from steamwright.room.inputs import Survey
from steamwright.room.turning import turn_angles_deg

NAMES = "ABCDEFGHIJKLMNOP"
ELL = ((0.0, 0.0), (3.0, 0.0), (3.0, 1.5), (1.2, 1.5), (1.2, 2.7), (0.0, 2.7))
ELL_TIES = ((0, 2), (0, 3), (1, 3), (3, 5), (0, 4), (2, 4), (1, 4))
OBLONG = ((0.0, 0.0), (2.4, 0.02), (2.38, 1.5), (0.01, 1.52))
DIAGONALS = ((0, 2), (1, 3))
Pairs = Sequence[tuple[int, int]]


def walls(count: int) -> list[tuple[int, int]]:
    """All pairs of neighbours."""
    return [(k, (k + 1) % count) for k in range(count)]


def length_row(points_m: Floats, a: int, b: int, off_m: float = 0.0, **more: Any) -> dict[str, Any]:
    """An exact reading between two stations, or one that is off."""
    length = float(np.hypot(*(points_m[b] - points_m[a]))) + off_m
    kind = "wall" if (b - a) % len(points_m) in (1, len(points_m) - 1) else "tie"
    return {"kind": kind, "of": f"{NAMES[a]}-{NAMES[b]}", "is": f"{length:.15f} m", **more}


def survey_of(points: Any, ties: Pairs = (), off_m: Mapping[int, float] | None = None, rows: Sequence[dict[str, Any]] = (),
              **more: Any) -> Survey:
    """All walls and some ties of a plan; ``off_m`` tells which readings are misread, and by how much."""
    p = np.asarray(points, float)
    pairs = walls(len(p)) + list(ties)
    readings = [length_row(p, a, b, (off_m or {}).get(k, 0.0)) for k, (a, b) in enumerate(pairs)]
    return Survey.model_validate({"stations": list(NAMES[: len(p)]), "reading": readings + list(rows), **more})


def all_turns(points: Any) -> dict[str, str]:
    """How every station turns."""
    return {NAMES[k]: "left" if t > 0 else "right" for k, t in enumerate(turn_angles_deg(np.asarray(points, float)))}
