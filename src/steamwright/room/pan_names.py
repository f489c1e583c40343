"""What edges and corners of a floor are called: by the wall or the face of a fixture that stands there."""

from __future__ import annotations

import math
from collections import Counter

import numpy as np

from steamwright.geometry.frame import Floats, Point2
from steamwright.room.bed import Bed
from steamwright.room.draft import Draft
from steamwright.room.survey_model import SurveyReport
from steamwright.room.walls import Walls

NEAR_M = 0.02
STATION_M = 0.1
SAME_WAY = 1.0 - 1e-6


def edge_names(bed: Bed, draft: Draft, walls: Walls) -> tuple[str, ...]:
    """Name the edges of a floor.

    Parameters
    ----------
    bed : Bed
        The bed, whose outline has the edges.
    draft : Draft
        Surfaces of walls and fixtures.
    walls : Walls
        The walls.

    Returns
    -------
    names : tuple of str
        As surfaces are called, such as "bench front"; those of a wall that a fixture parts are numbered, such as "C-D (2)".

    References
    ----------
    own derivation
    """
    names = [_edge_name(draft, walls, np.asarray(p), np.asarray(n)) for p, n in zip(bed.outline_m, bed.inward, strict=True)]
    count, seen = Counter(names), Counter[str]()
    out = []
    for name in names:
        seen[name] += 1
        out.append(f"{name} ({seen[name]})" if count[name] > 1 else name)
    return tuple(out)


def _edge_name(draft: Draft, walls: Walls, p: Floats, n: Floats) -> str:
    for r in walls.runs:
        for s in r.sides:
            if float(np.asarray(s.inward) @ n) > SAME_WAY and abs(float((p - np.asarray(s.start_m)) @ n) - s.depth_m) < NEAR_M:
                return r.name
    for h, k in zip(draft.half_spaces, draft.surface_of, strict=True):
        if float(np.asarray(h.normal[:2]) @ n) > SAME_WAY and abs(float(p @ n) - h.offset_m) < NEAR_M:
            return draft.surfaces[k].name
    return "fixture"


def corner_names(bed: Bed, edges: tuple[str, ...], survey: SurveyReport) -> tuple[str, ...]:
    """Name the corners of a floor.

    Parameters
    ----------
    bed : Bed
        The bed, whose outline has the corners.
    edges : tuple of str
        From `edge_names`.
    survey : SurveyReport
        Stations.

    Returns
    -------
    names : tuple of str
        By a station that is near, else by the two edges that meet.

    References
    ----------
    own derivation
    """
    return tuple(_corner_name(survey, p, edges[k - 1], edges[k]) for k, p in enumerate(bed.outline_m))


def _corner_name(survey: SurveyReport, p: Point2, before: str, after: str) -> str:
    near = min(survey.stations, key=lambda s: math.dist(p, (s.x_m, s.y_m)))
    return near.id if math.dist(p, (near.x_m, near.y_m)) < STATION_M else f"{before} at {after}"
