"""Parallel strips over a wall: the fewest, and the offset with the least seam, exactly.

Strips of one width lie side by side with one overlap. How many are needed follows from the extent across them. What is
left free is the offset of the first one, and the summed seam is piecewise linear in it, with breaks only where a seam
passes a corner of the outline or of an opening. The least value is therefore a one-sided limit at one of these events.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from steamwright.errors import OutOfRangeError

Ring = tuple[tuple[float, float], ...]
_NEAR = 1e-9


@dataclass(frozen=True, slots=True)
class Chain:
    """Strips that overlap each other, from the lowest up: the lower edge of each, and the free play of the whole chain."""

    edges_m: tuple[float, ...]
    slack_m: float
    seam_m: float


@dataclass(frozen=True, slots=True)
class StripCover:
    """Strips in one direction over one region; edges are measured across the strips, from the origin."""

    direction_deg: float
    strips: int
    seam_m: float
    chains: tuple[Chain, ...]
    candidates: int


@dataclass(frozen=True, slots=True)
class _Side:
    """A boundary edge that is not level: where it begins and ends across the strips, and its place along them as a line."""

    low: float
    high: float
    at_low: float
    slope: float


def cover_by_strips(outline_m: Sequence[tuple[float, float]], holes_m: Sequence[Sequence[tuple[float, float]]], roll_width_m: float,
                    overlap_m: float, direction_deg: float = 0.0) -> StripCover:
    """The fewest strips in one direction over a region, laid with the least seam.

    Parameters
    ----------
    outline_m : sequence of (float, float)
        Outer ring, either way round. [m]
    holes_m : sequence of rings
        Openings inside it, apart from each other. [m]
    roll_width_m : float
        Width of a strip. [m]
    overlap_m : float
        Overlap of neighbours. [m]
    direction_deg : float
        Direction along the strips, counter-clockwise from x. [deg]

    Returns
    -------
    cover : StripCover
        Exact among strips of full width that lie as chains of equal overlap, a new chain beginning only where the
        region leaves a gap; the seam is counted on the centre line of each overlap, as a limit where it runs along an edge.

    Raises
    ------
    OutOfRangeError
        If the overlap is not less than the width.

    References
    ----------
    own derivation
    """
    if not 0.0 <= overlap_m < roll_width_m:
        raise OutOfRangeError(f"an overlap of {overlap_m:.4f} m on strips {roll_width_m:.4f} m wide leaves nothing to cover with",
                              hint="choose a wider roll or a shorter lap")
    rings = [_turned(ring, direction_deg) for ring in (outline_m, *holes_m)]
    sides = _sides(rings)
    levels = sorted({t for ring in rings for _, t in ring})
    parts = _parts(sides, levels)
    best: list[tuple[int, float, int, tuple[Chain, ...]]] = [(0, 0.0, 0, ())]
    for end in range(1, len(parts) + 1):
        options = []
        for begin in range(end):
            chain, tried = _chain(sides, levels, parts[begin][0], parts[end - 1][1], roll_width_m, overlap_m)
            n, seam, done, chains = best[begin]
            options.append((n + len(chain.edges_m), seam + chain.seam_m, done + tried, (*chains, chain)))
        best.append(min(options, key=lambda o: (o[0], o[1])))
    n, seam, tried, chains = best[-1]
    return StripCover(direction_deg, n, seam, chains, tried)


def best_direction(outline_m: Sequence[tuple[float, float]], holes_m: Sequence[Sequence[tuple[float, float]]], roll_width_m: float,
                   overlap_m: float, directions_deg: Iterable[float] | None = None) -> StripCover:
    """The cover with the fewest strips, then the least seam, over several directions.

    Parameters
    ----------
    outline_m : sequence of (float, float)
        Outer ring. [m]
    holes_m : sequence of rings
        Openings. [m]
    roll_width_m : float
        Width of a strip. [m]
    overlap_m : float
        Overlap of neighbours. [m]
    directions_deg : iterable of float, optional
        Directions to try, those of the outline's own edges if not given: the least extent of a convex outline lies
        across one of them. [deg]

    Returns
    -------
    cover : StripCover
        The best of them; the first one tried where several are equal.

    Raises
    ------
    OutOfRangeError
        If the overlap is not less than the width.

    References
    ----------
    own derivation
    """
    if directions_deg is None:
        directions_deg = sorted({round(math.degrees(math.atan2(d - b, c - a)) % 180.0, 9) % 180.0 for (a, b), (c, d) in _edges(outline_m)})
    covers = [cover_by_strips(outline_m, holes_m, roll_width_m, overlap_m, d) for d in directions_deg]
    return min(covers, key=lambda c: (c.strips, round(c.seam_m, 9)))


def fewest_strips_bound(outline_m: Sequence[tuple[float, float]], holes_m: Sequence[Sequence[tuple[float, float]]],
                        roll_width_m: float) -> int:
    """How many strips are needed at least, in any mix of directions.

    Strips that cover a convex body are together at least as wide as it is (the plank theorem). The body is the outline
    itself where it is convex and has no opening, else a disc inside the region.

    Parameters
    ----------
    outline_m : sequence of (float, float)
        Outer ring. [m]
    holes_m : sequence of rings
        Openings. [m]
    roll_width_m : float
        Width of a strip. [m]

    Returns
    -------
    strips : int
        Never more than any cover has (count).

    References
    ----------
    own derivation from the plank theorem of 1951
    """
    width = _least_width(outline_m) if not holes_m and _convex(outline_m) else 2.0 * _disc_radius([tuple(outline_m), *map(tuple, holes_m)])
    return max(1, math.ceil(width / roll_width_m - _NEAR))


def _turned(ring: Sequence[tuple[float, float]], direction_deg: float) -> Ring:
    """The ring with the strips' direction along x; quarter turns exactly."""
    quarter = direction_deg / 90.0
    if quarter == round(quarter):
        c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    else:
        c, s = math.cos(math.radians(direction_deg)), math.sin(math.radians(direction_deg))
    return tuple((c * x + s * y, c * y - s * x) for x, y in ring)


