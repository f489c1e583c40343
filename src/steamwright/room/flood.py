"""The flood test of a pan: how high the water stands over the drain, and how much it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np
import shapely
from shapely import Geometry, Polygon

from steamwright.geometry.frame import Floats, Point2
from steamwright.room.bed import Bed, lay_bed
from steamwright.room.draft import Draft
from steamwright.room.inputs import Pan, Room
from steamwright.room.model import Facet, FacetKind, Solid
from steamwright.room.relief import bed_pieces, half_plane, heights_m
from steamwright.room.walls import WallRun, Walls
from steamwright.units import System, format_length

FLOOD_M = 0.0508
"""Water stands 2 in deep at the threshold in a flood test (IPC-312.9, IRC-P2503)."""
PRE_SLOPE = 1 / 48
FloodTo = Literal["threshold", "rough threshold", "walls"]


@dataclass(frozen=True, slots=True)
class Threshold:
    """The way in: plan points along its foot, and the top of its lowest curb over the lowest of the floor."""

    foot_m: tuple[Point2, ...]
    curb_m: float | None


@dataclass(frozen=True, slots=True)
class Flood:
    """The flood test. Heights are over the lowest place of what is flooded: the flat at the drain.

    ``to`` says up to where it is filled: 2 in deep at the threshold, up to the rough threshold, or 2 in deep at the lowest
    place along the walls where no way in is known. ``foot_m`` is the highest place along the foot of the threshold.
    """

    line_m: float
    to: FloodTo
    foot_m: float | None
    curb_m: float | None
    volume_m3: float


class Told(Protocol):
    """What is asked of a report of a pan."""

    @property
    def membrane(self) -> str:
        """Bonded or liner."""

    @property
    def flood_line_over_drain_m(self) -> float:
        """Height of the water over the drain. [m]"""

    @property
    def flood_to(self) -> FloodTo:
        """Up to where the pan is filled."""


def flood_words(report: Told, system: System) -> str:
    """How high a pan is filled, in the words in which all that the program writes says it.

    Parameters
    ----------
    report : Told
        The pan's report.
    system : {"inch", "metric"}
        How lengths are printed.

    Returns
    -------
    words : str
        Such as ``to 3 1/8" over the drain, which is 2" deep at the threshold``.

    References
    ----------
    IPC-312.9; IRC-P2503; UPC-408
    """
    deep = format_length(FLOOD_M, system)
    where = {"threshold": f"which is {deep} deep at the threshold", "rough threshold": "up to the top of the rough threshold",
             "walls": f"which is {deep} deep at the lowest place along the walls"}[report.flood_to]
    return f"to {format_length(report.flood_line_over_drain_m, system)} over {flood_over(report)}, {where}"


def flood_over(report: Told) -> str:
    """Over what the water of a flood test is measured.

    Parameters
    ----------
    report : Told
        The pan's report.

    Returns
    -------
    words : str
        A liner has its drain plugged under the weep holes.

    References
    ----------
    common practice, no source
    """
    return "the weep holes" if report.membrane == "liner" else "the drain"


def threshold(room: Room, walls: Walls, solid: Solid, drain_m: Point2 | None) -> Threshold:
    """Find the way in over which the water of a flood test would run out.

    Parameters
    ----------
    room : Room
        Its openings.
    walls : Walls
        The walls on the membrane face.
    solid : Solid
        The room on the membrane face.
    drain_m : (float, float) or None
        A point drain. [m]

    Returns
    -------
    found : Threshold
        Along the fronts of curbs, else along doors that reach down to the floor; without points where there is neither.

    References
    ----------
    own derivation
    """
    fronts = [f for f in solid.facets if f.kind is FacetKind.CURB_FACE and f.surface.endswith(" front")]
    tops = [f for f in solid.facets if f.kind is FacetKind.CURB_TOP]
    if fronts and tops:
        points = [(float(x), float(y)) for f in fronts for x, y, _ in _low_corners(f).tolist()]
        low = _drain_height_m([f for f in solid.facets if f.kind is FacetKind.FLOOR], drain_m)
        return Threshold(tuple(points), min(float(f.frame.lift(f.outline_m)[:, 2].min()) for f in tops) - low)
    doors = [o for o in room.opening if o.kind == "door" and (o.curbless or o.bottom_m <= 0.0)]
    ways = [(run, x) for o in doors if (run := walls.named(o.wall)) is not None
            for x in walls.stretch(o.wall, o.from_m, o.from_m + o.width_m)]
    return Threshold(tuple((float(x), float(y)) for x, y in (run.at(along)[:2] for run, along in ways)), None)


def _low_corners(front: Facet) -> Floats:
    """Corners at the foot of an upright facet. [m]"""
    at = front.frame.lift(front.outline_m)
    return np.asarray(at[at[:, 2] < (at[:, 2].min() + at[:, 2].max()) / 2])


def _drain_height_m(floors: Sequence[Facet], drain_m: Point2 | None) -> float:
    """Height of the floor at a point drain, else of its lowest corner. [m]"""
    rings = [f.frame.lift(f.outline_m) for f in floors]
    for f, at in zip(floors, rings, strict=True):
        if drain_m is not None and shapely.contains_xy(Polygon(at[:, :2]), *drain_m):
            n = np.asarray(f.frame.normal)
            return float(at[0, 2] - ((np.asarray(drain_m) - at[0, :2]) @ n[:2]) / n[2])
    return min(float(at[:, 2].min()) for at in rings)


def flooded(draft: Draft, pan: Pan, bed: Bed, drain_wall: WallRun | None) -> tuple[Pan, Bed]:
    """What stands under water in the test: a bonded membrane on its bed, or a liner on a pre-slope of its own.

    Parameters
    ----------
    draft : Draft
        Takes mistakes.
    pan : Pan
        What was said.
    bed : Bed
        The bed as drawn, which lies on a liner.
    drain_wall : WallRun or None
        The wall of a line drain.

    Returns
    -------
    surface : (Pan, Bed)
        A liner falls 1/4 in/ft square from every wall to the weep holes.

    References
    ----------
    IMI-SR613
    """
    if pan.membrane == "bonded":
        return pan, bed
    under = pan.model_copy(update={"perimeter": "constant pitch", "pitch": PRE_SLOPE})
    laid = lay_bed(draft, under, bed.outline_m, 0.0, drain_wall)
    return (pan, bed) if laid is None else (under, laid)


def flood_test(surface: tuple[Pan, Bed], way_in: Threshold, floor: Geometry, code: str) -> Flood:
    """Fill a pan.

    Parameters
    ----------
    surface : (Pan, Bed)
        From `flooded`.
    way_in : Threshold
        From `threshold`.
    floor : Geometry
        The open floor in plan. [m]
    code : str
        The plumbing code; the UPC fills up to the rough threshold, others 2 in deep at it.

    Returns
    -------
    flood : Flood
        Its line and its water.

    References
    ----------
    IPC-312.9; IRC-P2503; UPC-408; own derivation
    """
    pan, bed = surface
    level = pan.perimeter == "level" and pan.drain == "point"
    edge = [bed.perimeter_m] if level else heights_m(pan, bed, bed.outline_m)
    low = min(edge) if bed.drain_m is None else bed.low_m
    to: FloodTo = "threshold"
    foot = None
    if way_in.foot_m:
        foot = (bed.perimeter_m if level else max(heights_m(pan, bed, way_in.foot_m))) - low
        line = foot + FLOOD_M
        if code == "UPC" and way_in.curb_m is not None:
            line, to = way_in.curb_m, "rough threshold"
    else:
        line, to = min(edge) - low + FLOOD_M, "walls"
    water = sum(_water_m3(pan, bed, piece, low + line) for piece in over_floor(pan, bed, floor))
    return Flood(line, to, foot, way_in.curb_m, water)


def over_floor(pan: Pan, bed: Bed, floor: Geometry) -> list[Geometry]:
    """The flat pieces of a bed over the open floor: its planes run on under a bench or a column that it is laid round.

    Parameters
    ----------
    pan : Pan
        What was said.
    bed : Bed
        The bed.
    floor : Geometry
        The open floor in plan. [m]

    Returns
    -------
    pieces : list of Geometry
        The height is linear on each.

    References
    ----------
    own derivation
    """
    return [g for g in shapely.intersection(bed_pieces(pan, bed), floor) if g.area > 0.0]


def _water_m3(pan: Pan, bed: Bed, piece: Geometry, line_m: float) -> float:
    """Water over a flat piece, where it does not stand out of it. [m3]"""
    at = shapely.get_coordinates(piece)
    z = np.asarray(heights_m(pan, bed, [(x, y) for x, y in at.tolist()]))
    wet = piece
    if z.max() > line_m:
        (a, b, c), *_ = np.linalg.lstsq(np.column_stack([at, np.ones(len(at))]), z, rcond=None)
        way = np.array([a, b])
        if not way.any():
            return 0.0
        wet = shapely.intersection(piece, half_plane(way * (line_m - c) / (way @ way), -way))
    if wet.area <= 0.0:
        return 0.0
    middle: Polygon = wet.centroid
    return float(wet.area * (line_m - heights_m(pan, bed, [(middle.x, middle.y)])[0]))
