"""The room as a closed solid on one face: the one call that makes it."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Sequence

import numpy as np

from steamwright.geometry.frame import Floats
from steamwright.geometry.halfspace import All, AnyOf, Formula, lowest_m
from steamwright.room.assembly import Shell, assemble
from steamwright.room.ceiling import draft_ceiling, lowest_floor_m, said_height_m
from steamwright.room.draft import CoveringOf, DepthOf, Draft
from steamwright.room.fixtures import Block, draft_blocks, draft_columns
from steamwright.room.floor import Floor, draft_floor
from steamwright.room.inputs import Room
from steamwright.room.model import Face, FacetKind, Rim, Solid
from steamwright.room.penetrations import Places, place_penetrations
from steamwright.room.recesses import Recess, draft_recesses
from steamwright.room.survey_model import SurveyReport
from steamwright.room.walls import WallRun, Walls, draft_walls
from steamwright.units import format_tape

USUAL_HEIGHT_M = 2.4
MARGIN_M = 1.0


def build_solid(report: SurveyReport, room: Room, depth_m: DepthOf, face: Face, covering: CoveringOf,
                depth_before_m: Callable[[str, FacetKind, Face], float] | None = None) -> Solid:
    """Build the room on one face: facets that close, joints, rims and penetrations.

    Parameters
    ----------
    report : SurveyReport
        Stations and how walls, floor and ceiling stand on the framing or slab face.
    room : Room
        Everything over the plan.
    depth_m : callable
        From a surface's name and kind to how far ``face`` stands in front of the framing there. [m]
    face : Face
        The face that is built.
    covering : callable
        From a surface's name and kind to who makes it tight, why, and its build-up.
    depth_before_m : callable, optional
        Like ``depth_m`` for any face; used where the ceiling's heights were taken on a face of their own. [m]

    Returns
    -------
    solid : Solid
        With facets in the order floor, benches, curbs, half walls, columns, walls with their niches and openings,
        soffits, ceiling.

    Raises
    ------
    GeometryError
        If the room as described cannot exist.
    JobError
        If several things are wrong.

    References
    ----------
    Peterson-1984; own derivation
    """
    draft = Draft(face, depth_m, covering)
    walls = draft_walls(draft, report, room, said_height_m(room.ceiling, report) or USUAL_HEIGHT_M)
    before = 0.0
    if room.ceiling.face is not None and depth_before_m is not None:
        before = sum(depth_before_m(name, kind, room.ceiling.face)
                     for name, kind in (("ceiling", FacetKind.CEILING), ("floor", FacetKind.FLOOR)))
    ceiling = draft_ceiling(draft, room.ceiling, report, walls, before)
    draft.raise_mistakes()
    datum = lowest_floor_m(report)
    blocks = draft_blocks(draft, room, walls, datum)
    columns = draft_columns(draft, room.column, walls)
    floor = draft_floor(draft, room.pan, report, walls, blocks)
    if floor is None:
        draft.raise_mistakes()
        raise AssertionError("a floor that cannot be laid leaves a mistake")

    def ceiling_at(p: Floats) -> float:
        return lowest_m(ceiling, draft.half_spaces, float(p[0]), float(p[1])) + draft.depth_of("ceiling", FacetKind.CEILING)

    _check_heights(draft, walls, blocks, floor, ceiling_at, datum)
    recesses = draft_recesses(draft, room, walls, blocks, datum, floor.sill(draft), ceiling_at)
    draft.raise_mistakes()
    clear = tuple(b.clear for b in blocks) + columns
    air = AnyOf((All((walls.formula, floor.formula, ceiling, *clear)), *(r.air for r in recesses)))
    shell = assemble(draft, air, *_box(walls, ceiling, draft, recesses))
    _check_shell(draft, shell)
    places = Places(walls, _runs(draft, blocks, recesses), datum)
    penetrations = place_penetrations(shell, room, places, floor.drain_m, draft.mistakes)
    draft.raise_mistakes()
    rims = _under_glass(shell, blocks)
    return Solid(face, shell.facets, shell.joints, rims, penetrations, shell.volume_m3)


def _box(walls: Walls, ceiling: Formula, draft: Draft, recesses: Sequence[Recess]) -> tuple[Floats, Floats]:
    feet = np.asarray([s.start_m for s in walls.sides()])
    deep = max((r.depth_m for r in recesses), default=0.0)
    lean = max(abs(s.tilt_ratio) for s in walls.sides())
    top = max(lowest_m(ceiling, draft.half_spaces, x, y) for x, y in feet)
    inner = draft.half_spaces
    peak = max((lowest_m(ceiling, inner, *p) for p in _grid(feet)), default=top)
    top = max(top, peak) + MARGIN_M + 2.0
    out = MARGIN_M + deep + 2 * lean * top
    return np.array([*(feet.min(axis=0) - out), -MARGIN_M]), np.array([*(feet.max(axis=0) + out), top])


def _grid(feet: Floats) -> list[tuple[float, float]]:
    low, high = feet.min(axis=0), feet.max(axis=0)
    return [(float(x), float(y)) for x in np.linspace(low[0], high[0], 5) for y in np.linspace(low[1], high[1], 5)]


def _check_heights(draft: Draft, walls: Walls, blocks: Sequence[Block], floor: Floor, ceiling_at: Callable[[Floats], float],
                   datum: float) -> None:
    for s in walls.sides():
        if ceiling_at(np.asarray(s.start_m)) < floor.perimeter_m + 0.05:
            draft.wrong("room.ceiling", "the ceiling comes down to the floor or below it", "check its height and pitch")
            break
    for b in blocks:
        roof = min(ceiling_at(b.run.at(min(max(x, 0.0), b.run.length_m))) for x in (b.from_m, b.to_m))
        if math.isfinite(b.top_m) and b.top_m > roof - 1e-6:
            draft.wrong(f"{b.path}.height", f"{b.name} is higher than the ceiling over it",
                        f"the ceiling is {format_tape(roof - datum)} high there")
        elif not math.isfinite(b.top_m) and b.bottom_m > roof - 1e-6:
            draft.wrong(f"{b.path}.underside", f"{b.name} hangs above the ceiling",
                        f"the ceiling is {format_tape(roof - datum)} high there")
        elif not math.isfinite(b.top_m) and b.bottom_m < floor.perimeter_m + 0.05:
            draft.wrong(f"{b.path}.underside", f"{b.name} comes down to the floor", "give a higher underside")
    draft.raise_mistakes()


def _check_shell(draft: Draft, shell: Shell) -> None:
    shown = {n for names in shell.surfaces for n in names}
    told: set[str] = set()
    if shell.parts > 1:
        draft.wrong("room", f"the air falls into {shell.parts} parts", "move or shorten the fixture that parts it")
        draft.raise_mistakes()
    for s in draft.surfaces:
        if s.needed and s.name not in shown and s.path not in told:
            told.add(s.path)
            draft.wrong(s.path, f"nothing is left of {s.name}: something else takes its whole place, or its layers fill it",
                        "check its place and size against its neighbours")
    if shell.volume_m3 <= 0:
        draft.wrong("room", "no air is left in the room", "check the sizes of its fixtures")
    draft.raise_mistakes()


def _runs(draft: Draft, blocks: Sequence[Block], recesses: Sequence[Recess]) -> dict[str, WallRun]:
    """The wall along which places on a fixture's surfaces are measured."""
    owners = {b.path: b.run for b in blocks} | {r.path: r.run for r in recesses}
    return {s.name: owners[s.path] for s in draft.surfaces if s.path in owners}


def _under_glass(shell: Shell, blocks: Sequence[Block]) -> tuple[Rim, ...]:
    """Rims between glass and the top of a fixture that runs out under it, be it with its back or with its end."""
    past = {f"{b.name} top": b.past_glass_m for b in blocks if b.past_glass_m is not None}
    names = {f.id: n for f, n in zip(shell.facets, shell.surfaces, strict=True)}
    out = []
    for r in shell.rims:
        glass = any(name.endswith(" glass") for name in names[r.opening])
        reach = next((past[a] for a in names[r.facet] if glass and a in past), None)
        out.append(r if reach is None else dataclasses.replace(r, ending="runs on under the glass", reach_m=reach))
    return tuple(out)
