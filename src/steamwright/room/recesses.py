"""What goes behind the face of a wall: doors, windows and panes, and niches."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon, box

from steamwright.geometry.frame import Floats, Point3, outlined
from steamwright.geometry.halfspace import All, Formula, Not
from steamwright.room.draft import Draft, Ending, level
from steamwright.room.fixtures import NEAR_M, Block, span_fits
from steamwright.room.inputs import Niche, Opening, Room
from steamwright.room.model import FacetKind
from steamwright.room.walls import WallRun, Walls
from steamwright.units import format_tape

CURBLESS_M = 0.002
"""A sill this near the floor is meant to run on from it. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Sill:
    """The floor that a curbless opening runs on from: its planes on this face, the highest of which counts.

    ``planes`` are unit normals that look up and the offsets along them. [m]
    """

    planes: tuple[tuple[Point3, float], ...]

    def height_m(self, p: Floats) -> float:
        """Height over a plan point. [m]"""
        return max(float((d - n[0] * p[0] - n[1] * p[1]) / n[2]) for n, d in self.planes)


@dataclass(frozen=True, slots=True)
class Recess:
    """Air behind a wall's face; the rectangle that it takes of the wall, and how deep it goes."""

    name: str
    path: str
    run: WallRun
    from_m: float
    to_m: float
    bottom_m: float
    top_m: float
    depth_m: float
    air: Formula


@dataclass(frozen=True, slots=True)
class _Hole:
    """An opening or a niche in one form; heights over the datum, sizes on the framing face. [m]"""

    said: Opening | Niche
    path: str
    bottom_m: float
    top_m: float
    depth_m: float
    names: tuple[str, str, str, str, str]
    kinds: tuple[FacetKind, FacetKind, FacetKind, FacetKind]
    order: tuple[int, ...]
    ending: Ending | None


def draft_recesses(draft: Draft, room: Room, walls: Walls, blocks: Sequence[Block], floor_m: float, sill: Sill,
                   ceiling_at: Callable[[Floats], float]) -> tuple[Recess, ...]:
    """Draft openings and niches.

    Parameters
    ----------
    draft : Draft
        Takes up surfaces and half-spaces, and mistakes.
    room : Room
        What was said.
    walls : Walls
        The walls on this face.
    blocks : sequence of Block
        Fixtures that stand before walls.
    floor_m : float
        Height from which a job's heights count. [m]
    sill : Sill
        The floor, from which curbless openings run on.
    ceiling_at : callable
        Height of the ceiling over a plan point. [m]

    Returns
    -------
    recesses : tuple of Recess
        Those without mistakes.

    References
    ----------
    own derivation
    """
    out: list[Recess] = []
    for i, o in enumerate(room.opening):
        run = _wall_for(draft, walls, o, f"room.opening[{i}]")
        if run is not None and run.glass:  # a leaf of the glass: the glass wall is an opening over its whole length
            _leaf_fits(draft, o, f"room.opening[{i}]", run, walls, blocks, floor_m, ceiling_at)
        elif run is not None and o.setback_m is None:
            draft.wrong(f"room.opening[{i}].setback", f"{o.name} has no setback",
                        "say how far behind the wall's face the leaf or pane stands, such as 4 in")
        elif run is not None:
            out += _recess(draft, _opening(o, i, floor_m, run), walls, run, blocks, floor_m, sill, ceiling_at)
    for i, n in enumerate(room.niche):
        run = _wall_for(draft, walls, n, f"room.niche[{i}]")
        if run is not None:
            out += _recess(draft, _niche(n, i, floor_m, run), walls, run, blocks, floor_m, None, ceiling_at)
    _check_apart(draft, out, walls)
    return tuple(out)


def _opening(o: Opening, i: int, floor_m: float, run: WallRun) -> _Hole:
    return _Hole(o, f"room.opening[{i}]", o.bottom_m + floor_m, o.top_m + floor_m, o.setback_m or 0.0,
                 (f"{o.name} jamb left", f"{o.name} jamb right", f"{o.name} sill", f"{o.name} head", o.name),
                 (FacetKind.JAMB, FacetKind.SILL, FacetKind.HEAD, FacetKind.OPENING), (5, run.index, 2, i),
                 Ending(o.ending or "", o.reach_m or 0.0, o.sealed_by or ""))


