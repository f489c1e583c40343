"""What goes through a facet: from a place on a named surface to a circle on the facet that holds it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice

import numpy as np
import shapely

from steamwright.errors import GeometryError, Mistake
from steamwright.geometry.frame import Floats, Point2
from steamwright.room.assembly import Shell
from steamwright.room.inputs import Penetration as Said
from steamwright.room.inputs import Room
from steamwright.room.model import CoveredBy, Facet, Penetration
from steamwright.room.walls import WallRun, Walls
from steamwright.units import format_tape


@dataclass(frozen=True, slots=True)
class Places:
    """Where the places of a job are measured: walls, the wall that each fixture stands on, the height of the floor."""

    walls: Walls
    run_of: dict[str, WallRun]
    floor_m: float


def place_penetrations(shell: Shell, room: Room, places: Places, drain_m: tuple[float, float] | None,
                       mistakes: list[Mistake]) -> tuple[Penetration, ...]:
    """Put every penetration on its facet.

    Parameters
    ----------
    shell : Shell
        Facets, and the names that they go by.
    room : Room
        What was said.
    places : Places
        What places are measured from.
    drain_m : (float, float) or None
        Plan point of a point drain, which is a penetration of the floor. [m]
    mistakes : list of Mistake
        Takes up what is wrong.

    Returns
    -------
    penetrations : tuple of Penetration
        Those without mistakes.

    References
    ----------
    own derivation
    """
    rows: list[tuple[Said, str]] = [(p, f"room.penetration[{i}]") for i, p in enumerate(room.penetration)]
    if drain_m is not None and not any(p.kind == "drain" and p.on == "floor" for p in room.penetration):
        drain = Said.model_construct(name="drain", kind="drain", on="floor", along_m=None, up_m=None, at=drain_m,
                                     diameter_m=room.pan.drain_diameter_m, sleeve=None, seal_f=None)
        rows.insert(0, (drain, "room.pan.drain_at"))
    tried = [_tried(shell, said, path, places) for said, path in rows]
    spare = iter(_spare_m([t for found in tried if isinstance(found, list) for t in found]))
    out: list[Penetration] = []
    for (said, path), found in zip(rows, tried, strict=True):
        if isinstance(found, Mistake):
            mistakes.append(found)
            continue
        # of several facets of one surface the one in which it lies deepest
        deep_m, (facet, (s, t)) = max(zip(islice(spare, len(found)), found, strict=True), key=lambda row: row[0])
        wrong = _misplaced(said, path, deep_m)
        if wrong is not None:
            mistakes.append(wrong)
            continue
        out.append(Penetration(f"penetration-{len(out) + 1:02d}", facet.id, (s, t), said.diameter_m, said.kind, said.name))
    _check_apart(out, rows, mistakes)
    return tuple(out)


def _wrong(path: str, detail: str, hint: str) -> Mistake:
    return Mistake(path, detail, hint, code=GeometryError.code)


def _tried(shell: Shell, said: Said, path: str, places: Places) -> list[tuple[Facet, Point2]] | Mistake:
    """The facets that it may go through, with its place in the plane of each, or why there is none."""
    run = places.walls.named(said.on)
    on = run.name if run is not None else said.on
    named = [f for f, names in zip(shell.facets, shell.surfaces, strict=True) if on in names or f.name == on]
    if not named:
        known = sorted({n for names, f in zip(shell.surfaces, shell.facets, strict=True) for n in names
                        if f.covering_by is not CoveredBy.NONE})
        return _wrong(f"{path}.on", f"{said.name} is on {said.on!r}, which is no surface of the room",
                      f"the surfaces are {', '.join(known)}")
    if all(f.covering_by is CoveredBy.NONE for f in named):
        return _wrong(f"{path}.on", f"{said.name} is on {said.on}, which is glass or a leaf and has no covering",
                      "put it on a covered surface")
    found: list[tuple[Facet, Point2]] = []
    for f in named:
        point = _point(f, said, places)
        if isinstance(point, str):
            return _wrong(path, f"{said.name} has no place on {said.on}", point)
        s, t = f.frame.drop(point)[0].tolist()
        found.append((f, (s, t)))
    return found


def _spare_m(tried: Sequence[tuple[Facet, Point2]]) -> list[float]:
    """How far places lie within the outlines of their facets; negative outside. [m]"""
    shapes, at = np.array([f.polygon for f, _ in tried], dtype=object), np.array([place for _, place in tried]).reshape(-1, 2)
    off = shapely.distance(shapely.boundary(shapes), shapely.points(at))
    spare: list[float] = np.where(shapely.contains_xy(shapes, at), off, -off).tolist()
    return spare


def _misplaced(said: Said, path: str, spare_m: float) -> Mistake | None:
    """What is wrong with a hole whose middle lies so far within its surface."""
    if spare_m < 0:
        return _wrong(path, f"{said.name} is in the air: {said.on} ends {format_tape(-spare_m)} short of it", "move it onto the surface")
    if spare_m < said.diameter_m / 2 - 1e-9:
        return _wrong(path, f"{said.name} of {format_tape(said.diameter_m)} runs over the edge of {said.on}, "
                      f"which is {format_tape(spare_m)} from its middle", "move it away from the edge, or give a smaller hole")
    return None


def _point(f: Facet, said: Said, places: Places) -> Floats | str:
    """The place on a facet's plane, or what is missing to find it."""
    n = f.frame.normal
    origin = np.asarray(f.frame.origin_m)
    if abs(n[2]) > 0.5:
        if said.at is None:
            return "give its plan point at = [x, y]"
        x, y = said.at
        return np.array([x, y, origin[2] - (n[0] * (x - origin[0]) + n[1] * (y - origin[1])) / n[2]])
    if said.up_m is None:
        return "give its height up from the floor" + (" and its place along" if said.at is None and said.along_m is None else "")
    z = said.up_m + places.floor_m
    if said.along_m is not None:
        run = places.walls.named(said.on) or places.run_of.get(said.on)
        if run is None:
            return "give its plan point at = [x, y]"
        along, _ = places.walls.stretch(said.on, said.along_m, said.along_m)
        x, y = run.at(along) if 0 <= along <= run.length_m else run.from_m + run.along * along
    elif said.at is not None:
        x, y = said.at
    else:
        return "give its place along the wall from the first station"
    p = np.array([x, y, z])
    side = np.array([n[0], n[1], 0.0]) / np.hypot(n[0], n[1])  # level, so that its height stays
    return np.asarray(p - side * float((p - origin) @ n) / float(side @ n))


def _check_apart(placed: Sequence[Penetration], rows: Sequence[tuple[Said, str]], mistakes: list[Mistake]) -> None:
    path_of = {said.name: path for said, path in rows}
    for i, p in enumerate(placed):
        hits = [q for q in placed[:i] if p.facet == q.facet and math.dist(p.center_m, q.center_m) < (p.diameter_m + q.diameter_m) / 2]
        mistakes.extend(Mistake(path_of[p.name], f"the holes of {p.name} and {q.name} run into each other",
                                "move one of them, or give one hole for both", code=GeometryError.code) for q in hits)
