"""What the falls of a pan come to: slopes to walls and corners, heights round the wall, water and mortar, drain places."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import shapely
from shapely import Geometry, Polygon

from steamwright.geometry.frame import Point2, Point3, outlined
from steamwright.room.bed import CLEAR_M, Bed, drain_point, lay_bed, slab_plane
from steamwright.room.ceiling import lowest_floor_m
from steamwright.room.draft import DepthOf, Draft
from steamwright.room.fixtures import Block, draft_blocks
from steamwright.room.flood import FLOOD_M, FloodTo, flood_test, flooded, over_floor, threshold
from steamwright.room.floor import open_floor, outline_for
from steamwright.room.inputs import Pan, Room
from steamwright.room.model import CoveredBy, FacetKind, Solid
from steamwright.room.pan_advice import LEAST_SLOPE, MOST_SLOPE, advice
from steamwright.room.pan_names import corner_names, edge_names
from steamwright.room.relief import away_from_line, heights_m, surface_m
from steamwright.room.survey_model import SurveyReport
from steamwright.room.walls import WallRun, Walls, draft_walls
from steamwright.units import format_slope, format_tape

AT_DRAIN_M = 0.05
WATER_KG_M3 = 998.2
GRID_M = 0.0508
KEEP_PLACES = 6


@dataclass(frozen=True, slots=True)
class PanFall:
    """How the floor falls to the drain from a wall (square to it) or from a corner (straight to the drain)."""

    start: str
    distance_m: float
    slope: float


@dataclass(frozen=True, slots=True)
class PanHeight:
    """A place along the wall: its height over the drain's flat, and how thick the bed is there."""

    at: str
    x_m: float
    y_m: float
    over_drain_m: float
    bed_m: float


