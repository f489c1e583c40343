"""The bed under a bonded pan: how it falls from the edges of the floor to the drain."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon
from shapely.ops import polylabel

from steamwright.geometry.frame import Floats, Point2, outlined
from steamwright.room.creases import Plane, falls_of, planes_of
from steamwright.room.draft import Draft
from steamwright.room.inputs import Pan
from steamwright.room.survey_model import SurveyReport
from steamwright.room.walls import WallRun
from steamwright.units import INCH_M, format_tape

PATH = "room.pan"
FAR_M = 50.0
CLEAR_M = 0.005
"""Between the edge of a drain's flat and the nearest wall there has to be some fall. Common practice, no source."""
LEAST_BRIM_M = INCH_M
"""What of a drain's flat is left round the drain at least, as advice. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Bed:
    """A bed that falls to a drain, seen in plan.

    For each edge of the floor: its first corner, its inward direction, how far a point drain lies from it, and the rise
    per run against that direction. ``low_m`` is the height at the drain, ``perimeter_m`` the greatest along the edges,
    both over the level datum; ``flat_share`` is the size of the level flat over that of the floor. ``planes`` are
    those of a constant pitch, one for all edges that face the same way or nearly so.
    """

    outline_m: tuple[Point2, ...]
    inward: tuple[Point2, ...]
    run_m: tuple[float, ...]
    slope: tuple[float, ...]
    drain_m: Point2 | None
    low_m: float
    perimeter_m: float
    flat_share: float
    planes: tuple[Plane, ...] = ()


def drain_point(pan: Pan, outline_m: Sequence[Point2]) -> Point2:
    """Where a point drain is: as said, or in the middle of the floor.

    Parameters
    ----------
    pan : Pan
        What was said.
    outline_m : sequence of (float, float)
        Corners of the floor. [m]

    Returns
    -------
    place_m : (float, float)
        As said; for "center" the centroid where it sees the whole floor, else the point of the part that does which is farthest
        from the edges of that part, else that of the floor. [m]

    References
    ----------
    own derivation
    """
    if pan.drain_at != "center":
        return pan.drain_at
    shape = outlined(outline_m)
    room = max(pan.flat_m, pan.drain_diameter_m) / 2 + 2 * CLEAR_M
    middle = shape.centroid
    if _sight_m(outline_m, (middle.x, middle.y)) < room:
        seeing = _seeing(shape, outline_m, room)
        middle = polylabel(shape if seeing.is_empty else seeing, 0.001)
    return (float(middle.x), float(middle.y))


def _sight_m(outline_m: Sequence[Point2], at_m: Point2) -> float:
    """How far a point lies inside the edge that it sees least of; negative where an edge hides from it. [m]"""
    p = np.asarray(outline_m)
    d = np.roll(p, -1, axis=0) - p
    across = (at_m[1] - p[:, 1]) * d[:, 0] - (at_m[0] - p[:, 0]) * d[:, 1]
    return float((across / np.hypot(d[:, 0], d[:, 1])).min())


def _seeing(shape: Polygon, outline_m: Sequence[Point2], room_m: float) -> Polygon:
    """The part of a floor from which all edges are seen, at least so far from each."""
    part = shape
    for (x0, y0), (x1, y1) in zip(outline_m, [*outline_m[1:], outline_m[0]], strict=True):
        d = np.array([x1 - x0, y1 - y0]) / np.hypot(x1 - x0, y1 - y0)
        n = np.array([-d[1], d[0]])
        a = np.array([x0, y0]) + room_m * n
        part = part.intersection(Polygon([a - FAR_M * d, a + FAR_M * d, a + FAR_M * (d + n), a + FAR_M * (n - d)]))
    return part if part.geom_type == "Polygon" else Polygon()


def slab_plane(survey: SurveyReport) -> tuple[float, float, float]:
    """The plane of the slab or subfloor: height = a x + b y + c over the level datum.

    Parameters
    ----------
    survey : SurveyReport
        With or without floor heights.

    Returns
    -------
    plane : (float, float, float)
        Level at their mean where fewer than three, or in one line; level at 0 without any.

    References
    ----------
    own derivation
    """
    at = {s.id: (s.x_m, s.y_m) for s in survey.stations}
    rows = np.asarray([(*at[s], 1.0, z) for s, z in survey.floor_m if s in at])
    if not len(rows):
        return (0.0, 0.0, 0.0)
    fit, _, rank, _ = np.linalg.lstsq(rows[:, :3], rows[:, 3], rcond=1e-6)
    if rank < 3:
        return (0.0, 0.0, float(rows[:, 3].mean()))
    return (float(fit[0]), float(fit[1]), float(fit[2]))


def lay_bed(draft: Draft, pan: Pan, corners_m: Sequence[Point2], slab_m: float, drain_wall: WallRun | None,
            corners_at: Callable[[float], Sequence[Point2]] | None = None) -> Bed | None:
    """Fall of a bed over a floor.

    Parameters
    ----------
    draft : Draft
        Takes mistakes.
    pan : Pan
        What was said.
    corners_m : sequence of (float, float)
        Corners of the floor, counter-clockwise. [m]
    slab_m : float
        Height of the slab at the drain. [m]
    drain_wall : WallRun or None
        The wall of a line drain.
    corners_at : callable, optional
        From a height over the flat at the drain to the corners of the open floor there; those given at every height without. [m]

    Returns
    -------
    bed : Bed or None
        ``None`` where it cannot be laid; the mistake is noted.

    References
    ----------
    own derivation
    """
    p = np.asarray(corners_m)
    d = np.roll(p, -1, axis=0) - p
    inward = np.stack([-d[:, 1], d[:, 0]], axis=1) / np.hypot(d[:, 0], d[:, 1])[:, None]
    ways = tuple((float(x), float(y)) for x, y in inward)
    low = slab_m + pan.bed_at_drain_m
    outline_m = tuple((float(x), float(y)) for x, y in p)
    if pan.drain == "line":
        if drain_wall is None:
            draft.wrong(f"{PATH}.drain_wall", "a line drain needs the wall along which it lies", "give drain_wall")
            return None
        run = (p - drain_wall.from_m) @ drain_wall.inward
        slope = tuple(float(pan.pitch * -(n @ drain_wall.inward)) for n in inward)
        return Bed(outline_m, ways, tuple(float(r) for r in run), slope, None, low, low + pan.pitch * float(run.max()), 0.0)
    drain = np.asarray(drain_point(pan, outline_m))
    run = np.einsum("ij,ij->i", drain - p, inward)
    nearest = float(run.min())
    where = (float(drain[0]), float(drain[1]))
    if not shapely.contains_xy(outlined(outline_m), *where):
        draft.wrong(f"{PATH}.drain_at", "the drain does not lie in the open floor", "move it clear of walls, benches and curbs")
        return None
    if pan.flat_m < pan.drain_diameter_m + 2 * CLEAR_M:
        draft.wrong(f"{PATH}.flat", f"a drain of {format_tape(pan.drain_diameter_m)} takes the whole flat of {format_tape(pan.flat_m)}",
                    f"make flat at least {format_tape(pan.drain_diameter_m + LEAST_BRIM_M * 2)}, which leaves "
                    f"{format_tape(LEAST_BRIM_M)} all round, or drain_diameter smaller")
        return None
    if nearest < max(pan.flat_m, pan.drain_diameter_m) / 2 + CLEAR_M:
        draft.wrong(f"{PATH}.drain_at", "an outside corner or a fixture stands between the drain and a part of the floor, so that water "
                    "cannot run straight to it, or the drain's flat meets a wall", "move the drain, make flat smaller, or use a line drain")
        return None
    if pan.perimeter == "level":
        share = pan.flat_m / 2 / nearest
        fall = pan.pitch * (1 - share) * float(np.hypot(*(p - drain).T).max())
        slope = tuple(float(fall / ((1 - share) * r)) for r in run)
        return Bed(outline_m, ways, tuple(float(r) for r in run), slope, where, low, low + fall, share)
    # the greatest of planes through the drain only rises on the straight way from it, so where the drain sees the whole floor
    # no place is lower than its neighbours on that way, and no water stands
    falls, of_edge = falls_of(inward, np.hypot(d[:, 0], d[:, 1]))
    planes = planes_of(falls, pan.pitch, pan.flat_m / 2, where, corners_at or (lambda _height_m: outline_m))
    g = np.asarray(planes)
    high = float((np.asarray(rise_m(planes, where, outline_m))).max())
    slope = tuple(float(x) for x in np.vecdot(inward, g[of_edge, :2]))
    return Bed(outline_m, ways, tuple(float(r) for r in run), slope, where, low, low + high, 0.0, planes)


def rise_m(planes: Sequence[Plane], drain_m: Point2, at_m: Sequence[Point2]) -> Floats:
    """Height of the greatest of planes over the flat at the drain.

    Parameters
    ----------
    planes : sequence of Plane
        The planes of a constant pitch.
    drain_m : (float, float)
        The drain. [m]
    at_m : sequence of (float, float)
        Plan points. [m]

    Returns
    -------
    rise_m : ndarray, shape (n,)
        Heights; negative on the flat. [m]

    References
    ----------
    own derivation
    """
    g = np.asarray(planes)
    rise: Floats = ((np.asarray(drain_m) - np.asarray(at_m)) @ g[:, :2].T - g[:, 2]).max(axis=1)
    return rise