def _niche(n: Niche, i: int, floor_m: float, run: WallRun) -> _Hole:
    return _Hole(n, f"room.niche[{i}]", n.bottom_m + floor_m, n.bottom_m + n.height_m + floor_m, n.depth_m,
                 (f"{n.name} side left", f"{n.name} side right", f"{n.name} sill", f"{n.name} head", f"{n.name} back"),
                 (FacetKind.NICHE_SIDE, FacetKind.NICHE_SIDE, FacetKind.NICHE_SIDE, FacetKind.NICHE_BACK), (5, run.index, 1, i), None)


def _recess(draft: Draft, h: _Hole, walls: Walls, run: WallRun, blocks: Sequence[Block], floor_m: float, floor: Sill | None,
            ceiling_at: Callable[[Floats], float]) -> list[Recess]:
    start, end = walls.stretch(h.said.wall, h.said.from_m, h.said.from_m + h.said.width_m)
    if not span_fits(draft, run, start, end, h.path, h.said.name) or not _height_fits(draft, h, run, start, end, floor_m, ceiling_at):
        return []
    before = [b for b in blocks if b.run is run and min(b.to_m, end) - max(b.from_m, start) > 1e-6]
    if isinstance(h.said, Niche) and not _niche_is_free(draft, h, before):
        return []
    hidden = any(b.bottom_m < floor_m and b.from_m <= start + 1e-6 and b.to_m >= end - 1e-6 for b in before)
    on_floor = floor is not None and not hidden and h.bottom_m <= max(floor_m, floor.height_m(run.at((start + end) / 2))) + CURBLESS_M
    if isinstance(h.said, Opening) and h.said.curbless and not on_floor:
        draft.wrong(f"{h.path}.bottom", f"{h.said.name} is curbless but does not start at the floor",
                    "take out bottom and curb, or curbless")
        return []
    parts: list[Formula] = []
    faces = _faces(h, run, start, end, floor if on_floor else None)
    for k, f in enumerate(faces):
        last = f is faces[-1]
        surface = draft.surface(f.name, f.kind, (*h.order, k), f.along, h.path, needed=last, ending=h.ending if last else None)
        parts.append(draft.plane(surface, f.normal, f.through_m, f.depth_m))
    air = All((Not(run.formula), *parts, *(b.strip for b in before)))
    return [Recess(h.said.name, h.path, run, start, end, h.bottom_m, h.top_m, h.depth_m, air)]


@dataclass(frozen=True, slots=True)
class _Face:
    """One of the faces of a recess, its normal into the air; ``depth_m`` only where it is not that of its layers."""

    name: str
    kind: FacetKind
    normal: Floats
    through_m: Floats
    along: Floats
    depth_m: float | None = None


def _faces(h: _Hole, run: WallRun, start: float, end: float, floor: Sill | None) -> tuple[_Face, ...]:
    """Jambs, sill, head and back; the sill falls into the room, or is the floor that runs on."""
    a, n = level(run.along), level(run.inward)
    foot, up = np.array([*run.from_m, 0.0]), np.array([0.0, 0.0, 1.0])
    first, second = (h.names[0], h.names[1]) if run.turned else (h.names[1], h.names[0])  # the wall's first station is to the right
    if floor is None:
        sills = [_Face(h.names[2], h.kinds[1], n * h.said.sill_slope + up, foot + up * h.bottom_m, a)]
    else:
        sills = [_Face(h.names[2], h.kinds[1], np.asarray(m), np.asarray(m) * d, a, 0.0) for m, d in floor.planes]
    return (_Face(first, h.kinds[0], a, foot + a * start, n), _Face(second, h.kinds[0], -a, foot + a * end, n), *sills,
            _Face(h.names[3], h.kinds[2], -up, foot + up * h.top_m, a),
            _Face(h.names[4], h.kinds[3], n + up * run.sides[0].tilt_ratio, foot - n * h.depth_m, n))


def _height_fits(draft: Draft, h: _Hole, run: WallRun, start: float, end: float, floor_m: float,
                 ceiling_at: Callable[[Floats], float]) -> bool:
    what = h.said.name
    if h.top_m - h.bottom_m < 0.02:
        draft.wrong(f"{h.path}.top", f"{what} has no height", "give a top above its bottom")
        return False
    if h.bottom_m < floor_m - 1e-6:
        draft.wrong(f"{h.path}.bottom", f"{what} starts under the floor", "heights are measured up from the floor")
        return False
    roof = min(ceiling_at(run.at(x)) for x in (start, end))
    if h.top_m > roof + 1e-6:
        draft.wrong(f"{h.path}.{'top' if isinstance(h.said, Opening) else 'height'}",
                    f"{what} reaches {format_tape(h.top_m - roof)} over the ceiling at its wall",
                    f"the ceiling is {format_tape(roof - floor_m)} high there")
        return False
    return True


