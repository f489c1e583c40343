"""The plan: its edges, its corners on a face, and the formula of the space between its walls."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from steamwright.geometry.frame import Point2
from steamwright.geometry.halfspace import All, AnyOf, Formula, Not, polygon_formula
from steamwright.room.draft import Draft, level
from steamwright.room.model import FacetKind

STRAIGHT_RAD = math.radians(1)
"""Walls that turn less stand in one line, and what lies before one does not lie before the other."""


@dataclass(frozen=True, slots=True)
class Side:
    """One edge of the plan, from foot to foot counter-clockwise, the air on its left; ``surface`` is its number. [m]"""

    surface: int
    start_m: Point2
    end_m: Point2
    inward: Point2
    tilt_ratio: float
    formula: Formula
    depth_m: float


def outline(sides: Sequence[Side], height_m: float) -> list[Point2]:
    """Corners of a plan whose sides lean and have moved, at a height.

    Parameters
    ----------
    sides : sequence of Side
        Counter-clockwise.
    height_m : float
        Height of the level cut. [m]

    Returns
    -------
    corners_m : list of (float, float)
        Where each side meets the one before it. [m]

    References
    ----------
    own derivation
    """
    rows = [(np.asarray(s.inward), float(np.asarray(s.inward) @ np.asarray(s.start_m)) - s.tilt_ratio * height_m
             + s.depth_m * math.hypot(1.0, s.tilt_ratio)) for s in sides]
    out: list[Point2] = []
    for (n, c), (m, d), s in zip(rows[-1:] + rows[:-1], rows, sides, strict=True):
        det = float(n[0] * m[1] - n[1] * m[0])
        if abs(det) < 1e-7:
            p = np.asarray(s.start_m)
            p = p + m * (d - m @ p)
        else:
            p = np.array([c * m[1] - d * n[1], n[0] * d - m[0] * c]) / det
        out.append((float(p[0]), float(p[1])))
    return out


def plan_formula(draft: Draft, sides: Sequence[Side], height_m: float) -> Formula:
    """The formula of the space between walls.

    Parameters
    ----------
    draft : Draft
        Takes up the planes that part walls in one line.
    sides : sequence of Side
        Counter-clockwise.
    height_m : float
        Height at which the plan's corners are taken. [m]

    Returns
    -------
    formula : Formula
        True on the air's side of the walls.

    References
    ----------
    Peterson-1984; own derivation
    """
    groups = _lines(sides)
    corners = outline(sides, height_m)
    place = {id(s): c for s, c in zip(sides, corners, strict=True)}
    return polygon_formula([place[id(g[0])] for g in groups], [_line_formula(draft, g) for g in groups])


def _lines(sides: Sequence[Side]) -> list[list[Side]]:
    """Sides that follow each other in one line, together; chords of one wall stay apart."""
    n = len(sides)
    bends = [i for i in range(n) if sides[i].surface == sides[i - 1].surface or abs(_turn(sides[i - 1], sides[i])) > STRAIGHT_RAD]
    return [[sides[(a + k) % n] for k in range((b - a) % n or n)] for a, b in zip(bends, bends[1:] + bends[:1], strict=True)]


def _turn(a: Side, b: Side) -> float:
    (x, y), (z, w) = a.inward, b.inward
    return math.atan2(x * w - y * z, x * z + y * w)


def _line_formula(draft: Draft, group: Sequence[Side]) -> Formula:
    """Walls in one line: each counts over its own stretch, parted square to the line at the stations between.

    Where their layers differ in thickness the parting plane shows as a narrow return of the thicker one.
    """
    if len(group) == 1:
        return group[0].formula
    after: list[Formula] = []
    for a, b in pairwise(group):
        d = np.array([b.inward[1], -b.inward[0]])
        thick = a if a.depth_m >= b.depth_m else b
        s = draft.surfaces[thick.surface]
        kind = FacetKind.WALL if s.kind is not FacetKind.OPENING else FacetKind.JAMB
        surface = draft.surface(f"{s.name} return", kind, (*s.order[:2], 3), s.along, s.path)
        plane = draft.plane(surface, level(d if thick is a else -d), (*b.start_m, 0.0), 0.0)
        after.append(plane if thick is a else Not(plane))
    parts: list[Formula] = []
    for k, side in enumerate(group):
        beyond = [*([Not(after[k - 1])] if k else []), *(after[k: k + 1])]
        parts.append(AnyOf((side.formula, *beyond)))
    return All(tuple(parts))
