"""Ceilings as formulas of planes that look down."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from shapely.ops import polylabel

from steamwright.geometry.frame import Floats, Point2, outlined
from steamwright.geometry.halfspace import All, AnyOf, Formula, In, polygon_formula
from steamwright.room.draft import Draft
from steamwright.room.inputs import Ceiling
from steamwright.room.model import FacetKind
from steamwright.room.survey_model import SurveyReport
from steamwright.room.walls import Walls

PATH = "room.ceiling"
HAIR_RIDGE_M = 1e-3
"""How nearly alike the runs of four planes of a hip are that are meant to meet in one point. Common practice, no source."""


def said_height_m(ceiling: Ceiling, survey: SurveyReport) -> float | None:
    """Height of the ceiling where it is level or starts to rise, as said, else the mean of the readings at its stations.

    Parameters
    ----------
    ceiling : Ceiling
        What was said.
    survey : SurveyReport
        Readings over the level datum.

    Returns
    -------
    height_m : float or None
        Height over the level datum; ``None`` where nothing tells it. [m]

    References
    ----------
    own derivation
    """
    if ceiling.height_m is not None:
        return ceiling.height_m + lowest_floor_m(survey)
    ends = ceiling.low_wall.split("-") if ceiling.low_wall else None
    rows = [z for s, z in survey.ceiling_m if ends is None or s in ends]
    return sum(rows) / len(rows) if rows else None


def lowest_floor_m(survey: SurveyReport) -> float:
    """Height of the floor at the lowest station, from which a job's heights count.

    Parameters
    ----------
    survey : SurveyReport
        Floor heights over the level datum.

    Returns
    -------
    height_m : float
        0 without floor readings. [m]

    References
    ----------
    own derivation
    """
    return min((z for _, z in survey.floor_m), default=0.0)


def draft_ceiling(draft: Draft, ceiling: Ceiling, survey: SurveyReport, walls: Walls, before_m: float) -> Formula:
    """Draft the ceiling.

    Parameters
    ----------
    draft : Draft
        Takes up the surface and its half-spaces.
    ceiling : Ceiling
        Its shape.
    survey : SurveyReport
        Stations and ceiling readings.
    walls : Walls
        The walls on this face.
    before_m : float
        How far the face on which the heights were taken stands in front of the framing, floor and ceiling together. [m]

    Returns
    -------
    formula : Formula
        True under the ceiling.

    Raises
    ------
    GeometryError, JobError
        If its shape is not told, or no air is left under it.

    References
    ----------
    own derivation
    """
    surface = draft.surface("ceiling", FacetKind.CEILING, (9, 0, 0), walls.runs[0].along, PATH, needed=True)
    if ceiling.shape == "planes":
        return _spots(draft, surface, ceiling, survey, before_m)
    height = said_height_m(ceiling, survey)
    if height is None:
        draft.wrong(f"{PATH}.height", "the height of the ceiling is not given", "give its height or readings up to it")
        draft.raise_mistakes()
        raise AssertionError("a mistake was raised")
    height += before_m
    if ceiling.shape == "flat":
        return draft.plane(surface, (0, 0, -1), (0, 0, height))
    if ceiling.shape == "hip":
        return _hip(draft, surface, ceiling, walls, height, lowest_floor_m(survey) + before_m)
    if ceiling.pitch is None:
        draft.wrong(f"{PATH}.pitch", f"a {ceiling.shape} needs its pitch", 'give a pitch such as "2 in/ft"')
        draft.raise_mistakes()
        raise AssertionError("a mistake was raised")
    if ceiling.shape == "slope":
        return _slope(draft, surface, ceiling, walls, height, ceiling.pitch)
    return _ridge(draft, surface, ceiling, walls, height, ceiling.pitch)


def _slope(draft: Draft, surface: int, ceiling: Ceiling, walls: Walls, height: float, pitch: float) -> Formula:
    run = walls.named(ceiling.low_wall or "")
    if run is None:
        draft.wrong(f"{PATH}.low_wall", "a sloped ceiling needs the wall at which it is lowest", _names(walls))
        draft.raise_mistakes()
        raise AssertionError("a mistake was raised")
    up = run.inward * pitch
    return draft.plane(surface, (up[0], up[1], -1), (*run.from_m, height))


def _ridge(draft: Draft, surface: int, ceiling: Ceiling, walls: Walls, height: float, pitch: float) -> Formula:
    run = walls.named(ceiling.along or "")
    if run is None:
        draft.wrong(f"{PATH}.along", "a ridge needs the wall along which it runs", _names(walls))
        draft.raise_mistakes()
        raise AssertionError("a mistake was raised")
    across = run.inward
    feet = [float(across @ np.asarray(s.start_m)) for s in walls.sides()]
    top = across * (min(feet) + max(feet)) / 2
    planes = []
    for way in (1, -1):
        n = across * pitch * way
        planes.append(draft.plane(surface, (n[0], n[1], -1), (*top, height)))
    return All(tuple(planes))


def _hip(draft: Draft, surface: int, ceiling: Ceiling, walls: Walls, height: float, datum: float) -> Formula:
    """A plane from every wall. The line along the walls stays level on every face, so that hips end in the corners."""
    depth = draft.depth_m(surface)
    sides = walls.sides()
    apex = None if ceiling.apex_m is None else ceiling.apex_m + datum
    outline = walls.outline_m(height)
    if apex is None:
        if ceiling.pitch is None:
            draft.wrong(f"{PATH}.pitch", "a hip needs its pitch or its apex", 'give a pitch such as "2 in/ft", or apex and apex_at')
            draft.raise_mistakes()
            raise AssertionError("a mistake was raised")
        eave = height + ceiling.pitch * min(s.depth_m for s in sides) - depth * math.hypot(1.0, ceiling.pitch)
        outline = walls.outline_m(eave)
        pitches = _to_one_point(outline, [np.asarray(s.inward) for s in sides], ceiling.pitch)
        slopes = [np.asarray(s.inward) * p for s, p in zip(sides, pitches, strict=True)]
        return _from_outline(draft, surface, outline, slopes, eave)
    top = np.asarray(ceiling.apex_at if ceiling.apex_at is not None else _middle(outline))
    if apex <= height:
        draft.wrong(f"{PATH}.apex", "the apex is not higher than the ceiling at the walls", "give an apex above height")
        draft.raise_mistakes()
    runs = [float(np.asarray(s.inward) @ (top - np.asarray(p))) for s, p in zip(sides, outline, strict=True)]
    if min(runs) <= 0.01:
        draft.wrong(f"{PATH}.apex_at", "the apex does not stand over the floor, in front of every wall", "move it into the room")
        draft.raise_mistakes()
    pitches = [(apex - height) / (r + s.depth_m) for r, s in zip(runs, sides, strict=True)]  # as framed
    lower = depth * math.hypot(1.0, max(pitches))
    inward = min(p * s.depth_m for p, s in zip(pitches, sides, strict=True))
    apex, eave = apex - lower, height - lower + inward
    outline = walls.outline_m(eave)
    runs = [float(np.asarray(s.inward) @ (top - np.asarray(p))) for s, p in zip(sides, outline, strict=True)]
    slopes = [np.asarray(s.inward) * ((apex - eave) / r) for s, r in zip(sides, runs, strict=True)]
    cone = _from_outline(draft, surface, outline, slopes, eave)
    return All((cone, draft.plane(surface, (0, 0, -1), (*top, apex), 0.0)))


def _to_one_point(outline: Sequence[Point2], inward: Sequence[Floats], pitch: float) -> list[float]:
    """Pitches of the planes of a hip: where four or more all but meet in one point they are led into it, each steeper or flatter by a hair.

    Nobody frames a ridge that is shorter than the tape can tell.
    """
    shape = outlined(outline)
    top = polylabel(shape, HAIR_RIDGE_M / 10)
    runs = np.array([float(n @ (np.array([top.x, top.y]) - np.asarray(p))) for n, p in zip(inward, outline, strict=True)])
    near = np.flatnonzero(np.abs(runs - runs.min()) < HAIR_RIDGE_M).tolist()
    if len(near) < 4 or runs.min() <= 0.0:
        return [pitch] * len(outline)
    rows = np.array([[*inward[k], -1.0] for k in near])
    x, y, run = np.linalg.lstsq(rows, np.array([float(inward[k] @ np.asarray(outline[k])) for k in near]), rcond=None)[0]
    away = [float(n @ (np.array([x, y]) - np.asarray(p))) for n, p in zip(inward, outline, strict=True)]
    return [pitch * float(run) / away[k] if k in near else pitch for k in range(len(outline))]


def _from_outline(draft: Draft, surface: int, outline: Sequence[Point2], slopes: Sequence[Floats], eave: float) -> Formula:
    """Planes that rise from the edges of an outline, joined like the outline's own half-planes."""
    planes: list[In] = [draft.plane(surface, (g[0], g[1], -1), (*p, eave), 0.0) for g, p in zip(slopes, outline, strict=True)]
    return polygon_formula(outline, planes)


