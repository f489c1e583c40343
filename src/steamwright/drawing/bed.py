"""The mortar bed of a pan where a section cuts it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, Polygon

from steamwright.drawing.digest import Digest
from steamwright.drawing.facet_view import parts
from steamwright.geometry.frame import Floats, Point3
from steamwright.plan.facts import FLOOR_MORTAR_M
from steamwright.room.bed import slab_plane

AT_WALL_M = 1e-5
"""So far inside a wall its height is taken, where floor and ceiling are sure to be. Common practice, no source."""
Segment = tuple[tuple[float, float], tuple[float, float]]


@dataclass(frozen=True, slots=True)
class CutBed:
    """A mortar bed where the section cuts it: its top, the liner in it, and the bare floor under it. [m]

    ``tile_m`` is what lies on the bed of a liner, which the finished room stands under; over a bonded pan that has its own floor.
    """

    top: tuple[Segment, ...] = ()
    liner: tuple[Segment, ...] = ()
    floor: tuple[Segment, ...] = ()
    tile_m: float | None = None

    def tiled_m(self, x_m: float) -> float | None:
        """Height of the tile on the bed of a liner at a place of the section."""
        if self.tile_m is None:
            return None
        found = [z for s in self.top if (z := height_at(s, x_m)) is not None]
        return max(found) + self.tile_m if found else None


def cut_bed(d: Digest, way: Floats, through_m: Floats) -> CutBed:
    """Cut the mortar bed of a pan with the plane of the section.

    Parameters
    ----------
    d : Digest
        The plan arranged for drawing.
    way : ndarray, shape (3,)
        Level unit direction of the plane.
    through_m : ndarray, shape (3,)
        A point on it. [m]

    Returns
    -------
    bed : CutBed
        From left to right; empty where none could be laid.

    References
    ----------
    own derivation
    """
    report = d.plan.pan
    if not report.bed_top_m:
        return CutBed()
    line = LineString([through_m[:2] - 99 * way[:2], through_m[:2] + 99 * way[:2]])

    def sliced(rings_m: Sequence[Sequence[Point3]]) -> tuple[Segment, ...]:
        out: list[Segment] = []
        for ring in rings_m:
            at = np.asarray(ring)
            plane, *_ = np.linalg.lstsq(np.column_stack([at[:, :2], np.ones(len(at))]), at[:, 2], rcond=None)
            for piece in parts(shapely.intersection(Polygon(at[:, :2]), line), "LineString"):
                ends = [(float((np.asarray(p) - through_m[:2]) @ way[:2]), float(plane @ (*p, 1.0)))
                        for p in (piece.coords[0], piece.coords[-1])]
                if abs(ends[1][0] - ends[0][0]) > AT_WALL_M:
                    out.append((min(ends), max(ends)))
        return tuple(sorted(out))

    a, b, c = slab_plane(d.plan.survey)
    bare = [[(x, y, a * x + b * y + c) for x, y, _ in ring] for ring in report.bed_top_m]
    tile_m = d.plan.job.tile.thickness_m + FLOOR_MORTAR_M if report.membrane == "liner" else None
    return CutBed(sliced(report.bed_top_m), sliced(report.liner_m), sliced(bare), tile_m)


def height_at(segment: Segment, x_m: float) -> float | None:
    """Height of a stretch of a section at one of its places.

    Parameters
    ----------
    segment : Segment
        Its two ends as (distance along the section, height). [m]
    x_m : float
        The place. [m]

    Returns
    -------
    height_m : float or None
        ``None`` beside the stretch, or where it is upright. [m]

    References
    ----------
    own derivation
    """
    (x0, z0), (x1, z1) = sorted(segment)
    if not x0 <= x_m <= x1 or x1 - x0 < 1e-9:
        return None
    return z0 + (z1 - z0) * (x_m - x0) / (x1 - x0)
