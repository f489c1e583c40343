"""The plan: its edges, its corners on a face, and the formula of the space between its walls."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from steamwright.geometry.frame import Floats, Point2
from steamwright.geometry.halfspace import All, AnyOf, Formula, Not, polygon_formula
from steamwright.room.draft import Draft, level
from steamwright.room.model import FacetKind

STRAIGHT_RAD = math.radians(1)
"""Walls that turn less stand in one line, and what lies before one does not lie before the other."""
SAME_RAD = 1e-7
SAME_M = 1e-6
BELOW_M = 0.3
"""How far under the level of the stations a floor may lie, as far as this matters here."""


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
        Where each side meets the one before it; on the side itself, at the station, where the two stand in one line. [m]

    References
    ----------
    own derivation
    """
    rows = [(np.asarray(s.inward), float(np.asarray(s.inward) @ np.asarray(s.start_m)) - s.tilt_ratio * height_m
             + s.depth_m * math.hypot(1.0, s.tilt_ratio)) for s in sides]
    out: list[Point2] = []
    for (n, c), (m, d), r, s in zip(rows[-1:] + rows[:-1], rows, (*sides[-1:], *sides[:-1]), sides, strict=True):
        det = float(n[0] * m[1] - n[1] * m[0])
        # walls in one line whose layers differ in thickness would meet far off: there a return parts them at the station
        if abs(det) < 1e-7 or _parted(r, s):
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
    return polygon_formula([place[id(g[0])] for g in groups], [_line_formula(draft, g, height_m) for g in groups])


def _lines(sides: Sequence[Side]) -> list[list[Side]]:
    """Sides that follow each other in one line, together; chords of one wall stay apart."""
    n = len(sides)
    bends = [i for i in range(n) if not _parted(sides[i - 1], sides[i])]
    return [[sides[(a + k) % n] for k in range((b - a) % n or n)] for a, b in zip(bends, bends[1:] + bends[:1], strict=True)]


def _parted(a: Side, b: Side) -> bool:
    """Whether two sides stand in one line and have to be parted at the station between them.

    Two that turn by a hair and have the same layers and lean meet there by themselves: a parting plane would stand a hair beside
    the line in which they meet.
    """
    if a.surface == b.surface or abs(_turn(a, b)) > STRAIGHT_RAD:
        return False
    return abs(_turn(a, b)) < SAME_RAD or abs(a.depth_m - b.depth_m) > SAME_M or abs(a.tilt_ratio - b.tilt_ratio) > SAME_RAD


def _turn(a: Side, b: Side) -> float:
    (x, y), (z, w) = a.inward, b.inward
    return math.atan2(x * w - y * z, x * z + y * w)


def _line_formula(draft: Draft, group: Sequence[Side], height_m: float) -> Formula:
    """Walls in one line: each counts over its own stretch, parted square to the line at the stations between.

    Where their layers differ in thickness, or they lean apart, the parting plane shows as a narrow return of the one in front.
    """
    if len(group) == 1:
        return group[0].formula
    parts: list[list[Formula]] = [[side.formula] for side in group]
    for k, (a, b) in enumerate(pairwise(group)):
        d = level(np.array([b.inward[1], -b.inward[0]]))
        leads = [_lead_m(a, z) - _lead_m(b, z) for z in (-BELOW_M, 2 * height_m)]
        after = _return(draft, a, d, b.start_m) if max(leads) >= 0.0 else None
        before = _return(draft, b, -d, b.start_m) if min(leads) < 0.0 else None
        if after is not None and before is not None:  # leaning apart, each stands in front of the other somewhere
            parts[k].append(after)
            parts[k + 1].append(before)
        elif after is not None:
            parts[k].append(after)
            parts[k + 1].append(Not(after))
        elif before is not None:
            parts[k].append(Not(before))
            parts[k + 1].append(before)
    return All(tuple(AnyOf(tuple(one)) for one in parts))


def _lead_m(side: Side, height_m: float) -> float:
    """How far a side's face stands in front of its foot at a height. [m]"""
    return side.depth_m * math.hypot(1.0, side.tilt_ratio) - side.tilt_ratio * height_m


def _return(draft: Draft, thick: Side, normal: Floats, at_m: Point2) -> Formula:
    """The plane square to the line in which a side that stands in front of its neighbour ends."""
    s = draft.surfaces[thick.surface]
    kind = FacetKind.WALL if s.kind is not FacetKind.OPENING else FacetKind.JAMB
    return draft.plane(draft.surface(f"{s.name} return", kind, (*s.order[:2], 3), s.along, s.path), normal, (*at_m, 0.0), 0.0)