def _spots(draft: Draft, surface: int, ceiling: Ceiling, survey: SurveyReport, before_m: float) -> Formula:
    stations = {s.id: (s.x_m, s.y_m) for s in survey.stations}
    datum = lowest_floor_m(survey) + before_m
    planes: list[In] = []
    for i, plane in enumerate(ceiling.plane):
        path = f"{PATH}.plane[{i}]"
        rows = []
        for j, (at, z) in enumerate(plane.spots):
            if isinstance(at, str) and at not in stations:
                draft.wrong(f"{path}.spots[{j}]", f"there is no station {at!r}", f"the stations are {', '.join(stations)}")
                continue
            x, y = stations[at] if isinstance(at, str) else at
            rows.append((x, y, 1.0, z + datum))
        if len(rows) < len(plane.spots):
            continue
        a = np.asarray(rows)
        fit, _, rank, _ = np.linalg.lstsq(a[:, :3], a[:, 3], rcond=1e-6)
        off = float(np.abs(a[:, :3] @ fit - a[:, 3]).max())
        if rank < 3:
            draft.wrong(f"{path}.spots", "the spots lie in one line", "give three spots that make a triangle")
        elif off > 0.0064:
            draft.wrong(f"{path}.spots", f"the spots do not lie in one plane: one is off by {off * 1000:.0f} mm",
                        "measure again or give two planes")
        else:
            planes.append(draft.plane(surface, (fit[0], fit[1], -1), (0, 0, fit[2])))
    if not ceiling.plane:
        draft.wrong(f"{PATH}.plane", "a ceiling of planes needs its planes", "give spot heights of at least one plane")
    draft.raise_mistakes()
    return All(tuple(planes)) if ceiling.join == "lowest" else AnyOf(tuple(planes))


def _middle(outline: Sequence[Point2]) -> Point2:
    """Centroid of a polygon. [m]"""
    area = cx = cy = 0.0
    for (x0, y0), (x1, y1) in zip(outline, [*outline[1:], outline[0]], strict=True):
        cross = x0 * y1 - x1 * y0
        area, cx, cy = area + cross, cx + (x0 + x1) * cross, cy + (y0 + y1) * cross
    return (cx / (3 * area), cy / (3 * area))


def _names(walls: Walls) -> str:
    return f"the walls are {', '.join(r.name for r in walls.runs)}"
