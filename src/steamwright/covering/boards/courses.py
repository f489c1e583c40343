"""Boards in courses: where courses part, where the boards of a course butt, and what each choice costs."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import shapely

from steamwright.covering.boards.framing import Field
from steamwright.covering.boards.ground import NOT_CUT, Ground
from steamwright.covering.boards.practice import practice
from steamwright.covering.boards.sections import less, polygons_of, rings_of, section
from steamwright.geometry.frame import Point2
from steamwright.geometry.outline import area_m2

AT_CORNER, NOT_STAGGERED, UNSUPPORTED, NARROW, IN_LINE, AT_PIPE = 8.0, 5.0, 3.0, 0.5, 0.3, 0.2
_LEAST_M = 0.1
_NARROW_M = 0.1524
_FULL = 0.02


Faults = list[tuple[str, float]]
Chosen = tuple[float, Faults]


@dataclass(frozen=True, slots=True)
class Seam:
    """An edge of a sheet on a ground: at ``at_m`` of one axis (0 upright, 1 level) from ``low_m`` to ``high_m`` of the other."""

    axis: int
    at_m: float
    low_m: float
    high_m: float


@dataclass(frozen=True, slots=True)
class Butt:
    """A joint between boards: ``axis`` 0 runs along the supports at a = ``at_m``, 1 across them at b = ``at_m``."""

    axis: int
    at_m: float
    low_m: float
    high_m: float
    faults: tuple[str, ...] = ()


@dataclass(slots=True)
class Layout:
    """Boards of one layer of a ground, as polygons in (a, b), and the butts between them."""

    pieces: list[shapely.Polygon] = field(default_factory=list)
    butts: list[Butt] = field(default_factory=list)
    cost: float = 0.0


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What butts have to keep clear of on a ground."""

    ground: Ground
    fields: tuple[Field, ...]
    corners: tuple[Point2, ...]
    seams: tuple[Seam, ...]
    other_layer: tuple[Butt, ...] = ()

    def faults(self, axis: int, at_m: float, low_m: float, high_m: float) -> Faults:
        """What speaks against a butt, with its cost."""
        clear = practice("lay", "clear_m")
        found: Faults = []
        other = 1 - axis
        for c in self.corners:
            if -clear < c[axis] - at_m < clear and low_m - clear < c[other] < high_m + clear:
                found.append(("at_corner", AT_CORNER))
                break
        if axis == 0 and self.ground.framed and not self._carried(at_m, low_m, high_m):
            found.append(("unsupported", UNSUPPORTED))
        for s in self.seams:
            if s.axis == axis and -clear < s.at_m - at_m < clear and min(high_m, s.high_m) - max(low_m, s.low_m) > clear:
                found.append(("in_line", IN_LINE))
                break
        for b in self.other_layer:
            if b.axis == axis and -clear < b.at_m - at_m < clear and min(high_m, b.high_m) > max(low_m, b.low_m):
                found.append(("in_line", NOT_STAGGERED))
                break
        for p, c in self.ground.pipes:
            if p.kind not in NOT_CUT and abs(c[axis] - at_m) < p.diameter_m / 2 + clear and low_m < c[other] < high_m:
                found.append(("at_pipe", AT_PIPE))
        return found

    def _carried(self, a: float, low_m: float, high_m: float) -> bool:
        for f in self.fields:
            if abs(f.a_m - a) < 1e-6:
                return sum(hi - lo for lo, hi in less([(low_m, high_m)], f.spans_m, 0.0)) < _LEAST_M
        return False


def corners_of(ground: Ground) -> tuple[Point2, ...]:
    """Corners that go into a facet, and those of its openings and niches: no butt may run into them.

    Parameters
    ----------
    ground : Ground
        The facet.

    Returns
    -------
    corners : tuple of tuple of float
        In (a, b). [m]

    References
    ----------
    common practice, no source
    """
    out = []
    ring, *holes = rings_of(ground.whole)
    shell = ring if area_m2(ring) > 0.0 else ring[::-1]
    for before, here, after in zip(shell[-1:] + shell[:-1], shell, shell[1:] + shell[:1], strict=True):
        u, w = (here[0] - before[0], here[1] - before[1]), (after[0] - here[0], after[1] - here[1])
        if u[0] * w[1] - u[1] * w[0] < -0.2 * math.hypot(*u) * math.hypot(*w):
            out.append(here)
    return (*out, *(p for hole in holes for p in hole))


