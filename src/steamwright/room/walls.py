"""Walls: the sides of the plan as planes that may lean, be twisted, or follow a curve in chords."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from steamwright.geometry.frame import Floats, Point2
from steamwright.geometry.halfspace import All, AnyOf, Formula, In
from steamwright.room.curve import wall_feet
from steamwright.room.draft import Draft, Ending
from steamwright.room.inputs import Room
from steamwright.room.inputs import Wall as WallSaid
from steamwright.room.model import FacetKind
from steamwright.room.plan import Side, outline, plan_formula
from steamwright.room.survey_model import SurveyReport, WallFix


@dataclass(frozen=True)  # without slots, to remember its directions
class WallRun:
    """A wall as a person names it: ``along`` runs from its first-named station. ``turned`` when that is clockwise."""

    name: str
    index: int
    sides: tuple[Side, ...]
    turned: bool
    glass: bool

    @cached_property
    def from_m(self) -> Floats:
        """Foot of the wall at its first-named station; shape (2,). [m]"""
        return np.asarray(self.sides[-1].end_m if self.turned else self.sides[0].start_m)

    @cached_property
    def to_m(self) -> Floats:
        """Foot of the wall at its other station; shape (2,). [m]"""
        return np.asarray(self.sides[0].start_m if self.turned else self.sides[-1].end_m)

    @cached_property
    def length_m(self) -> float:
        """Length along its foot, chord by chord. [m]"""
        return sum(math.dist(s.start_m, s.end_m) for s in self.sides)

    @cached_property
    def along(self) -> Floats:
        """Unit plan direction from its first-named station; shape (2,)."""
        d = self.to_m - self.from_m
        return np.asarray(d / np.linalg.norm(d))

    @cached_property
    def inward(self) -> Floats:
        """Unit plan direction into the room, square to ``along``; shape (2,)."""
        a = self.along
        return np.array([a[1], -a[0]]) if self.turned else np.array([-a[1], a[0]])

    @property
    def curved(self) -> bool:
        """Whether it is made of several chords."""
        return len(self.sides) > 1

    @cached_property
    def formula(self) -> Formula:
        """True on the air's side of the wall."""
        parts = tuple(s.formula for s in self.sides)
        if len(parts) == 1:
            return parts[0]
        middle = self.sides[len(parts) // 2].start_m
        outward = float((np.asarray(middle) - self.from_m) @ self.inward) < 0
        return All(parts) if outward else AnyOf(parts)

    def at(self, along_m: float) -> Floats:
        """Plan point at a distance along the wall's foot; shape (2,). [m]"""
        rest = along_m
        sides = self.sides[::-1] if self.turned else self.sides
        for k, s in enumerate(sides):
            a, b = (s.end_m, s.start_m) if self.turned else (s.start_m, s.end_m)
            size = math.dist(a, b)
            if rest <= size or k == len(sides) - 1:
                place: Floats = np.asarray(a) + (np.asarray(b) - np.asarray(a)) * (rest / size)
                return place
            rest -= size
        raise AssertionError("a wall has sides")


@dataclass(frozen=True)  # without slots, to remember its names
class Walls:
    """All walls, in counter-clockwise order, and the formula of the space between them."""

    runs: tuple[WallRun, ...]
    formula: Formula

    def named(self, name: str) -> WallRun | None:
        """The wall with a name, in either direction."""
        return self._by_name.get(name)

    @cached_property
    def _by_name(self) -> dict[str, WallRun]:
        return {name: r for r in reversed(self.runs) for name in (backward(r.name), r.name)}

    def stretch(self, name: str, from_m: float, to_m: float) -> tuple[float, float]:
        """A stretch counted from the first station in a wall's name, counted from that of the wall itself. [m]"""
        run = self.named(name)
        if run is None or run.name == name:
            return from_m, to_m
        return run.length_m - to_m, run.length_m - from_m

    def sides(self) -> tuple[Side, ...]:
        """All edges of the plan, counter-clockwise."""
        return tuple(s for r in self.runs for s in r.sides)

    def outline_m(self, height_m: float = 0.0) -> list[Point2]:
        """Corners of the plan on this face at a height, counter-clockwise. [m]"""
        return outline(self.sides(), height_m)

    def corner_m(self, run: WallRun, at_end: bool, height_m: float) -> Floats:
        """Where a wall ends on this face at its last (or first) named station, at a height; shape (2,). [m]"""
        sides = self.sides()
        forward = at_end != run.turned
        k = sides.index(run.sides[-1]) + 1 if forward else sides.index(run.sides[0])
        return np.asarray(self.outline_m(height_m)[k % len(sides)])

    def beside(self, run: WallRun, at_end: bool) -> tuple[WallRun, float]:
        """The neighbour at a wall's last (or first) named station, and the turn of the plan there. [rad]"""
        i = self.runs.index(run)
        forward = at_end != run.turned
        other = self.runs[(i + 1) % len(self.runs)] if forward else self.runs[i - 1]
        a, b = (run, other) if forward else (other, run)
        d, e = _direction(a.sides[-1]), _direction(b.sides[0])
        return other, math.atan2(float(d[0] * e[1] - d[1] * e[0]), float(d @ e))


def backward(name: str) -> str:
    """A wall's name with its stations changed over.

    Parameters
    ----------
    name : str
        Such as "A-B".

    Returns
    -------
    name : str
        Such as "B-A".

    References
    ----------
    own derivation
    """
    return "-".join(reversed(name.split("-")))


def draft_walls(draft: Draft, survey: SurveyReport, room: Room, height_m: float) -> Walls:
    """Draft the walls of a room.

    Parameters
    ----------
    draft : Draft
        Takes up the surfaces and half-spaces.
    survey : SurveyReport
        Stations and how the walls stand.
    room : Room
        What is special about walls.
    height_m : float
        Height at which a twisted wall's upper corners lie. [m]

    Returns
    -------
    walls : Walls
        Counter-clockwise.

    Raises
    ------
    GeometryError, JobError
        If walls cross, or something is said of a wall that does not exist.

    References
    ----------
    Peterson-1984
    """
    said = _said(draft, survey, room)
    fixes = {f.side: f for f in survey.walls}
    points = [(s.x_m, s.y_m) for s in survey.stations]
    turned = _area(points) < 0
    names = list(zip(survey.wall_sides(), points, points[1:] + points[:1], strict=True))
    if turned:
        names = [(n, b, a) for n, a, b in reversed(names)]
        names = names[-1:] + names[:-1]  # the first wall stays first
    _check_plan(draft, names)
    index = {n: i for i, n in enumerate(survey.wall_sides())}
    runs = []
    for name, a, b in names:
        wall = said.get(name, (None, ""))
        runs.append(_run(draft, name, a, b, index[name], turned, wall, fixes.get(name), height_m))
    return Walls(tuple(runs), plan_formula(draft, [s for r in runs for s in r.sides], height_m / 2))


def _run(draft: Draft, name: str, a: Point2, b: Point2, index: int, turned: bool, said: tuple[WallSaid | None, str],
         fix: WallFix | None, height_m: float) -> WallRun:
    wall, path = said
    glass = wall is not None and wall.kind == "glass"
    d = np.asarray(b) - np.asarray(a)
    along = -d if turned else d
    if wall is not None and glass:
        ending = Ending(wall.ending or "", wall.reach_m or 0.0, wall.sealed_by or "")
        surface = draft.surface(f"{name} glass", FacetKind.OPENING, (5, index, 0), along, path, needed=True, ending=ending)
    else:
        surface = draft.surface(name, FacetKind.WALL, (5, index, 0), along, path or "survey.stations", needed=True)
    feet = wall_feet(draft, wall, path, a, b)
    sides = []
    for p, q in pairwise(feet):
        d = np.asarray(q) - np.asarray(p)
        n = np.array([-d[1], d[0]]) / np.hypot(*d)
        tilt = fix.tilt_ratio if fix is not None and len(feet) == 2 else 0.0
        if fix is not None and fix.parted and len(feet) == 2:
            formula: Formula = _twisted(draft, surface, p, q, n, fix, turned, height_m)
        else:
            formula = draft.plane(surface, (n[0], n[1], tilt), (*p, 0.0))
        sides.append(Side(surface, p, q, (float(n[0]), float(n[1])), tilt, formula, draft.depth_m(surface)))
    return WallRun(name, index, tuple(sides), turned, glass)


def _twisted(draft: Draft, surface: int, p: Point2, q: Point2, n: Floats, fix: WallFix, turned: bool, height_m: float) -> Formula:
    """Two planes through the four corners of a wall whose ends lean differently, parted along a diagonal.

    One holds the foot and leans like the far end, one holds the near end's edge and the far upper corner.
    """
    near, far = (fix.tilt_end_ratio, fix.tilt_start_ratio) if turned else (fix.tilt_start_ratio, fix.tilt_end_ratio)
    d = np.asarray(q) - np.asarray(p)
    length = float(np.hypot(*d))
    d = d / length
    low: In = draft.plane(surface, (n[0], n[1], far), (*p, 0.0))
    slope = (far - near) * height_m / length
    high: In = draft.plane(surface, (n[0] + slope * d[0], n[1] + slope * d[1], near), (*p, 0.0))
    return All((low, high)) if far > near else AnyOf((low, high))


def _said(draft: Draft, survey: SurveyReport, room: Room) -> dict[str, tuple[WallSaid | None, str]]:
    sides = survey.wall_sides()
    out: dict[str, tuple[WallSaid | None, str]] = {}
    for i, wall in enumerate(room.wall):
        path = f"room.wall[{i}]"
        side = wall.side if wall.side in sides else backward(wall.side)
        if side not in sides:
            draft.wrong(f"{path}.side", f"there is no wall {wall.side!r}", f"the walls are {', '.join(sides)}")
        elif side in out:
            draft.wrong(f"{path}.side", f"wall {wall.side} is described twice", "keep one of them")
        else:
            out[side] = (wall, path)
    return out


def _check_plan(draft: Draft, names: Sequence[tuple[str, Point2, Point2]]) -> None:
    def side(a: Point2, b: Point2, c: Point2) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    n = len(names)
    for i in range(n):
        name, a, b = names[i]
        for j in range(i + 2, n if i else n - 1):
            other, c, d = names[j]
            if side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0:
                draft.wrong("survey.stations", f"walls {name} and {other} cross", "list the stations in order round the room")
    draft.raise_mistakes()
    if abs(_area([a for _, a, _ in names])) < 1e-4:
        draft.wrong("survey.stations", "the walls enclose no floor", "check the stations and their readings")
        draft.raise_mistakes()


def _area(points: Sequence[Point2]) -> float:
    return sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(points, [*points[1:], points[0]], strict=True)) / 2


def _direction(side: Side) -> Floats:
    d = np.asarray(side.end_m) - np.asarray(side.start_m)
    return np.asarray(d / np.hypot(*d))