def _niche_is_free(draft: Draft, h: _Hole, before: Sequence[Block]) -> bool:
    """A niche opens into the room on its whole height: what stands before it would make a lower one of it unsaid."""
    for b in before:
        if b.top_m > h.bottom_m + NEAR_M and b.bottom_m < h.top_m - NEAR_M:
            low, high = max(b.bottom_m, h.bottom_m), min(b.top_m, h.top_m)
            draft.wrong(f"{h.path}.bottom", f"{b.name} stands before {h.said.name} and closes {format_tape(high - low)} of its height",
                        "move the niche up, down or aside")
            return False
    return True


def _leaf_fits(draft: Draft, o: Opening, path: str, run: WallRun, walls: Walls, blocks: Sequence[Block], floor_m: float,
               ceiling_at: Callable[[Floats], float]) -> None:
    """A leaf of a glass wall lies on it, under the ceiling, and over what stands there; without a bottom it stands on the curb."""
    start, end = walls.stretch(o.wall, o.from_m, o.from_m + o.width_m)
    if not span_fits(draft, run, start, end, path, o.name):
        return
    roof = min(ceiling_at(run.at(x)) for x in (start, end))
    if o.top_m + floor_m > roof + 1e-6:
        draft.wrong(f"{path}.top", f"{o.name} reaches {format_tape(o.top_m + floor_m - roof)} over the ceiling at its wall",
                    f"the ceiling is {format_tape(roof - floor_m)} high there")
    for b in (b for b in blocks if b.run is run and min(b.to_m, end) - max(b.from_m, start) > NEAR_M):
        curb = b.path.startswith("room.curb")
        if not math.isfinite(b.top_m):
            if o.top_m + floor_m > b.bottom_m + NEAR_M:
                draft.wrong(f"{path}.top", f"{o.name} runs into {b.name}, which hangs {format_tape(b.bottom_m - floor_m)} over the floor",
                            "make it lower or move it")
        elif o.bottom_m + floor_m < b.top_m - NEAR_M and not (curb and "bottom_m" not in o.model_fields_set):
            draft.wrong(f"{path}.{'bottom' if curb else 'width'}",
                        f"{o.name} runs into {b.name}, which is {format_tape(b.top_m - floor_m)} high",
                        "begin it on the curb" if curb else "make it narrower or move it")


def _wall_for(draft: Draft, walls: Walls, said: Opening | Niche, path: str) -> WallRun | None:
    run = walls.named(said.wall)
    if run is None:
        draft.wrong(f"{path}.wall", f"{said.name} is in wall {said.wall!r}, which does not exist",
                    f"the walls are {', '.join(sorted(r.name for r in walls.runs))}")
        return None
    if run.curved:
        draft.wrong(f"{path}.wall", f"{said.name} is in the curved wall {run.name}", "put it in a straight wall")
        return None
    if run.glass and not (isinstance(said, Opening) and said.kind == "door"):
        draft.wrong(f"{path}.wall", f"{said.name} is in the glass wall {run.name}",
                    "glass over the whole wall needs no opening; or make the wall framed and give its panes as openings")
        return None
    return run


def _check_apart(draft: Draft, recesses: Sequence[Recess], walls: Walls) -> None:
    plan = outlined([s.start_m for s in walls.sides()])
    shapes: list[Polygon] = []
    for r in recesses:
        a, n = r.run.along, r.run.inward
        near, far = r.run.at(r.from_m), r.run.at(r.to_m)
        shapes.append(shapely.polygons(np.array([near, far, far - n * r.depth_m, near - n * r.depth_m])))
        if shapes[-1].intersection(plan).area > 1e-7 * float(a @ a):
            draft.wrong(f"{r.path}.{'setback' if r.path.startswith('room.opening') else 'depth'}",
                        f"{r.name} breaks through into the room round the corner", "make it shallower or move it from the corner")
    for i, r in enumerate(recesses):
        for k, q in enumerate(recesses[:i]):
            upright = min(r.top_m, q.top_m) - max(r.bottom_m, q.bottom_m) > -1e-6
            if not upright:
                continue
            mine, other = (box(x.from_m, 0, x.to_m, 1) for x in (r, q)) if r.run is q.run else (shapes[i], shapes[k])
            if mine.intersects(other):
                draft.wrong(f"{r.path}.from", f"{r.name} and {q.name} run into each other", "move one of them apart")