def _edges(ring: Sequence[tuple[float, float]]) -> Iterable[tuple[tuple[float, float], tuple[float, float]]]:
    return ((ring[k - 1], ring[k]) for k in range(len(ring)))


def _sides(rings: Sequence[Ring]) -> list[_Side]:
    sides = []
    for ring in rings:
        for (a, b), (c, d) in _edges(ring):
            if b != d:
                (s, low), (e, high) = ((a, b), (c, d)) if b < d else ((c, d), (a, b))
                sides.append(_Side(low, high, s, (e - s) / (high - low)))
    return sides


def _chord(sides: Sequence[_Side], level: float, above: bool) -> float:
    """Length of the region's section at a level, as the limit from above or from below."""
    crossed = [s for s in sides if (s.low <= level < s.high if above else s.low < level <= s.high)]
    # Where two sides meet at the level their order is that of their slopes on the chosen side of it.
    crossed.sort(key=lambda s: (s.at_low + (level - s.low) * s.slope, s.slope if above else -s.slope))
    at = [s.at_low + (level - s.low) * s.slope for s in crossed]
    return sum(at[k + 1] - at[k] for k in range(0, len(at) - 1, 2))


def _parts(sides: Sequence[_Side], levels: Sequence[float]) -> list[tuple[float, float]]:
    """The connected stretches of the region's projection across the strips."""
    parts: list[tuple[float, float]] = []
    for low, high in pairwise(levels):
        if _chord(sides, 0.5 * (low + high), True) <= _NEAR:
            continue
        if parts and parts[-1][1] == low:
            parts[-1] = (parts[-1][0], high)
        else:
            parts.append((low, high))
    return parts


def _chain(sides: Sequence[_Side], levels: Sequence[float], low: float, high: float, width: float, overlap: float) -> tuple[Chain, int]:
    """One chain over a stretch, its offset chosen among the events."""
    pitch, extent = width - overlap, high - low
    n = 1 if extent <= width + _NEAR else math.ceil((extent - overlap) / pitch - _NEAR)
    slack = n * pitch + overlap - extent
    slack = slack if slack > _NEAR else 0.0
    seams = [low + k * pitch + 0.5 * overlap for k in range(1, n)]
    events = {0.0, slack} | {s - level for s in seams for level in levels if _NEAR < s - level < slack - _NEAR}
    best = (math.inf, 0.0)
    for t in sorted(events):
        # A greater offset lowers the seams: towards it they are seen from below. At either end only one side can be reached.
        reach = [above for above, open_to in ((True, t > 0.0 or slack == 0.0), (False, t < slack or slack == 0.0)) if open_to]
        for above in reach:
            seam = sum(_chord(sides, _snapped(s - t, levels), above) for s in seams)
            if seam < best[0] - _NEAR:
                best = (seam, t)
    edges = tuple(low - best[1] + k * pitch for k in range(n))
    return Chain(edges, slack, best[0] if n > 1 else 0.0), len(events)


def _snapped(level: float, levels: Sequence[float]) -> float:
    """The event's own level where rounding has moved a seam off it, so that the limit is taken on the right side."""
    return min((v for v in levels if abs(v - level) <= _NEAR), key=lambda v: abs(v - level), default=level)


def _convex(ring: Sequence[tuple[float, float]]) -> bool:
    turns = [(b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
             for a, b, c in zip(ring, (*ring[1:], ring[0]), (*ring[2:], *ring[:2]), strict=True)]
    return all(t >= 0.0 for t in turns) or all(t <= 0.0 for t in turns)


def _least_width(ring: Sequence[tuple[float, float]]) -> float:
    """Least extent of a convex ring: it lies across one of its edges."""
    widths = []
    for (a, b), (c, d) in _edges(ring):
        length = math.hypot(c - a, d - b)
        if length > 0.0:
            across = [((x - a) * (d - b) - (y - b) * (c - a)) / length for x, y in ring]
            widths.append(max(across) - min(across))
    return min(widths)


def _disc_radius(rings: Sequence[Ring], steps: int = 24) -> float:
    """Radius of the largest disc found inside the region about points of a grid: any of them serves as a bound."""
    xs, ys = [p[0] for p in rings[0]], [p[1] for p in rings[0]]
    best = 0.0
    for i in range(1, steps):
        for j in range(1, steps):
            x, y = min(xs) + (max(xs) - min(xs)) * i / steps, min(ys) + (max(ys) - min(ys)) * j / steps
            if _inside(rings, x, y):
                best = max(best, min(_distance(x, y, a, b) for ring in rings for a, b in _edges(ring)))
    return best


def _inside(rings: Sequence[Ring], x: float, y: float) -> bool:
    crossings = 0
    for ring in rings:
        for (a, b), (c, d) in _edges(ring):
            if (b > y) != (d > y) and x < a + (y - b) / (d - b) * (c - a):
                crossings += 1
    return crossings % 2 == 1


def _distance(x: float, y: float, a: tuple[float, float], b: tuple[float, float]) -> float:
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = dx * dx + dy * dy
    t = min(1.0, max(0.0, ((x - a[0]) * dx + (y - a[1]) * dy) / square)) if square > 0.0 else 0.0
    return math.hypot(x - a[0] - t * dx, y - a[1] - t * dy)