def lay(around: Surroundings, length_m: float, width_m: float, course_axis: int) -> Layout:
    """Lay boards in courses.

    Parameters
    ----------
    around : Surroundings
        The ground and what butts keep clear of.
    length_m : float
        Length of a board, along its course. [m]
    width_m : float
        Width of a board. [m]
    course_axis : int
        0 where courses follow each other along a, boards standing with the supports; 1 where they lie across them.

    Returns
    -------
    layout : Layout
        Every board fits the stock; butts stand on supports where supports are.

    References
    ----------
    own derivation: shortest path over the places where boards may butt
    """
    layout, gap = Layout(), practice("lay", "butt_gap_m")
    region = around.ground.region
    if region.is_empty:
        return layout
    rings, bounds = rings_of(region), region.bounds
    low, high = bounds[course_axis], bounds[course_axis + 2]

    def across(at: float) -> Faults:
        return [f for lo, hi in section(rings, at, course_axis) for f in around.faults(course_axis, at, lo, hi)]

    parts = _choose(low, high, width_m, gap, _spots(around, course_axis, low, high, width_m, gap), across)
    for at, faults in parts:
        layout.cost += sum(c for _, c in faults)
        names = tuple(dict.fromkeys(n for n, _ in faults))
        layout.butts += [Butt(course_axis, at, lo, hi, names) for lo, hi in section(rings, at, course_axis) if hi - lo > 1e-3]
    courses = _parted(region, [at for at, _ in parts], gap, course_axis)
    for course, chosen in zip(courses, _staggered(around, courses, length_m, 1 - course_axis), strict=True):
        for part, butts in zip(course, chosen, strict=True):
            _part(layout, part, butts, 1 - course_axis)
    layout.cost += len(layout.pieces)
    return layout


def _staggered(around: Surroundings, courses: Sequence[list[shapely.Polygon]], length_m: float, axis: int) -> list[list[list[Chosen]]]:
    """Butts of every part of every course; where a course finds no staggered place, its neighbours make way."""
    chosen: list[list[list[Chosen]]] = [[] for _ in courses]

    def butts(k: int) -> list[float]:
        return [at for part in chosen[k] for at, _ in part] if 0 <= k < len(courses) else []

    for k, course in enumerate(courses):
        chosen[k] = [_butts(around, part, length_m, axis, butts(k - 1)) for part in course]
    back = range(len(courses) - 1, -1, -1)
    if any("not_staggered" in (n for n, _ in wrong) for course in chosen for part in course for _, wrong in part):
        for k in (*back, *range(len(courses))):
            chosen[k] = [_butts(around, part, length_m, axis, butts(k - 1) + butts(k + 1)) for part in courses[k]]
        chosen = [[[(at, [w for w in wrong if k or w[0] != "not_staggered"]) for at, wrong in part] for part in course]
                  for k, course in enumerate(chosen)]  # fmt: skip
    return chosen


def _butts(around: Surroundings, part: shapely.Polygon, length_m: float, axis: int, beside: Sequence[float]) -> list[Chosen]:
    """Where the boards of one part of a course butt, a stud off the butts beside it."""
    low, high = part.bounds[axis], part.bounds[axis + 2]
    if high - low <= length_m + 1e-9:
        return []
    rings, gap = rings_of(part), practice("lay", "butt_gap_m")

    def faults(at: float) -> Faults:
        found = [f for lo, hi in section(rings, at, axis) for f in around.faults(axis, at, lo, hi)]
        if any(abs(at - b) < around.ground.spacing_m - 1e-3 for b in beside):
            found.append(("not_staggered", NOT_STAGGERED))
        return found

    return _choose(low, high, length_m, gap, _spots(around, axis, low, high, length_m, gap), faults)


