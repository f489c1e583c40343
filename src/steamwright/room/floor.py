"""The floor: a level liner, or a bonded bed that falls to a drain."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
import shapely
from shapely import Polygon

from steamwright.geometry.frame import Point2, outlined
from steamwright.geometry.halfspace import All, AnyOf, Formula, In, polygon_formula
from steamwright.room.bed import CLEAR_M, FAR_M, PATH, Bed, drain_point, lay_bed, slab_plane
from steamwright.room.ceiling import lowest_floor_m
from steamwright.room.draft import Draft
from steamwright.room.fixtures import Block
from steamwright.room.inputs import Pan
from steamwright.room.model import FacetKind
from steamwright.room.plan import outline
from steamwright.room.recesses import Sill
from steamwright.room.survey_model import SurveyReport
from steamwright.room.walls import WallRun, Walls

BEHIND_M = 0.02
SPECK_M = 1e-8
SPECK_M2 = 1e-6
"""What is smaller comes of rounding where one outline is taken from another."""


@dataclass(frozen=True, slots=True)
class Floor:
    """The floor as drafted. ``bed`` is none for a liner; ``level`` when it meets the walls at one height."""

    formula: Formula
    planes: tuple[In, ...]
    bed: Bed | None
    drain_m: Point2 | None
    perimeter_m: float
    level: bool

    def sill(self, draft: Draft) -> Sill:
        """The planes from which a curbless opening runs on, on this face."""
        if self.level and len(self.planes) > 1:
            return Sill((((0.0, 0.0, 1.0), self.perimeter_m),))
        return Sill(tuple((draft.half_spaces[p.index].normal, draft.half_spaces[p.index].offset_m) for p in self.planes))


def open_floor(draft: Draft, walls: Walls, blocks: Sequence[Block], height_m: float) -> list[Point2]:
    """Corners of the floor that is left between walls and what stands on it, on this face.

    Parameters
    ----------
    draft : Draft
        Holds the half-spaces.
    walls : Walls
        The walls on this face.
    blocks : sequence of Block
        What stands before walls.
    height_m : float
        Height at which it is seen. [m]

    Returns
    -------
    corners_m : list of (float, float)
        Counter-clockwise; those of the plan where the rest is parted or has a hole. [m]

    References
    ----------
    own derivation
    """
    corners = outline(walls.sides(), height_m)
    shape = outlined(corners)
    wider = shape.buffer(BEHIND_M, join_style="mitre")  # outlines that only cross are parted without specks
    for b in blocks:
        if b.bottom_m > height_m or not isinstance(b.strip, AnyOf):
            continue
        under = wider
        for part in b.strip.parts:
            if isinstance(part, In) and abs(draft.half_spaces[part.index].normal[2]) < 0.5:
                h = draft.half_spaces[part.index]
                under = shapely.intersection(under, _half_plane((-h.normal[0], -h.normal[1]), h.normal[2] * height_m - h.offset_m))
        near = b.run.at((b.from_m + b.to_m) / 2) + b.run.inward * 0.02
        for g in getattr(under, "geoms", [under]):
            if shapely.dwithin(g, shapely.points(near), 0.05):
                shape = shape.difference(g)
    parts = [g for g in getattr(shape, "geoms", [shape]) if g.area > SPECK_M2]
    if len(parts) != 1 or parts[0].interiors:
        return corners
    ring = [(x, y) for x, y in shapely.get_coordinates(parts[0])[:-1].tolist()]
    return _clean(ring if parts[0].exterior.is_ccw else ring[::-1])


def _half_plane(normal: Point2, offset: float) -> Polygon:
    size = float(np.hypot(*normal))
    x, y = normal[0] / size, normal[1] / size
    px, py, dx, dy = x * (offset / size), y * (offset / size), -y * FAR_M, x * FAR_M
    out_x, out_y = x * 2 * FAR_M, y * 2 * FAR_M
    return outlined([(px - dx, py - dy), (px - dx + out_x, py - dy + out_y), (px + dx + out_x, py + dy + out_y), (px + dx, py + dy)])


def _clean(ring: list[Point2]) -> list[Point2]:
    ring = [p for k, p in enumerate(ring) if max(abs(p[0] - ring[k - 1][0]), abs(p[1] - ring[k - 1][1])) > SPECK_M]
    keep = []
    for (ax, ay), (bx, by), (cx, cy) in zip(ring[-1:] + ring[:-1], ring, ring[1:] + ring[:1], strict=True):
        turn = (bx - ax) * (cy - by) - (by - ay) * (cx - bx)
        if abs(turn) > 1e-7 * math.hypot(bx - ax, by - ay) * math.hypot(cx - bx, cy - by):
            keep.append((bx, by))
    return keep


def draft_floor(draft: Draft, pan: Pan, survey: SurveyReport, walls: Walls, blocks: Sequence[Block]) -> Floor | None:
    """Draft the floor.

    Parameters
    ----------
    draft : Draft
        Takes up the surface and its half-spaces.
    pan : Pan
        What was said.
    survey : SurveyReport
        Floor heights.
    walls : Walls
        The walls on this face.
    blocks : sequence of Block
        What stands on the floor.

    Returns
    -------
    floor : Floor or None
        ``None`` where it cannot be laid; the mistake is noted.

    References
    ----------
    own derivation
    """
    surface = draft.surface("floor", FacetKind.FLOOR, (0, 0, 0), walls.runs[0].along, PATH, needed=True)
    a, b, c = slab_plane(survey)
    if pan.membrane == "liner":
        plane = draft.plane(surface, (-a, -b, 1.0), (0.0, 0.0, c))
        drain = drain_point(pan, open_floor(draft, walls, blocks, c)) if pan.drain == "point" else None
        return Floor(plane, (plane,), None, drain, c, True)
    drain_wall = walls.named(pan.drain_wall) if pan.drain_wall else None
    bed, height = None, lowest_floor_m(survey)
    for _ in range(9):  # leaning walls stand elsewhere at the height that the fall brings them to
        corners = outline_for(draft, pan, walls, blocks, height)
        at = drain_point(pan, corners) if pan.drain == "point" else corners[0]
        slab = a * at[0] + b * at[1] + c
        flat_m = slab + pan.bed_at_drain_m + draft.depth_m(surface)
        bed = lay_bed(draft, pan, corners, slab, drain_wall, partial(_risen, draft, walls, blocks, flat_m))
        if bed is None:
            return None
        before, height = height, bed.perimeter_m + draft.depth_m(surface)
        if pan.drain == "line" or abs(before - height) < 1e-10:
            break
    assert bed is not None
    return _bonded(draft, surface, pan, bed, drain_wall)


def _risen(draft: Draft, walls: Walls, blocks: Sequence[Block], flat_m: float, rise_m: float) -> list[Point2]:
    """Corners of the open floor at a height over the flat at the drain."""
    return open_floor(draft, walls, blocks, flat_m + rise_m)


def outline_for(draft: Draft, pan: Pan, walls: Walls, blocks: Sequence[Block], height_m: float) -> list[Point2]:
    """The floor over which a bed falls: the open floor where a point drain sees all of it, else the whole plan.

    Parameters
    ----------
    draft : Draft
        Holds the half-spaces.
    pan : Pan
        Where the drain is.
    walls : Walls
        The walls on this face.
    blocks : sequence of Block
        What stands before walls.
    height_m : float
        Height of the floor along the walls. [m]

    Returns
    -------
    corners_m : list of (float, float)
        Counter-clockwise. [m]

    References
    ----------
    own derivation
    """
    rest = open_floor(draft, walls, blocks, height_m)
    if pan.drain == "point":
        drain = np.asarray(drain_point(pan, rest))
        p = np.asarray(rest)
        d = np.roll(p, -1, axis=0) - p
        seen = (drain[0] - p[:, 0]) * -d[:, 1] + (drain[1] - p[:, 1]) * d[:, 0]
        if (seen / np.hypot(d[:, 0], d[:, 1])).min() < pan.flat_m / 2 + CLEAR_M:
            return outline(walls.sides(), height_m)
    return rest


def _bonded(draft: Draft, surface: int, pan: Pan, bed: Bed, drain_wall: WallRun | None) -> Floor:
    depth = draft.depth_m(surface)
    if bed.drain_m is None and drain_wall is not None:
        n = drain_wall.inward * -pan.pitch
        one = draft.plane(surface, (n[0], n[1], 1.0), (*drain_wall.from_m, bed.low_m))
        return Floor(one, (one,), bed, None, bed.perimeter_m + depth, False)
    flat = draft.plane(surface, (0.0, 0.0, 1.0), (0.0, 0.0, bed.low_m + depth), 0.0)
    level = pan.perimeter == "level"
    if level:
        planes = [draft.plane(surface, (s * x, s * y, 1.0), (*p, bed.perimeter_m + depth), 0.0)
                  for p, (x, y), s in zip(bed.outline_m, bed.inward, bed.slope, strict=True)]
        cone = polygon_formula(bed.outline_m, planes)
    else:
        assert bed.drain_m is not None
        planes = [draft.plane(surface, (x, y, 1.0), (*bed.drain_m, bed.low_m - under + depth), 0.0) for x, y, under in bed.planes]
        cone = All(tuple(planes))
    return Floor(All((cone, flat)), (*planes, flat), bed, bed.drain_m, bed.perimeter_m + depth, level)
