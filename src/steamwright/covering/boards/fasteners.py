"""Every screw as a point: along each support under a board, at the spacing of its kind, off edges, corners, joints and pipes."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import shapely

from steamwright.covering.boards.ground import OVERHEAD, Ground
from steamwright.covering.boards.practice import practice, sold_lengths_in, spacing_of
from steamwright.covering.boards.sections import Rings, rings_of, section
from steamwright.errors import DataError
from steamwright.geometry.frame import Point2
from steamwright.units import INCH_M

_HOLD_M = 0.003175
_REACH_M = 2e-3
_GRAIN_M2 = 1e-9


@dataclass(frozen=True, slots=True)
class Screw:
    """What holds a board: length to buy, type, greatest distance, and whether a washer goes with it."""

    length_m: float
    type: str
    spacing_m: float


@dataclass(frozen=True, slots=True)
class Row:
    """A straight support as screws see it: start, direction, length and half of its bearing in a ground's (a, b). [m]"""

    support: str
    start_m: Point2
    along: Point2
    length_m: float
    half_m: float


def screw_for(tags: tuple[str, ...], thickness_m: float, overhead: bool, framing_kind: str, steel_mil: int | None) -> Screw:
    """Choose the screw of a board.

    Parameters
    ----------
    tags : tuple of str
        Tags of the board's material.
    thickness_m : float
        From the board's face to the framing, above 0. [m]
    overhead : bool
        Whether the board hangs.
    framing_kind : str
        Such as "wood stud" or "steel joist".
    steel_mil : int or None
        Thickness of the steel in thousandths of an inch; where nobody says it, 33 is taken.

    Returns
    -------
    screw : Screw
        The next length that is sold over board, washer and the required penetration.

    Raises
    ------
    DataError
        If no screw that is sold is long enough.

    References
    ----------
    ANSI-A108.11; ASTM-C840; ASTM-C1002; ASTM-C954

    Examples
    --------
    >>> screw_for(("cementitious",), 0.0127, False, "wood stud", None).length_m / 0.0254
    1.25
    """
    row = spacing_of(tags)
    steel = framing_kind.startswith("steel")
    flange = 0.0 if not steel else (steel_mil or practice("screw", "drill_from_mil")) * INCH_M / 1000
    need = thickness_m + (practice("screw", "washer_m") if row.washer else 0.0)
    need += flange + practice("screw", "into_steel_m") if steel else practice("screw", "into_wood_m")
    length = next((x * INCH_M for x in sold_lengths_in() if x * INCH_M >= need - 1e-9), None)
    if length is None:
        raise DataError(f"no screw of {need:.3f} m is sold", path="covering.boards.practice.screw.sold_in", hint="take a thinner board")
    drill = steel and (steel_mil or practice("screw", "drill_from_mil")) >= practice("screw", "drill_from_mil")
    kind = "drill-point screw C954" if drill else "screw C1002"
    return Screw(length, kind + (" and washer" if row.washer else ""), row.overhead_m if overhead else row.wall_m)


def is_overhead(ground: Ground) -> bool:
    """Tell whether boards on a facet hang.

    Parameters
    ----------
    ground : Ground
        The facet.

    Returns
    -------
    overhead : bool
        Ceilings, soffits and heads of openings.

    References
    ----------
    own derivation
    """
    return ground.facet.kind in OVERHEAD


def screw_zone(ground: Ground, board: shapely.Polygon, dry_b_m: float | None) -> shapely.Geometry:
    """Where a board may be screwed: its edge distance in, off pipes and planned screws, over the liner.

    Parameters
    ----------
    ground : Ground
        The facet.
    board : Polygon
        The board in (a, b). [m]
    dry_b_m : float or None
        No screw lies lower than this. [m]

    Returns
    -------
    zone : Geometry
        Perhaps empty. [m]

    References
    ----------
    ANSI-A108.11; common practice, no source
    """
    a0, b0, a1, b1 = board.bounds
    zone = _drawn_in(board, practice("screw", "edge_m"))
    near = []
    for p, (a, b) in ground.pipes:
        r = p.diameter_m / 2 + practice("screw", "pipe_m")
        if a0 < a + r and a - r < a1 and b0 < b + r and b - r < b1:
            near.append(shapely.Point(a, b).buffer(r, quad_segs=8))
    near = [c for c in near if c.intersects(zone)]
    if near:
        zone = zone.difference(shapely.union_all(near))
    if dry_b_m is not None and dry_b_m > b0:
        zone = zone.intersection(shapely.box(a0, dry_b_m, a1, max(b1, dry_b_m + 1e-6)))
    return zone


def _drawn_in(board: shapely.Polygon, edge_m: float) -> shapely.Geometry:
    """A board less its edge distance all round; most are whole rectangles, for which that is a smaller one."""
    a0, b0, a1, b1 = board.bounds
    if board.area < (a1 - a0) * (b1 - b0) - _GRAIN_M2:
        return board.buffer(-edge_m, join_style="mitre")
    if min(a1 - a0, b1 - b0) <= 2 * edge_m:
        return shapely.Polygon()
    return shapely.box(a0 + edge_m, b0 + edge_m, a1 - edge_m, b1 - edge_m)