def _part(layout: Layout, part: shapely.Polygon, chosen: Sequence[Chosen], axis: int) -> None:
    """Part a stretch of a course into its boards."""
    gap, rings = practice("lay", "butt_gap_m"), rings_of(part)
    for at, wrong in chosen:
        layout.cost += sum(c for _, c in wrong)
        names = tuple(dict.fromkeys(n for n, _ in wrong))
        layout.butts += [Butt(axis, at, lo, hi, names) for lo, hi in section(rings, at, axis) if hi - lo > 1e-3]
    layout.pieces += [g for piece in _parted(part, [at for at, _ in chosen], gap, axis) for g in piece if g.area > 1e-5]


def _parted(region: shapely.Geometry, at_m: Sequence[float], gap_m: float, axis: int) -> list[list[shapely.Polygon]]:
    """What lies between joints; the outer cuts lie beyond the region, since one along its edge would leave points on it."""
    if not at_m:
        return [polygons_of(region)]
    bounds = region.bounds
    stops = [bounds[axis] - 1.0, *at_m, bounds[axis + 2] + 1.0]
    strips = [_box(bounds, (p0 + gap_m / 2, p1 - gap_m / 2), axis) for p0, p1 in pairwise(stops)]
    return [polygons_of(g) for g in shapely.intersection(region, strips)]


def _box(bounds: tuple[float, float, float, float], span: tuple[float, float], axis: int) -> shapely.Polygon:
    a0, b0, a1, b1 = bounds
    return shapely.box(span[0], b0 - 1, span[1], b1 + 1) if axis == 0 else shapely.box(a0 - 1, span[0], a1 + 1, span[1])


def _spots(around: Surroundings, axis: int, low: float, high: float, longest: float, gap: float) -> list[float]:
    """Where boards may butt: on supports; across them at full boards from either end, at equal parts, and a little off these."""
    if axis == 0 and around.ground.framed and around.fields:
        on = [f.a_m for f in around.fields if low + _LEAST_M < f.a_m < high - _LEAST_M]
        stops = [low, *on, high]
        if all(b - a <= longest for a, b in pairwise(stops)):
            return on
    if high - low <= longest:
        return []
    count = math.ceil((high - low) / longest - 1e-9)
    full = [k * (longest + gap) - gap / 2 for k in range(1, count + 1)]
    found = [low + x for x in full] + [high - x for x in full]
    found += [low + (high - low) * k / n for n in (count, count + 1, count + 2) for k in range(1, n)]
    offs = (0.0, -0.0762, 0.0762, -0.1524, -0.3, -0.42)
    wide = sorted({round(x + o, 7) for x in found for o in offs})
    if axis == 0 and around.ground.framed:
        wide = sorted({*wide, *(f.a_m for f in around.fields)})
    return [x for x in wide if low + _LEAST_M < x < high - _LEAST_M]


def _choose(low: float, high: float, longest: float, gap: float, spots: Sequence[float],
            faults: Callable[[float], Faults]) -> list[Chosen]:
    """Butts that part a stretch into boards: fewest boards and least faults, full boards rather than cut ones."""
    if high - low <= longest + 1e-9:
        return []
    wrong: list[Faults] = [faults(x) for x in spots]
    nodes = [low - gap / 2, *spots, high + gap / 2]
    price = [0.0, *(sum(c for _, c in w) for w in wrong), 0.0]
    best: list[tuple[float, int]] = [(0.0, -1)]
    for j in range(1, len(nodes)):
        found = (math.inf, -1)
        for i in range(j - 1, -1, -1):
            size = nodes[j] - nodes[i] - gap
            if size > longest + 1e-9:
                break
            cost = best[i][0] + 1.0 + (NARROW if size < _NARROW_M else 0.0) - (_FULL if size > longest - 1e-6 else 0.0)
            if cost < found[0]:
                found = (cost, i)
        best.append((found[0] + price[j], found[1]))
    chosen: list[Chosen] = []
    j = best[-1][1]
    while j > 0:
        chosen.append((spots[j - 1], wrong[j - 1]))
        j = best[j][1]
    return chosen[::-1]
