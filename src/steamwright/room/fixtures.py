"""What stands in the room or hangs from its ceiling: benches, curbs, half walls, soffits, columns."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from steamwright.geometry.frame import Floats
from steamwright.geometry.halfspace import AnyOf, Formula, Not
from steamwright.room.draft import Draft, level
from steamwright.room.inputs import Bench, Column, Curb, HalfWall, Room
from steamwright.room.model import FacetKind
from steamwright.room.walls import WallRun, Walls

NEAR_M = 0.00635
"""A quarter inch: a fixture that ends this near a corner is meant to reach it. Common practice, no source."""
SQUARE_RAD = math.radians(10)
STRAIGHT_RAD = math.radians(1)


@dataclass(frozen=True, slots=True)
class Block:
    """A solid that stands against a wall. ``clear`` is true outside it in front of the wall, ``strip`` also behind."""

    name: str
    path: str
    run: WallRun
    from_m: float
    to_m: float
    bottom_m: float
    top_m: float
    clear: Formula
    strip: Formula
    past_glass_m: float | None = None


@dataclass(frozen=True, slots=True)
class _Shape:
    """What the kinds of blocks have in common, in the words of a job. ``high_m`` is the height at the wall."""

    name: str
    path: str
    wall: str
    from_m: float
    to_m: float | None
    depth_m: float
    high_m: float
    slope: float
    hangs: bool
    top: tuple[str, FacetKind]
    face: FacetKind
    order: tuple[int, int]


def draft_blocks(draft: Draft, room: Room, walls: Walls, floor_m: float) -> tuple[Block, ...]:
    """Draft all fixtures that stand against walls.

    Parameters
    ----------
    draft : Draft
        Takes up surfaces and half-spaces, and mistakes.
    room : Room
        What was said.
    walls : Walls
        The walls on this face.
    floor_m : float
        Height from which a job's heights count. [m]

    Returns
    -------
    blocks : tuple of Block
        In the order of the job; those with mistakes left out.

    References
    ----------
    own derivation
    """
    shapes: list[tuple[_Shape, float | None]] = []
    for i, b in enumerate(room.bench):
        shapes.append((_standing(b, f"room.bench[{i}]", b.depth_m, (1, i), floor_m), b.past_glass_m))
    for i, c in enumerate(room.curb):
        shapes.append((_standing(c, f"room.curb[{i}]", c.width_m, (2, i), floor_m), None))
    for i, h in enumerate(room.half_wall):
        shapes.append((_standing(h, f"room.half_wall[{i}]", h.thickness_m, (3, i), floor_m), None))
    for i, s in enumerate(room.soffit):
        shapes.append((_Shape(s.name, f"room.soffit[{i}]", s.wall, s.from_m, s.to_m, s.depth_m, s.underside_m + floor_m, s.slope, True,
                              ("underside", FacetKind.SOFFIT), FacetKind.SOFFIT, (6, i)), None))
    out = []
    for shape, past in shapes:
        block = _block(draft, shape, walls, past)
        if block is not None:
            out.append(block)
    return tuple(out)


def _standing(said: Bench | Curb | HalfWall, path: str, depth: float, order: tuple[int, int], floor_m: float) -> _Shape:
    top, face = {Bench: (FacetKind.BENCH_TOP, FacetKind.BENCH_FACE), Curb: (FacetKind.CURB_TOP, FacetKind.CURB_FACE),
                 HalfWall: (FacetKind.HALF_WALL_TOP, FacetKind.WALL)}[type(said)]
    return _Shape(said.name, path, said.wall, said.from_m, said.to_m, depth, said.height_m + floor_m, said.slope, False,
                  ("top", top), face, order)


def _block(draft: Draft, s: _Shape, walls: Walls, past: float | None) -> Block | None:
    run = _wall_for(draft, walls, s.wall, s.path, s.name)
    if run is None:
        return None
    start, to = walls.stretch(s.wall, s.from_m, s.to_m if s.to_m is not None else run.length_m)
    if not span_fits(draft, run, start, to, s.path, s.name):
        return None
    n = level(run.inward)
    foot = np.array([*run.from_m, 0.0])
    top = draft.surface(f"{s.name} {s.top[0]}", s.top[1], (*s.order, 0), run.along, s.path, needed=True)
    front = draft.surface(f"{s.name} front", s.face, (*s.order, 1), run.along, s.path, needed=True)
    sign = -1.0 if s.hangs else 1.0
    tilt = n * s.slope + np.array([0, 0, 1.0])  # tops and undersides alike fall into the room
    parts: list[Formula] = [draft.plane(top, sign * tilt, foot + np.array([0, 0, s.high_m])), draft.plane(front, n, foot + n * s.depth_m)]
    parts += [_end(draft, s, walls, run, at_end, to if at_end else start) for at_end in (False, True)]
    behind = Not(run.formula)
    ends = (start, to)
    bottom, high = (s.high_m - s.slope * s.depth_m, math.inf) if s.hangs else (-math.inf, s.high_m)
    return Block(s.name, s.path, run, *ends, bottom, high, AnyOf((*parts, behind)), AnyOf(tuple(parts)), past)


def _end(draft: Draft, s: _Shape, walls: Walls, run: WallRun, at_end: bool, at: float) -> Formula:
    """What bounds a block at one end: the wall that it meets in a corner, else a face of its own.

    At an outside corner that is square the end goes on in the plane of the wall round the corner and is part of it; at
    another it stays back so far that it nowhere sticks out past the corner.
    """
    corner = abs(at - (run.length_m if at_end else 0.0)) < NEAR_M
    other, turn = walls.beside(run, at_end)
    if corner and turn > STRAIGHT_RAD:
        return Not(other.formula)
    if corner and abs(turn + math.pi / 2) < SQUARE_RAD and not other.glass:
        return other.formula
    out = run.along if at_end else -run.along
    hand = "right" if at_end == run.turned else "left"
    surface = draft.surface(f"{s.name} end {hand}", s.face, (*s.order, 2 + int(at_end)), run.inward, s.path)
    if corner:
        ends = [walls.corner_m(run, at_end, z) for z in (0.0, s.high_m)]
        return draft.plane(surface, level(out), (*min(ends, key=lambda p: float(p @ out)), 0.0), 0.0)
    return draft.plane(surface, level(out), (*(run.from_m + run.along * at), 0.0))


def _wall_for(draft: Draft, walls: Walls, name: str, path: str, what: str) -> WallRun | None:
    run = walls.named(name)
    if run is None:
        draft.wrong(f"{path}.wall", f"{what} stands on wall {name!r}, which does not exist",
                    f"the walls are {', '.join(sorted(r.name for r in walls.runs))}")
    elif run.curved:
        draft.wrong(f"{path}.wall", f"{what} stands on the curved wall {name}", "put it on a straight wall")
        return None
    return run


def span_fits(draft: Draft, run: WallRun, from_m: float, to_m: float, path: str, what: str) -> bool:
    """Whether a stretch lies on its wall; notes a mistake where it does not.

    Parameters
    ----------
    draft : Draft
        Takes the mistake.
    run : WallRun
        The wall.
    from_m, to_m : float
        From where to where along it. [m]
    path : str
        Place in the job.
    what : str
        Name of the thing.

    Returns
    -------
    fits : bool
        True where it lies on the wall.

    References
    ----------
    own derivation
    """
    if from_m < -NEAR_M:
        draft.wrong(f"{path}.from", f"{what} starts before its wall {run.name}", "measure from the wall's first station")
    elif to_m > run.length_m + NEAR_M:
        draft.wrong(path, f"{what} runs {(to_m - run.length_m) / 0.0254:.1f} in past the end of wall {run.name}",
                    f"the wall is {run.length_m / 0.0254:.1f} in ({run.length_m:.3f} m) long")
    elif to_m - from_m < 0.02:
        draft.wrong(path, f"{what} has no length on wall {run.name}", "give from and to, the first the smaller")
    else:
        return True
    return False


def draft_columns(draft: Draft, columns: Sequence[Column], walls: Walls) -> tuple[Formula, ...]:
    """Draft free-standing columns.

    Parameters
    ----------
    draft : Draft
        Takes up surfaces and half-spaces.
    columns : sequence of Column
        What was said.
    walls : Walls
        The walls on this face.

    Returns
    -------
    clear : tuple of Formula
        For each column, true outside it.

    References
    ----------
    own derivation
    """
    out: list[Formula] = []
    first = walls.runs[0].along
    for i, c in enumerate(columns):
        turn = math.radians(c.turned_deg)
        a = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]]) @ first
        b = np.array([-a[1], a[0]])
        faces: list[tuple[Floats, float]] = [(a, c.size[0] / 2), (b, c.size[1] / 2), (-a, c.size[0] / 2), (-b, c.size[1] / 2)]
        parts: list[Formula] = []
        for k, (n, r) in enumerate(faces):
            surface = draft.surface(f"{c.name} side {k + 1}", FacetKind.COLUMN, (4, i, k), n, f"room.column[{i}]", needed=True)
            parts.append(draft.plane(surface, level(n), (*(np.asarray(c.at) + n * r), 0.0)))
        out.append(AnyOf(tuple(parts)))
    return tuple(out)

