"""Curved walls as chords."""

from __future__ import annotations

import math

import numpy as np

from steamwright.geometry.frame import Point2
from steamwright.room.draft import Draft
from steamwright.room.inputs import Wall as WallSaid

DEFAULT_SAGITTA_M = 0.003175
"""An eighth of an inch between a chord and its curve: common practice, no source."""
SAME = 1e-6


def wall_feet(draft: Draft, wall: WallSaid | None, path: str, a: Point2, b: Point2) -> list[Point2]:
    """The plan points of a wall: its stations, and between them those of the chords of a curve.

    Parameters
    ----------
    draft : Draft
        Takes mistakes.
    wall : Wall or None
        What was said of the wall.
    path : str
        Where it was said.
    a, b : (float, float)
        Its stations, the air to the left on the way from a to b. [m]

    Returns
    -------
    feet_m : list of (float, float)
        From a to b; all on the curve, as many as the sagitta asks for. [m]

    References
    ----------
    own derivation
    """
    if wall is None or wall.radius_m is None:
        return [a, b]
    chord = math.dist(a, b)
    sagitta = wall.sagitta_m or DEFAULT_SAGITTA_M
    if wall.radius_m < chord / 2 * (1 - SAME):
        draft.wrong(f"{path}.radius", f"a curve of radius {wall.radius_m:.3f} m does not span the {chord:.3f} m between its stations",
                    "give a radius of at least half that distance")
        return [a, b]
    if sagitta >= wall.radius_m:
        draft.wrong(f"{path}.sagitta", "the sagitta is larger than the radius", "give the gap that a chord may leave, such as 1/8 in")
        return [a, b]
    half = math.asin(min(1.0, chord / 2 / wall.radius_m))
    count = max(1, math.ceil(2 * half / (2 * math.acos(1 - sagitta / wall.radius_m)) - 1e-9))
    d = (np.asarray(b) - np.asarray(a)) / chord
    out = np.array([d[1], -d[0]]) * (1 if wall.bulge == "outward" else -1)
    middle = (np.asarray(a) + np.asarray(b)) / 2 - out * wall.radius_m * math.cos(half)
    turns = [half * (2 * k / count - 1) for k in range(1, count)]
    arc = [middle + wall.radius_m * (d * math.sin(t) + out * math.cos(t)) for t in turns]
    return [a, *((float(p[0]), float(p[1])) for p in arc), b]