@dataclass(frozen=True, slots=True)
class PanReport:
    """The pan in numbers. ``feasible`` says whether every fall lies between 1/4 and 1/2 in/ft; ``sentence`` tells why not,
    ``advice`` the one change that mends it, and ``drain_places`` where a point drain would do. Water and bed are those of the
    open floor. In the flood test a liner is flooded on its pre-slope, without the bed: ``flood_to`` says up to where,
    ``flood_foot_over_drain_m`` how high what is flooded stands at the threshold, ``curb_over_drain_m`` the top of the lowest curb.
    ``bed_top_m`` is the top of the bed in flat pieces, over the level datum; ``liner_m`` the liner in it, on a pre-slope that begins on
    the bare floor at the drain. Thickness and volume of the bed are those from the bare floor to its top."""

    membrane: str
    drain: str
    perimeter: str
    drain_m: Point2 | None
    walls: tuple[PanFall, ...]
    corners: tuple[PanFall, ...]
    heights: tuple[PanHeight, ...]
    fall_m: float
    slope_least: float
    slope_most: float
    bed_at_drain_m: float
    bed_at_perimeter_m: float
    bed_volume_m3: float
    floor_area_m2: float
    flood_line_over_drain_m: float
    flood_volume_m3: float
    flood_mass_kg: float
    feasible: bool
    sentence: str
    drain_places: tuple[Point2, ...]
    advice: str = ""
    flood_to: FloodTo = "walls"
    flood_foot_over_drain_m: float | None = None
    curb_over_drain_m: float | None = None
    bed_top_m: tuple[tuple[Point3, ...], ...] = ()
    liner_m: tuple[tuple[Point3, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class _Site:
    """What a pan is laid in: walls and fixtures on the membrane face, the open floor in plan, and the plumbing code."""

    draft: Draft
    survey: SurveyReport
    room: Room
    solid: Solid
    walls: Walls
    blocks: tuple[Block, ...]
    floor: Geometry
    code: str

    def laid(self, pan: Pan) -> PanReport:
        """The report of a pan, be it the one that was said or one that is tried."""
        a, b, c = slab_plane(self.survey)
        corners = outline_for(self.draft, pan, self.walls, self.blocks, lowest_floor_m(self.survey))
        at = drain_point(pan, corners) if pan.drain == "point" else corners[0]
        drain_wall = self.walls.named(pan.drain_wall) if pan.drain_wall else None
        rest = open_floor(self.draft, self.walls, self.blocks, lowest_floor_m(self.survey))
        bed = lay_bed(self.draft, pan, corners, a * at[0] + b * at[1] + c, drain_wall, lambda _rise_m: rest)
        if bed is None:  # a liner may lie under a floor that no bed can drain; the sheet says so
            return _impossible(pan, corners, at, self.draft.mistakes[-1].detail, float(self.floor.area))
        return _report(self, pan, bed, drain_wall, (a, b, c))


def receptor_fall_m(distance_m: float, slope: float) -> float:
    """Fall of a floor over a distance.

    Parameters
    ----------
    distance_m : float
        From the drain to the farthest corner. [m]
    slope : float
        Rise over run.

    Returns
    -------
    fall_m : float
        How much higher the corner is. [m]

    References
    ----------
    CTEF-tips; IRC-P2709

    Examples
    --------
    A pan of 42 by 60 in with its drain in the middle, at 1/4 in/ft:

    >>> round(receptor_fall_m(math.hypot(21, 30), 1 / 48), 3)
    0.763
    """
    return distance_m * slope


def pan_report(survey: SurveyReport, room: Room, solid: Solid, depth_m: DepthOf | None = None, code: str = "") -> PanReport:
    """Put the falls of a pan into numbers.

    Parameters
    ----------
    survey : SurveyReport
        Stations and floor heights.
    room : Room
        The pan, and what stands on the floor.
    solid : Solid
        The room on the membrane face, which has been found possible.
    depth_m : callable, optional
        From a surface's name and kind to how far the face stands in front of the framing; the framing face without. [m]
    code : str, optional
        The plumbing code, for its flood test.

    Returns
    -------
    report : PanReport
        For a liner: the falls of the bed over it.

    References
    ----------
    CTEF-tips; IRC-P2709; own derivation
    """
    draft = Draft(solid.face, depth_m or (lambda _s, _k: 0.0), _uncovered)
    walls = draft_walls(draft, survey, room, 2.4)
    blocks = draft_blocks(draft, room, walls, lowest_floor_m(survey))
    site = _Site(draft, survey, room, solid, walls, blocks, _in_plan(solid), code)
    report = site.laid(room.pan)
    if report.feasible:
        return report
    corners = outline_for(draft, room.pan.model_copy(update={"drain": "line"}), walls, blocks, lowest_floor_m(survey))
    places = drain_places(room.pan.model_copy(update={"perimeter": "level"}), corners)
    told = advice(room.pan, report, site.laid, places, [r.name for r in walls.runs if not r.curved])
    return replace(report, advice=told)


def _in_plan(solid: Solid) -> Geometry:
    """The open floor from above: where a bed lies, and water stands."""
    floors = [f for f in solid.facets if f.kind is FacetKind.FLOOR]
    flat = [[f.frame.lift(ring)[:, :2] for ring in (f.outline_m, *f.holes_m)] for f in floors]
    return shapely.union_all([Polygon(outline, holes) for outline, *holes in flat])


def _uncovered(_surface: str, _kind: FacetKind) -> tuple[CoveredBy, str, str | None]:
    return CoveredBy.OTHER, "", None


def _report(site: _Site, pan: Pan, bed: Bed, drain_wall: WallRun | None, slab: tuple[float, float, float]) -> PanReport:
    a, b, c = slab
    survey, walls = site.survey, site.walls
    pieces = over_floor(pan, bed, site.floor)
    mortar = area = 0.0
    middles = [(x, y) for x, y in shapely.get_coordinates(shapely.centroid(pieces)).tolist()]
    for size, (x, y), z in zip(shapely.area(pieces).tolist(), middles, heights_m(pan, bed, middles), strict=True):
        mortar += size * (z - (a * x + b * y + c))
        area += size
    names = edge_names(bed, site.draft, walls)
    corners = corner_names(bed, names, survey)
    edges, tips = _falls(pan, bed, names, corners)
    slopes = [f.slope for f in (*edges, *tips) if f.slope > 1e-9] or [pan.pitch]
    heights = _heights(pan, bed, names, corners, slab)
    under = flooded(site.draft, pan, bed, drain_wall)
    flood = flood_test(under, threshold(site.room, walls, site.solid, bed.drain_m), site.floor, site.code)
    # a liner lies as much lower than a bed on its pre-slope would as the bed is thick at the drain
    lower_m = under[1].low_m + pan.bed_at_drain_m - bed.low_m
    liner = () if pan.membrane == "bonded" else surface_m(*under, over_floor(*under, site.floor), lower_m)
    report = PanReport(pan.membrane, pan.drain, pan.perimeter, bed.drain_m, edges, tips, heights, bed.perimeter_m - bed.low_m, min(slopes),
                       max(slopes), pan.bed_at_drain_m, max(h.bed_m for h in heights), mortar, area, flood.line_m, flood.volume_m3,
                       flood.volume_m3 * WATER_KG_M3, True, "", (), "", flood.to, flood.foot_m, flood.curb_m,
                       surface_m(pan, bed, pieces), liner)
    trapped = _trapped(pan, bed, drain_wall) if pan.drain == "line" and drain_wall is not None else ()
    if trapped:
        where = " and ".join(corners[k] for k in trapped)
        return replace(report, feasible=False, sentence=f"Water stands at {where}: it lies lowest there and no drain is near.")
    return _judged(pan, bed, report)


def _trapped(pan: Pan, bed: Bed, drain_wall: WallRun) -> tuple[int, ...]:
    """Numbers of corners of the floor where water that runs down the one plane is dammed by a wall without a drain."""
    away = away_from_line(bed, pan)
    p = np.asarray(bed.outline_m)
    level = p @ away
    inward = np.asarray(drain_wall.inward)
    across = (p - np.asarray(drain_wall.from_m)) @ np.array([inward[1], -inward[0]])
    ends = (np.asarray(drain_wall.to_m) - np.asarray(drain_wall.from_m)) @ np.array([inward[1], -inward[0]])
    before = (across > min(0.0, ends) - AT_DRAIN_M) & (across < max(0.0, ends) + AT_DRAIN_M)
    # a curb or a bench may stand between: then the drain lies along its front
    at_drain = before & (level < np.min(level[before], initial=np.inf) + AT_DRAIN_M)
    out = []
    dams = np.asarray(bed.inward) @ away > 0.1
    for k in range(len(p)):
        below = any(level[j] < level[k] - 1e-3 for j in (k - 1, (k + 1) % len(p)))
        if (dams[k] or dams[k - 1]) and not below and not at_drain[k]:
            out.append(k)
    return tuple(out)


def _falls(pan: Pan, bed: Bed, names: Sequence[str], tips: Sequence[str]) -> tuple[tuple[PanFall, ...], tuple[PanFall, ...]]:
    edges = tuple(PanFall(name, abs(run), abs(s)) for name, run, s in zip(names, bed.run_m, bed.slope, strict=True))
    if bed.drain_m is None:
        away = away_from_line(bed, pan)
        low = min(float(np.asarray(p) @ away) for p in bed.outline_m)
        middles = [(np.asarray(p) + np.asarray(q)) / 2 for p, q in pairwise([*bed.outline_m, bed.outline_m[0]])]
        # one plane falls at its pitch wherever one stands; square to a side wall it does not fall at all, and need not
        edges = tuple(PanFall(name, float(m @ away) - low, pan.pitch) for name, m in zip(names, middles, strict=True))
        return edges, tuple(PanFall(tip, float(np.asarray(p) @ away) - low, pan.pitch)
                            for tip, p in zip(tips, bed.outline_m, strict=True))
    rows = []
    for tip, p, z in zip(tips, bed.outline_m, heights_m(pan, bed, bed.outline_m), strict=True):
        away_m = math.dist(p, bed.drain_m)
        rise = z - bed.low_m
        # along the way to a corner the flat ends where the steepest of the planes leaves it
        slope = rise / (away_m * (1 - bed.flat_share)) if pan.perimeter == "level" else (rise + pan.pitch * pan.flat_m / 2) / away_m
        rows.append(PanFall(tip, away_m, slope))
    return edges, tuple(rows)


def _heights(pan: Pan, bed: Bed, names: Sequence[str], corners: Sequence[str],
             slab: tuple[float, float, float]) -> tuple[PanHeight, ...]:
    a, b, c = slab
    places: list[tuple[Point2, str]] = []
    for name, corner, (p, q) in zip(names, corners, pairwise([*bed.outline_m, bed.outline_m[0]]), strict=True):
        places += [(p, corner), (((p[0] + q[0]) / 2, (p[1] + q[1]) / 2), f"{name} middle")]
    return tuple(PanHeight(label, x, y, z - bed.low_m, z - (a * x + b * y + c))
                 for ((x, y), label), z in zip(places, heights_m(pan, bed, [p for p, _ in places]), strict=True))


def _judged(pan: Pan, bed: Bed, report: PanReport) -> PanReport:
    limits = f"{format_slope(LEAST_SLOPE)} and {format_slope(MOST_SLOPE)}"
    least, most = report.slope_least, report.slope_most
    ok = least >= LEAST_SLOPE - 1e-9 and most <= MOST_SLOPE + 1e-9
    if pan.drain == "line":
        text = f"The floor falls in one plane at {format_slope(pan.pitch)} to the drain along {pan.drain_wall}; along the other walls it "
        text += f"rises, by {format_tape(report.fall_m)} in all." if ok else "has to fall between " + limits + "."
        return replace(report, feasible=ok, sentence=text)
    if pan.perimeter != "level":
        rise = max(h.over_drain_m for h in report.heights) - min(h.over_drain_m for h in report.heights)
        text = (f"The floor falls at {format_slope(pan.pitch)} square to every wall and at {format_slope(least)} out of the flattest "
                f"corner; along the walls it is not level but rises by {format_tape(rise)}.")
        return replace(report, feasible=ok, sentence=text if ok else text + f" Every way has to fall between {limits}.")
    ratio = max(f.distance_m for f in report.corners) / min(bed.run_m)
    if ratio > MOST_SLOPE / LEAST_SLOPE + 1e-9:
        text = (f"With the bed level along the walls the floor cannot fall between {limits} everywhere: the farthest corner is "
                f"{ratio:.2f} times as far from the drain as the nearest wall, more than 2.")
        return replace(report, feasible=False, sentence=text, drain_places=drain_places(pan, bed.outline_m))
    text = f"The floor falls between {format_slope(least)} and {format_slope(most)}."
    return replace(report, feasible=ok, sentence=text if ok else text + f" It has to be between {limits}.")


def drain_places(pan: Pan, outline_m: Sequence[Point2]) -> tuple[Point2, ...]:
    """Places of a point drain from which the floor can fall between 1/4 and 1/2 in/ft everywhere.

    Parameters
    ----------
    pan : Pan
        With a level perimeter, the farthest corner may be no more than twice as far as the nearest wall; with a constant
        pitch the drain's flat has to fit.
    outline_m : sequence of (float, float)
        Corners of the floor, counter-clockwise. [m]

    Returns
    -------
    places_m : tuple of (float, float)
        Of a grid of 2 in at most six, the best first. [m]

    References
    ----------
    own derivation
    """
    p = np.asarray(outline_m)
    d = np.roll(p, -1, axis=0) - p
    n = np.stack([-d[:, 1], d[:, 0]], axis=1) / np.hypot(d[:, 0], d[:, 1])[:, None]
    low, high = p.min(axis=0), p.max(axis=0)
    middle = (low + high) / 2
    grid = np.meshgrid(*(np.arange(middle[k] % GRID_M + low[k] - low[k] % GRID_M, high[k], GRID_M) for k in (0, 1)), indexing="ij")
    q = np.stack(grid, axis=-1).reshape(-1, 1, 2)
    near = ((q - p) * n).sum(axis=2).min(axis=1)
    fits = (near >= pan.flat_m / 2 + CLEAR_M) & shapely.contains_xy(outlined(outline_m), q[:, 0])
    q, near = q[fits], near[fits]
    ratio = np.hypot(*(p - q).transpose(2, 0, 1)).max(axis=1) / near
    good = np.flatnonzero((pan.perimeter != "level") | (ratio <= MOST_SLOPE / LEAST_SLOPE))
    found = sorted((round(r, 9), x, y) for r, (x, y) in zip(ratio[good].tolist(), q[good, 0].tolist(), strict=True))
    return tuple((x, y) for _, x, y in found[:KEEP_PLACES])


def _impossible(pan: Pan, corners: Sequence[Point2], at: Point2, why: str, area: float) -> PanReport:
    places = drain_places(pan, corners)
    return PanReport(pan.membrane, pan.drain, pan.perimeter, at if pan.drain == "point" else None, (), (), (), 0.0, 0.0, 0.0,
                     pan.bed_at_drain_m, pan.bed_at_drain_m, 0.0, area, FLOOD_M, area * FLOOD_M, area * FLOOD_M * WATER_KG_M3, False,
                     f"The bed cannot be laid: {why}.", places)