def screws_of(board: shapely.Polygon, zone: shapely.Geometry, rows: Sequence[Row], spacing_m: float) -> list[tuple[str, Point2]]:
    """Screws of one board along all supports under it.

    Parameters
    ----------
    board : Polygon
        The board in (a, b). [m]
    zone : Geometry
        Where it may be screwed. [m]
    rows : sequence of Row
        Supports behind the facet, those that run up first.
    spacing_m : float
        Greatest distance along a support. [m]

    Returns
    -------
    screws : list of (str, tuple of float)
        Support and place in (a, b): n = ceil((L − 2e)/s) + 1 along each support. [m]

    References
    ----------
    ANSI-A108.11; own derivation
    """
    placed: list[tuple[str, Point2]] = []
    if zone.is_empty:
        return placed
    shape, inner = rings_of(board), rings_of(zone)
    a0, b0, a1, b1 = board.bounds
    for row in rows:
        end = (row.start_m[0] + row.along[0] * row.length_m, row.start_m[1] + row.along[1] * row.length_m)
        h = row.half_m
        if (max(row.start_m[0], end[0]) + h < a0 or min(row.start_m[0], end[0]) - h > a1
                or max(row.start_m[1], end[1]) + h < b0 or min(row.start_m[1], end[1]) - h > b1):
            continue
        placed += [(row.support, p) for p in _along(row, shape, inner, placed, spacing_m)]
    return placed


def _seen(points: Iterable[Point2], row: Row) -> list[Point2]:
    """Points in the row's own coordinates: along it, and across to its left."""
    (x, y), (u, v) = row.start_m, row.along
    return [((a - x) * u + (b - y) * v, (b - y) * u - (a - x) * v) for a, b in points]


def _along(row: Row, shape: Rings, inner: Rings, placed: Sequence[tuple[str, Point2]], spacing_m: float) -> list[Point2]:
    """Screws along one support: on its middle, or beside it where a board's edge lies on the support."""
    e, limit = practice("screw", "edge_m"), row.half_m - _HOLD_M
    off = min(practice("screw", "end_m"), row.length_m / 2)
    edges = sorted({n for ring in shape for n in _edges_on(_seen(ring, row), row, e)}, key=abs)
    seen_inner = [_seen(ring, row) for ring in inner]
    chosen: tuple[float, list[tuple[float, float]], bool] = (0.0, [], False)
    reach = -1.0
    for n, inward in [*((x + way * e, way) for x in edges for way in (1, -1)), (0.0, 0)]:
        if abs(n) > limit + 1e-9:
            continue
        runs = [(max(lo, off), min(hi, row.length_m - off)) for lo, hi in section(seen_inner, n + inward * 1e-7, axis=1)]
        runs = [r for r in runs if r[1] - r[0] > -1e-9]
        if sum(hi - lo for lo, hi in runs) > reach + _REACH_M:
            reach, chosen = sum(hi - lo for lo, hi in runs), (n, runs, inward != 0)
    n, runs, at_edge = chosen
    if not runs:
        return []
    across, apart = practice("screw", "edge_most_m"), practice("screw", "apart_m")
    near = [(x, y - n) for x, y in _seen((p for _, p in placed), row)]
    beside = [x for x, y in near if -across < y < across]
    out: list[float] = []
    corner = practice("screw", "corner_m") - e if at_edge else 0.0
    for lo, hi in runs:
        out += _fill(lo, hi, [x for x in beside if lo - 0.03 < x < hi + 0.03], spacing_m, corner)
    near = [(x, y) for x, y in near if -apart < y < apart]
    out = [x for x in out if all(math.hypot(x - q[0], q[1]) >= apart for q in near)]
    (x0, y0), (u, v) = row.start_m, row.along
    return [(x0 + x * u - n * v, y0 + x * v + n * u) for x in out]


def _edges_on(ring: Sequence[Point2], row: Row, e: float) -> list[float]:
    """Where edges of a board run along a support, near enough that its middle is no place for screws."""
    found = []
    near, length = row.half_m + e, row.length_m
    p = ring[-1]
    for q in ring:
        if (-near < p[1] < near and abs(q[1] - p[1]) < 0.02 * abs(q[0] - p[0])
                and min(max(p[0], q[0]), length) > max(min(p[0], q[0]), 0.0) + 0.02):
            found.append(round(p[1] if abs(p[1]) > abs(q[1]) else q[1], 9))
        p = q
    return found


def _fill(low: float, high: float, fixed: Sequence[float], spacing_m: float, corner_m: float) -> list[float]:
    """Places from end to end of a stretch, none farther apart than the spacing; those that stand already count."""
    if high - low < 2 * corner_m:
        low = high = (low + high) / 2
    else:
        low, high = low + corner_m, high - corner_m
    stops = sorted(fixed)
    ends = [x for x in ((low,) if high - low < 1e-6 else (low, high)) if not any(abs(x - f) < practice("screw", "corner_m") for f in stops)]
    marks = sorted([*stops, *ends])
    out = list(ends)
    for a, b in pairwise(marks):
        n = math.ceil((b - a) / spacing_m - 1e-9)
        out += [a + (b - a) * k / n for k in range(1, n)]
    return sorted(out)
